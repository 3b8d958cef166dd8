"""Flags in words."""

FIELDS = {
    "iso": "ISO",
    "shutter": "shutter",
    "aperture": "aperture",
    "focal_length": "focal length",
    "white_balance_auto": "automatic white balance",
    "exposure_auto": "automatic exposure",
}
MODES = {"once": "in this picture only", "stay": "and it stays", "lamp": "in part of the frame"}


def flag_in_words(flag: dict) -> str:
    """One flag of a report, as a plain phrase."""
    mode = MODES.get(flag.get("mode"), "")
    match flag["kind"]:
        case "flicker":
            return f"light {_change(flag)} {mode}"
        case "colour":
            return f"red against blue {_change(flag)} {mode}"
        case "drift":
            return f"{flag['of']} drifts {_change(flag)} over the shot"
        case "focus":
            return f"fine detail {_change(flag)} {mode}: focus"
        case "bump":
            return f"camera or set bumped by {flag['size']:.1f} px {mode}"
        case "creep":
            return f"camera or set creeps by {flag['size']:.1f} px over the shot"
        case "intruder":
            left, top, right, bottom = flag["box"]
            what = "a shadow" if flag["why"] == "shadow" else "something left in"
            return f"{what} at {left}, {top} to {right}, {bottom}"
        case "duplicate":
            return {
                "copy": f"the same file as {flag['of']}",
                "double": f"taken twice, as {flag['of']}",
                "held": f"nothing moved since {flag['of']}: held",
            }[flag["sub"]]
        case "exif":
            return f"{FIELDS[flag['field']]} {_setting(flag['old'])} became {_setting(flag['new'])}"
    raise ValueError(f"No words for a flag of kind {flag['kind']}.")


def _change(flag: dict) -> str:
    return f"{flag['change'] * 100:+.1f} %"


def _setting(value: float | bool) -> str:
    if isinstance(value, bool):
        return "on" if value else "off"
    return f"{value:g}"
