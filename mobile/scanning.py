"""Reads the office's picture: the light of a camera's frame -> the invitation in it.

The decoder, zxing-cpp, is not everywhere (the `scan` extra): without it a tablet starts all the same, and codes are typed.
"""

from dataclasses import dataclass
from functools import cache
from types import ModuleType

from mobile.invitation import Invitation, read_invitation
from shared_schema.errors import SchemaError

__all__ = ["Frame", "Sight", "can_decode", "look_at"]


@dataclass(frozen=True, slots=True)
class Frame:
    """A picture in grey: `light` is width x height bytes from 0, black, to 255, row by row from any corner."""

    light: bytes
    width: int
    height: int

    @classmethod
    def of_rgba(cls, pixels: bytes, width: int, height: int) -> "Frame":
        """From four bytes for each pixel. Green stands for the light: the picture that is looked for is black on white."""
        return cls(pixels[1::4], width, height)


@dataclass(frozen=True, slots=True)
class Sight:
    """What is in a frame: an `invitation`, or None; `other` says that there is a code of another kind."""

    invitation: Invitation | None = None
    other: bool = False


def can_decode() -> bool:
    """Whether the decoder is installed."""
    return _decoder() is not None


def look_at(frame: Frame) -> Sight:
    """Look for the office's picture, whichever way up. Without the decoder nothing is ever seen."""
    decoder = _decoder()
    if decoder is None or len(frame.light) != frame.width * frame.height or not frame.light:
        return Sight()
    # A memoryview, and not the decoder's own view: that one does not keep the bytes alive that it looks at.
    rows = memoryview(frame.light).cast("B", (frame.height, frame.width))
    texts = [found.text for found in decoder.read_barcodes(rows, formats=decoder.BarcodeFormat.QRCode)]
    for text in texts:
        try:
            invitation = read_invitation(text)
        except SchemaError:
            continue
        if invitation.code:
            return Sight(invitation)
    return Sight(other=bool(texts))


@cache
def _decoder() -> ModuleType | None:
    try:
        import zxingcpp  # noqa: PLC0415  # may be missing, and a tablet that is let in never needs it
    except ImportError:
        return None
    return zxingcpp
