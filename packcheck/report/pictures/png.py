"""A PNG of a picture with few colours: signature, IHDR, PLTE, IDAT, IEND (PNG specification, from memory)."""

from __future__ import annotations

import struct
import zlib
from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["png"]

SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
MOST_COLOURS: Final = 256


def png(pixels: npt.NDArray[np.uint8]) -> bytes:
    """A picture (height, width, 3), sRGB, as a PNG with a palette; too many colours are made coarser.

    Same picture, same bytes on one version of zlib.
    """
    height, width = pixels.shape[:2]
    palette, indices = _palette(pixels)
    rows = np.zeros((height, width + 1), dtype=np.uint8)  # each row begins with its filter, none
    rows[:, 1:] = indices
    header = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    chunks = (b"IHDR", header), (b"PLTE", palette), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b"")
    return SIGNATURE + b"".join(_chunk(name, data) for name, data in chunks)


def _palette(pixels: npt.NDArray[np.uint8]) -> tuple[bytes, npt.NDArray[np.uint8]]:
    step = 1
    while True:
        coarse = np.minimum(255, (pixels.astype(np.int64) + step // 2) // step * step)
        packed = (coarse[..., 0] << 16) | (coarse[..., 1] << 8) | coarse[..., 2]
        colours, indices = np.unique(packed, return_inverse=True)
        if len(colours) <= MOST_COLOURS:
            table = np.stack([colours >> 16, colours >> 8 & 255, colours & 255], axis=1)
            return table.astype(np.uint8).tobytes(), indices.reshape(pixels.shape[:2]).astype(np.uint8)
        step *= 2


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
