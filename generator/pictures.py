"""Pictures made small for the site: upright, and without what a camera writes beside the pixels.

Position, serial number and the like stay in the build folder: a new file is made of pixels alone.
"""

from __future__ import annotations

import warnings
from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple

from buildspec.evidence import MOST_PIXELS

if TYPE_CHECKING:
    from PIL.Image import Image

LONGEST = 1280
"""Pixels of the longer side of a picture on the site."""
MOST_BYTES = 300_000
QUALITIES = (82, 70, 55, 40)


class PictureError(ValueError):
    """A picture that cannot be shown; the message says why in plain words."""


class Picture(NamedTuple):
    """A JPEG with its size in pixels."""

    data: bytes
    width: int
    height: int


def small(data: bytes, *, longest: int = LONGEST, most_bytes: int = MOST_BYTES) -> Picture:
    """A picture as a JPEG of at most `longest` pixels a side and, quality allowing, `most_bytes`.

    `data` is JPEG, PNG, WebP or GIF (its first picture). The same data give the same bytes with the
    same version of the library. PictureError where it cannot be unpacked, or is too large for it.
    """
    upright = _upright(data, longest)
    return Picture(_encoded(upright, most_bytes), upright.width, upright.height)


def _upright(data: bytes, longest: int) -> Image:
    """The picture as it is meant to be seen, in RGB, small."""
    from PIL import Image, ImageOps  # noqa: PLC0415  (only where there are pictures)

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(data), formats=["JPEG", "PNG", "WEBP", "GIF"]) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise PictureError(f"more than {MOST_PIXELS // 1_000_000} megapixels")
                picture.draft("RGB", (2 * longest, 2 * longest))  # unpacks a large JPEG faster
                turned = ImageOps.exif_transpose(picture)
                turned.thumbnail((longest, longest), Image.Resampling.LANCZOS)
                return _flat(turned)
    except PictureError:
        raise
    except Image.DecompressionBombError as error:
        raise PictureError(f"more than {MOST_PIXELS // 1_000_000} megapixels") from error
    except Exception as error:  # whatever a decoder raises on bytes from anywhere
        raise PictureError("it cannot be unpacked") from error


def _flat(picture: Image) -> Image:
    """RGB on white; what is transparent lets the paper through."""
    from PIL import Image  # noqa: PLC0415

    if picture.mode in {"RGBA", "LA", "PA"} or "transparency" in picture.info:
        layer = picture.convert("RGBA")
        paper = Image.new("RGBA", layer.size, "white")
        return Image.alpha_composite(paper, layer).convert("RGB")
    return picture.convert("RGB")


def _encoded(picture: Image, most_bytes: int) -> bytes:
    """The picture as JPEG, at the best quality that fits; no metadata is handed over."""
    bare = picture.copy()
    bare.info.clear()
    made = b""
    for quality in QUALITIES:
        sink = BytesIO()
        bare.save(sink, "JPEG", quality=quality, optimize=True, exif=b"", icc_profile=None)
        made = sink.getvalue()
        if len(made) <= most_bytes:
            break
    return made
