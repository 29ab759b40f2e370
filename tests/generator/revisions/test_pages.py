"""Since, trends and sign-offs: what the pages of a site with a history are made of."""

from __future__ import annotations

import datetime
import html
import json
import os
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from buildspec.read import read_folder
from generator.cli import main
from generator.evaluation import Evaluation, evaluate
from generator.results import as_data, as_text
from generator.revisions import cache, trends, undoing
from generator.revisions.history import Listing, Repository, find_repository, revisions
from generator.revisions.pages import Context, extra_pages
from generator.revisions.public import counts_of
from generator.revisions.signatures import OTHER, commit_signature, signature, signers_of
from generator.revisions.signed import since_in
from generator.revisions.trends import (
    Figures,
    Point,
    figures_of,
    from_data,
    least_margins,
    points,
    to_data,
)
from generator.signoffs.reviewed import reviewed
from tests.generator.revisions.repositories import commit, edit, issue, run_git, start, tag

#: 1 lb = 0.45359237 kg exactly (international pound, 1959)
LB = 0.45359237


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def car(tmp_path: Path) -> Path:
    folder = start(tmp_path / "repository")
    for number, (old, new) in enumerate(
        (
            ("mass: 400 lb", "mass: 450 lb"),
            ("mass: 450 lb", "mass: 450"),
            ("mass: 450", "mass: 500 lb"),
        ),
        1,
    ):
        issue(folder, number, f"{old},", f"{new},")
    return folder


def around(folder: Path) -> tuple[Repository, Listing]:
    repository = find_repository(folder)
    return repository, revisions(repository)


def evaluation_of(folder: Path) -> Evaluation:
    build = read_folder(folder).build
    assert build is not None
    return evaluate(build, as_of=datetime.date(2026, 9, 20))


def view(folder: Path, name: str, revision: str = "") -> Any:
    repository, listing = around(folder)
    chosen = listing.named(revision) if revision else None
    previous = listing.before(revision)
    context = Context(repository, listing, chosen, previous)
    pages = extra_pages(reviewed(evaluation_of(folder), since_in(context)), context)
    return {page.name: page.view for page in pages}.get(name)


# ---------------------------------------------------------------------------------- trends


def test_each_revision_has_its_figures_and_an_unreadable_one_its_reason(car: Path) -> None:
    repository, listing = around(car)
    one, two, three = points(repository, listing.revisions)
    assert one.figures is not None
    assert three.figures is not None
    assert one.figures.values["mass"] == pytest.approx(450 * LB, rel=1e-12)
    assert three.figures.values["mass"] == pytest.approx(500 * LB, rel=1e-12)
    assert three.figures.values["mass_most"] == pytest.approx(900 * LB, rel=1e-12)
    # margin 900/450 − 1 and 900/500 − 1, by hand
    assert one.figures.margins["mass"] == pytest.approx(1.0, rel=1e-12)
    assert three.figures.margins["mass"] == pytest.approx(0.8, rel=1e-12)
    assert two.figures is None
    assert "build.yaml:5" in two.reason
    assert "`450` has no unit" in two.reason


def test_the_page_drops_no_revision_and_looks_at_no_later_one(car: Path) -> None:
    rows = view(car, "trends", "rev-3")["rows"]
    assert [r["name"] for r in rows] == ["rev-3", "rev-2", "rev-1"]
    assert "has no unit" in rows[1]["reason"]
    assert [r["name"] for r in view(car, "trends", "rev-2")["rows"]] == ["rev-2", "rev-1"]
    assert view(car, "trends")["rows"][0]["name"] == "draft"


def test_a_trend_needs_two_states(tmp_path: Path) -> None:
    folder = start(tmp_path / "other")
    tag(tmp_path / "other", "rev-1", "First")
    assert view(folder, "trends", "rev-1") is None


def test_charts_say_what_they_show_and_mark_what_is_lost(car: Path) -> None:
    charts = {c.id: c for c in view(car, "trends", "rev-3")["charts"]}
    assert {"trend-mass", "trend-margins", "trend-ready", "trend-measured"} <= set(charts)
    assert charts["trend-mass"].finding == "450.0 lb in rev-1, 500.0 lb in rev-3."
    assert "cross" in charts["trend-mass"].caption


def test_figures_are_kept_and_found_again_without_the_repository(
    car: Path, own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository, listing = around(car)
    first = points(repository, listing.revisions)
    kept = list(own_cache.rglob("*.json"))
    assert len(kept) == 3

    def never(*_: object) -> None:
        raise AssertionError("it was kept, and is read again")

    monkeypatch.setattr(trends, "run_of", never)
    assert points(repository, listing.revisions) == first


def test_other_processes_find_the_same(car: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    repository, listing = around(car)
    alone = points(repository, listing.revisions)
    shutil.rmtree(cache.cache_folder())
    monkeypatch.setattr(trends, "FEW", 2)
    monkeypatch.setattr(trends, "processors", lambda: 2)
    assert points(repository, listing.revisions) == alone


def test_trends_and_the_front_page_count_the_same() -> None:
    build = read_folder(Path("example_build")).build
    assert build is not None
    found = evaluate(build, as_of=datetime.date(2026, 11, 24))
    figures = figures_of(found)
    counts = counts_of(json.loads(as_text(as_data(reviewed(found)))))
    assert (figures.rules, figures.departs) == (counts.prescriptions, counts.departs)
    assert figures.checks == counts.checks
    assert counts.prescriptions < len(found.requirements), "some do not apply, or are followed"


def test_the_least_margin_is_told_with_the_state_before_and_the_worst_of_all() -> None:
    day = datetime.date(2026, 9, 1)
    margins = ({"mass": 0.2}, {"mass": -0.1, "cage": 0.5}, None, {"mass": -0.1, "cage": 0.4})
    found = tuple(
        Point(f"rev-{n}", "", day, Figures(margins=m) if m is not None else None)
        for n, m in enumerate(margins, 1)
    )
    mass, cage = least_margins(found, ("mass", "cage"))
    assert (mass.now, mass.before, mass.moved) == (-0.1, None, None)
    assert (mass.worst, mass.worst_in) == (-0.1, "rev-2")
    mass, cage = least_margins(found[:2], ("mass", "cage"))
    assert mass.moved == pytest.approx(-0.3, rel=1e-12)
    assert (cage.now, cage.moved) == (0.5, None)


def test_the_page_tells_how_the_least_margins_moved(car: Path) -> None:
    (row,) = view(car, "trends", "rev-3")["least"]
    # 900/450 - 1 = +100 %, 900/500 - 1 = +80 %; rev-2 cannot be read
    assert (row["title"], row["now"]) == ("Mass and centre of gravity", "+80.0 %")
    assert (row["since"], row["worst"]) == ("none before", "+80.0 % in rev-3")


@pytest.mark.parametrize(
    "content",
    [
        "",
        "[]",
        "{}",
        '{"figures": {"holds": "x"}, "reason": ""}',
        '{"figures": {"values": {"mass": NaN}}, "reason": ""}',
    ],
)
def test_a_spoilt_entry_is_computed_anew(car: Path, own_cache: Path, content: str) -> None:
    repository, listing = around(car)
    first = points(repository, listing.revisions)
    for path in own_cache.rglob("*.json"):
        path.write_text(content, "utf-8")
    assert points(repository, listing.revisions) == first


def test_another_program_does_not_meet_what_this_one_kept(
    car: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    repository, listing = around(car)
    points(repository, listing.revisions)
    monkeypatch.setattr(cache, "program_digest", lambda: "f" * 64)
    assert cache.load(listing.revisions[0].tree, listing.revisions[0].date) is None


def test_a_cache_that_cannot_be_written_is_done_without(
    car: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", "utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    repository, listing = around(car)
    assert len(points(repository, listing.revisions)) == 3


def test_figures_go_through_json_unchanged() -> None:
    figures = Figures({"mass": 1.5}, {"mass": -0.1}, 3, 4, 1, 2, 5, 6, 7)
    assert from_data(json.loads(json.dumps(to_data(figures, "")))) == (figures, "")
    assert figures.ready == 0.75
    assert figures.measured_share == pytest.approx(6 / 7)
    assert Figures().ready is None


# ----------------------------------------------------------------------------------- since


def test_since_an_unreadable_revision_says_so(car: Path) -> None:
    found = view(car, "since", "rev-3")
    assert found["said"] is None
    assert "has no unit" in found["reason"]


def test_since_says_what_moved_against_the_revision_before(car: Path) -> None:
    issue(car, 4, "mass: 500 lb", "mass: 600 lb")
    said = view(car, "since", "rev-4")["said"]
    assert (said.earlier, said.later) == ("rev-3 (2026-09-04)", "rev-4 (2026-09-20)")
    (row,) = said.values
    assert (row.was, row.now, row.by) == (
        "500 lb (226.8 kg)",
        "600 lb (272.2 kg)",
        "+100 lb, +20.0 %",
    )
    # 900/500 − 1 = 80 %, 900/600 − 1 = 50 %: by hand
    (move,) = said.moves
    assert (move.was, move.now, move.by) == ("+80.0 %", "+50.0 %", "−30.0 points")
    assert view(car, "since", "rev-1") is None


# -------------------------------------------------------------------------------- sign-offs


def sign(folder: Path, *more: str) -> None:
    who = ["--by", "R. Sandoval", "--as", "reviewer", "--says", "accepted"]
    assert main(["sign", str(folder), *who, "--as-of", "2026-09-04", *more]) == 0
    commit(folder.parent, "Record a word", "2026-09-04T13:00:00+0200")


def test_a_word_names_the_revision_that_undid_it(car: Path) -> None:
    sign(car, "--scope", "mass")
    issue(car, 4, "target_speed: 150 mph", "target_speed: 160 mph")
    (row,) = view(car, "signoffs", "rev-4")["rows"]
    assert (row.state, row.since, row.seen_in) == ("stands", "", "rev-3")
    issue(car, 5, "mass: 500 lb", "mass: 510 lb")
    issue(car, 6, "target_speed: 160 mph", "target_speed: 170 mph")
    (row,) = view(car, "signoffs", "rev-6")["rows"]
    assert (row.state, row.since) == ("undone", "rev-5")
    assert row.reasons[0] == "Frame: mass 500 → 510 lb"
    edit(car, "mass: 510 lb", "mass: 500 lb")
    (row,) = view(car, "signoffs")["rows"]
    assert row.state == "stands"


def test_a_comparison_says_which_words_it_undoes(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sign(car, "--scope", "mass")
    issue(car, 4, "target_speed: 150 mph", "target_speed: 160 mph")
    edit(car, "mass: 500 lb", "mass: 510 lb")
    capsys.readouterr()
    assert main(["compare", "rev-4", str(car), "--json"]) == 0
    (lost,) = json.loads(capsys.readouterr().out)["signoffs_undone"]
    assert (lost["scope"], lost["reasons"][0]) == ("mass", "Frame: mass 500 → 510 lb")
    assert main(["compare", "rev-3", "rev-4", "--in", str(car), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["signoffs_undone"] == []
    assert main(["compare", "rev-4", str(car)]) == 0
    said = capsys.readouterr().out
    assert (
        "Mass and centre of gravity: R. Sandoval (reviewer), accepted in rev-3: Frame: mass 500 → 510 lb"
        in said
    )


def test_a_draft_that_undoes_a_word_is_named_as_that(car: Path) -> None:
    sign(car, "--scope", "mass")
    edit(car, "mass: 500 lb", "mass: 510 lb")
    found = view(car, "signoffs")
    (row,) = found["rows"]
    assert (row.state, row.since) == ("undone", "this draft")
    assert ("mass.html", "Mass and centre of gravity") in found["unsigned"]


def test_check_names_the_revision_too_and_keeps_what_it_found(
    car: Path, own_cache: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sign(car, "--scope", "mass")
    issue(car, 4, "mass: 500 lb", "mass: 510 lb")
    issue(car, 5, "150 mph", "151 mph")

    def since() -> str:
        capsys.readouterr()
        main(["check", str(car), "--json", "--as-of", "2026-09-20"])
        (word,) = json.loads(capsys.readouterr().out)["signoffs"]
        return str(word["since"])

    assert since() == "rev-4"
    assert list(own_cache.rglob("*.json"))

    def never(*_: object) -> None:
        raise AssertionError("it was kept, and is found again")

    monkeypatch.setattr(undoing, "reading_of", never)
    assert since() == "rev-4"
    shutil.rmtree(car.parent / ".git")
    assert since() == "", "without a history there is no revision"


def test_there_is_no_page_without_the_section(car: Path) -> None:
    assert view(car, "signoffs", "rev-3") is None


def test_the_pages_are_written_into_a_site(car: Path, tmp_path: Path) -> None:
    sign(car, "--scope", "mass")
    edit(car, "mass: 500 lb", "mass: 510 lb")
    assert main(["build", str(car), "--to", str(tmp_path / "site"), "--as-of", "2026-09-05"]) == 0
    pages = {
        n: (tmp_path / "site" / f"{n}.html").read_text("utf-8")
        for n in ("since", "trends", "signoffs")
    }
    assert "Since rev-3" in pages["since"]
    assert "−" in pages["since"]
    assert "this program cannot read it" in pages["trends"]
    assert "undone" in pages["signoffs"]
    assert "since this draft" in pages["signoffs"]
    mass = html.unescape((tmp_path / "site" / "mass.html").read_text("utf-8"))
    assert "undone since this draft: Frame: mass 500 → 510 lb" in mass
    assert 'href="signoffs.html#signoffs.records.mass_1"' in mass
    (word,) = json.loads((tmp_path / "site" / "results.json").read_text("utf-8"))["signoffs"]
    assert (word["state"], word["since"]) == ("undone", "this draft")


HOSTILE = "<img src=x onerror=alert(1)> {{7}} [a](//b.example)|**b**"


def test_what_people_wrote_is_printed_and_never_run(car: Path, tmp_path: Path) -> None:
    sign(car, "--scope", "mass", "--by", HOSTILE, "--as", HOSTILE, "--note", HOSTILE)
    issue(car, 4, "mass: 500 lb", "mass: 510 lb")
    edit(car, "id: frame, name: Frame", f"id: frame, name: '{HOSTILE}'")
    tag(car.parent, "rev-5", HOSTILE, "2026-09-10T12:00:00+0200")
    assert main(["build", str(car), "--to", str(tmp_path / "site")]) == 0
    for name in ("since", "trends", "signoffs"):
        page = (tmp_path / "site" / f"{name}.html").read_text("utf-8")
        body = page[page.index("<article") : page.index("</article>")]
        assert "<img" not in body
        assert 'b.example"' not in body
        assert "<strong>b</strong>" not in body
        assert "onerror=alert" in body.replace("&#61;", "=").replace("&#40;", "("), name


# ------------------------------------------------------------------------------- signatures


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="needs ssh-keygen")
def test_a_signature_is_checked_against_public_keys_in_the_folder(
    car: Path, tmp_path: Path
) -> None:
    """Signed by git itself with a key made here; the good, the unknown and the missing answer."""
    key = tmp_path / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
    settings = ("-c", "gpg.format=ssh", "-c", f"user.signingkey={key}")
    run_git(car, *settings, "tag", "-s", "rev-4", "-m", "Signed", when="2026-09-09T12:00:00+0200")
    repository, listing = around(car)
    revision = listing.named("rev-4")
    public = key.with_suffix(".pub").read_text("utf-8").split()
    known = f"r.sandoval@club.example {public[0]} {public[1]}\n".encode()
    assert signature(repository, listing.named("rev-3"), known) == ""
    assert "no file `signers`" in signature(repository, revision, None)
    assert "is signed by r.sandoval@club.example" in signature(repository, revision, known)
    assert "none of the keys" in signature(repository, revision, b"")
    assert signers_of(repository) is None
    # without -S neither tag nor commit of another revision says anything
    sign(car, "--scope", "mass", "--by", "R. Sandoval")
    run_git(car, *settings, "commit", "-q", "--amend", "--no-edit", "-S")
    run_git(car, "tag", "-a", "rev-5", "-m", "A signed commit", when="2026-09-10T12:00:00+0200")
    _, listing = around(car)
    assert signature(repository, listing.named("rev-5"), None) == ""
    assert signature(repository, listing.named("rev-5"), known).startswith(
        "has an unsigned tag; its commit is signed by r.sandoval@club.example"
    )
    assert "none of the keys" in signature(repository, listing.named("rev-5"), b"")
    (car / "signers").write_bytes(known)
    (row,) = view(car, "signoffs")["rows"]
    assert "is signed by r.sandoval@club.example, key SHA256:" in row.committed
    assert signers_of(repository) == known
    assert signers_of(repository, revision.tree) is None
    commit(car.parent, "Name the signers")
    tree = run_git(car, "rev-parse", "HEAD:car")
    assert signers_of(repository, tree) == known


OPENPGP = """-----BEGIN PGP SIGNATURE-----

iHUEABYKAB0WIQ
=abcd
-----END PGP SIGNATURE-----
"""


def test_a_signature_of_another_kind_is_said_and_no_other_program_is_asked(
    car: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The keys that a machine happens to hold must not decide what a published page says."""
    gpg = tmp_path / "bin" / "gpg"
    gpg.parent.mkdir()
    gpg.write_text(
        '#!/bin/sh\ntouch "$(dirname "$0")/asked"\n'
        "echo '[GNUPG:] GOODSIG 0123456789ABCDEF R. Tester'\necho '[GNUPG:] TRUST_ULTIMATE'\n"
    )
    gpg.chmod(0o755)
    monkeypatch.setenv("PATH", f"{gpg.parent}:{os.environ['PATH']}")
    repository, listing = around(car)
    last = listing.revisions[-1]
    head, _, message = run_git(car, "cat-file", "commit", last.commit).partition("\n\n")
    lines = OPENPGP.strip().replace("\n", "\n ")
    made = {
        "commit": f"{head}\ngpgsig {lines}\n\n{message}\n",
        "tag": f"{run_git(car, 'cat-file', 'tag', last.tag)}\n{OPENPGP}",
    }
    for kind, text in made.items():
        (tmp_path / kind).write_text(text)
        made[kind] = run_git(car, "hash-object", "-t", kind, "-w", str(tmp_path / kind))
    known = b"someone@example.org ssh-ed25519 AAAA\n"
    assert commit_signature(repository, made["commit"], known) == OTHER
    tagged = replace(last, tag=made["tag"], signed=True)
    assert signature(repository, tagged, known) == OTHER
    assert signature(repository, tagged, None) == OTHER
    bare = replace(last, commit=made["commit"])
    assert signature(repository, bare, known) == f"has an unsigned tag; its commit {OTHER}"
    assert not (gpg.parent / "asked").exists()
