"""Appending to `signoffs.yaml`: nothing that stands there may move; and the command `sign`."""

from __future__ import annotations

import json
import re
import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from buildspec.documents import read_yaml
from buildspec.read import read_folder
from buildspec.sections.signoffs import apart
from generator.cli import main
from generator.signoffs.writing import HEAD, AppendError, appended
from tests.generator.revisions.repositories import commit, edit, run_git, start, tag

ENTRY = {"id": "b", "note": "no: it is 'so' #1", "seen": {"values": {"a.b": "1 in; rated"}}}

FILES = (
    "",
    "# only a comment\n",
    HEAD,
    "records:\n  - id: a\n    note: x\n",
    "records:\n  - id: a # why\n\n\n# the end\n",
    "records:\n- id: a\n- id: c\n",
    "records:\n      - id: a\n        seen:\n          values: {x: y}\n",
    "records:\n  - {id: a}\n  # between\n  - {id: c}\n# groups follow\ngroups:\n  - id: g\n    scopes: [x]\n",
    "groups:\n  - id: g\n    scopes: [x]\nrecords:\n  - id: a",
    "records: []\n",
    "records: []\nanswers:\n  - to: a\n",
    "groups: # names\n  - id: g\n    scopes: [x]",
    "records:\r\n  - id: a\r\n    note: >-\r\n      long\r\n      words\r\n",
    "records:\n  - id: a\n    note: |\n      # not a comment\n\n      words\n",
)


def data_of(text: str) -> dict[str, Any]:
    document = read_yaml(text, "signoffs.yaml")
    assert not document.problems
    return document.data if isinstance(document.data, dict) else {}


def without_inserted(old: str, new: str) -> bool:
    """Whether the new text is the old one with one piece put in."""
    head = next((n for n, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), len(old))
    return new.endswith(old[head:]) and new.startswith(old[:head])


@pytest.mark.parametrize("text", FILES)
def test_an_entry_is_put_behind_the_others_and_nothing_else_moves(text: str) -> None:
    new = appended(text, "records", ENTRY)
    assert data_of(new) == {**data_of(text), "records": [*data_of(text).get("records", []), ENTRY]}
    if "[]" not in text:
        assert without_inserted(text, new)
    assert "\r\n" not in text or not re.search(r"(?<!\r)\n", new)


def test_a_second_list_is_begun_where_there_is_none() -> None:
    new = appended("records:\n  - id: a\n", "answers", {"to": "a"})
    assert new == "records:\n  - id: a\n\nanswers:\n  - to: a\n"


@pytest.mark.parametrize(
    "text", ["records: [{id: a}]\n", "{records: [{id: a}]}\n", "- a\n", "a: [\n"]
)
def test_a_form_that_cannot_be_appended_to_is_refused(text: str) -> None:
    with pytest.raises(AppendError):
        appended(text, "records", ENTRY)


@example(note="08")
@example(note="no")
@example(note="1:30")
@example(note="2026-09-01")
@given(
    st.text(
        st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp", "Cf", "Co", "Cn")), max_size=40
    )
)
def test_any_note_comes_back_as_it_was(note: str) -> None:
    new = appended(FILES[3], "records", {"id": "b", "note": note})
    assert data_of(new)["records"][1] == {"id": "b", "note": note}


# --------------------------------------------------------------------------------- command


@pytest.fixture
def car(tmp_path: Path) -> Path:
    folder = start(tmp_path / "repository")
    tag(tmp_path / "repository", "rev-1", "First")
    return folder


def word(folder: Path, *more: str, scope: str = "mass") -> int:
    who = ["--by", "R. Sandoval", "--as", "reviewer", "--as-of", "2026-09-03"]
    return main(["sign", str(folder), "--scope", scope, *who, *more])


def records(folder: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = data_of((folder / "signoffs.yaml").read_text("utf-8"))["records"]
    return found


def test_the_record_names_the_revision_and_the_folder_stays_readable(car: Path) -> None:
    head = run_git(car, "rev-parse", "HEAD")
    assert word(car, "--says", "accepted") == 0
    assert word(car, "--says", "accepted", scope="mass.check.total") == 0
    first, second = records(car)
    # the second is still on rev-1: the file of the sign-offs is no part of what was looked at
    for record in (first, second):
        assert (record["revision"], record["commit"]) == ("rev-1", head)
        assert "uncommitted" not in record
    assert [r["id"] for r in (first, second)] == ["mass_1", "mass_check_total_1"]
    reading = read_folder(car)
    assert reading.problems == ()
    commit(car.parent, "Record what was said")
    assert word(car, "--says", "accepted") == 0
    assert records(car)[2]["revision"] == "rev-1"


def test_a_changed_folder_is_no_revision(car: Path) -> None:
    edit(car, "900 lb", "890 lb")
    assert word(car, "--says", "accepted") == 0
    (record,) = records(car)
    assert record["uncommitted"] is True
    assert "revision" not in record


def test_an_earlier_revision_can_be_signed(car: Path) -> None:
    edit(car, "900 lb", "890 lb")
    assert word(car, "--says", "accepted", "--revision", "rev-1") == 0
    (record,) = records(car)
    assert record["revision"] == "rev-1"
    assert apart(record["seen"]["values"])["mass.limits.total"] == "900 lb; stated"


def test_a_comment_is_answered(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    note = ["--says", "accepted-with-comment", "--note", "Where is the ballast?"]
    assert word(car, *note) == 0
    answer = ["--by", "L. Osei", "--note", "Under the seat.", "--as-of", "2026-09-04"]
    assert main(["sign", str(car), "--answers", "mass_2", *answer]) == 2
    assert "there is no record `mass_2`" in capsys.readouterr().err
    assert main(["sign", str(car), "--answers", "mass_1", *answer, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["to"] == "mass_1"
    assert read_folder(car).problems == ()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--says", "not-accepted"), "say with --note what not-accepted is about"),
        (("--says", "accepted-with-comment", "--note", "  "), "say with --note"),
        (("--says", "accepted", "--note", "turn \u202e it"), "cannot be printed"),
        (("--says", "accepted", "--as", "r" * 61), "at most 60 are allowed"),
        ((), "say with --says which word"),
        (("--says", "accepted", "--revision", "rev-7"), "there is no revision `rev-7`"),
    ],
)
def test_an_incomplete_word_is_refused_and_nothing_is_written(
    car: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], says: str
) -> None:
    assert word(car, *more) == 2
    assert says in capsys.readouterr().err
    assert not (car / "signoffs.yaml").exists()


def test_an_unreadable_folder_is_not_signed(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(car, "900 lb", "900")
    assert word(car, "--says", "accepted") == 2
    assert "`900` has no unit" in capsys.readouterr().err
    assert not (car / "signoffs.yaml").exists()


def test_a_section_in_the_main_file_is_not_doubled(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(car, "format: 1", "format: 1\nsignoffs: {groups: [{id: all, scopes: [mass]}]}")
    assert word(car, "--says", "accepted") == 2
    assert "move it into a file of its own" in capsys.readouterr().err
    assert not (car / "signoffs.yaml").exists()


def test_a_link_that_leads_out_is_not_followed(
    car: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    outside = tmp_path / "elsewhere.yaml"
    outside.write_text("records: []\n", "utf-8")
    (car / "signoffs.yaml").symlink_to(outside)
    assert word(car, "--says", "accepted") == 2
    capsys.readouterr()
    assert outside.read_text("utf-8") == "records: []\n"


def test_the_mode_of_the_file_is_kept_and_no_scrap_is_left(car: Path) -> None:
    assert word(car, "--says", "accepted") == 0
    path = car / "signoffs.yaml"
    path.chmod(0o640)
    assert word(car, "--says", "accepted") == 0
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert sorted(p.name for p in car.iterdir()) == ["build.yaml", "signoffs.yaml"]


def test_a_folder_without_git_can_be_signed(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    folder.mkdir()
    source = start(tmp_path / "repository") / "build.yaml"
    (folder / "build.yaml").write_bytes(source.read_bytes())
    assert word(folder, "--says", "accepted") == 0
    assert "commit" not in records(folder)[0]


def test_check_says_which_words_stand(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert word(car, "--says", "accepted") == 0
    capsys.readouterr()
    main(["check", str(car), "--as-of", "2026-09-03"])
    assert "\n1 sign-off standing\n" in capsys.readouterr().out
    edit(car, "900 lb", "890 lb")
    main(["check", str(car), "--as-of", "2026-09-03"])
    assert "\n0 sign-offs standing; undone: mass by R. Sandoval\n" in capsys.readouterr().out


def test_a_disk_that_refuses_leaves_the_file_as_it_was(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A limit on the size of files stands for the disk: the system itself refuses the write."""
    import resource

    assert word(car, "--says", "accepted") == 0
    before = (car / "signoffs.yaml").read_bytes()
    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) // 2, old[1]))
    capsys.readouterr()
    try:
        assert word(car, "--says", "not-accepted", "--note", "The limit is wrong.") == 2
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
    said = capsys.readouterr().err
    assert said.startswith("marginbook: nothing was recorded, and ")
    assert "signoffs.yaml is as it was: File too large" in said
    assert (car / "signoffs.yaml").read_bytes() == before
    assert not [p for p in car.iterdir() if p.name.startswith(".signoffs")]
