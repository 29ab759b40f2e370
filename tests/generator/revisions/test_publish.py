"""Publishing: what is written, what is never rewritten, and everything that is refused."""

from __future__ import annotations

import datetime
import errno
import json
import os
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
from generator.cli import main
from generator.revisions import public as place
from generator.revisions import publish as module
from generator.revisions import stage
from generator.revisions.git import HistoryError
from generator.revisions.publish import Order, Published, Task, Wrong, publish
from generator.revisions.stage import PublishError, locked
from tests.generator.revisions.repositories import commit, edit, issue, run_git, start, tag

TODAY = datetime.date(2026, 11, 25)


def site(build: Build, folder: Path, target: Path, task: Task) -> Wrong:
    """A small stand-in for the site: what is published does not depend on what is on the pages."""
    (target / "assets").mkdir(parents=True)
    said = f"{task.edition.short} {task.edition.note} {build.fingerprint} {task.as_of}"
    (target / "index.html").write_text(said, "utf-8")
    (target / "mass.html").write_text(f"mass of {task.edition.revision}", "utf-8")
    (target / "assets" / "revisions.js").write_text("", "utf-8")
    (target / "results.json").write_text('{"checks": [], "requirements": []}', "utf-8")
    return Wrong()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A build folder with three revisions."""
    made = start(tmp_path / "team")
    issue(made, 1, "400 lb", "410 lb")
    issue(made, 2, "410 lb", "455 lb")
    issue(made, 3, "900 lb", "950 lb")
    return made


def order(folder: Path, **given: object) -> Order:
    """An order into `public` beside the repository."""
    public = folder.parent.parent / "public"
    return replace(Order(folder, public, TODAY), **given)  # type: ignore[arg-type]


def run(folder: Path, **given: object) -> Published:
    """Publish with the stand-in."""
    return publish(order(folder, **given), make=site)


def content(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def listed(public: Path) -> list[str]:
    """The versions, as the public list has them."""
    return [entry["version"] for entry in json.loads((public / "versions.json").read_text())]


# -------------------------------------------------------------------------- what is written


def test_all_revisions_come_from_their_own_trees(folder: Path) -> None:
    edit(folder, "455 lb", "1 lb")  # not committed, and without influence
    done = run(folder, all=True)
    assert done.issued == ("rev-1", "rev-2", "rev-3")
    public = done.public
    assert listed(public) == ["rev-3", "rev-2", "rev-1"]
    prints = {(public / f"rev-{n}" / "index.html").read_text().split()[-2] for n in (1, 2, 3)}
    assert len(prints) == 3
    assert content(public / "latest") == content(public / "rev-3")
    assert sorted(p.name for p in public.parent.iterdir()) == ["public", "team"]


def test_a_revision_is_evaluated_for_the_day_it_was_tagged(folder: Path) -> None:
    public = run(folder, revision="rev-2").public
    assert (public / "rev-2" / "index.html").read_text().endswith("2026-09-03")


def test_the_folder_as_it_is_is_a_revision_or_a_draft(folder: Path) -> None:
    assert run(folder).issued == ("rev-3",)
    edit(folder, "455 lb", "460 lb")
    done = run(folder)
    assert done.issued == ("draft",)
    assert listed(done.public) == ["draft", "rev-3"]
    said = (done.public / "draft" / "index.html").read_text()
    assert said.startswith(f"draft at {run_git(folder, 'rev-parse', 'HEAD')[:8]} with uncommitted")
    assert said.endswith("2026-11-25")
    assert (done.public / "latest" / "index.html").read_text().startswith("rev-3")


def test_a_draft_is_replaced_and_goes_once_there_is_a_revision_of_it(folder: Path) -> None:
    edit(folder, "455 lb", "460 lb")
    first = content(run(folder).public / "draft")
    edit(folder, "460 lb", "470 lb")
    public = run(folder).public
    assert content(public / "draft") != first
    run(folder, all=True)
    assert (public / "draft").is_dir(), "the folder still holds work in progress"
    commit(folder, "More")
    tag(folder, "rev-4", "More", when="2026-10-01T12:00:00+0200")
    assert run(folder).issued == ("rev-4",)
    assert not (public / "draft").exists()
    assert listed(public) == ["rev-4", "rev-3", "rev-2", "rev-1"]


def test_one_after_the_other_gives_what_all_at_once_gives(folder: Path) -> None:
    for name in ("rev-2", "rev-1", "rev-3"):
        run(folder, revision=name)
    piecemeal = content(order(folder).public)
    shutil.rmtree(order(folder).public)
    assert content(run(folder, all=True).public) == piecemeal


def test_two_clones_give_identical_bytes(folder: Path, tmp_path: Path) -> None:
    first = content(run(folder, all=True).public)
    run_git(tmp_path, "clone", "-q", str(folder.parent), "deep/er")
    there = Order(tmp_path / "deep" / "er" / "car", tmp_path / "other", TODAY, all=True)
    publish(there, make=site)
    assert content(tmp_path / "other") == first


def test_digests_are_those_of_sha256sum(folder: Path) -> None:
    public = run(folder, all=True).public
    for name in ("rev-1", "rev-3", "latest"):
        done = subprocess.run(
            ["sha256sum", "-c", "--strict", "--quiet", "digests.sha256"],
            cwd=public / name,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        covered = (public / name / "digests.sha256").read_text().count("\n")
        assert covered == len(content(public / name)) - 1


def test_versions_are_read_by_the_reader_of_that_format(folder: Path) -> None:
    """`mike` publishes versions of MkDocs sites, and defined the form of `versions.json`."""
    from mike.versions import Versions

    edit(folder, "455 lb", "460 lb")
    run(folder, all=True)
    public = run(folder).public
    read = Versions.loads((public / "versions.json").read_text("utf-8"))
    found = {str(v.version): v for v in read}
    assert set(found) == {"draft", "rev-1", "rev-2", "rev-3"}
    assert set(found["rev-3"].aliases) == {"latest"}
    assert found["rev-2"].title == "rev-2: Revision 2"
    assert read.find("latest")[0] == "rev-3"


def test_the_script_says_what_the_list_says(folder: Path) -> None:
    public = run(folder, all=True).public
    script = (public / "versions.js").read_text("utf-8")
    data = json.loads(script.removeprefix("window.marginbookVersions = ").removesuffix(";\n"))
    assert [e["version"] for e in data["revisions"]] == listed(public)
    assert data["revisions"][0]["pages"] == ["index.html", "mass.html"]


def test_the_front_page_leads_to_those_pages_that_the_newest_revision_has(folder: Path) -> None:
    def more(build: Build, inside: Path, target: Path, task: Task) -> Wrong:
        site(build, inside, target, task)
        if task.edition.revision == "rev-3":
            (target / "trends.html").write_text("trends", "utf-8")
        return Wrong()

    publish(order(folder, revision="rev-2"), make=more)
    public = publish(order(folder, revision="rev-1"), make=more).public
    assert "trends.html" not in (public / "index.html").read_text("utf-8")
    publish(order(folder, revision="rev-3"), make=more)
    front = (public / "index.html").read_text("utf-8")
    assert '<a href="latest/trends.html">Trends</a>' in front
    assert "since.html" not in front


def test_what_others_put_into_the_public_folder_stays(folder: Path) -> None:
    public = run(folder, revision="rev-1").public
    (public / "CNAME").write_text("review.example.org")
    (public / "there").symlink_to("rev-1")
    run(folder, all=True)
    assert (public / "CNAME").read_text() == "review.example.org"
    assert (public / "there").readlink() == Path("rev-1")


def test_who_may_read_the_public_folder_stays_as_it_was(folder: Path) -> None:
    public = run(folder, revision="rev-1").public
    assert public.stat().st_mode & 0o777 == 0o777 & ~_umask(), "as any new folder"
    public.chmod(0o2750)
    run(folder, all=True)
    assert public.stat().st_mode & 0o7777 == 0o2750


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


# ---------------------------------------------------------------------- never written again


def test_an_issued_revision_is_refused_and_stays(folder: Path) -> None:
    public = run(folder, all=True).public
    before = content(public)
    with pytest.raises(PublishError, match=r"`rev-2` is issued already.*--reissue"):
        run(folder, revision="rev-2")
    done = run(folder, all=True)
    assert not done.written
    assert "holds all of it already" in done.said
    assert not run(folder).written
    assert content(public) == before


def test_the_files_of_issued_revisions_are_the_same_files_afterwards(folder: Path) -> None:
    public = run(folder, revision="rev-1").public
    page = public / "rev-1" / "index.html"
    before = (page.stat().st_ino, page.stat().st_mtime_ns)
    run(folder, all=True)
    assert (page.stat().st_ino, page.stat().st_mtime_ns) == before
    assert (public / "latest" / "index.html").stat().st_ino != (
        public / "rev-3" / "index.html"
    ).stat().st_ino, "a change in the copy must not reach the issued file"


def test_a_tag_that_moved_is_refused(folder: Path) -> None:
    run(folder, all=True)
    edit(folder, "455 lb", "460 lb")
    commit(folder, "Sly")
    run_git(folder, "tag", "-f", "-a", "rev-2", "-m", "Moved")
    with pytest.raises(
        PublishError, match=r"`rev-2` was issued from commit \w{8}, and its tag now"
    ):
        run(folder, all=True)


def test_a_reissue_says_so_and_touches_nothing_else(folder: Path) -> None:
    public = run(folder, all=True).public
    before, old = content(public), place.read_record(public).issue("rev-2")
    assert old is not None
    assert run(folder, revision="rev-2", reissue=True).issued == ("rev-2",)
    said = (public / "rev-2" / "index.html").read_text()
    assert f"this replaces what was issued before as rev-2 from commit {old.commit[:8]}" in said
    assert f"digest {old.digest[:8]}" in said
    after = content(public)
    changed = {n.split("/")[0] for n in before if before[n] != after[n]}
    assert changed == {"rev-2", "revisions.json", "sw.js", "index.html"}
    assert "issued again" in (public / "index.html").read_text()
    run(folder, revision="rev-2", reissue=True)
    assert "Issued again (2 times)" in (public / "rev-2" / "index.html").read_text()


@pytest.mark.parametrize("harm", ["changed", "gone", "added", "list"])
def test_a_tampered_revision_stops_every_publishing(folder: Path, harm: str) -> None:
    public = run(folder, revision="rev-1").public
    page = public / "rev-1" / "mass.html"
    if harm == "changed":
        page.write_text("lighter")
    elif harm == "gone":
        page.unlink()
    elif harm == "added":
        (public / "rev-1" / "mass2.html").write_text("x")
    else:
        (public / "rev-1" / "digests.sha256").write_text("")
    with pytest.raises(PublishError, match=r"rev-1/.* is not as it was issued.*--reissue"):
        run(folder, all=True)
    run(folder, revision="rev-1", reissue=True)
    assert run(folder, all=True).issued == ("rev-2", "rev-3")


def test_a_damaged_record_stops_it(folder: Path) -> None:
    public = run(folder, revision="rev-1").public
    (public / "revisions.json").write_text("{")
    with pytest.raises(PublishError, match=r"revisions\.json is damaged"):
        run(folder, all=True)
    (public / "revisions.json").write_text('{"format": 2}')
    with pytest.raises(PublishError, match="newer marginbook"):
        run(folder, all=True)


# --------------------------------------------------------------------------- what is refused


def refused(folder: Path, match: str, **given: object) -> None:
    """The order is refused in these words, and what is at its target stays."""
    public = order(folder, **given).public
    before = content(public) if public.is_dir() else None
    with pytest.raises(HistoryError, match=match):
        run(folder, **given)
    assert (content(public) if public.is_dir() else None) == before


def test_a_public_folder_inside_the_build_folder(folder: Path) -> None:
    refused(folder, "lies inside the build folder", public=folder / "public")
    refused(folder, "lies inside the build folder", public=folder)
    link = folder.parent.parent / "link"
    link.symlink_to(folder, target_is_directory=True)
    refused(folder, "lies inside the build folder", public=link / "public")
    assert not (folder / "public").exists()


def test_a_public_folder_around_the_build_folder(folder: Path) -> None:
    refused(folder, "holds the build folder itself", public=folder.parent)
    refused(folder, "where git keeps the history", public=folder.parent / ".git" / "public")


def test_a_public_folder_that_is_not_ours(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "me.jpg").write_bytes(b"x")
    refused(folder, "holds files that `publish` did not write", public=tmp_path / "photos")
    (tmp_path / "file").write_text("x")
    refused(folder, "is a file; name a folder", public=tmp_path / "file")
    (tmp_path / "empty").mkdir()
    assert run(folder, public=tmp_path / "empty").written


def test_strict_refuses_uncommitted_changes_and_bad_tags(folder: Path) -> None:
    run_git(folder, "tag", "rev-4")
    refused(folder, "`rev-4` is no revision", strict=True, all=True)
    assert any("lightweight" in note for note in run(folder, all=True).notes)
    (folder / "new.txt").write_text("x")
    refused(folder, "changes that are not committed", strict=True)


def test_what_is_doubtful_in_a_revision_is_noted_and_stops_nothing(folder: Path) -> None:
    def doubting(build: Build, at: Path, target: Path, task: Task) -> Wrong:
        site(build, at, target, task)
        doubt = Diagnostic(
            "rules.unknown", "no such result", Place("rules.yaml", 4, 2), "look it up"
        )
        return Wrong(warnings=(doubt,) if task.edition.revision == "rev-2" else ())

    done = publish(order(folder, all=True), make=doubting)
    assert done.issued == ("rev-1", "rev-2", "rev-3")
    assert done.notes == ("rev-2: rules.yaml:4:2: no such result",)


def test_not_a_repository(tmp_path: Path) -> None:
    (tmp_path / "car").mkdir()
    with pytest.raises(HistoryError, match="is in no git repository"):
        publish(Order(tmp_path / "car", tmp_path / "public", TODAY), make=site)


def test_a_shallow_clone(folder: Path, tmp_path: Path) -> None:
    run_git(tmp_path, "clone", "-q", "--depth=1", folder.parent.as_uri(), "shallow")
    with pytest.raises(HistoryError, match="shallow clone"):
        publish(Order(tmp_path / "shallow" / "car", tmp_path / "public", TODAY), make=site)


def _broken(folder: Path) -> None:
    """A fourth revision that cannot be read, and a fifth that can."""
    edit(folder, "name: Brass Heron", "nme: Brass Heron")
    commit(folder, "Broken")
    tag(folder, "rev-4", "Broken <b>", when="2026-10-01T12:00:00+0200")
    edit(folder, "nme: Brass Heron", "name: Brass Heron")
    commit(folder, "Mended")
    tag(folder, "rev-5", "Mended", when="2026-10-02T12:00:00+0200")


def test_a_broken_revision_is_said_and_does_not_stop_the_others(folder: Path) -> None:
    _broken(folder)
    done = run(folder, all=True)
    assert done.issued == ("rev-1", "rev-2", "rev-3", "rev-5")
    assert [u.version for u in done.unreadable] == ["rev-4"]
    front = (done.public / "index.html").read_text("utf-8")
    assert "<strong>rev-4</strong>, Broken &lt;b&gt;: marginbook" in front
    assert "cannot read its description: build.yaml:2:" in front
    assert not run(folder, all=True).written, "saying it again changes nothing"


def test_a_broken_draft_is_said_with_its_problems(folder: Path) -> None:
    run(folder, all=True)
    before = content(order(folder).public)
    edit(folder, "950 lb", "950")
    done = run(folder)
    assert [u.version for u in done.unreadable] == ["draft"]
    assert done.failed
    assert content(order(folder).public) == before


def test_without_a_revision_it_says_so(tmp_path: Path) -> None:
    made = start(tmp_path / "team")
    assert "there is no revision yet" in run(made, all=True).said


def test_a_broken_revision_alone_or_strictly_writes_nothing(folder: Path) -> None:
    _broken(folder)
    for given in ({"revision": "rev-4"}, {"all": True, "strict": True}):
        done = run(folder, **given)
        assert done.failed
        assert not done.public.exists()


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EACCES, "you may not write there"),
        (errno.EROFS, "this disk cannot be written"),
    ],
)
@pytest.mark.parametrize("when", ["making", "carrying", "placing"])
def test_what_the_disk_refuses_leaves_everything_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str, when: str
) -> None:
    public = run(folder, revision="rev-1").public
    before = content(public.parent)

    def fail(*_: object) -> None:
        raise OSError(number, os.strerror(number), "somewhere")

    if when == "carrying":
        monkeypatch.setattr(stage.os, "link", fail)
        monkeypatch.setattr(stage.shutil, "copy2", fail)
    elif when == "placing":
        monkeypatch.setattr(module, "put_in_place", fail)
    make: Callable[..., Wrong] = fail if when == "making" else site  # type: ignore[assignment]
    with pytest.raises(PublishError, match=f"stays as it was: {said}"):
        publish(order(folder, all=True), make=make)
    assert content(public.parent) == before


def test_a_real_disk_that_is_full(folder: Path) -> None:
    """A limit on the size of files stands for the disk: the system itself refuses the write."""
    import resource

    public = run(folder, revision="rev-1").public
    before = content(public)

    def large(build: Build, inside: Path, target: Path, task: Task) -> Wrong:
        made = site(build, inside, target, task)
        (target / "large.bin").write_bytes(bytes(200_000))
        return made

    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, old[1]))
    try:
        with pytest.raises(PublishError, match="stays as it was"):
            publish(order(folder, all=True), make=large)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
    assert content(public) == before
    assert sorted(p.name for p in public.parent.iterdir()) == ["public", "team"]


def test_a_hostile_description_is_data_everywhere(folder: Path) -> None:
    message = "</script><script>alert(1)</script> \x1b[31m {{ 7*7 }} \"'&"
    tag(folder, "rev-9", message, when="2026-12-01T12:00:00+0200")
    public = run(folder, revision="rev-9").public
    for name in ("index.html", "versions.js", "sw.js"):
        text = (public / name).read_text("utf-8")
        assert "<script>alert" not in text
        assert "\x1b" not in text
    assert "<" not in (public / "versions.js").read_text("utf-8")
    shown = json.loads((public / "versions.json").read_text("utf-8"))[0]["title"]
    assert shown == "rev-9: </script><script>alert(1)</script> �[31m {{ 7*7 }} \"'&"


# ------------------------------------------------------------------------ two at a time


def test_a_second_publisher_is_kept_away(folder: Path) -> None:
    public = order(folder).public
    with locked(public), pytest.raises(PublishError, match=rf"\(process {os.getpid()}\); wait"):
        run(folder)
    assert run(folder).written


def test_a_lock_left_behind_is_nobodys(folder: Path) -> None:
    public = order(folder).public
    (public.parent / ".public.marginbook-lock").write_text("process 1\n")
    assert run(folder).written
    assert sorted(p.name for p in public.parent.iterdir()) == ["public", "team"]


def test_without_an_exchange_in_one_step_the_old_content_comes_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on systems without such a step, killed between the two that stand for it."""
    public = run(folder, revision="rev-1").public
    before = content(public)
    monkeypatch.setattr(stage, "exchange", lambda *_: False)
    left = public.parent / ".public.marginbook-stage-x"
    left.mkdir()
    public.rename(left / "old")
    (left / "fresh").mkdir()
    stage.tidy(public)
    assert content(public) == before
    assert run(folder, all=True).issued == ("rev-2", "rev-3")
    assert sorted(p.name for p in public.parent.iterdir()) == ["public", "team"]


# ------------------------------------------------------------------------- the command


def test_the_command_and_its_exit_codes(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out"
    assert main(["publish", str(folder), "--to", str(target)]) == 0
    assert capsys.readouterr().out == f"wrote {target}/index.html: rev-3\n"
    assert main(["publish", str(folder), "--to", str(target), "--revision", "rev-9"]) == 2
    assert "there is no revision `rev-9`" in capsys.readouterr().err
    _broken(folder)
    assert main(["publish", str(folder), "--to", str(target), "--revision", "rev-4"]) == 2
    out, err = capsys.readouterr()
    assert "rev-4: its description cannot be read\nbuild.yaml:2:" in err
    assert out.startswith("nothing was published")
    assert main(["publish", str(folder), "--to", str(target), "--json", "--revision", "rev-4"]) == 2
    assert list(json.loads(capsys.readouterr().out)["unreadable"]) == ["rev-4"]


def test_each_revision_is_said_with_how_many_there_are(folder: Path) -> None:
    said: list[str] = []
    publish(order(folder, all=True), progress=said.append, make=site)
    made = [line for line in said if line.startswith("making ")]
    assert made
    assert [line.rpartition(", ")[2] for line in made] == [
        f"{n} of {len(made)}" for n in range(1, len(made) + 1)
    ]
