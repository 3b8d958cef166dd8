"""What a client wants of a file: the specification, read from and written to JSON.

Every item is optional; None means that it is not checked. A studio starts from a built-in
specification and changes what its client asks.
"""

from clients.trade.specification.built_in import BUILT_IN
from clients.trade.specification.film_behind import MEASURED, FilmBehind, filled_from
from clients.trade.specification.in_words import (
    LABELS,
    found_in_words,
    in_words,
    wanted_in_words,
)
from clients.trade.specification.items import (
    CHECKS,
    Aspect,
    Black,
    CadenceWanted,
    CaptionsWanted,
    Codec,
    Duration,
    FlashLimit,
    FrameCount,
    Freeze,
    Loudness,
    Specification,
    SpecificationRefused,
    plain,
    to_json,
)
from clients.trade.specification.readers import LARGEST_TEXT, READERS, from_json, from_text
from clients.trade.specification.words import MATRICES, PRIMARIES, TRANSFERS, name_of_code

__all__ = [
    "BUILT_IN",
    "CHECKS",
    "LABELS",
    "LARGEST_TEXT",
    "MATRICES",
    "MEASURED",
    "PRIMARIES",
    "READERS",
    "TRANSFERS",
    "Aspect",
    "Black",
    "CadenceWanted",
    "CaptionsWanted",
    "Codec",
    "Duration",
    "FilmBehind",
    "FlashLimit",
    "FrameCount",
    "Freeze",
    "Loudness",
    "Specification",
    "SpecificationRefused",
    "filled_from",
    "found_in_words",
    "from_json",
    "from_text",
    "in_words",
    "name_of_code",
    "plain",
    "to_json",
    "wanted_in_words",
]
