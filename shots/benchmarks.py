"""Figures of the floor for `manage.py bench`."""

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import time as clock_time
from itertools import cycle
from pathlib import Path

import numpy as np
from django.urls import reverse
from PIL import Image

from shots.management.commands.inspect import inspect_folder
from shots.models import (
    Beats,
    CallSheet,
    CallSheetShot,
    Difficulty,
    Production,
    Setup,
    Shot,
    Wish,
)
from shots.queries.plan import Standing, standing
from studio.benchmarks import Bench, Figure, Row, milliseconds, opening


def today_page(bench: Bench) -> Figure:
    """Today with one running film, its forecast included."""
    return Figure(opening(bench, reverse("studio:today")))


def film_page(bench: Bench) -> Figure:
    """The film page of the running film: fan, what moves the date, what-ifs."""
    film = Production.objects.running().first()
    return Figure(opening(bench, reverse("shots:film", args=[film.code])))


SHOTS, SETUPS, DAYS = 200, 25, 60


def plan_large_film(bench: Bench) -> Figure:
    """The walk alone: what is planned was read before."""
    return Figure(milliseconds(_sixty_days(bench).made), aim="under 200")


def plan_again(bench: Bench) -> Figure:
    """The walk alone, with a shot from the middle of the film pinned to a day of its own."""
    now = _sixty_days(bench)
    moved = [
        replace(shot, pinned=now.days[DAYS // 2].date) if n == SHOTS // 2 else shot
        for n, shot in enumerate(now.to_plan)
    ]
    return Figure(milliseconds(replace(now, to_plan=tuple(moved)).made), aim="under 200")


def _sixty_days(bench: Bench) -> Standing:
    now = standing(_large_film(), bench.studio, bench.today)
    return replace(now, days=now.days[:DAYS])


def drop_a_shot(bench: Bench) -> Figure:
    """A shot dropped on another day: read, planned before and after, kept, the days drawn."""
    film = _large_film()
    days = [day.date for day in standing(film, bench.studio, bench.today).days]
    shot = film.shots.all()[SHOTS // 2]
    turns = cycle(days[5:7])
    address = reverse("shots:plan", args=[film.code])

    def drop():
        to = {"to": f"shot:{shot.pk}:{next(turns)}"}
        answer = bench.browser.post(address, to, headers={"HX-Request": "true"})
        assert b"was pinned to" in answer.content, "The shot was not moved."

    return Figure(milliseconds(drop))


def call_sheet_paper(bench: Bench) -> Figure:
    """The PDF of a day with 60 shots in 25 set-ups, read and printed."""
    film = _large_film()
    sheet = CallSheet.objects.create(
        production=film, day=bench.today, call=clock_time(9), wrap=clock_time(18)
    )
    for place, shot in enumerate(sorted(film.shots.all()[:60], key=lambda one: one.setup_id)):
        CallSheetShot.objects.create(call_sheet=sheet, shot=shot, pictures=4, position=place)
    address = reverse("shots:call_sheet_pdf", args=[film.code, sheet.pk])
    return Figure(opening(bench, address), aim="under 300")


def exposure_sheet_paper(bench: Bench) -> Figure:
    """The PDF of a shot of 1,000 frames with beats, read and printed."""
    shot = _large_film().shots.first()
    shot.screen_frames = 1000
    shot.save()
    Beats.objects.create(shot=shot, text="hold 40 f\ncross the table 2 m in 480 pictures\n")
    address = reverse("shots:exposure_sheet", args=[shot.production.code, shot.pk])
    return Figure(opening(bench, address), aim="under 500")


def _large_film() -> Production:
    """A film of 200 shots of an hour or two in 25 set-ups; every fourth waits for another."""
    film = Production.objects.create(code="LARGE", title="The Large Film", contracted_frames=4800)
    setups = [Setup(production=film, code=f"S{n:02}", name="Table") for n in range(SETUPS)]
    setups = Setup.objects.bulk_create(setups)
    medium = Difficulty.objects.get(name="medium")
    shots = [
        Shot(production=film, code=f"{n:03}0", position=n, setup=setups[n * 7 % SETUPS],
             screen_frames=24, difficulty=medium, description="The felt fox crosses the table")
        for n in range(SHOTS)
    ]  # fmt: skip
    shots = Shot.objects.bulk_create(shots)
    for n in range(0, SHOTS - 30, 4):
        Wish.objects.create(shot=shots[n]).after.add(shots[n + 30])
    return film


STILLS = 12
TURNS = 5
OCTAVES = range(2, 9)


def picture_check(size: tuple[int, int], clock: Callable[[], float], aim: str) -> Row:
    """The whole check of a folder of stills, over decoding the same files and no more."""

    def row(bench: Bench) -> Figure:
        folder = bench.folder / f"stills {size}"
        if not folder.exists():
            photograph(folder, size)

        def decode() -> None:
            for file in folder.iterdir():
                Image.open(file).load()

        taken = {decode: [], inspect_folder: []}
        for _ in range(TURNS):  # in turns, so that a busy machine slows both
            for act, words in ((decode, ()), (inspect_folder, (folder,))):
                begun = clock()
                act(*words)
                taken[act].append(clock() - begun)
        return Figure(min(taken[inspect_folder]) / min(taken[decode]), "×", aim)

    return row


def photograph(folder: Path, size: tuple[int, int]) -> None:
    """Stills of one scene: structure of every size, as in photographs, and grain of its own in
    each; 1.5 MB at 12 megapixels."""
    folder.mkdir()
    width, height = size
    rng = np.random.default_rng(1)
    scene = np.full((height, width, 3), 110, np.float32)
    for octave in OCTAVES:
        coarse = rng.normal(0, 1, (-(-height >> octave) + 2, (width >> octave) + 2, 3))
        scene += 2.5 * octave * _enlarged(coarse, size)
    grain = rng.normal(0, 2, (height, width, 3)).astype(np.float32)
    for n in range(STILLS):
        code = scene + np.roll(grain, 37 * n, (0, 1))
        picture = Image.fromarray(code.clip(0, 255).astype(np.uint8))
        picture.save(folder / f"P{n + 1:04}.jpg", quality=90)


def _enlarged(coarse: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    channels = (
        Image.fromarray(channel) for channel in np.moveaxis(coarse.astype(np.float32), 2, 0)
    )
    return np.stack([np.asarray(one.resize(size, Image.Resampling.BICUBIC)) for one in channels], 2)


HD, LARGE = (1920, 1080), (4032, 3024)
ROWS: dict[str, Row] = {
    "Today, one film running": today_page,
    "the film page": film_page,
    "200 shots in 25 set-ups planned over 60 days": plan_large_film,
    "the same planned again, one shot moved": plan_again,
    "a shot of 200 dropped on another day, all told": drop_a_shot,
    "a call sheet of 60 shots as PDF": call_sheet_paper,
    "an exposure sheet of 1,000 frames as PDF": exposure_sheet_paper,
    "picture check over a plain decode, 1080p": picture_check(HD, time.perf_counter, "2.5"),
    "picture check, processor time, 1080p": picture_check(HD, time.process_time, "2.5"),
    "picture check over a plain decode, 12 MP": picture_check(LARGE, time.perf_counter, "1.0"),
    "picture check, processor time, 12 MP": picture_check(LARGE, time.process_time, "1.0"),
}
