from .clock import natural_key
from .facts import Facts, LockCard, Settings
from .measure import Measure, measure
from .report import Declared, Judged, Report, judge
from .words import flag_in_words

__all__ = [
    "Declared",
    "Facts",
    "Judged",
    "LockCard",
    "Measure",
    "Report",
    "Settings",
    "flag_in_words",
    "judge",
    "measure",
    "natural_key",
]
