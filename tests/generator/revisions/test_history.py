"""Revisions as git holds them, against git itself, and every way in which a history can be wrong."""

from __future__ import annotations

import datetime
import os
import stat
import subprocess
from pathlib import Path

import pytest

from generator.revisions.git import HistoryError, git
from generator.revisions.history import find_repository, natural, revisions, state, unsafe
from generator.revisions.trees import checked_out, materialise
from tests.generator.revisions.repositories import commit, edit, issue, run_git, start, tag


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A build folder with two revisions, in a subfolder of its repository."""
    made = start(tmp_path / "team")
    issue(made, 1, "400 lb", "410 lb")
    issue(made, 2, "410 lb", "455 lb")
    return made


# ---------------------------------------------------------------------------- what is there


def test_revisions_come_oldest_first_with_what_git_says_of_them(folder: Path) -> None:
    found = find_repository(folder)
    assert (found.root, found.prefix) == (folder.parent.resolve(), "car")
    one, two = revisions(found).revisions
    assert [one.name, two.name] == ["rev-1", "rev-2"]
    assert two.title == "Revision 2"
    assert two.description == "Revision 2\n\n410 lb became 455 lb."
    assert two.date == datetime.date(2026, 9, 3)
    assert two.commit == run_git(folder, "rev-parse", "rev-2^{commit}")
    assert two.tag == run_git(folder, "rev-parse", "rev-2")
    assert two.tree == run_git(folder, "rev-parse", "rev-2:car")
    assert not two.signed


def test_the_day_is_that_of_who_tagged(folder: Path) -> None:
    tag(folder, "rev-3", "Late at night", when="2026-10-01T23:30:00-0700")
    assert revisions(find_repository(folder)).named("rev-3").date == datetime.date(2026, 10, 1)


def test_the_build_folder_may_be_the_repository(tmp_path: Path) -> None:
    made = start(tmp_path, ".")
    issue(made, 1, "400 lb", "410 lb")
    found = find_repository(made)
    assert found.prefix == ""
    assert revisions(found).named("rev-1").tree == run_git(made, "rev-parse", "rev-1^{tree}")


def test_a_pattern_chooses_the_tags(folder: Path) -> None:
    tag(folder, "issue_7", "Other names")
    found = find_repository(folder)
    assert [r.name for r in revisions(found, "issue_*").revisions] == ["issue_7"]
    assert [r.name for r in revisions(found).revisions] == ["rev-1", "rev-2"]


def test_the_one_before_and_a_natural_order(folder: Path) -> None:
    listing = revisions(find_repository(folder))
    assert listing.before("rev-2") == listing.revisions[0]
    assert listing.before("rev-1") is None
    assert listing.before("draft") == listing.revisions[1]
    assert sorted(["rev-10", "rev-9", "rev-1"], key=natural) == ["rev-1", "rev-9", "rev-10"]


def test_time_orders_revisions_and_names_only_those_of_one_moment(folder: Path) -> None:
    tag(folder, "rev-0", "Named late", when="2026-10-03T12:00:00+0200")
    tag(folder, "rev-20", "By another clock", when="2026-10-03T11:00:00+0000")
    tag(folder, "rev-10", "At once", when="2026-10-04T12:00:00+0200")
    tag(folder, "rev-9", "At once", when="2026-10-04T10:00:00+0000")
    found = [r.name for r in revisions(find_repository(folder)).revisions]
    assert found == ["rev-1", "rev-2", "rev-0", "rev-20", "rev-9", "rev-10"]


def test_a_nested_tag_leads_to_its_commit(folder: Path) -> None:
    run_git(folder, "tag", "-a", "rev-3", "rev-2", "-m", "A tag of a tag")
    listing = revisions(find_repository(folder))
    assert listing.named("rev-3").commit == listing.named("rev-2").commit


# --------------------------------------------------------------------------- the state now


def test_a_clean_folder_at_a_tag_is_that_revision(folder: Path) -> None:
    found = find_repository(folder)
    now = state(found, revisions(found))
    assert now.revision is not None
    assert now.revision.name == "rev-2"
    assert not now.changed


@pytest.mark.parametrize("how", ["edited", "new", "gone", "staged"])
def test_anything_uncommitted_makes_it_a_draft(folder: Path, how: str) -> None:
    if how == "new":
        (folder / "wheels.yaml").write_text("x", "utf-8")
    elif how == "gone":
        (folder / "build.yaml").unlink()
    else:
        edit(folder, "455 lb", "456 lb")
        run_git(folder, *(["add", "-A"] if how == "staged" else ["status"]))
    found = find_repository(folder)
    now = state(found, revisions(found))
    assert now.changed
    assert now.revision is None
    assert now.commit == run_git(folder, "rev-parse", "HEAD")


def test_work_elsewhere_in_the_repository_changes_nothing(folder: Path) -> None:
    (folder.parent / "notes.txt").write_text("elsewhere", "utf-8")
    found = find_repository(folder)
    assert not state(found, revisions(found)).changed
    commit(folder.parent, "Elsewhere")
    now = state(found, revisions(found))
    assert now.revision is not None
    assert now.revision.name == "rev-2"


def test_a_return_to_an_older_state_is_a_draft_and_not_the_old_revision(folder: Path) -> None:
    edit(folder, "455 lb", "410 lb")
    commit(folder, "Back again")
    found = find_repository(folder)
    assert state(found, revisions(found)).revision is None


def test_a_repository_without_a_commit_is_a_draft(tmp_path: Path) -> None:
    run_git(tmp_path, "init", "-q")
    (tmp_path / "build.yaml").write_text("format: 1", "utf-8")
    found = find_repository(tmp_path)
    now = state(found, revisions(found))
    assert (now.commit, now.tree, now.changed) == ("", "", True)


# -------------------------------------------------------------------------- the files


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {
        str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()
    }


def test_a_tree_is_written_as_git_itself_writes_it(folder: Path, tmp_path: Path) -> None:
    (folder / "pages").mkdir()
    (folder / "pages" / "ünïcode page.md").write_text("# A\r\nline\n", "utf-8", newline="")
    (folder / "photo.bin").write_bytes(bytes(range(256)) * 5000)
    (folder / "empty.csv").write_bytes(b"")
    commit(folder, "More files")
    tag(folder, "rev-3", "More files")
    archive = subprocess.run(
        ["git", "archive", "rev-3:car"], cwd=folder.parent, capture_output=True, check=True
    )
    (tmp_path / "by_git").mkdir()
    subprocess.run(["tar", "-xf", "-"], cwd=tmp_path / "by_git", input=archive.stdout, check=True)
    found = find_repository(folder)
    revision = revisions(found).named("rev-3")
    assert materialise(found, revision.tree, tmp_path / "ours") == ()
    assert files(tmp_path / "ours") == files(tmp_path / "by_git")


def test_neither_work_tree_nor_repository_is_touched(folder: Path) -> None:
    edit(folder, "455 lb", "500 lb")
    before = files(folder.parent)
    found = find_repository(folder)
    listing = revisions(found)
    state(found, listing)
    with checked_out(found, listing.named("rev-1").tree) as (tree, left):
        assert "410 lb" in (tree / "build.yaml").read_text("utf-8")
        assert left == ()
    assert not tree.exists()
    assert files(folder.parent) == before


def test_attributes_and_filters_of_the_repository_change_no_byte(
    folder: Path, tmp_path: Path
) -> None:
    text = (folder / "build.yaml").read_bytes()
    run_git(folder, "config", "filter.loud.smudge", "tr a-z A-Z")
    (folder / ".gitattributes").write_text("*.yaml filter=loud eol=crlf export-ignore\n")
    commit(folder, "Attributes")
    tag(folder, "rev-3", "Attributes")
    found = find_repository(folder)
    materialise(found, revisions(found).named("rev-3").tree, tmp_path / "out")
    assert (tmp_path / "out" / "build.yaml").read_bytes() == text


def test_links_inside_are_kept_and_those_that_lead_out_are_left_out_and_named(
    folder: Path, tmp_path: Path
) -> None:
    (folder / "in.yaml").symlink_to("build.yaml")
    (folder / "out.yaml").symlink_to("../../secret")
    (folder / "root.yaml").symlink_to("/etc/passwd")
    (folder / "p").mkdir()
    (folder / "p" / "up").symlink_to("..")
    (folder / "round.yaml").symlink_to("p/up/../secret")
    (folder / "self").symlink_to("self")
    commit(folder, "Links")
    tag(folder, "rev-3", "Links")
    found = find_repository(folder)
    left = materialise(found, revisions(found).named("rev-3").tree, tmp_path / "out")
    assert [out.name for out in left] == ["out.yaml", "root.yaml", "round.yaml"]
    assert (tmp_path / "out" / "in.yaml").read_text("utf-8") == (folder / "build.yaml").read_text()
    for path in (tmp_path / "out").rglob("*"):
        if path.name != "self":
            assert path.resolve().is_relative_to((tmp_path / "out").resolve())


def _raw_tree(folder: Path, name: str, mode: str = "100644") -> str:
    """A tree object that git's own commands would not write."""
    blob = run_git(folder, "hash-object", "-w", "build.yaml")
    entry = f"{mode} {name}".encode() + b"\0" + bytes.fromhex(blob)
    done = subprocess.run(
        ["git", "hash-object", "-w", "-t", "tree", "--literally", "--stdin"],
        cwd=folder,
        input=entry,
        capture_output=True,
        check=True,
    )
    return done.stdout.decode().strip()


@pytest.mark.parametrize("name", ["..", ".git", ".GIT", "a\\b"])
def test_a_name_that_could_be_written_elsewhere_is_refused(
    folder: Path, tmp_path: Path, name: str
) -> None:
    tree = _raw_tree(folder, name)
    with pytest.raises(HistoryError, match="outside its folder"):
        materialise(find_repository(folder), tree, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_repository_inside_is_left_out_and_named(folder: Path, tmp_path: Path) -> None:
    other = start(tmp_path / "other", ".")
    run_git(folder, "submodule", "add", "-q", str(other), "part")
    commit(folder, "A part of its own")
    tag(folder, "rev-3", "Part")
    found = find_repository(folder)
    left = materialise(found, revisions(found).named("rev-3").tree, tmp_path / "out")
    assert [(out.name, out.reason) for out in left] == [("part", "it is a repository of its own")]


# ---------------------------------------------------------------------- what can be wrong


def test_a_folder_in_no_repository(tmp_path: Path) -> None:
    with pytest.raises(HistoryError, match=r"is in no git repository.*git init"):
        find_repository(tmp_path)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(HistoryError, match="there is no folder"):
        find_repository(tmp_path / "none")


def test_a_shallow_clone(folder: Path, tmp_path: Path) -> None:
    run_git(tmp_path, "clone", "-q", "--depth=1", folder.parent.as_uri(), "shallow")
    with pytest.raises(HistoryError, match=r"shallow clone.*--unshallow --tags"):
        revisions(find_repository(tmp_path / "shallow" / "car"))


def test_a_partial_clone_is_said_and_nothing_is_fetched(folder: Path, tmp_path: Path) -> None:
    run_git(folder.parent, "config", "uploadpack.allowFilter", "true")
    run_git(tmp_path, "clone", "-q", "--filter=blob:none", folder.parent.as_uri(), "part")
    found = find_repository(tmp_path / "part" / "car")
    old = revisions(found).named("rev-1")
    with pytest.raises(HistoryError, match="partial clone"):
        materialise(found, old.tree, tmp_path / "out")


def _refusal(folder: Path, name: str) -> str:
    found = find_repository(folder)
    with pytest.raises(HistoryError) as refused:
        revisions(found).named(name)
    return str(refused.value)


def test_a_lightweight_tag_is_named_and_refused(folder: Path) -> None:
    run_git(folder, "tag", "rev-3")
    assert "lightweight tag" in _refusal(folder, "rev-3")
    assert [r.name for r in revisions(find_repository(folder)).revisions] == ["rev-1", "rev-2"]


@pytest.mark.parametrize("message", ["", " \n\t\n"])
def test_a_tag_without_a_message(folder: Path, message: str) -> None:
    tag(folder, "rev-3", message)
    assert "has no message" in _refusal(folder, "rev-3")


def test_a_tag_on_another_folder(folder: Path) -> None:
    run_git(folder.parent, "mv", "car", "lorry")
    commit(folder.parent, "Another folder")
    tag(folder.parent, "rev-3", "The lorry")
    run_git(folder.parent, "mv", "lorry", "car")
    assert "`car` is not in it" in _refusal(folder, "rev-3")


def test_a_tag_of_a_file(folder: Path) -> None:
    run_git(folder, "tag", "-a", "rev-3", "HEAD:car/build.yaml", "-m", "A file")
    assert "something else than a commit" in _refusal(folder, "rev-3")


@pytest.mark.parametrize("name", ["rev-a/b", "rev-é", "rev-$(id)", "rev-'", "rev-" + "9" * 80])
def test_a_name_that_is_no_folder_everywhere(folder: Path, name: str) -> None:
    tag(folder, name, "Named badly")
    assert "cannot be a folder's name" in _refusal(folder, name)


@pytest.mark.parametrize(
    ("name", "bad"),
    [
        ("latest", True),
        ("Draft", True),
        ("nul", True),
        ("COM1.x", True),
        ("rev-", False),
        ("a.", True),
        ("-a", True),
        ("1", False),
        ("rev-1.2_b", False),
        ("", True),
    ],
)
def test_which_names_are_safe(name: str, bad: bool) -> None:
    assert bool(unsafe(name)) is bad


def test_names_apart_in_capitals_only(folder: Path) -> None:
    tag(folder, "rev-B", "Older", when="2026-10-01T12:00:00+0000")
    tag(folder, "rev-b", "Younger", when="2026-10-02T12:00:00+0000")
    assert "only capitals tell it from rev-B" in _refusal(folder, "rev-b")
    assert revisions(find_repository(folder)).named("rev-B").title == "Older"


def test_an_unknown_revision_is_said_with_those_there_are(folder: Path) -> None:
    assert "there is no revision `rev-9`; the last ones are: rev-1, rev-2" in _refusal(
        folder, "rev-9"
    )


def test_a_hostile_message_is_data(folder: Path) -> None:
    message = "\x1b[31mRed\x07 <script>alert(1)</script>\u202e %(objectname) %00 \n\n{{ 7*7 }}\r\nx"
    tag(folder, "rev-3", message)
    said = revisions(find_repository(folder)).named("rev-3")
    assert said.title == "�[31mRed� <script>alert(1)</script>� %(objectname) %00"
    assert said.description.endswith("{{ 7*7 }}\nx")


# ----------------------------------------------------------------------- nobody steers git


def test_no_hook_pager_alias_monitor_or_filter_runs(folder: Path, tmp_path: Path) -> None:
    witness = tmp_path / "ran"
    script = tmp_path / "run.sh"
    script.write_text(f"#!/bin/sh\necho \"$0 $@\" >> '{witness}'\ncat\n", "utf-8")
    script.chmod(script.stat().st_mode | stat.S_IXUSR)
    for key in ("core.fsmonitor", "core.pager", "core.editor", "diff.external", "gpg.program"):
        run_git(folder, "config", key, str(script))
    for alias in ("status", "cat-file", "for-each-ref", "ls-tree", "rev-parse"):
        run_git(folder, "config", f"alias.{alias}", f"!{script}")
    hooks = folder.parent / ".git" / "hooks"
    for hook in ("post-index-change", "post-checkout", "reference-transaction"):
        (hooks / hook).symlink_to(script)
    found = find_repository(folder)
    listing = revisions(found)
    state(found, listing)
    materialise(found, listing.named("rev-1").tree, tmp_path / "out")
    assert not witness.exists()


def test_the_callers_git_variables_do_not_count(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = start(tmp_path / "other", ".")
    monkeypatch.setenv("GIT_DIR", str(other / ".git"))
    monkeypatch.setenv("GIT_WORK_TREE", str(other))
    monkeypatch.setenv("GIT_CONFIG_COUNT", "1")
    monkeypatch.setenv("GIT_CONFIG_KEY_0", "core.worktree")
    monkeypatch.setenv("GIT_CONFIG_VALUE_0", str(other))
    assert find_repository(folder).root == folder.parent.resolve()


def test_replaced_objects_do_not_count(folder: Path, tmp_path: Path) -> None:
    one = run_git(folder, "rev-parse", "rev-1:car/build.yaml")
    two = run_git(folder, "rev-parse", "rev-2:car/build.yaml")
    run_git(folder, "replace", one, two)
    found = find_repository(folder)
    materialise(found, revisions(found).named("rev-1").tree, tmp_path / "out")
    assert "410 lb" in (tmp_path / "out" / "build.yaml").read_text("utf-8")


def test_without_git_it_is_said_where_to_get_it(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(HistoryError, match="`git` is not on this machine"):
        git(folder, "rev-parse")


def test_gits_own_complaint_is_passed_on_in_one_harmless_line(folder: Path) -> None:
    with pytest.raises(HistoryError, match="git cannot do it in"):
        git(folder, "cat-file", "-p", "0" * 40)
    assert os.environ.get("GIT_DIR") is None
