"""Pictures on the site: upright in all eight orientations, without position, of a bounded size."""

from __future__ import annotations

import io
import random

import pytest
from PIL import Image

from buildspec.evidence import MOST_PIXELS
from generator.pictures import LONGEST, MOST_BYTES, PictureError, small

CORNERS = {"red": (255, 0, 0), "green": (0, 160, 0), "blue": (0, 0, 255), "yellow": (255, 220, 0)}
SIDE = (160, 96)

# TIFF 6.0 and EXIF 2.3, tag 274: where the stored first row and first column lie in the picture as it
# is to be seen. Written here as what has to be done to an upright picture to store it so.
STORED = {
    1: (),
    2: (Image.Transpose.FLIP_LEFT_RIGHT,),
    3: (Image.Transpose.ROTATE_180,),
    4: (Image.Transpose.FLIP_TOP_BOTTOM,),
    5: (Image.Transpose.TRANSPOSE,),
    6: (Image.Transpose.ROTATE_90,),
    7: (Image.Transpose.TRANSVERSE,),
    8: (Image.Transpose.ROTATE_270,),
}


def upright() -> Image.Image:
    """A picture with another colour in each corner: top left, top right, bottom left, bottom right."""
    made = Image.new("RGB", SIDE)
    w, h = SIDE[0] // 2, SIDE[1] // 2
    for (x, y), colour in zip(((0, 0), (w, 0), (0, h), (w, h)), CORNERS.values(), strict=True):
        made.paste(colour, (x, y, x + w, y + h))
    return made


def stored(orientation: int, **more: object) -> bytes:
    """The upright picture as a camera would store it, with its position written beside it."""
    picture = upright()
    for turn in STORED[orientation]:
        picture = picture.transpose(turn)
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "Invented Camera Works"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (40.0, 45.0, 0.0)
    gps[3], gps[4] = "W", (113.0, 53.0, 0.0)
    exif[0x8825] = gps
    sink = io.BytesIO()
    picture.save(sink, "JPEG", quality=95, exif=exif, **more)
    return sink.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def difference(a: Image.Image, b: Image.Image) -> int:
    """The greatest difference of a channel in the middle of the four quarters."""
    assert a.size == b.size
    w, h = a.size
    spots = [(w * i // 4, h * j // 4) for i in (1, 3) for j in (1, 3)]
    return max(
        abs(p - q)
        for spot in spots
        for p, q in zip(a.getpixel(spot), b.getpixel(spot), strict=True)
    )


@pytest.mark.parametrize("orientation", STORED)
def test_every_orientation_comes_out_upright(orientation: int) -> None:
    made = opened(small(stored(orientation)).data)
    assert difference(made, upright()) <= 12, "JPEG loses some; the colours differ by 100 and more"


@pytest.mark.parametrize("orientation", [o for o in STORED if o != 1])
def test_the_samples_are_not_upright_themselves(orientation: int) -> None:
    raw = opened(stored(orientation))
    assert raw.size != SIDE or difference(raw, upright()) > 100


def test_nothing_a_camera_wrote_beside_the_pixels_goes_along() -> None:
    before = stored(6, icc_profile=b"profile with a name", comment=b"at home")
    assert b"Invented Camera" in before
    assert opened(before).getexif().get_ifd(0x8825)
    after = small(before).data
    picture = opened(after)
    assert not picture.getexif()
    assert not {"exif", "icc_profile", "comment", "xmp"} & set(picture.info)
    for said in (b"Exif", b"Invented", b"GPS", b"at home", b"profile", b"ns.adobe.com"):
        assert said not in after


def test_a_large_picture_becomes_small() -> None:
    noise = random.Random(1).randbytes(2000 * 1500 * 3)
    sink = io.BytesIO()
    Image.frombytes("RGB", (2000, 1500), noise).save(sink, "JPEG", quality=90)
    made = small(sink.getvalue())
    assert opened(made.data).size == made[1:] == (LONGEST, LONGEST * 3 // 4)
    assert len(made.data) < len(sink.getvalue()) / 2
    assert len(small(sink.getvalue(), longest=400).data) <= MOST_BYTES


def test_a_small_picture_is_not_made_larger() -> None:
    assert opened(small(stored(1)).data).size == SIDE


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "CMYK", "I;16"])
def test_every_way_to_store_colours_becomes_rgb(mode: str) -> None:
    made = Image.new(mode, (40, 30))
    kind = "JPEG" if mode == "CMYK" else "PNG"
    sink = io.BytesIO()
    made.save(sink, kind)
    assert opened(small(sink.getvalue()).data).mode == "RGB"


def test_what_is_transparent_is_white_like_paper() -> None:
    sink = io.BytesIO()
    Image.new("RGBA", (40, 30), (255, 0, 0, 0)).save(sink, "PNG")
    assert min(opened(small(sink.getvalue()).data).getpixel((20, 15))) >= 250


def test_a_picture_that_unpacks_to_gigabytes_is_refused_before_it_is_unpacked() -> None:
    sink = io.BytesIO()
    Image.new("1", (10_000, 10_000)).save(sink, "PNG")
    assert len(sink.getvalue()) < 100_000
    assert MOST_PIXELS < 10_000**2
    with pytest.raises(PictureError, match="megapixels"):
        small(sink.getvalue())


@pytest.mark.parametrize("keep", [0, 3, 60, 400])
def test_a_broken_picture_is_refused(keep: int) -> None:
    with pytest.raises(PictureError, match="cannot be unpacked"):
        small(stored(1)[:keep])


@pytest.mark.parametrize(
    "data", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7\n", b"II*\0" * 9]
)
def test_what_is_no_picture_is_refused(data: bytes) -> None:
    with pytest.raises(PictureError):
        small(data)


def test_the_same_picture_gives_the_same_bytes() -> None:
    assert small(stored(5)) == small(stored(5))
