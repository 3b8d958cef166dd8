"""What a quote assumes, and how options differ, in plain sentences."""

from decimal import Decimal

from clients.trade.quoting.lines import LineKind
from clients.trade.quoting.option import Option, exposure_words
from clients.trade.quoting.pricing import PricedOption
from studio.trade.timecode import rate_label, seconds_and_frames

WHAT_COUNTS_AS_A_CHANGE = (
    "A change is anything that adds or lengthens a shot, adds a character or a set-up, or asks for "
    "approved pictures to be taken again; it is priced as a change order before it is shot."
)


def assumptions(priced: PricedOption, revision_rounds: int) -> tuple[str, ...]:
    """The sentences that stand on the quote under the price."""
    option, work = priced.option, priced.work
    sentences = [
        f"The film lasts {seconds_and_frames(option.frames, option.rate)} "
        f"at {rate_label(option.rate)} frames per second.",
        _runtime_sentence(option),
        f"It is animated {_exposures(option)}: {_count(work.pictures, 'picture')} in all.",
        _held_sentence(option),
        f"{_count(work.setups, 'set-up')} of camera, set and lamps "
        f"{'is' if work.setups == 1 else 'are'} included.",
        f"At most {_count(max(one.characters for one in option.sequences), 'character')} "
        "on screen at a time.",
        f"Days of shooting planned: {priced.days.chosen}.",
        *_licence_sentences(priced),
        _revision_sentence(revision_rounds),
        WHAT_COUNTS_AS_A_CHANGE,
    ]
    return tuple(sentence for sentence in sentences if sentence)


def option_difference(first: PricedOption, other: PricedOption) -> str:
    """How `other` differs from `first`, and what that does to pictures and to the days promised.

    "24 on twos instead of 12 on ones: the same pictures, 0 days more."
    """
    causes = [
        f"{there} instead of {here}"
        for here, there in zip(_traits(first), _traits(other), strict=True)
        if here != there
    ]
    pictures = other.work.pictures - first.work.pictures
    days = other.days.chosen - first.days.chosen
    effect = f"{_more_or_fewer(pictures, 'picture')}, {_days_more(days)}."
    if not causes:
        return f"The same film: {effect}"
    return f"{', '.join(causes)}: {effect}"


def _traits(priced: PricedOption) -> tuple[str, ...]:
    option = priced.option
    return (
        f"{rate_label(option.rate)}{_unit_if_mixed(option)} {_exposures(option)}",
        seconds_and_frames(option.frames, option.rate),
        _count(priced.work.setups, "set-up"),
        _seconds_by(option, "difficulty"),
        f"{_total(option, 'held_seconds')} s held",
        f"{_total(option, 'reused_seconds')} s reused",
        f"up to {_count(max(one.characters for one in option.sequences), 'character')}",
    )


def _unit_if_mixed(option: Option) -> str:
    """Two figures side by side would read as one: “25 9.6 s on twos”."""
    return " frames a second," if len({one.exposure for one in option.sequences}) > 1 else ""


def _exposures(option: Option) -> str:
    """ "on twos", or "18 s on twos and 2 s on ones"."""
    seconds: dict[int, Decimal] = {}
    for one in option.sequences:
        seconds[one.exposure] = seconds.get(one.exposure, Decimal(0)) + one.seconds
    if len(seconds) == 1:
        return f"on {exposure_words(next(iter(seconds)))}"
    parts = [f"{_plain(length)} s on {exposure_words(one)}" for one, length in seconds.items()]
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def _seconds_by(option: Option, field: str) -> str:
    seconds: dict[str, Decimal] = {}
    for one in option.sequences:
        name = getattr(one, field)
        seconds[name] = seconds.get(name, Decimal(0)) + one.seconds
    if len(seconds) == 1:
        return f"all {next(iter(seconds))}"
    return " and ".join(f"{_plain(length)} s {name}" for name, length in sorted(seconds.items()))


def _total(option: Option, field: str) -> str:
    return _plain(sum((getattr(one, field) for one in option.sequences), Decimal(0)))


def _runtime_sentence(option: Option) -> str:
    over = option.frames_over
    if not over:
        return ""
    way = "over" if over > 0 else "under"
    return (
        f"The sequences come to {seconds_and_frames(abs(over), option.rate)} {way} the runtime "
        f"asked for, {_plain(option.runtime)} s."
    )


def _held_sentence(option: Option) -> str:
    held, reused = _total(option, "held_seconds"), _total(option, "reused_seconds")
    parts = []
    if held != "0":
        parts.append(f"nothing moves for {held} s")
    if reused != "0":
        parts.append(f"{reused} s repeat pictures taken already")
    return f"Of this, {' and '.join(parts)}." if parts else ""


def _licence_sentences(priced: PricedOption) -> list[str]:
    return [
        f"Use: {one.line.licence.media}, {one.line.licence.territory}, {one.line.licence.term}. "
        "Other use is agreed and paid for separately."
        for one in priced.lines
        if one.line.kind == LineKind.LICENCE and not one.line.optional
    ]


def _revision_sentence(rounds: int) -> str:
    if rounds == 0:
        return "No revision rounds are included."
    return f"{_count(rounds, 'revision round')} {'is' if rounds == 1 else 'are'} included."


def _more_or_fewer(pictures: int, noun: str) -> str:
    if pictures == 0:
        return f"the same {noun}s"
    return f"{_count(abs(pictures), noun)} {'more' if pictures > 0 else 'fewer'}"


def _days_more(days: int) -> str:
    return f"{_count(abs(days), 'day')} {'fewer' if days < 0 else 'more'}"


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _plain(number: Decimal) -> str:
    """A number without trailing zeros: 12.50 is 12.5 and 10 stays 10."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
