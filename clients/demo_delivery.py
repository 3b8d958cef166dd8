"""What the demo studio delivered: a small real film, checked, sealed and signed off."""

from datetime import datetime
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path

import av
import numpy as np

from clients.models import ClientAnswer, Delivery, FileCheck
from clients.queries.deliveries import Letter
from clients.services import file_checks
from clients.services.deliverables import add_deliverable
from clients.services.deliveries import Chosen, answer, begin_delivery
from clients.services.specifications import add_specification
from clients.trade.delivery import FIRST_CHECKS
from shots.models import Production
from studio.long_work import carry_out
from studio.models import Person

WIDTH, HEIGHT = 640, 360
DOWN, ACROSS = np.ogrid[0:HEIGHT, 0:WIDTH]
SAMPLE_RATE = 48_000
TONE = 997
"""hertz, as in EBU Tech 3341"""
AT_ONCE = 1024
"""samples"""
BT709 = 1  # in ITU-T H.273, for primaries, transfer and matrix alike
LIMITED = 1


def deliver(film: Production, owner: Person, then: datetime, signed: datetime) -> None:
    """A real file, checked and delivered: its sound is too loud, which the client accepted."""
    specification = add_specification(
        "Gallery screen",
        {
            "container": "mp4", "video_codec": "h264", "width": WIDTH, "height": HEIGHT,
            "constant_rate": True, "colour_primaries": 1, "colour_transfer": 1,
            "colour_matrix": 1, "black": {"head": 0, "inside": 0, "tail": 0},
            "audio_codec": "aac", "loudness": {"target": -23.0, "tolerance": 0.5},
            "true_peak": -1.0, "flash": {"general": 3, "red": 3},
        },
    )  # fmt: skip
    file = add_deliverable(
        film,
        {
            "name": "Gallery loop",
            "purpose": "For the screen beside the showcase",
            "specification": specification,
            "file_name": "{production}_{deliverable}_v{version}.mp4",
        },
        FIRST_CHECKS,
    )
    path = file_checks.allowed_folders()[0] / "clay-orchestra-export.mp4"
    write_film(path, film.contracted_frames, film.rate, film.exposure, loudness=-20.0)
    row = file_checks.begin_check(file, path, owner, then)
    carry_out.call(row.work.pk)
    FileCheck.objects.filter(pk=row.pk).update(started_at=then, ended_at=then)
    row.refresh_from_db()
    why = "The hall is loud. Her letter of the day before."
    file_checks.accept_exception(row, "loudness", "Łucja Żak", why, owner, then)
    file.checks.filter(filled_from=None).update(ticked_at=then, ticked_by=owner)
    letter = Letter(
        then.date(), "The loop starts by itself.", "Gallery licence, one year, one screen"
    )
    carry_out.call(begin_delivery(film, [Chosen(file.pk, row.pk)], letter, owner).pk)
    delivery = Delivery.objects.get(production=film)
    Delivery.objects.filter(pk=delivery.pk).update(made_at=then)
    answer(
        delivery.versions.get(),
        ClientAnswer.Kind.SIGNED_OFF,
        "Łucja Żak",
        "",
        signed,
        noted_by=owner,
    )


def write_film(path: Path, frames: int, rate: Fraction, exposure: int, loudness: float) -> None:
    """A clay ball crosses a table for so many frames, while a tone of `loudness` LUFS sounds."""
    with av.open(str(path), "w") as out:
        video = out.add_stream("libx264", rate=rate)
        video.width, video.height, video.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        video.options = {"crf": "20", "preset": "ultrafast"}
        context = video.codec_context
        context.color_primaries = context.color_trc = context.colorspace = BT709
        context.color_range = LIMITED
        sound = out.add_stream("aac", rate=SAMPLE_RATE, layout="stereo")
        for number in range(frames):
            frame = av.VideoFrame.from_ndarray(_picture(number // exposure), format="yuv420p")
            frame.pts, frame.time_base = number, 1 / rate
            out.mux(video.encode(frame))
        out.mux(video.encode(None))
        for frame in _tone(round(SAMPLE_RATE * frames / rate), loudness):
            out.mux(sound.encode(frame))
        out.mux(sound.encode(None))


@cache
def _table() -> np.ndarray:
    """The lit table without the ball, as brightness."""
    return 70 + 60 * DOWN / HEIGHT + 12 * np.sin(ACROSS / 23) * np.sin(DOWN / 17)


@lru_cache(maxsize=1)
def _picture(number: int) -> np.ndarray:
    """The planes of one picture, stacked: the ball a little further on the table."""
    luma = _table().copy()
    left, top = 60 + 9 * number % (WIDTH - 120), 220 - 40 * abs(np.sin(number / 5))
    ball = (ACROSS - left) ** 2 + (DOWN - top) ** 2 < 46**2
    luma[ball] = (190 - 0.5 * (ACROSS - left + DOWN - top))[ball]
    colour = np.empty((HEIGHT // 2, WIDTH), np.uint8)
    colour[: HEIGHT // 4] = 118  # a warm light: less blue, more red
    colour[HEIGHT // 4 :] = 140
    return np.vstack([luma.clip(16, 235).astype(np.uint8), colour])


def _tone(samples: int, loudness: float):
    """A sine in both channels. BS.1770: one of 0 dBFS peak at 997 Hz in one channel is -3.01 LUFS,
    so in both it is 0."""
    wave = 10 ** (loudness / 20) * np.sin(2 * np.pi * TONE * np.arange(samples) / SAMPLE_RATE)
    for start in range(0, samples, AT_ONCE):
        piece = np.tile(wave[start : start + AT_ONCE].astype(np.float32), (2, 1))
        frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout="stereo")
        frame.sample_rate, frame.pts = SAMPLE_RATE, start
        frame.time_base = Fraction(1, SAMPLE_RATE)
        yield frame
