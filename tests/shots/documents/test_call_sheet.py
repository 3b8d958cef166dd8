"""The call sheet, opened and read."""

from dataclasses import replace
from fractions import Fraction
from io import BytesIO

import pytest
from pypdf import PdfReader

from shots.documents.call_sheet import Called, DayPlan, SetupBlock, ToTake, call_sheet
from studio.trade.strip import StripShot, strip

LOAD = (
    "800 W draw 3.5 A at 230 V, 22 % of a 16 A circuit, within the 2944 W (80 %) for 3 hours or "
    "longer. Count what else hangs on it. Your local code and a licensed electrician decide."
)
TAKE = ToTake("080", 18, "2 s 12 f", "twos", "The doors close on the tip of the felt tail")
SETUP = SetupBlock(
    code="S1",
    name="Street, the bus stop",
    shots=tuple(replace(TAKE, shot=f"0{n}0") for n in (6, 7, 8)),
    locked="Full-frame mirrorless · 35 mm · f/8 · 1/4 s · ISO 100 · 3200 K · Focus 62 cm",
    lamps="Sky 650 W, Fill 150 W",
    load=LOAD,
)
DAY = DayPlan(
    production="The Felt Fox Misses the Bus",
    code="FOX",
    studio="Lamplight Table",
    date="Tuesday 3 March 2026",
    week="2026-W10",
    number="Day 11 of about 25",
    call="09:00",
    wrap="17:00",
    people=(
        Called("08:30", "Teo Lind", "Sets and rigging", "+48 00 000 00 02"),
        Called("09:00", "Ida Morrow", "Animator", "+48 00 000 00 01"),
        Called("10:00", "Łucja Żak", "Puppets", "+48 00 000 00 03"),
    ),
    place="Backyard workshop, 3 Mill Lane, through the green gate",
    directions="Tram 4 to Mill Lane, then two minutes on foot. No parking in the yard.",
    emergency_care="Walk-in clinic, 12 Orchard Street, +48 00 000 09 99. Emergencies: 112",
    setups=(SETUP, replace(SETUP, code="B1", name="Inside the bus", shots=SETUP.shots[:2])),
    targets="36 pictures to keep. At your pace so far they take about 6.1 h of the 6.7 h there.",
    strip=strip(
        [StripShot(f"0{n}0", 48, 24 * (n < 5), 24, "shooting") for n in range(9)],
        Fraction(24),
        480,
    ),
    standing="120 of 216 pictures kept, 96 left. Shooting most likely ends Friday 13 March.",
    checks=tuple(f"Check number {n} before the first picture" for n in range(8)),
    cautions=tuple((f"Care {n}", "Local law decides. " * 6) for n in range(8)),
    notes="Bring the second tail.",
)


def pages(plan: DayPlan, paper: str = "A4") -> list:
    return PdfReader(BytesIO(call_sheet(plan, paper))).pages


def text_of(plan: DayPlan) -> str:
    return " ".join(" ".join(page.extract_text() for page in pages(plan)).split())


# A4: ISO 216 (210 x 297 mm); Letter: ANSI (8.5 x 11 in); a point is 1/72 inch.
@pytest.mark.parametrize(
    ("paper", "width", "height"), [("A4", 595.276, 841.890), ("Letter", 612.0, 792.0)]
)
def test_an_ordinary_day_is_one_page_of_the_studios_paper(paper, width, height):
    (page,) = pages(DAY, paper)
    assert float(page.mediabox.width) == pytest.approx(width, abs=0.1)
    assert float(page.mediabox.height) == pytest.approx(height, abs=0.1)


def test_everything_of_the_day_is_printed():
    text = text_of(DAY)
    for words in (
        DAY.production, DAY.number, DAY.date, DAY.week, "Call 09:00", "Wrap 17:00",
        "Teo Lind", "+48 00 000 00 02", "Łucja Żak", DAY.place, DAY.directions, DAY.emergency_care,
        "Set-up S1 Street, the bus stop", SETUP.locked, "Sky 650 W, Fill 150 W", LOAD,
        "Set-up B1 Inside the bus", "2 s 12 f", "twos", TAKE.description, DAY.targets, DAY.notes,
        DAY.strip.sentence, DAY.standing, "Check number 7", "Care 7", "page 1 of 1",
    ):  # fmt: skip
        assert words in text


def test_a_day_without_anything_says_so():
    empty = replace(
        DAY, people=(), place="", directions="", emergency_care="", setups=(), checks=(), notes=""
    )
    text = text_of(empty)
    assert "Nobody is called yet." in text
    assert "No shots are chosen for this day." in text
    assert "Nearest emergency care: NOT WRITTEN DOWN YET" in text


@pytest.mark.parametrize(("paper", "count"), [("A4", 2), ("Letter", 3)])
def test_a_day_of_sixty_shots_repeats_its_heads_on_every_page(paper, count):
    setups = tuple(
        replace(
            SETUP,
            code=f"S{setup}",
            shots=tuple(replace(TAKE, shot=f"{setup}-{n:02}") for n in range(20)),
        )
        for setup in range(3)
    )
    read = [page.extract_text() for page in pages(replace(DAY, setups=setups), paper)]
    assert len(read) == count
    for setup in range(3):
        for text in read:
            if f"\n{setup}-" in text:
                assert f"S{setup} · shot" in text
    together = "\n".join(read)
    assert all(f"{setup}-{n:02}" in together for setup in range(3) for n in range(20))


# Invented names in the scripts a client or helper may write.
@pytest.mark.parametrize(
    "name", ["Ωmega Ξύλινη", "Войлочный Ёжик", "Zażółć gęślą jaźń", "İğne Ilgın", "紙のきつね工房"]
)
def test_a_name_in_any_script_prints(name):
    plan = replace(
        DAY,
        production=name,
        people=(Called("09:00", name, name),),
        setups=(replace(SETUP, name=name, shots=(replace(TAKE, description=name),)),),
    )
    assert text_of(plan).count(name) == 5


def test_huge_texts_flow_over_pages_instead_of_breaking():
    huge = replace(
        DAY,
        production="x" * 200,
        people=tuple(Called("09:00", "Very Long Name " * 8, "job " * 20) for _ in range(80)),
        directions="Left, then right. " * 600,
        notes="Mind the step.\n" * 300,
        setups=(replace(SETUP, lamps=", ".join(["A lamp with a long name 650 W"] * 60)),),
        checks=tuple("A check " * 24 for _ in range(60)),
    )
    assert len(pages(huge)) > 4


def test_markup_typed_into_a_text_prints_as_typed():
    assert "Bring <b>felt</b> & wire" in text_of(replace(DAY, notes="Bring <b>felt</b> & wire"))
