"""What a site says of the state it shows: revision, commit, uncommitted changes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from generator.cli import main
from generator.edition import Edition
from generator.revisions.edition import edition_of
from tests.generator.revisions.repositories import commit, edit, issue, run_git, start


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A build folder with one revision."""
    made = start(tmp_path / "team")
    issue(made, 1, "400 lb", "410 lb")
    return made


def test_a_revision_a_commit_and_uncommitted_changes(folder: Path) -> None:
    found = edition_of(folder)
    assert (found.short, found.issued) == ("rev-1", "issued 2026-09-02")
    assert found.paragraphs == ("Revision 1", "400 lb became 410 lb.")
    edit(folder, "410 lb", "420 lb")
    head = run_git(folder, "rev-parse", "HEAD")
    assert edition_of(folder).short == f"draft at {head[:8]} with uncommitted changes"
    head = commit(folder, "Change")
    assert edition_of(folder) == Edition(commit=head)
    assert edition_of(folder).short == f"draft at {head[:8]}"


def test_a_folder_under_no_git_is_a_draft_and_builds(tmp_path: Path) -> None:
    (tmp_path / "car").mkdir()
    assert edition_of(tmp_path / "car") == Edition()
    assert Edition().short == "draft"


def test_a_machine_without_git_says_draft(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    assert edition_of(folder) == Edition()


def test_a_shallow_clone_knows_its_commit(folder: Path, tmp_path: Path) -> None:
    run_git(tmp_path, "clone", "-q", "--depth=1", folder.parent.as_uri(), "shallow")
    found = edition_of(tmp_path / "shallow" / "car")
    assert found == Edition(commit=run_git(folder, "rev-parse", "HEAD"))


def test_a_repository_without_a_commit(tmp_path: Path) -> None:
    run_git(tmp_path, "init", "-q")
    (tmp_path / "build.yaml").write_text("format: 1")
    assert edition_of(tmp_path).short == "draft with uncommitted changes"


def test_build_says_it_on_every_page_and_in_the_results(folder: Path, tmp_path: Path) -> None:
    edit(folder, "410 lb", "420 lb")
    assert main(["build", str(folder), "--to", str(tmp_path / "site")]) == 0
    said = edition_of(folder).short
    pages = list((tmp_path / "site").rglob("*.html"))
    assert len(pages) > 5
    for page in pages:
        assert f"<strong>{said}</strong>" in page.read_text("utf-8"), page.name
    revision = json.loads((tmp_path / "site" / "results.json").read_text("utf-8"))["revision"]
    assert revision == {
        "name": "draft",
        "description": "",
        "commit": run_git(folder, "rev-parse", "HEAD"),
        "uncommitted_changes": True,
        "date": None,
        "note": "",
    }


def test_the_state_is_no_search_word(folder: Path, tmp_path: Path) -> None:
    main(["build", str(folder), "--to", str(tmp_path / "site")])
    index = json.loads((tmp_path / "site" / "search" / "search_index.json").read_text("utf-8"))
    told = [d for d in index["docs"] if "issued 2026" in d["text"]]
    assert [d["location"] for d in told] in ([], ["about.html#this-revision"])
