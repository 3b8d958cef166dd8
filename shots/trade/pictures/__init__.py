from .clock import natural_key
from .facts import Facts, LockCard, Settings
from .measure import Measure, measure
from .report import Declared, Judged, Report, judge

__all__ = [
    "Declared",
    "Facts",
    "Judged",
    "LockCard",
    "Measure",
    "Report",
    "Settings",
    "judge",
    "measure",
    "natural_key",
]
