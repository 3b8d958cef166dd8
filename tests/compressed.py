"""Films compressed hard: a felt puppet that moves by parts of a pixel, with grain.

``python -m tests.compressed`` prints what the check finds in them, as in DEVELOPERS.md.
"""

import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import product
from pathlib import Path

import av
import numpy as np

from clients.reading.film import measure
from clients.trade.checks.motion import Cadence, Stretch, cadence, frozen
from clients.trade.specification import from_json

WIDTH, HEIGHT = 320, 180
MARGIN = 64


def holds(*frames: int) -> tuple[int, ...]:
    """The number of the picture each frame shows, when pictures stay for ``frames`` in turn."""
    return tuple(picture for picture, stay in enumerate(frames) for _ in range(stay))


TWOS = holds(*[2] * 36)
ONES = holds(*[1] * 72)
THREES = holds(*[3] * 24)
DROPPED = holds(*[2] * 17, 1, *[2] * 19)
"""twos, with the second frame of picture 17 missing: frame 34 stands alone"""
DOUBLED = holds(*[2] * 17, 3, *[2] * 17)
"""twos, with picture 17 on screen for frames 34 to 36"""
FROZEN = holds(*[2] * 10, 40, *[2] * 10)
"""twos, with picture 10 on screen for frames 20 to 59"""


@dataclass(frozen=True)
class Take:
    """How the puppet is shot and compressed."""

    crf: int = 30
    preset: str = "medium"
    photo_grain: float = 0.0
    """levels of noise that each photograph has for itself"""
    film_grain: float = 0.0
    """levels of noise that each frame has for itself, as added in the grade"""
    step: float = 1.5
    """pixels that the puppet moves from picture to picture"""
    eased: bool = False
    """slow in and out, nearly to a stop, every 32 pictures"""
    contrast: float = 70.0
    """levels between puppet and backdrop"""
    height: float = 0.4
    """of the frame's"""

    def position(self, picture: int) -> float:
        """Pixels from where it began."""
        if not self.eased:
            return self.step * picture
        turn = 2 * np.pi * picture / 32
        return self.step * (picture + 0.9 * 32 / (2 * np.pi) * np.sin(turn))


@cache
def _backdrop() -> tuple[np.ndarray, np.ndarray]:
    """A painted backdrop, and noise to cut grain from."""
    rng = np.random.default_rng(5)
    patches = np.kron(rng.normal(0, 14, (24, 42)), np.ones((8, 8)))[:HEIGHT, :WIDTH]
    paint = patches + 110 + rng.normal(0, 3, (HEIGHT, WIDTH))
    return paint, rng.normal(0, 1, (HEIGHT + MARGIN, WIDTH + MARGIN))


def _grain(seed: int, level: float) -> np.ndarray | float:
    if not level:
        return 0.0
    down, across = np.random.default_rng(seed).integers(0, MARGIN, 2)
    return level * _backdrop()[1][down : down + HEIGHT, across : across + WIDTH]


def _photograph(take: Take, picture: int) -> np.ndarray:
    scene = _backdrop()[0].copy()
    tall, wide = int(HEIGHT * take.height), int(WIDTH * take.height * 0.4)
    felt = np.random.default_rng(9).normal(0, take.contrast / 3, (tall // 4 + 1, wide // 4 + 1))
    felt = 110 + take.contrast + np.kron(felt, np.ones((4, 4)))[:tall, :wide]
    left, part = divmod(WIDTH / 4 + take.position(picture), 1)
    top, left = HEIGHT - tall - HEIGHT // 10, int(left)
    # Parts of a pixel: the puppet covers two neighbouring places by shares.
    for shift, share in ((0, 1 - part), (1, part)):
        place = scene[top : top + tall, left + shift : left + shift + wide]
        place += share * (felt - _backdrop()[0][top : top + tall, left + shift :][:, :wide])
    return scene + _grain(1000 + picture, take.photo_grain)


def shoot(take: Take, pictures: tuple[int, ...], path: Path) -> Path:
    """Writes the film to ``path``."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=24)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        stream.options = {"crf": str(take.crf), "preset": take.preset}
        stream.codec_context.thread_count = 1
        grey = np.full((HEIGHT // 2, WIDTH), 128, np.uint8)
        photographs = {picture: _photograph(take, picture) for picture in set(pictures)}
        for number, picture in enumerate(pictures):
            luma = photographs[picture] + _grain(9000 + number, take.film_grain)
            planes = np.vstack([luma.clip(16, 235).astype(np.uint8), grey])
            frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, 24)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


LOOKED_AT = from_json({"cadence": 2, "freeze": {"longest": 24}})


def found_in(path: Path, exposure: int = 2) -> tuple[Cadence, list[Stretch]]:
    """The cadence, and the stretches that stand still for more than a second."""
    film = measure(path, LOOKED_AT)
    still = frozen(film.changes, film.moved, film.black, 24)
    return cadence(film.changes, exposure, film.bits_per_pixel), still


MOVES = {
    "steady": Take(),
    "eased, to a stop": Take(eased=True, step=0.8),
    "0.35 px a picture": Take(step=0.35),
    "small, faint, eased": Take(eased=True, step=0.8, contrast=25, height=0.2),
    "small, faint, 0.35 px": Take(step=0.35, contrast=25, height=0.2),
}
GRAINS = ({}, {"photo_grain": 2.5}, {"film_grain": 2.5})


def words_for(name: str, cadence: Cadence, still: list[Stretch]) -> str:
    """``right``, ``uncertain`` or ``wrong``."""
    breaks = cadence.breaks
    if name == "frozen":
        # Named once; compression may blur where it begins and ends.
        right = len(still) == 1 and 16 <= still[0].first < 34 and 50 <= still[0].last < 66
    elif cadence.is_uncertain:
        return "uncertain"
    elif name == "dropped":
        right = len(breaks) == 1 and breaks[0].first - 2 <= 34 <= breaks[0].last + 2
    else:
        right = not breaks and not still
    return "right" if right else "wrong"


def table() -> None:
    """Prints, for each move and compression, how many of 6 films read right, uncertain, wrong."""
    films = {"twos": TWOS, "dropped": DROPPED, "frozen": FROZEN}
    with tempfile.TemporaryDirectory() as folder:
        for (move, take), crf in product(MOVES.items(), (18, 23, 30, 36)):
            cells = []
            for name, pictures in films.items():
                counted = Counter()
                for preset, grain in product(("medium", "veryfast"), GRAINS):
                    shot = replace(take, crf=crf, preset=preset, **grain)
                    path = shoot(shot, pictures, Path(folder) / "film.mp4")
                    counted[words_for(name, *found_in(path))] += 1
                cells.append(" / ".join(str(counted[w]) for w in ("right", "uncertain", "wrong")))
            sys.stdout.write(f"| {move} | {crf} | {' | '.join(cells)} |\n")
            sys.stdout.flush()


if __name__ == "__main__":
    table()
