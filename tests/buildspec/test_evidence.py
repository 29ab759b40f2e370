"""What is known of a file that proves something: inside the folder, what it is, whether it is whole."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
from pathlib import Path

import pytest
from PIL import Image

from buildspec.diagnostics import Diagnostic, Place
from buildspec.evidence import MOST_BYTES, FileFact, fact, look

ASKED = Place("rules.yaml", 7, 11, 12)


def picture(kind: str, size: tuple[int, int] = (60, 40), mode: str = "RGB") -> bytes:
    sink = io.BytesIO()
    Image.new(mode, size).save(sink, kind)
    return sink.getvalue()


def found(folder: Path, name: str) -> FileFact:
    known = look(folder, name, ASKED)
    assert isinstance(known, FileFact), known
    return known


def refused(folder: Path, name: str) -> Diagnostic:
    problem = look(folder, name, ASKED)
    assert isinstance(problem, Diagnostic), problem
    assert problem.place == ASKED
    return problem


def test_the_digest_is_the_one_that_sha256sum_prints(tmp_path: Path) -> None:
    """coreutils' sha256sum is the outside reference; the empty file's digest is in FIPS 180 lists."""
    file = tmp_path / "belt.jpg"
    file.write_bytes(picture("JPEG"))
    said = subprocess.run(["sha256sum", file], capture_output=True, text=True, check=True).stdout
    known = found(tmp_path, "belt.jpg")
    assert known.sha256 == said.split()[0]
    assert (known.size, known.kind, known.pixels, known.fault) == (
        file.stat().st_size, "jpeg", (60, 40), "",
    )  # fmt: skip


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "GIF"])
def test_a_whole_picture_has_no_fault_and_a_cut_one_has(kind: str) -> None:
    data = picture(kind, mode="P" if kind == "GIF" else "RGB")
    assert (fact("x", data).kind, fact("x", data).fault) == (kind.lower(), "")
    assert fact("x", data[:-20]).fault
    assert fact("x", data[:20]).fault


def test_the_name_does_not_decide_what_a_file_is() -> None:
    assert fact("photo.jpg", b"%PDF-1.7\n1 0 obj\n%%EOF\n").kind == "pdf"
    assert fact("photo.pdf", picture("PNG")).kind == "png"
    assert fact("photo.jpg", b"<script>alert(1)</script>").kind == "text"
    assert fact("times.csv", b"run,time\n1,4.2\n").kind == "csv"


HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(40)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (HEIC, "HEIC"),
        (b"II*\0" + bytes(40), "TIFF"),
        (b"", "empty"),
        (bytes(40), "neither a picture"),
        (b"%PDF-1.7\n1 0 obj", "without its end"),
        (picture("PNG", (10_000, 10_000), "1"), "100 megapixels, more than 50"),
        (picture("PNG", (20_000, 10_000), "1"), "more than 50 megapixels"),
        (b"\xff\xd8\xff" + bytes(40), "cannot be read"),
    ],
    ids=["heic", "tiff", "empty", "zeros", "pdf cut", "100 MP", "200 MP", "jpeg broken"],
)
def test_what_cannot_be_shown_says_why(data: bytes, said: str) -> None:
    assert said in fact("proof", data).fault


def test_a_photo_with_a_film_behind_it_is_whole() -> None:
    """Phones put a few seconds of film behind a JPEG; the bytes there may look like any marker."""
    film = b"\0\0\0\x18ftypmp42" + bytes(range(256)) * 40 + b"\xff\xda" * 9
    assert fact("x", picture("JPEG") + film).fault == ""


def test_a_file_that_is_absent_is_a_fact_and_no_problem(tmp_path: Path) -> None:
    known = found(tmp_path, "later.jpg")
    assert (known.exists, known.sha256) == (False, "")
    assert known.fault == "is not in the build folder"


def test_a_file_larger_than_the_limit_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "film.mp4"
    with file.open("wb") as handle:
        handle.truncate(MOST_BYTES + 1)
    assert "larger than" in found(tmp_path, "film.mp4").fault


def test_a_file_outside_of_the_folder_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    folder.mkdir()
    (tmp_path / "secret.txt").write_text("x")
    (folder / "link.txt").symlink_to(tmp_path / "secret.txt")
    (folder / "up").symlink_to(tmp_path)
    for name in ("../secret.txt", str(tmp_path / "secret.txt"), "link.txt", "up/secret.txt"):
        assert refused(folder, name).code == "file.outside", name


def test_a_link_within_the_folder_is_followed(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("a\n1\n")
    (tmp_path / "b.csv").symlink_to(tmp_path / "a.csv")
    assert found(tmp_path, "b.csv").sha256 == hashlib.sha256(b"a\n1\n").hexdigest()


def test_a_folder_and_a_pipe_are_refused_and_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    os.mkfifo(tmp_path / "pipe")
    assert refused(tmp_path, "photos").code == "file.kind"
    assert refused(tmp_path, "pipe").code == "file.kind"


def test_a_link_to_nowhere_and_one_to_itself_are_facts(tmp_path: Path) -> None:
    (tmp_path / "gone").symlink_to(tmp_path / "not there")
    (tmp_path / "ring").symlink_to(tmp_path / "ring")
    assert found(tmp_path, "gone").fault == "is a link that leads nowhere"
    assert "back to itself" in found(tmp_path, "ring").fault
