"""The demonstration's work and proof: what the files hold is what our script draws."""

from __future__ import annotations

import csv
import datetime
import importlib.util
import io
import subprocess
from pathlib import Path
from types import ModuleType

import pytest
from PIL import Image, ImageChops, ImageOps, ImageStat

from buildspec.read import read_folder
from buildspec.sections.rules import Rules, lines
from generator.evaluation import Evaluation, evaluate
from generator.pictures import small
from generator.subjects.evidence import Detail as Proof
from generator.subjects.plan_records import Detail as Plan

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "example_build" / "evidence"
DAY = datetime.date(2026, 11, 25)


@pytest.fixture(scope="module")
def drawn() -> ModuleType:
    path = ROOT / "docs" / "tools" / "example_evidence.py"
    spec = importlib.util.spec_from_file_location("example_evidence", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def example() -> Evaluation:
    build = read_folder(ROOT / "example_build").build
    assert build is not None
    return evaluate(build, as_of=DAY)


def test_the_folder_holds_the_five_files_of_the_script(drawn: ModuleType) -> None:
    assert {p.name for p in FOLDER.iterdir()} == set(drawn.FILES)
    assert len(drawn.FILES) == 5


@pytest.mark.parametrize("name", ["tow-pull.csv", "mill-certificate.pdf"])
def test_text_is_drawn_to_the_byte(drawn: ModuleType, name: str) -> None:
    assert (FOLDER / name).read_bytes() == drawn.FILES[name]()


@pytest.mark.parametrize("name", ["belt-tabs.jpg", "clutch-shield.jpg", "main-switch-label.png"])
def test_pictures_are_drawn_alike(drawn: ModuleType, name: str) -> None:
    """Another version of the library may set letters and JPEG a little differently, not the rest."""
    stored, made = (
        ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB")
        for data in ((FOLDER / name).read_bytes(), drawn.FILES[name]())
    )
    assert stored.size == made.size
    mean = ImageStat.Stat(ImageChops.difference(stored, made)).mean
    assert max(mean) < 3.0


def test_the_photo_lies_on_its_side_with_a_position_and_comes_out_upright_without() -> None:
    data = (FOLDER / "belt-tabs.jpg").read_bytes()
    raw = Image.open(io.BytesIO(data))
    assert (raw.getexif()[0x0112], raw.height > raw.width) == (6, True)
    assert raw.getexif().get_ifd(0x8825)
    made = Image.open(io.BytesIO(small(data).data))
    assert made.width > made.height
    assert not made.getexif()


def test_the_log_and_the_certificate_can_be_read_by_others() -> None:
    rows = list(csv.DictReader((FOLDER / "tow-pull.csv").open(newline="")))
    held = [float(r["pull (lbf)"]) for r in rows if 12.0 <= float(r["time (s)"]) < 26.0]
    assert min(held) > 3050.0
    text = subprocess.run(
        ["pdftotext", FOLDER / "mill-certificate.pdf", "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert "C-20714" in text


def test_it_has_work_of_every_sort(example: Evaluation) -> None:
    section, plan = example.build.section(Rules), example.outcomes["plan"].detail
    assert section is not None
    assert isinstance(plan, Plan)
    steps = [s for _, line in lines(section) for s in line.steps]
    assert len(steps) == 25
    assert all(s.owner and s.hours for s in steps)
    assert plan.ready is not None
    assert plan.event is not None
    assert DAY < plan.ready < plan.event
    assert any(p.late for p in plan.planned)
    assert any(a.overdue for a in plan.orders)


def test_its_proof_has_every_standing_but_broken(example: Evaluation) -> None:
    proof = example.outcomes["evidence"].detail
    assert isinstance(proof, Proof)
    standings = [s.standing for s in proof.states.values()]
    assert sorted(standings) == ["changed", "missing", "there", "there", "there", "there"]
    assert [s.attested for s in proof.states.values()].count(True) == 3


def test_hours_of_the_plan_are_the_hours_of_the_file(example: Evaluation) -> None:
    """Summed here from the text, by nobody's reader but the standard library's."""
    import re

    text = (ROOT / "example_build" / "rules.yaml").read_text()
    rows = re.findall(r"^ +- \{id: \w+, title: .*?hours: ([\d.]+).*?\}$", text, re.M)
    left = re.findall(r"^ +- \{id: \w+, title: (?!.*done:).*?hours: ([\d.]+).*?\}$", text, re.M)
    by_id = example.outcomes["plan"].by_id
    assert len(rows) == 25
    assert by_id["plan.hours"].value == pytest.approx(3600.0 * sum(map(float, rows)))
    assert by_id["plan.hours_left"].value == pytest.approx(3600.0 * sum(map(float, left)))
