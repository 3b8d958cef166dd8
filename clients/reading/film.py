"""Decodes a film once, from end to end, and hands every frame and sample to the measures."""

from array import array
from collections import deque
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import av.error
import numpy as np

from clients.reading.planes import CellReader, chroma_of, is_full_range
from clients.reading.wholeness import EXTENSIONS, NotWhole, look_at
from clients.trade.checks.cells import change, is_black
from clients.trade.checks.flash import FlashCounter, linear_rgb
from clients.trade.checks.loudness import SoundMeter
from clients.trade.checks.motion import REACH
from clients.trade.checks.timing import Clock
from clients.trade.film import FilmFacts, SoundFacts
from clients.trade.specification import Specification

# Only containers that hold a film in one file: no playlists or lists that open other files.
DEMUXERS = "mov,matroska,avi,mxf,mpegts,mpeg,ogg"
SAMPLES = "fltp"  # 32-bit floating point, each channel on its own
LARGEST_PICTURE = 16_384 * 8_640
"""pixels"""


class FileRefused(Exception):
    """The file could not be checked; the message is a sentence for a person."""


class CheckStopped(Exception):
    """Somebody stopped the check."""


def never() -> bool:
    """The default answer to "shall I stop?"."""
    return False


def unheard(done: float) -> None:
    """The default listener to progress."""


def measure(
    path: Path,
    wanted: Specification,
    progress: Callable[[float], None] = unheard,
    stop: Callable[[], bool] = never,
) -> FilmFacts:
    """Everything about the file at ``path`` that ``wanted`` asks for; captions are left out.

    ``progress`` is told a share from 0 to 1. Raises FileRefused when the file is no film, is
    damaged or cut off, and CheckStopped soon after ``stop`` first answers True.
    """
    try:
        container_name = look_at(path)
        with _open(path) as container:
            return _Measuring(path, container, container_name, wanted).run(progress, stop)
    except NotWhole as fault:
        raise FileRefused(str(fault)) from None
    except PermissionError:
        raise FileRefused("The file may not be read; change its permissions.") from None
    except OSError as fault:  # av.error.FFmpegError among them
        raise FileRefused(
            f"The file cannot be read as a film ({fault.strerror or 'unknown'}). It may be "
            "damaged or cut off; export it again."
        ) from None


def _open(path: Path) -> av.container.InputContainer:
    # "file:" keeps a name such as "concat:x" from being read as a protocol.
    options = {"format_whitelist": DEMUXERS, "protocol_whitelist": "file"}
    try:
        return av.open(f"file:{path.absolute()}", options=options, metadata_errors="replace")
    except (av.error.FFmpegError, ValueError, UnicodeError):
        raise FileRefused(
            "The file is not a film that can be opened: give an MP4, QuickTime, Matroska, WebM, "
            "MXF, AVI, transport stream or Ogg file that is whole."
        ) from None


class _Measuring:
    """One pass over one file."""

    def __init__(self, path: Path, container, container_name: str, wanted: Specification):
        self.path = path
        self.container = container
        self.container_name = container_name or container.format.name.partition(",")[0]
        self.size = path.stat().st_size
        pictures = [s for s in container.streams.video if not _is_cover(s)]
        if not pictures:
            raise FileRefused("The file has no pictures: no video stream is in it.")
        self.streams = [pictures[0]]
        self.video = pictures[0]
        self.video_streams = len(pictures)
        self.sound = next(iter(container.streams.audio), None)
        self.see = wanted.wants("black", "freeze", "cadence", "flash")
        self.look_for_flashes = wanted.wants("flash")
        self.hear = self.sound is not None and wanted.wants("loudness", "true_peak")
        if self.hear:
            self.streams.append(self.sound)
        decoder = self.video.codec_context
        if decoder is None or (self.sound is not None and self.sound.codec_context is None):
            raise FileRefused("The file uses a codec that is not known here; export with another.")
        if decoder.width * decoder.height > LARGEST_PICTURE:
            raise FileRefused(
                f"The picture is {decoder.width} × {decoder.height} px, too large to check."
            )
        decoder.thread_type = "AUTO"
        self.clock = Clock(Fraction(self.video.time_base), self.video.average_rate)
        self.first: av.VideoFrame | None = None
        self.resized_at: int | None = None
        self.interlaced = 0
        self.cells: CellReader | None = None
        self.changes, self.black = array("f"), array("b")
        self.before: np.ndarray | None = None
        self.look_for_stills = wanted.wants("freeze")
        self.moved = array("f")
        self.latest: deque[np.ndarray] = deque(maxlen=REACH)
        self.flashes: FlashCounter | None = None
        self.meter: SoundMeter | None = None
        self.resampler = None
        self.broken_packets = 0
        self.packets = 0
        self.coded_bytes = 0

    def run(self, progress: Callable[[float], None], stop: Callable[[], bool]) -> FilmFacts:
        try:
            for packet in self.container.demux(self.streams):
                if stop():
                    raise CheckStopped
                self._take(packet)
                if packet.pos is not None and self.size:
                    progress(min(1.0, max(0, packet.pos) / self.size))
        except av.error.FFmpegError:
            self.broken_packets += 1
        self._refuse_damage()
        return self._facts()

    def _take(self, packet: av.Packet) -> None:
        is_picture = packet.stream is self.video or packet.stream.index == self.video.index
        if packet.size:
            self.packets += is_picture
            self.coded_bytes += packet.size * is_picture
            self.broken_packets += packet.is_corrupt
        try:
            decoded = packet.decode()
        except av.error.EOFError:
            return
        except av.error.FFmpegError:
            self.broken_packets += 1
            return
        for frame in decoded:
            if is_picture:
                self._see(frame)
            else:
                self._hear(frame)

    def _see(self, frame: av.VideoFrame) -> None:
        self.broken_packets += frame.is_corrupt
        if self.first is None:
            self.first = frame
        resized = (frame.width, frame.height) != (self.first.width, self.first.height)
        if resized and self.resized_at is None:
            self.resized_at = self.clock.frames
        # AVI stores no time stamps, only one rate; what the library makes up for it is no fact.
        self.clock.add(None if self.container_name == "avi" else frame.pts)
        self.interlaced += frame.interlaced_frame
        if self.see:
            self._compare(frame)

    def _compare(self, frame: av.VideoFrame) -> None:
        if self.cells is None or self.cells.layout != (
            frame.width,
            frame.height,
            frame.format.name,
        ):
            self.cells = CellReader(frame)
            self.before = None
        luma, blue, red = self.cells.read(frame)
        now = np.concatenate((luma.ravel(), blue.ravel(), red.ravel()))
        # Compared with the last picture that differed at all, so that a slow fade adds up.
        changed = change(now, self.before) if self.before is not None else 255.0
        self.changes.append(changed)
        is_new = changed > 0
        if is_new:
            self.before = now
        if self.look_for_stills:
            self._compare_back(now, is_new)
        self.black.append(is_black(luma, self.cells.full_range))
        if self.look_for_flashes:
            self._watch_flashes(luma, blue, red, is_new)

    def _compare_back(self, now: np.ndarray, is_new: bool) -> None:
        """Against the frame REACH before. Frames that did not change at all share one array."""
        now = now if is_new else self.before
        back = self.latest[0] if len(self.latest) == REACH else None
        same_size = back is not None and back.size == now.size
        self.moved.append(change(now, back) if same_size else 255.0)
        self.latest.append(now)

    def _watch_flashes(self, luma, blue, red, is_new: bool) -> None:
        rows, columns = blue.shape
        if self.flashes is None:
            rate = float(self.video.average_rate or 25)
            self.flashes = FlashCounter(rows, columns, rate)
        if not is_new or self.flashes.shape != (rows, columns):
            self.flashes.add(None)
            return
        # One luma value for each colour cell: the mean of the four under it.
        fine = luma[: rows * 2, : columns * 2].reshape(rows, 2, columns, 2)
        luma = fine[:, 0, :, 0] + fine[:, 0, :, 1] + fine[:, 1, :, 0] + fine[:, 1, :, 1]
        rgb = linear_rgb(
            luma.ravel() >> 2, blue.ravel(), red.ravel(), self.cells.matrix, self.cells.full_range
        )
        self.flashes.add(rgb)

    def _hear(self, frame: av.AudioFrame) -> None:
        if self.meter is None:
            names = [channel.name for channel in frame.layout.channels]
            self.meter = SoundMeter(frame.sample_rate, names)
            self.resampler = av.AudioResampler(SAMPLES, frame.layout, frame.sample_rate)
        if frame.format.name == SAMPLES:
            self.meter.add(frame.to_ndarray())
            return
        for piece in self.resampler.resample(frame):
            self.meter.add(piece.to_ndarray())

    def _refuse_damage(self) -> None:
        if self.clock.frames == 0:
            raise FileRefused("No picture in the file can be decoded: it is damaged or cut off.")
        # Other containers count frames that show nothing, or do not count at all.
        promised = self.video.frames if self.container_name in ("mp4", "mov") else 0
        if promised > self.packets:
            raise FileRefused(
                f"The file is cut off: its index promises {promised} frames and "
                f"{self.packets} are there. Copy or export it again."
            )
        if self.broken_packets:
            raise FileRefused(
                f"The file is damaged: {self.broken_packets} of its parts cannot be decoded "
                f"({self.clock.frames} frames could). Copy or export it again."
            )

    def _facts(self) -> FilmFacts:
        frame, decoder = self.first, self.video.codec_context
        aspect = self.video.sample_aspect_ratio or decoder.sample_aspect_ratio
        return FilmFacts(
            name=self.path.name,
            size=self.size,
            container=self.container_name,
            expected_extensions=EXTENSIONS.get(self.container_name, ()),
            video_streams=self.video_streams,
            video_codec=decoder.codec.canonical_name,
            profile=decoder.profile or "",
            width=frame.width,
            height=frame.height,
            resized_at=self.resized_at,
            rotation=round(frame.rotation),
            pixel_aspect=Fraction(aspect or 1),
            interlaced_frames=self.interlaced,
            bit_depth=frame.format.components[0].bits,
            chroma=chroma_of(frame.format),
            colour_primaries=int(frame.color_primaries),
            colour_transfer=int(frame.color_trc),
            colour_matrix=int(frame.colorspace),
            full_range=is_full_range(frame),
            bits_per_pixel=8 * self.coded_bytes / (self.clock.frames * frame.width * frame.height),
            timing=self.clock.timing(),
            changes=np.frombuffer(self.changes, np.float32) if self.see else None,
            moved=np.frombuffer(self.moved, np.float32) if self.look_for_stills else None,
            black=np.frombuffer(self.black, np.int8).astype(bool) if self.see else None,
            flash=self.flashes.facts() if self.flashes else None,
            sound=self._sound(),
        )

    def _sound(self) -> SoundFacts | None:
        if self.sound is None:
            return None
        decoder = self.sound.codec_context
        if self.meter:
            self.meter.finish()
        return SoundFacts(
            streams=len(self.container.streams.audio),
            codec=decoder.codec.canonical_name,
            sample_rate=decoder.sample_rate,
            channels=decoder.layout.nb_channels,
            loudness=self.meter.loudness() if self.meter else None,
            true_peak=self.meter.true_peak() if self.meter else None,
        )


def _is_cover(stream: av.VideoStream) -> bool:
    """A still picture carried as the file's cover."""
    return bool(stream.disposition & av.stream.Disposition.attached_pic)
