"""Draws the files that serve the demonstration as proof: `python docs/tools/example_evidence.py`.

Nothing in them is a photo, and nobody measured the numbers: vehicle, maker and place are invented. The
pictures carry an orientation, and one an invented position, as a telephone would write them, so that
the site has something to turn upright and to leave out.
"""

from __future__ import annotations

import math
import random
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter

FOLDER = Path(__file__).resolve().parents[2] / "example_build" / "evidence"
SIZE = (1200, 900)
GREY, STEEL, DARK, BRASS = (151, 148, 141), (108, 114, 120), (46, 48, 51), (176, 141, 62)


def _ground(seed: int, colour: tuple[int, int, int]) -> Image.Image:
    """A floor with some grain."""
    draw = random.Random(seed)
    small = Image.new("RGB", (SIZE[0] // 6, SIZE[1] // 6))
    small.putdata([
        tuple(c + shade for c in colour)
        for shade in (draw.randint(-14, 14) for _ in range(small.width * small.height))
    ])  # fmt: skip
    return small.resize(SIZE, Image.Resampling.BILINEAR).filter(ImageFilter.GaussianBlur(1))


def _tube(picture: Image.Image, top: int, bottom: int) -> None:
    """A round tube across the picture, light from above."""
    pen = ImageDraw.Draw(picture)
    for y in range(top, bottom):
        light = math.sin(math.pi * (y - top) / (bottom - top)) ** 0.7
        pen.line([(0, y), (SIZE[0], y)], fill=tuple(int(c * (0.35 + 0.75 * light)) for c in STEEL))


def _bead(pen: ImageDraw.ImageDraw, x: int, y: int, length: int) -> None:
    """A weld bead: one ripple after the other."""
    for step in range(0, length, 13):
        pen.ellipse([x + step, y - 15, x + step + 26, y + 15], fill=(134, 137, 140), outline=DARK)


def _scale(pen: ImageDraw.ImageDraw, left: int, top: int, inches: int) -> None:
    """A steel rule with eighths of an inch, 80 pixels an inch."""
    pen.rectangle([left, top, left + 80 * inches, top + 62], fill=(205, 206, 202), outline=DARK)
    for eighth in range(8 * inches + 1):
        height = 34 if eighth % 8 == 0 else 22 if eighth % 4 == 0 else 12
        pen.line(
            [(left + 10 * eighth, top), (left + 10 * eighth, top + height)], fill=DARK, width=2
        )
    for inch in range(inches + 1):
        pen.text((left + 80 * inch + 4, top + 38), str(inch), fill=DARK, font_size=20)


def belt_tabs() -> bytes:
    """Two welded tabs on a tube, with a rule beside them; stored on its side, with a position."""
    picture = _ground(1, GREY)
    _tube(picture, 360, 560)
    pen = ImageDraw.Draw(picture)
    for left in (230, 700):
        pen.polygon([(left, 380), (left + 250, 380), (left + 200, 130), (left + 50, 130)],
                    fill=(126, 131, 136), outline=DARK)  # fmt: skip
        pen.ellipse([left + 88, 165, left + 162, 239], fill=(72, 74, 76), outline=DARK, width=4)
        _bead(pen, left - 10, 384, 250)
    _scale(pen, 180, 640, 10)
    pen.text((180, 760), "drawn for the demonstration", fill=DARK, font_size=26)
    return _photo(picture, orientation=6, place=True)


def clutch_shield() -> bytes:
    """A bolted shield round a flywheel."""
    picture = _ground(2, (128, 130, 133))
    pen = ImageDraw.Draw(picture)
    pen.ellipse([260, 110, 940, 790], fill=(92, 96, 101), outline=DARK, width=10)
    pen.ellipse([390, 240, 810, 660], fill=(60, 62, 65), outline=(30, 31, 33), width=8)
    for n in range(12):
        angle = 2.0 * math.pi * n / 12
        x, y = 600 + 300 * math.cos(angle), 450 + 300 * math.sin(angle)
        pen.regular_polygon((x, y, 24), 6, rotation=15 * n, fill=BRASS, outline=DARK)
    pen.text((40, 840), "drawn for the demonstration", fill=(20, 20, 20), font_size=26)
    return _photo(picture, orientation=3, place=False)


def main_switch_label() -> bytes:
    """A plate with the two positions of the main switch."""
    picture = Image.new("P", (900, 600), 0)
    picture.putpalette([236, 233, 224, 158, 32, 26, 30, 30, 30, 120, 118, 112])
    pen = ImageDraw.Draw(picture)
    pen.rectangle([40, 40, 860, 500], outline=2, width=8)
    pen.text((330, 70), "MAIN SWITCH", fill=2, font_size=40)
    pen.ellipse([350, 180, 550, 380], fill=1, outline=2, width=6)
    pen.line([(450, 280), (530, 200)], fill=0, width=16)
    pen.text((120, 250), "OFF", fill=2, font_size=64)
    pen.text((650, 250), "ON", fill=2, font_size=64)
    pen.text((60, 540), "drawn for the demonstration", fill=3, font_size=24)
    sink = BytesIO()
    picture.save(sink, "PNG", optimize=True)
    return sink.getvalue()


def tow_pull() -> bytes:
    """A pull on the front tow loop, as a load cell would log it: up to 3,100 lbf, held, let go."""
    draw = random.Random(3)
    rows = ["time (s),pull (lbf)"]
    for tenth in range(0, 301, 5):
        time = tenth / 10.0
        wanted = 3100.0 * min(1.0, time / 12.0) if time < 26.0 else 3100.0 * (30.0 - time) / 4.0
        rows.append(f"{time:.1f},{max(wanted + draw.uniform(-12.0, 12.0), 0.0):.0f}")
    return ("\n".join(rows) + "\n").encode()


def mill_certificate() -> bytes:
    """A page that reads like a mill's certificate of an invented mill."""
    lines = (
        "Certificate C-20714, invented for the demonstration",
        "Grey Dune Tube Works",
        "Tube, seamless, 4130, normalized: 1.625 in by 0.095 in, 240 ft",
        "Heat 7731: C 0.30, Mn 0.48, Cr 0.96, Mo 0.19 per cent",
        "Yield 76 ksi, ultimate 98 ksi, elongation 22 per cent",
        "2025-11-18",
    )
    text = "".join(f"1 0 0 1 72 {720 - 30 * n} Tm ({line}) Tj\n" for n, line in enumerate(lines))
    return _pdf(f"BT /F1 13 Tf\n{text}ET")


def _photo(picture: Image.Image, *, orientation: int, place: bool) -> bytes:
    """The picture as a telephone held that way would store it."""
    turn = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90}[orientation]
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = orientation, "Invented Camera Works"
    if place:  # a spot in the open ocean
        gps = exif.get_ifd(0x8825)
        gps[1], gps[2], gps[3], gps[4] = "S", (21.0, 30.0, 0.0), "W", (27.0, 15.0, 0.0)
        exif[0x8825] = gps
    sink = BytesIO()
    picture.transpose(turn).save(sink, "JPEG", quality=80, optimize=True, exif=exif)
    return sink.getvalue()


def _pdf(content: str) -> bytes:
    """A PDF of one page with this content, by ISO 32000-1, clause 7.5."""
    bodies = (
        "<< /Type /Catalog /Pages 2 0 R >>",
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] /Contents 4 0 R "
        "/Resources << /Font << /F1 5 0 R >> >> >>",
        f"<< /Length {len(content)} >>\nstream\n{content}\nendstream",
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
    )
    out, places = "%PDF-1.4\n", []
    for number, body in enumerate(bodies, 1):
        places.append(len(out))
        out += f"{number} 0 obj\n{body}\nendobj\n"
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    end = f"trailer\n<< /Size {len(bodies) + 1} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return f"{out}xref\n0 {len(bodies) + 1}\n0000000000 65535 f \n{table}{end}".encode("ascii")


FILES = {
    "belt-tabs.jpg": belt_tabs,
    "clutch-shield.jpg": clutch_shield,
    "main-switch-label.png": main_switch_label,
    "tow-pull.csv": tow_pull,
    "mill-certificate.pdf": mill_certificate,
}

if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, draw in FILES.items():
        (FOLDER / name).write_bytes(draw())
