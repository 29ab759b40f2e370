"""Which file proves what, and what is said of one that is missing, changed or broken."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from generator.compose import compose
from generator.downloads.evidence import MOST_COPIED, Shown, attached
from generator.evaluation import Evaluation, load_subjects
from generator.subjects.evidence import Detail, EvidenceState
from tests.generator.subjects.work_builds import (
    FILES,
    PULL,
    SUBJECTS,
    TEXT,
    build_in,
    evaluated,
    evaluated_again,
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "car"


def states(of: Evaluation) -> dict[str, EvidenceState]:
    found = of.outcomes["evidence"].detail
    assert isinstance(found, Detail)
    return dict(found.states)


def test_each_file_has_its_standing(folder: Path) -> None:
    found = states(evaluated(folder))
    assert {name: (s.standing, s.attested) for name, s in found.items()} == {
        "tabs": ("there", True),
        "pull": ("changed", False),
        "card": ("missing", False),
        "cut_photo": ("not usable", False),
    }
    assert (
        found["pull"].reason == "its content is not the one that Lee Byrne attested on 2026-11-20"
    )
    assert found["tabs"].used_by == ("Belts: Weld the tabs",)


def test_each_that_proves_nothing_is_an_open_item(folder: Path) -> None:
    items = {i.id: i for i in evaluated(folder).open_items if i.subject == "evidence"}
    assert set(items) == {f"evidence.file.{n}" for n in ("pull", "card", "cut_photo")}
    assert {i.kind for i in items.values()} == {"evidence"}
    assert items["evidence.file.pull"].owner == "Lee Byrne"
    assert "proof/card.jpg, which should prove: Who packed it" in items["evidence.file.card"].text


def test_a_file_brought_back_to_what_was_attested_counts_again(folder: Path) -> None:
    text = TEXT.replace("f" * 64, hashlib.sha256(PULL).hexdigest())
    assert states(evaluated(folder, text))["pull"].standing == "there"


def test_one_changed_byte_shows(folder: Path) -> None:
    before = build_in(folder)
    (folder / "proof/tabs.jpg").write_bytes(FILES["proof/tabs.jpg"] + b"\n")
    after = evaluated_again(folder).build
    assert before.fingerprint != after.fingerprint
    assert before.files["proof/tabs.jpg"].sha256 != after.files["proof/tabs.jpg"].sha256


def shown(of: Evaluation, folder: Path | None) -> tuple[dict[str, Shown], dict[str, bytes]]:
    made = attached(of.outcomes["evidence"], folder)
    return made.view["pictures"], dict(made.files)


def test_a_photo_is_shown_and_a_table_copied_as_it_is(folder: Path) -> None:
    pictures, files = shown(evaluated(folder), folder)
    digest = hashlib.sha256(FILES["proof/tabs.jpg"]).hexdigest()[:8]
    assert pictures["tabs"].picture == f"evidence/tabs-{digest}.jpg"
    assert files[pictures["tabs"].picture].startswith(b"\xff\xd8\xff")
    assert files[pictures["pull"].copy] == PULL
    assert pictures["cut_photo"].why == "a picture without its end; copy it again"
    assert pictures["card"].why == "the file is not in the build folder"


def test_what_a_name_pretends_is_not_believed(folder: Path) -> None:
    evaluated(folder)
    (folder / "proof/tabs.jpg").write_bytes(b"<script>alert(1)</script>")
    pictures, files = shown(evaluated_again(folder), folder)
    assert pictures["tabs"].copy.endswith(".txt")
    assert not [name for name in files if name.endswith((".jpg", ".html"))]


def test_a_file_that_goes_or_turns_into_a_link_while_building_is_said(
    folder: Path, tmp_path: Path
) -> None:
    known = evaluated(folder)
    (tmp_path / "secret").write_bytes(b"outside")
    (folder / "proof/tabs.jpg").unlink()
    (folder / "proof/tabs.jpg").symlink_to(tmp_path / "secret")
    (folder / "proof/pull.csv").unlink()
    pictures, files = shown(known, folder)
    assert pictures["tabs"].why == pictures["pull"].why
    assert pictures["tabs"].why == "the file could not be read when the site was built"
    assert files == {}


def test_a_large_table_stays_in_the_build_folder(folder: Path) -> None:
    evaluated(folder)
    (folder / "proof/pull.csv").write_bytes(b"1,2,3\n" * (MOST_COPIED // 6 + 1))
    pictures, _ = shown(evaluated_again(folder), folder)
    assert "larger than 10 MB" in pictures["pull"].why


def test_the_page_shows_the_picture_the_digest_and_the_standing(folder: Path) -> None:
    found = evaluated(folder)
    files = compose(found, folder=folder, subjects=load_subjects(SUBJECTS)).files
    page = files["docs/evidence.md"].decode()
    digest = hashlib.sha256(FILES["proof/tabs.jpg"]).hexdigest()
    assert f"evidence/tabs-{digest[:8]}.jpg" in page.replace("&#47;", "/")
    assert digest in page
    assert page.count('class="mb-standing mb-standing-not"') == 6, "three files, in list and below"
    assert f"docs/evidence/tabs-{digest[:8]}.jpg" in files
    assert b"data:image/jpeg;base64," in files["docs/binder.html"]


def test_without_the_folder_the_page_says_so(folder: Path) -> None:
    page = compose(evaluated(folder), subjects=load_subjects(SUBJECTS)).files["docs/evidence.md"]
    assert "could not be read when the site was built" in page.decode()
