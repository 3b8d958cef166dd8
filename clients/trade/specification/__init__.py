"""What a client wants of a file: the specification, read from and written to JSON.

Every item is optional; None means that it is not checked. A studio starts from a built-in
specification and changes what its client asks.
"""

from clients.trade.specification.built_in import BUILT_IN
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
from clients.trade.specification.readers import from_json
from clients.trade.specification.words import MATRICES, PRIMARIES, TRANSFERS, name_of_code

__all__ = [
    "BUILT_IN",
    "CHECKS",
    "MATRICES",
    "PRIMARIES",
    "TRANSFERS",
    "Aspect",
    "Black",
    "CadenceWanted",
    "CaptionsWanted",
    "Codec",
    "Duration",
    "FlashLimit",
    "FrameCount",
    "Freeze",
    "Loudness",
    "Specification",
    "SpecificationRefused",
    "from_json",
    "name_of_code",
    "plain",
    "to_json",
]
