"""A small film and its price lines, for the tests of the desk's arithmetic."""

from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.lines import Basis, Licence, Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.three_point import ThreePoint

D = Decimal
PACE = {"easy": D(17), "hard": D(8)}


def two_weeks(hours, setups):
    """Days that are the same whatever the work, so that prices can be worked by hand."""
    return {0.5: 14, 0.8: 18, 0.95: 25}


def a_day_for_seven_hours(hours, setups):
    """Days in proportion to the work: 7 hours each, half as many again for contingency."""
    whole = sum(hours.values())
    return {0.5: -int(-whole // 7), 0.8: -int(-whole * 3 // 14), 0.95: -int(-whole * 2 // 7)}


OPENING = Sequence(
    "Opening", D(10), 2, "easy", held_seconds=D(2), reused_seconds=D(1), setups=2, characters=1
)
CHASE = Sequence("Chase", D(5), 1, "hard", handles=8, setups=3, characters=2)
FILM = Option("Felt fox, 15 s", Fraction(24), (OPENING, CHASE), runtime=D(15))


DAY_RATE = D(400)


def line(label="Animation", kind=LineKind.ANIMATION, basis=Basis.DAYS, rate=DAY_RATE, **more):
    return Line(label, kind, basis, rate, **more)


EVERY_KIND_OF_LINE = (
    line("Storyboard", LineKind.PRE_PRODUCTION, Basis.DAYS, D(380), quantity=D(3), tax_rate=D(20)),
    line("Puppets", LineKind.BUILDS, Basis.QUANTITY, D("640.50"), quantity=D(2), tax_rate=D(20)),
    line("Animator", rate=D(420), tax_rate=D(20)),
    line("Assistant", rate=D(210), tax_rate=D(20)),
    line("Contingency", LineKind.CONTINGENCY, rate=None, tax_rate=D(20), hidden=True),
    line("Set-ups", LineKind.SETUP, Basis.QUANTITY, D(85), tax_rate=D(20)),
    line(
        "Clean-up",
        LineKind.CLEANUP,
        Basis.QUANTITY,
        D(38),
        unit="hours",
        pictures_per_hour=D(12),
        tax_rate=D(20),
    ),
    line("Edit", LineKind.EDIT, Basis.DAYS, D(390), quantity=D("2.5"), tax_rate=D(20)),
    line("Grade", LineKind.GRADE, Basis.FIXED, D(350), tax_rate=D(20)),
    line(
        "Sound",
        LineKind.SOUND,
        Basis.DAYS,
        D(100),
        quantity=ThreePoint(D(5), D(8), D(14)),
        tax_rate=D(20),
    ),
    line(
        "Felt, wire, paint",
        LineKind.MATERIALS,
        Basis.PERCENT,
        D(10),
        of=(LineKind.BUILDS,),
        tax_rate=D(10),
    ),
    line("Stage", LineKind.HIRE, Basis.DAYS, D("45.55"), quantity=D(18), tax_rate=D(20)),
    line("Train", LineKind.TRAVEL, Basis.QUANTITY, D("99.35"), quantity=D(3), tax_rate=D(10)),
    line(
        "Licence",
        LineKind.LICENCE,
        Basis.PERCENT,
        D("12.5"),
        tax_rate=D(20),
        licence=Licence("Europe", "online and cinema", "two years"),
    ),
    line("Making-of", LineKind.OTHER, Basis.FIXED, D(600), tax_rate=D(20), optional=True),
    line("Returning client", LineKind.DISCOUNT, Basis.PERCENT, D(5)),
)
