"""From a decoded frame to cells: brightness and the two colour differences."""

import av
import numpy as np

from clients.trade.checks.cells import AreaMeans, cell_side

FULL_RANGE = 2  # AVCOL_RANGE_JPEG
BT709 = 1


class CellReader:
    """Reduces the frames of one film, all of one size and pixel format."""

    def __init__(self, frame: av.VideoFrame):
        self.layout = (frame.width, frame.height, frame.format.name)
        self.direct = _is_planar_colour(frame.format)
        self.matrix = int(frame.colorspace) if self.direct else BT709
        if self.matrix not in (1, 5, 6, 9):  # not said: by size, as players do
            self.matrix = BT709 if frame.height >= 720 else 6
        self.full_range = self.direct and is_full_range(frame) is True
        bits = frame.format.components[0].bits if self.direct else 8
        side = cell_side(frame.width, frame.height)
        self.bits = bits
        self.luma, self.colour = AreaMeans(side, bits), AreaMeans(side, bits)
        chroma = frame.format.components[1] if self.direct else None
        self.halved = (
            chroma.width < frame.width if chroma else False,
            chroma.height < frame.height if chroma else False,
        )

    def read(self, frame: av.VideoFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Luma, blue and red difference as rows x columns int16 in cell units.

        The luma grid is finer: its cells have half the side of the others', so that the colour
        planes of the usual 4:2:0 files are read with the same steps.
        """
        if not self.direct:
            frame = frame.reformat(
                format="yuv444p", dst_colorspace="ITU709", dst_color_range="MPEG"
            )
        luma = self.luma.of(_plane(frame, 0, self.bits))
        wide, high = self.halved
        colours = []
        for index in (1, 2):
            plane = _plane(frame, index, self.bits)
            # Bring finer colour planes to the 4:2:0 grid by leaving out every second sample.
            plane = plane[:: 1 if high else 2, :: 1 if wide else 2]
            colours.append(self.colour.of(plane))
        return luma, colours[0], colours[1]


def is_full_range(frame: av.VideoFrame) -> bool | None:
    """None when neither the stream nor the pixel format says."""
    if frame.format.name.startswith("yuvj") or frame.format.is_rgb:
        return True
    return {0: None, FULL_RANGE: True}.get(int(frame.color_range), False)


def chroma_of(pixels: av.VideoFormat) -> str:
    """``4:2:0`` and so on, ``rgb`` or ``grey``."""
    if pixels.is_rgb or pixels.has_palette:
        return "rgb"
    if len(pixels.components) < 3:
        return "grey"
    across = 64 // pixels.chroma_width(64)
    down = 64 // pixels.chroma_height(64)
    names = {(2, 2): "4:2:0", (2, 1): "4:2:2", (1, 1): "4:4:4", (4, 1): "4:1:1", (1, 2): "4:4:0"}
    return names.get((across, down), f"1/{across} by 1/{down}")


def _is_planar_colour(pixels: av.VideoFormat) -> bool:
    """True for planar Y'CbCr in the machine's own byte order, subsampled by one or two."""
    return (
        pixels.name.startswith("yuv")
        and len({part.plane for part in pixels.components}) == len(pixels.components) >= 3
        and not (pixels.components[0].bits > 8 and pixels.is_big_endian)
        and chroma_of(pixels) in ("4:2:0", "4:2:2", "4:4:4", "4:4:0")
    )


def _plane(frame: av.VideoFrame, index: int, bits: int) -> np.ndarray:
    """A view of one plane, height x width, without the padding at the ends of its lines."""
    plane = frame.planes[index]
    kind = np.dtype(np.uint8 if bits <= 8 else np.uint16)
    lines = np.frombuffer(plane, kind)[: plane.height * plane.line_size // kind.itemsize]
    return lines.reshape(plane.height, -1)[:, : plane.width]
