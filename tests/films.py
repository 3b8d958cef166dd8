"""Makes small films with PyAV, one for each thing that can be wrong with a delivery."""

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

BLACK, WHITE, RED, GREY = "black", "white", "red", "grey"
# Y', Cb, Cr of plain frames: video-range BT.709 (H.264 E-10 and table E-5).
PLAIN = {BLACK: (16, 128, 128), WHITE: (235, 128, 128), RED: (63, 102, 240), GREY: (60, 128, 128)}


def held(frames: int, exposure: int) -> tuple[int, ...]:
    """The number of the picture each frame shows."""
    return tuple(frame // exposure for frame in range(frames))


@dataclass(frozen=True)
class Film:
    """A recipe. The defaults pass every check of ``CLEAN`` in the tests."""

    name: str = "PUP_film_v01.mp4"
    codec: str = "libx264"
    pixels: str = "yuv420p"
    options: dict = field(default_factory=lambda: {"crf": "18", "preset": "ultrafast"})
    width: int = 128
    height: int = 96
    rate: Fraction = Fraction(24)
    aspect: Fraction = Fraction(1)
    pictures: tuple = held(48, 2)
    tags: tuple[int, int, int, int] = (1, 1, 1, 1)
    """primaries, transfer, matrix, range"""
    jitter: tuple[int, ...] = ()
    """frames shown a quarter of a frame late"""
    interlaced: bool = False
    rotation: int = 0
    sound: str | None = "aac"
    sample_rate: int = 48_000
    layout: str = "stereo"
    level: float = -23.0
    """peak of the 997 Hz tone, dBFS"""
    sound_streams: int = 1
    container_options: dict = field(default_factory=dict)

    @property
    def stamps(self) -> int:
        """Time stamp units for each frame."""
        return 4 if self.jitter else 1


def make(film: Film, folder: Path, seed: int = 1) -> Path:
    """Writes the film into ``folder`` and returns its path."""
    path = folder / film.name
    with av.open(str(path), "w", container_options=film.container_options) as out:
        video = _video_stream(out, film)
        sounds = [_sound_stream(out, film) for _ in range(film.sound_streams if film.sound else 0)]
        stage = Stage(film.width, film.height, seed)
        for number, picture in enumerate(film.pictures):
            frame = av.VideoFrame.from_ndarray(stage.picture(picture), format="yuv420p")
            if film.pixels != "yuv420p":
                frame = frame.reformat(format=film.pixels)
            frame.time_base = 1 / (film.rate * film.stamps)
            frame.pts = number * film.stamps + (number in film.jitter)
            out.mux(video.encode(frame))
        out.mux(video.encode(None))
        for sound in sounds:
            _add_tone(out, sound, film)
    return path


def make_sound(path: Path, samples: np.ndarray, layout: str, sample_rate: int = 48_000) -> Path:
    """A film of grey with ``samples`` (channels x samples, full scale 1) as its sound."""
    seconds = samples.shape[1] / sample_rate
    film = Film(pictures=(GREY,) * round(seconds * 2), rate=Fraction(2), width=64, height=48)
    with av.open(str(path), "w") as out:
        video = _video_stream(out, film)
        sound = out.add_stream("pcm_s24le", rate=sample_rate, layout=layout)
        stage = Stage(film.width, film.height, 1)
        for number, picture in enumerate(film.pictures):
            frame = av.VideoFrame.from_ndarray(stage.picture(picture), format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, 2)
            out.mux(video.encode(frame))
        out.mux(video.encode(None))
        packed = (samples.T.reshape(1, -1) * (2**31 - 1)).astype(np.int32)
        frame = av.AudioFrame.from_ndarray(packed, format="s32", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = sample_rate, 0, Fraction(1, sample_rate)
        out.mux(sound.encode(frame))
        out.mux(sound.encode(None))
    return path


class Stage:
    """Draws a puppet of felt before a painted backdrop, as I420 planes stacked."""

    def __init__(self, width: int, height: int, seed: int):
        self.width, self.height = width, height
        rng = np.random.default_rng(seed)
        coarse = rng.normal(0, 14, (height // 8 + 1, width // 8 + 1))
        backdrop = np.kron(coarse, np.ones((8, 8)))[:height, :width] + 110
        self.backdrop = (backdrop + rng.normal(0, 2, (height, width))).clip(20, 220)

    def picture(self, picture: int | str) -> np.ndarray:
        if isinstance(picture, str):
            return self._planes(
                np.full((self.height, self.width), 0.0) + PLAIN[picture][0], picture
            )
        luma = self.backdrop.copy()
        tall, wide = self.height // 3, self.width // 6
        left = int(self.width / 8 + picture * self.width / 60) % (self.width - wide)
        luma[self.height // 2 :, left : left + wide][:tall] = 200
        luma[self.height // 2 + tall // 3 :, left + wide // 3 :][: tall // 6, : wide // 3] = 40
        return self._planes(luma, GREY)

    def _planes(self, luma: np.ndarray, name: str) -> np.ndarray:
        colours = [
            np.full((self.height // 4, self.width), code, np.uint8) for code in PLAIN[name][1:]
        ]
        return np.vstack([luma.astype(np.uint8), *colours])


def _video_stream(out, film: Film):
    video = out.add_stream(film.codec, rate=film.rate)
    video.width, video.height, video.pix_fmt = film.width, film.height, film.pixels
    video.options = dict(film.options) if film.codec == "libx264" else {}
    if film.interlaced:
        video.options |= {"x264-params": "interlaced=1:tff=1"}
    decoder = video.codec_context
    decoder.time_base = 1 / (film.rate * film.stamps)
    decoder.color_primaries, decoder.color_trc, decoder.colorspace, decoder.color_range = film.tags
    decoder.sample_aspect_ratio = film.aspect
    decoder.thread_count = 1
    if film.rotation:
        video.set_display_rotation(film.rotation)
    return video


def _sound_stream(out, film: Film):
    return out.add_stream(film.sound, rate=film.sample_rate, layout=film.layout)


def _add_tone(out, sound, film: Film) -> None:
    samples = round(film.sample_rate * len(film.pictures) / film.rate)
    tone = np.sin(2 * np.pi * 997 * np.arange(samples) / film.sample_rate)
    tone = (10 ** (film.level / 20) * tone).astype(np.float32)
    channels = len(sound.codec_context.layout.channels)
    resampler = av.AudioResampler(sound.codec_context.format.name, film.layout, film.sample_rate)
    for start in range(0, samples, 1024):
        piece = np.ascontiguousarray(np.tile(tone[start : start + 1024], (channels, 1)))
        frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout=film.layout)
        frame.sample_rate, frame.pts = film.sample_rate, start
        frame.time_base = Fraction(1, film.sample_rate)
        for ready in resampler.resample(frame):
            out.mux(sound.encode(ready))
    out.mux(sound.encode(None))
