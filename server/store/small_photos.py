"""Photos made small for pages: upright, in plain colours, and with nothing in them but the picture (no place, no camera).

One is made when it is first asked for and kept beside its original. It can be made again at any time, so that no backup
holds it and no check asks for it.
"""

import contextlib
import io
import threading
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Final

from PIL import Image, ImageCms, ImageOps

from server.store.photos import PhotoStore

__all__ = ["LONG_SIDE", "small_photo"]

LONG_SIDE: Final = 480
"""Pixels of the longer side: the cells of an album are up to 30 rem wide and 12 high, on screens of up to two pixels in one."""

_MOST_PIXELS: Final = 80_000_000
"""A camera under water has up to 61 million; beyond that a small file could fill the memory."""

_MOST_SCANS: Final = 64
"""Cameras write about ten; a file of thousands of empty ones would take minutes to read."""

_ONE_AT_A_TIME: Final = threading.Lock()
"""A page asks for all of its photos at once, and each may need 240 MB while it is read."""

_UNREADABLE: Final = (
    OSError,  # no picture, or one that ends too early
    ValueError,
    SyntaxError,  # what Pillow raises for broken PNG
    ArithmeticError,
    LookupError,
    TypeError,
    EOFError,
    MemoryError,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)


def small_photo(photos: PhotoStore, sha256: str) -> bytes | None:
    """A photo that is here as a JPEG of at most LONG_SIDE pixels; None where its bytes are no picture that can be made small.

    Where it cannot be kept, on a full disk, it is made each time. Raises NothingSuch, BadId.
    """
    original = photos.path(sha256)
    kept = original.with_name(f"{original.name}.{LONG_SIDE}.jpg")
    with contextlib.suppress(OSError):
        if found := kept.read_bytes():  # empty after a crash
            return found
    with _ONE_AT_A_TIME:
        made = _made_small(original)
    if made is not None:
        _keep(made, kept)
    return made


def _made_small(original: Path) -> bytes | None:
    try:
        content = original.read_bytes()
        if content.count(b"\xff\xda") > _MOST_SCANS and content.startswith(b"\xff\xd8"):
            return None
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as image:
            if image.width * image.height > _MOST_PIXELS:
                return None
            image.thumbnail((LONG_SIDE, LONG_SIDE), reducing_gap=2.0)
            plain = _on_white(_in_plain_colours(_upright(image)))
            written = io.BytesIO()
            plain.save(written, "JPEG", quality=82, optimize=True)
            return written.getvalue()
    except _UNREADABLE:
        return None


def _upright(image: Image.Image) -> Image.Image:
    try:
        return ImageOps.exif_transpose(image)
    except _UNREADABLE:
        return image  # what the camera wrote about itself is broken, and the picture is not


def _in_plain_colours(image: Image.Image) -> Image.Image:
    """As a screen without the camera's profile shows it: white tissue must not look grey."""
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "RGBA"):
        return image
    try:
        return ImageCms.profileToProfile(image, io.BytesIO(profile), ImageCms.createProfile("sRGB")) or image
    except (ImageCms.PyCMSError, *_UNREADABLE):
        return image


def _on_white(image: Image.Image) -> Image.Image:
    """A new picture: what else was in the old one's file, such as the place, stays behind."""
    plain = Image.new("RGB", image.size, "white")
    if image.has_transparency_data:
        seen = image.convert("RGBA")
        plain.paste(seen, mask=seen)
    else:
        plain.paste(image.convert("RGB"))
    return plain


def _keep(made: bytes, kept: Path) -> None:
    """Under its name only when whole: another process may read it. A full disk keeps nothing, and is no reason to show nothing."""
    part: Path | None = None
    try:
        with NamedTemporaryFile(dir=kept.parent, prefix=kept.name, suffix=".part", delete=False) as file:
            part = Path(file.name)
            file.write(made)
        part.replace(kept)
    except OSError:
        if part is not None:
            part.unlink(missing_ok=True)
