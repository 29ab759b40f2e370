"""The demonstration's history: derived from the present files, readable, and the same every time."""

from __future__ import annotations

import csv
import itertools
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml

from buildspec.diagnostics import render
from buildspec.read import Reading, read_folder
from generator.cli import main
from generator.evaluation import Evaluation, evaluate
from generator.new import make_folder
from generator.revisions.example import present, states, steps
from generator.revisions.history import find_repository, revisions, state
from generator.revisions.overlays import OverlayError, with_value, without
from generator.revisions.trees import materialise
from generator.signoffs.sign import FILE
from generator.signoffs.standing import standings
from tests.generator.revisions.repositories import run_git

ROOT = Path(__file__).parents[3]
TEXT = b"""# head

a: 1
# of b
b:
  - {id: one, x: 1 m, y: 2 m} # first
  # of two
  - id: two
    said: >-
      folded
      text

    last: [1, 2]
c: table.csv
"""
TABLE = b'# note\nid,name,mass [lb],mass.basis\nbolt,"Bolt, long",1.5,measured\nnut,Nut,2,\n'
FILES = {"part.yaml": TEXT, "table.csv": TABLE, "build.yaml": b"x: 1\ny: {p: 2}\n"}


class Past(NamedTuple):
    """A revision: where its files are, what was read, and what comes out."""

    folder: Path
    reading: Reading
    evaluation: Evaluation


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration with its history."""
    folder = tmp_path_factory.mktemp("demo") / "car"
    make_folder(folder, example=True)
    return folder


def _files(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and not p.is_relative_to(folder / ".git")
    }


# ---------------------------------------------------------------------------- the repository


def test_the_last_revision_is_the_description_in_example_build(demo: Path) -> None:
    own = {
        p.relative_to(ROOT / "example_build").as_posix(): p.read_bytes()
        for p in (ROOT / "example_build").rglob("*")
        if p.is_file() and not {"history", "__pycache__"} & set(p.parts) and p.name[0] not in "._"
    }
    found = {n: c for n, c in _files(demo).items() if not n.startswith(".schema/")}
    assert found.pop(FILE), "what was said is recorded while the history is made"
    assert found == own
    repository = find_repository(demo)
    now = state(repository, revisions(repository))
    assert now.revision is not None
    assert now.revision.name == steps()[-1].tag


@pytest.fixture(scope="module")
def past(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Past]:
    """Every revision as git holds it, read and evaluated once."""
    repository = find_repository(demo)
    found = {}
    for revision in revisions(repository).revisions:
        folder = tmp_path_factory.mktemp("past") / revision.name
        materialise(repository, revision.tree, folder)
        reading = read_folder(folder)
        assert reading.build is not None, render(reading.problems, reading.texts)
        found[revision.name] = Past(folder, reading, evaluate(reading.build, as_of=revision.date))
    return found


def test_every_revision_is_what_git_holds_and_reads_without_a_problem(
    demo: Path, past: dict[str, Past]
) -> None:
    listing = revisions(find_repository(demo))
    assert [r.name for r in listing.revisions] == [s.tag for s in steps()] == list(past)
    assert len(listing.revisions) >= 5
    assert listing.refused == ()
    for revision, step in zip(listing.revisions, steps(), strict=True):
        assert past[revision.name].reading.problems == ()
        assert revision.description == step.message
        assert past[revision.name].evaluation.checks
        assert (
            past[revision.name].evaluation.problems == ()
        )  # no line names a part of another state


def test_one_word_is_undone_one_answered_and_others_stand(
    demo: Path, past: dict[str, Past]
) -> None:
    found = {s.record.id: s for s in standings(past[steps()[-1].tag].evaluation)}
    said = [word for step in steps() for word in step.sign if "scope" in word]
    assert [s.record.scope for s in found.values()] == [word["scope"] for word in said]
    for entry in found.values():
        tagged = run_git(demo, "rev-parse", f"{entry.record.revision}^{{commit}}")
        assert entry.record.commit == tagged
    undone = found["parachutes_1"]
    assert "nominal diameter 6 → 6.5 ft" in undone.reasons[0]
    assert found["stopping_1"].accepts
    assert found["mass_1"].stands
    answer = found["egress_1"].answer
    assert answer is not None
    assert answer.by == "M. Calloway"


def test_the_history_tells_its_story_in_numbers(past: dict[str, Past]) -> None:
    """A heavier cage, then a second parachute, then the scales: each seen in what is computed."""
    found = {name: one.evaluation for name, one in past.items()}
    total = {
        name: e.outcomes["mass"].by_id["mass.condition.start_line.total"].value
        for name, e in found.items()
    }
    parts = {name: _pounds(one.folder) for name, one in past.items()}
    pound = 0.45359237  # exactly, by definition
    heavier = sum(parts["rev-2"][p] - parts["rev-1"][p] for p in ("cage", "gussets"))
    assert heavier > 5
    gained = (total["rev-2"] or 0) - (total["rev-1"] or 0)
    assert gained == pytest.approx(heavier * pound, rel=1e-9)
    parachute = (total["rev-3"] or 0) - (total["rev-2"] or 0)
    assert parachute == pytest.approx(parts["rev-3"]["chute_low"] * pound, rel=1e-9)
    assert "chute_low" not in parts["rev-2"]
    assert "parachutes.canopies.low.diameter" not in found["rev-2"].build.quantities
    assert not [i for i in found["rev-3"].build.places if i.startswith("mass.weighings")]
    assert [i for i in found["rev-4"].build.places if i.startswith("mass.weighings")]


def _pounds(folder: Path) -> dict[str, float]:
    """The masses of the table, read here without the program."""
    text = (folder / "mass-items.csv").read_text("utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {row["id"]: float(row["mass [lb]"]) for row in rows}


def test_two_makings_give_the_same_commits_and_nothing_of_the_users_git_gets_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, demo: Path
) -> None:
    config = tmp_path / "config"
    config.write_text(
        "[user]\n name = Me\n email = me@example.org\n[commit]\n gpgSign = true\n"
        "[gpg]\n program = false\n[core]\n hooksPath = /nowhere\n[init]\n defaultBranch = odd\n"
    )
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(config))
    make_folder(tmp_path / "mine", example=True)
    for name in ("HEAD", *(s.tag for s in steps())):
        assert run_git(demo, "rev-parse", name) == run_git(tmp_path / "mine", "rev-parse", name)
    assert run_git(tmp_path / "mine", "rev-parse", "--abbrev-ref", "HEAD") == "main"


def test_git_finds_nothing_wrong(demo: Path) -> None:
    done = subprocess.run(["git", "fsck", "--strict"], cwd=demo, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


def test_times_run_forward_and_people_are_of_no_real_domain() -> None:
    history = steps()
    assert [s.when for s in history] == sorted(s.when for s in history)
    assert all(s.email.endswith(".example") for s in history)  # RFC 2606 keeps it free


def test_without_git_the_files_come_without_history(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert main(["new", "--example", str(tmp_path / "car")]) == 0
    out, err = capsys.readouterr()
    assert "files are there without their history: the command `git` is not" in err
    assert "next: marginbook build" in out
    assert (tmp_path / "car" / "build.yaml").read_bytes() == present()["build.yaml"]


# ------------------------------------------------------------------------------- overlays


@pytest.mark.parametrize(
    ("dotted", "gone"),
    [
        ("part.a", "a: 1\n"),
        ("part.b.one", "  - {id: one, x: 1 m, y: 2 m} # first\n"),
        ("part.b.one.x", "x: 1 m, "),
        ("part.b.one.y", ", y: 2 m"),
        ("part.b.two.said", "    said: >-\n      folded\n      text\n"),
        ("part.b.two.last", "    last: [1, 2]\n"),
        ("part.b.two.last.0", "1, "),
        ("part.c.nut", "nut,Nut,2,\n"),
        ("y", "y: {p: 2}\n"),
    ],
)
def test_what_is_dropped_is_gone_and_the_rest_stays_as_written(dotted: str, gone: str) -> None:
    before = "".join(c.decode() for c in FILES.values())
    after = "".join(c.decode() for c in without(FILES, dotted).values())
    assert before.count(gone) == 1
    assert after == before.replace(gone, "")


def test_a_dropped_entry_takes_the_comment_above_it_along() -> None:
    text = without(FILES, "part.b.two")["part.yaml"].decode()
    assert "# of two" not in text
    assert yaml.safe_load(text) == {
        "a": 1,
        "b": [{"id": "one", "x": "1 m", "y": "2 m"}],
        "c": "table.csv",
    }
    assert "# of b" not in without(FILES, "part.b")["part.yaml"].decode()


def test_whole_files_are_dropped() -> None:
    assert set(without(FILES, "part")) == {"table.csv", "build.yaml"}
    files = FILES | {"pages/a.md": b"x"}
    assert set(without(files, "pages/a.md")) == set(FILES)


@pytest.mark.parametrize(
    ("dotted", "written", "old", "new"),
    [
        ("part.b.one.x", "{value: 3 m}", "x: 1 m", "x: {value: 3 m}"),
        ("part.b.two.last", "[3]", "last: [1, 2]", "last: [3]"),
        ("part.c.bolt.mass", "9", '"Bolt, long",1.5', '"Bolt, long",9'),
        ("part.c.nut.mass.basis", "rated", "nut,Nut,2,", "nut,Nut,2,rated"),
        ("y.p", "4", "{p: 2}", "{p: 4}"),
    ],
)
def test_what_is_set_is_changed_alone(dotted: str, written: str, old: str, new: str) -> None:
    before = "".join(c.decode() for c in FILES.values())
    after = "".join(c.decode() for c in with_value(FILES, dotted, written).values())
    assert after == before.replace(old, new)


@pytest.mark.parametrize(
    "dotted",
    ["part.nothing", "part.b.three", "part.c.washer", "part.a.deeper", "other.b", "no/file"],
)
def test_an_edit_that_finds_no_place_is_an_error(dotted: str) -> None:
    with pytest.raises(OverlayError):
        without(FILES, dotted)


def test_an_edit_that_would_leave_nothing_or_tear_a_block_is_an_error() -> None:
    with pytest.raises(OverlayError, match="nothing would be left"):
        without(FILES, "y.p")
    with pytest.raises(OverlayError, match="stands on several lines"):
        with_value(FILES, "part.b", "[]")
    with pytest.raises(OverlayError, match="no column"):
        with_value(FILES, "part.c.nut.length", "1")


def test_the_states_are_small_edits_of_each_other() -> None:
    """Most lines of a revision are those of the next one: the present is written once."""
    found = states(present(), steps())
    for earlier, later in itertools.pairwise(found):
        old = set(b"".join(earlier.values()).splitlines())
        new = set(b"".join(later.values()).splitlines())
        assert old != new
        assert len(old - new) < 0.02 * len(new)
