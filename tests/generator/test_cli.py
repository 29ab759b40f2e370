"""The command line: exit codes, what goes to which stream, JSON, and that no fault shows a traceback."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import generator.evaluation
from generator.cli import main
from generator.results import schema
from generator.subjects import SUBJECTS

ROOT = Path(__file__).parents[2]
STARTER = ROOT / "generator" / "starter"
DAY = ("--as-of", "2027-01-15")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The starter's description in a folder of its own."""
    target = tmp_path / "car"
    shutil.copytree(STARTER, target)
    return target


def edit(folder: Path, old: str, new: str) -> int:
    """Change the description, and return the number of the changed line."""
    path = folder / "build.yaml"
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), "utf-8")
    return text[: text.index(old)].count("\n") + 1


def test_check_says_what_holds_and_ends_in_zero(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(folder), *DAY]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("My vehicle, as of 2027-01-15: 10 checks: 5 hold, 5 open\n")
    assert "mass.check.total" in out
    assert "neither the rulebook in force" in out
    assert err == ""


def test_strict_lets_what_is_open_count(folder: Path) -> None:
    assert main(["check", str(folder), "--strict", *DAY]) == 1


def test_check_ends_in_one_where_something_falls_short(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder, "total: 1900 lb", "total: 1500 lb")
    assert main(["check", str(folder), *DAY]) == 1
    first = capsys.readouterr().out.splitlines()[2]
    assert first.startswith("short  mass.check.total")
    assert "1,635 lb (741.6 kg) against 1,500 lb (680.4 kg)" in first


def test_what_cannot_be_read_ends_in_two_and_names_the_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = edit(folder, "mass: 120 lb", "mass: 120 lbs")
    assert main(["check", str(folder), "--format", "concise"]) == 2
    assert f"build.yaml:{line}:" in capsys.readouterr().out
    assert main(["build", str(folder), "--to", str(folder / "site")]) == 2
    assert not (folder / "site").exists()


def test_check_looks_at_what_the_teams_pages_embed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The site would not be written: that should not be found out only by building it."""
    page = folder / "pages" / "story.md"
    page.parent.mkdir()
    page.write_text(
        '# Story\n{{ value("mass.limits.total") }} {{ check("mass.check.total") }}\n'
        '`{{ check("no") }}`\n\n{{ chart("mass.chart.side") }}\n',
        "utf-8",
    )
    assert main(["check", str(folder), *DAY]) == 0
    page.write_text(
        '# Story\nIt is {{ chart("mass.chart.side") }} {{ check("mass.check.totl") }}\n'
        '{{ value(mass) }} {{ value("mass.limits.weight") }}\n',
        "utf-8",
    )
    assert main(["check", str(folder), *DAY, "--format", "concise"]) == 2
    assert capsys.readouterr().err.splitlines()[:4] == [
        "pages/story.md:2:7: error[page.embed]: a chart stands in the middle of a line",
        "pages/story.md:2:38: error[page.embed]: there is no check `mass.check.totl`",
        "pages/story.md:3:1: error[page.embed]: `{{ value(mass) }}` is not a way to embed a result",
        "pages/story.md:3:19: error[page.embed]: there is no value `mass.limits.weight`",
    ]


def test_json_keeps_the_shipped_schema(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder), "--json", *DAY]) == 0
    data = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(schema()).validate(data)
    total = data["values"]["mass.condition.start_line.total"]
    assert total["value"] == pytest.approx(
        1635 * 0.45359237
    )  # the seven items by hand; lb by definition
    assert total["unit"] == "kg"


def test_problems_come_as_json_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = edit(folder, "units: us", "units: imperial")
    assert main(["check", str(folder), "--json"]) == 2
    problems = json.loads(capsys.readouterr().out)["problems"]
    assert [(p["place"]["file"], p["place"]["line"]) for p in problems] == [("build.yaml", line)]


def test_new_writes_a_folder_that_checks_and_refuses_to_overwrite(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "mine"
    assert main(["new", str(target)]) == 0
    assert (target / ".schema" / "build.schema.json").is_file()
    assert main(["check", str(target)]) == 0
    before = (target / "build.yaml").read_bytes()
    capsys.readouterr()
    assert main(["new", str(target)]) == 2
    assert "already holds something" in capsys.readouterr().err
    assert (target / "build.yaml").read_bytes() == before


def test_new_into_a_place_that_cannot_be_written_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    assert main(["new", str(tmp_path / "file" / "below")]) == 2
    assert capsys.readouterr().err.startswith("marginbook: ")


def test_a_fault_of_the_program_is_said_in_a_line(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a fault made on purpose")

    monkeypatch.setattr(generator.evaluation, "evaluate", broken)
    assert main(["check", str(folder)]) == 3
    assert "Traceback" not in capsys.readouterr().err
    assert main(["--trace", "check", str(folder)]) == 3
    assert "a fault made on purpose" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["new", "check", "build", "serve"])
def test_help_shows_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main([command, "--help"])
    assert f"example: marginbook {command} " in capsys.readouterr().out


def test_version_is_that_of_the_results(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main(["--version"])
    said = capsys.readouterr().out.strip()
    main(["check", str(folder), "--json"])
    assert said == "marginbook " + json.loads(capsys.readouterr().out)["program"]["version"]


def test_a_date_that_is_none_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["check", str(folder), "--as-of", "2027-13-01"])
    assert "write it as 2026-09-12" in capsys.readouterr().err


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "generator", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, **environment},
    )


def test_a_pipe_gets_no_colour_and_no_progress(folder: Path) -> None:
    edit(folder, "mass: 120 lb", "mass: 120 lbs")
    done = run("check", str(folder))
    assert done.returncode == 2
    assert "\x1b" not in done.stdout + done.stderr


HEAVY = {"matplotlib", "mkdocs", "jinja2", "pint", "scipy"}
SPINE = ("build.yaml", "wheels.yaml", "mass.yaml", "mass-items.csv", "egress.yaml", "notes.yaml")


def loaded_by_check(folder: Path) -> set[str]:
    """The modules that are there after a check."""
    code = (
        "import sys; from generator.cli import main; main(['check', sys.argv[1]]); "
        "print(*sorted(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)],
        cwd=ROOT,
        text=True,
        capture_output=True,
        check=True,
    )
    return set(done.stdout.splitlines()[-1].split())


def test_check_does_not_import_what_only_the_site_needs(folder: Path) -> None:
    """Its time is mostly imports (tests/benchmarks/check.py); this keeps the heavy ones out."""
    assert not loaded_by_check(folder) & HEAVY


def test_check_imports_the_subjects_that_are_described_and_no_others(tmp_path: Path) -> None:
    """The demonstration's mass and exit alone, with its drills, its ballast and its lifted axle."""
    for name in SPINE:
        shutil.copyfile(ROOT / "example_build" / name, tmp_path / name)
    found = loaded_by_check(tmp_path)
    assert not found & (HEAVY - {"scipy"} | {"scipy.optimize", "scipy.stats"})  # drills need its t
    for room in ("run", "frame", "planning", "charts"):
        assert f"generator.{room}" not in found
    subjects = {n.rpartition(".")[2] for n in found if n.startswith("generator.subjects.")}
    assert {"mass", "mass_ballast", "egress", "egress_drills"} <= subjects
    assert subjects & set(SUBJECTS) == {"mass", "egress", "air"}
    sections = {n.rpartition(".")[2] for n in found if n.startswith("buildspec.sections.")}
    assert not sections & {"cage", "fire", "rules", "drive", "parachutes"}


def test_a_reader_that_goes_away_is_no_fault(folder: Path) -> None:
    command = f"{sys.executable} -m generator check {folder} --json | head -c 10"
    done = subprocess.run(
        ["bash", "-c", command], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr
