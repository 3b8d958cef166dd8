"""Figures of the floor for `manage.py bench`."""

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from django.urls import reverse
from PIL import Image

from shots.management.commands.inspect import inspect_folder
from shots.models import Production
from studio.benchmarks import Bench, Figure, Row, opening


def today_page(bench: Bench) -> Figure:
    """Today with one running film, its forecast included."""
    return Figure(opening(bench, reverse("studio:today")))


def film_page(bench: Bench) -> Figure:
    """The film page of the running film: fan, what moves the date, what-ifs."""
    film = Production.objects.running().first()
    return Figure(opening(bench, reverse("shots:film", args=[film.code])))


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
    "picture check over a plain decode, 1080p": picture_check(HD, time.perf_counter, "2.5"),
    "picture check, processor time, 1080p": picture_check(HD, time.process_time, "2.5"),
    "picture check over a plain decode, 12 MP": picture_check(LARGE, time.perf_counter, "1.0"),
    "picture check, processor time, 12 MP": picture_check(LARGE, time.process_time, "1.0"),
}
