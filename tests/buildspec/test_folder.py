"""What a folder can be beside a good one, as far as git cannot hold it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from buildspec.documents import MAX_DEPTH, MAX_NODES
from buildspec.files import MAX_BYTES, first_bytes
from buildspec.read import MAX_PAGES, Reading, read_folder
from buildspec.sections.rules import Rules

HEAD = "format: 1\nvehicle: {name: Wren}\n"
TABLE = """mass:
  items: items.csv
  conditions: [{id: start_line}]
  design_condition: start_line
"""


def write(folder: Path, **files: str) -> Path:
    """Write files named with `_` for the dot: `build_yaml`."""
    for name, text in files.items():
        (folder / name.replace("_", ".")).write_text(text, "utf-8")
    return folder


def said(reading: Reading) -> list[tuple[str, str]]:
    assert reading.build is None
    return [(p.code, p.message) for p in reading.problems]


def test_an_empty_folder(tmp_path: Path) -> None:
    assert said(read_folder(tmp_path)) == [("folder.empty", "the folder is empty")]


def test_a_folder_without_build_yaml(tmp_path: Path) -> None:
    reading = read_folder(write(tmp_path, mass_yaml=""))
    assert said(reading) == [("folder.no-build", "the folder has no `build.yaml`")]


def test_a_build_yml_is_named(tmp_path: Path) -> None:
    reading = read_folder(write(tmp_path, build_yml=HEAD))
    assert reading.problems[0].help == "rename `build.yml` to `build.yaml`"


def test_a_missing_folder(tmp_path: Path) -> None:
    assert said(read_folder(tmp_path / "none"))[0][0] == "folder.missing"


def test_a_file_instead_of_a_folder(tmp_path: Path) -> None:
    reading = read_folder(write(tmp_path, build_yaml=HEAD) / "build.yaml")
    assert said(reading)[0][0] == "folder.file"


def test_a_name_no_file_system_takes() -> None:
    assert said(read_folder(Path("a\0b")))[0][0] == "folder.unreadable"


def test_build_yaml_is_a_folder(tmp_path: Path) -> None:
    (tmp_path / "build.yaml").mkdir()
    assert said(read_folder(tmp_path)) == [("file.kind", "`build.yaml` is a folder, not a file")]


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(write(tmp_path, build_yaml=HEAD) / "mass.yaml")
    assert said(read_folder(tmp_path)) == [("file.kind", "`mass.yaml` is a pipe, not a file")]


def test_a_device_is_not_read(tmp_path: Path) -> None:
    (write(tmp_path, build_yaml=HEAD) / "mass.yaml").symlink_to("/dev/zero")
    assert said(read_folder(tmp_path))[0][0] == "file.outside"


def test_a_link_out_of_the_folder(tmp_path: Path) -> None:
    outside = tmp_path / "outside.csv"
    outside.write_text("id,name,mass [lb],x [in],z [in]\na,A,1,2,3\n")
    folder = tmp_path / "car"
    folder.mkdir()
    write(folder, build_yaml=HEAD + TABLE)
    (folder / "items.csv").symlink_to(outside)
    assert said(read_folder(folder)) == [
        ("file.outside", "`items.csv` leads out of the build folder")
    ]


def test_a_link_inside_the_folder_is_followed(tmp_path: Path) -> None:
    write(
        tmp_path, build_yaml=HEAD + TABLE, list_csv="id,name,mass [lb],x [in],z [in]\na,A,1,2,3\n"
    )
    (tmp_path / "items.csv").symlink_to("list.csv")
    reading = read_folder(tmp_path)
    assert reading.build is not None
    assert "mass.items.a.mass" in reading.build.quantities


def test_the_folder_itself_may_be_a_link(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    folder.mkdir()
    write(folder, build_yaml=HEAD)
    (tmp_path / "link").symlink_to(folder)
    assert read_folder(tmp_path / "link").build is not None


def test_a_link_that_leads_nowhere_and_one_to_itself(tmp_path: Path) -> None:
    write(tmp_path, build_yaml=HEAD)
    (tmp_path / "mass.yaml").symlink_to("gone.yaml")
    (tmp_path / "venue.yaml").symlink_to("venue.yaml")
    codes = dict(said(read_folder(tmp_path)))
    assert codes["file.missing"] == "`mass.yaml` is a link that leads nowhere"
    assert codes["file.unreadable"] == "`venue.yaml` is a link that leads back to itself"


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (PermissionError(13, "denied"), "`mass.yaml` may not be read"),
        (OSError(5, "input/output error"), "`mass.yaml` cannot be read"),
    ],
)
def test_an_unreadable_file(tmp_path: Path, error: OSError, message: str) -> None:
    """The opener is injected: the right to read cannot be taken from a superuser."""

    def opener(path: Path, most: int) -> bytes:
        if path.name == "mass.yaml":
            raise error
        return first_bytes(path, most)

    write(tmp_path, build_yaml=HEAD, mass_yaml="items: []")
    assert said(read_folder(tmp_path, opener=opener)) == [("file.unreadable", message)]


def test_two_megabytes_of_nesting(tmp_path: Path) -> None:
    write(tmp_path, build_yaml=HEAD + "venue: " + "[" * (MAX_BYTES - 100))
    reading = read_folder(tmp_path)
    assert said(reading) == [("file.depth", f"the nesting is more than {MAX_DEPTH} levels deep")]


def test_deep_block_nesting(tmp_path: Path) -> None:
    deep = "".join(" " * n + "a:\n" for n in range(1, 1000))
    assert (
        said(read_folder(write(tmp_path, build_yaml=HEAD + "venue:\n" + deep)))[0][0]
        == "file.depth"
    )


def test_a_file_too_large(tmp_path: Path) -> None:
    write(tmp_path, build_yaml=HEAD + "#" * MAX_BYTES)
    assert said(read_folder(tmp_path)) == [("file.size", "`build.yaml` is larger than 2 MiB")]


def test_only_as_much_is_read_as_may_be_there(tmp_path: Path) -> None:
    asked: list[int] = []

    def opener(path: Path, most: int) -> bytes:
        asked.append(most)
        return first_bytes(path, most)

    read_folder(write(tmp_path, build_yaml=HEAD), opener=opener)
    assert asked == [MAX_BYTES + 1]


def test_too_many_nodes(tmp_path: Path) -> None:
    many = "[" + "1," * (MAX_NODES + 10) + "]"
    codes = said(read_folder(write(tmp_path, build_yaml=HEAD + "venue: " + many)))
    assert codes == [("file.nodes", f"the file holds more than {MAX_NODES:,} keys and values")]


def test_a_bomb_of_aliases_is_never_unfolded(tmp_path: Path) -> None:
    """Ten levels of ten: 10¹⁰ entries, had they been written out. (Shape: common knowledge.)"""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * 10) + "]" for n in range(1, 11)]
    reading = read_folder(write(tmp_path, build_yaml=HEAD + "\n".join(lines)))
    assert reading.build is None
    assert sum(p.code == "yaml.anchor" for p in reading.problems) == 11
    assert sum(p.code == "yaml.alias" for p in reading.problems) == 10


def test_a_file_name_that_cannot_be_printed(tmp_path: Path) -> None:
    write(tmp_path, build_yaml=HEAD)
    (tmp_path / os.fsdecode(b"caf\xe9.yaml")).write_text("")
    pages = tmp_path / "pages"
    pages.mkdir()
    (pages / os.fsdecode(b"caf\xe9.md")).write_text("# Page")
    problems = read_folder(tmp_path).problems
    assert {p.code for p in problems} == {"file.unused", "file.name"}
    for problem in problems:
        (problem.message + problem.help + problem.place.file).encode("utf-8")


SHEET = """id: {0}
title: Sheet {0}
groups: [{{id: car, title: The car}}]
requirements: [{{id: paint, group: car, statement: It is painted., attest: {{}}}}]
"""


def test_rule_sheets_may_stand_in_files_of_their_own(tmp_path: Path) -> None:
    rules = "rules:\n  sheets:\n    - " + SHEET.format("first").replace("\n", "\n      ")
    folder = write(tmp_path, build_yaml=HEAD + rules.rstrip() + "\n")
    (folder / "rules").mkdir()
    for name in ("own", "club"):
        (folder / "rules" / f"{name}.yaml").write_text(SHEET.format(name), "utf-8")
    (folder / "rules" / "notes.txt").write_text("no sheet", "utf-8")
    reading = read_folder(folder)
    assert reading.problems == ()
    assert reading.build is not None
    section = reading.build.section(Rules)
    assert section is not None
    assert [s.id for s in section.sheets] == ["first", "club", "own"]
    place = reading.build.where("rules.sheets.own.requirements.paint.statement")
    assert (place.file, place.line) == ("rules/own.yaml", 4)


def test_rule_sheets_need_no_section_beside_them(tmp_path: Path) -> None:
    folder = write(tmp_path, build_yaml=HEAD)
    (folder / "rules").mkdir()
    (folder / "rules" / "club.yaml").write_text(SHEET.format("club"), "utf-8")
    build = read_folder(folder).build
    assert build is not None
    section = build.section(Rules)
    assert section is not None
    assert [s.id for s in section.sheets] == ["club"]
    (folder / "rules" / "club.yaml").write_text("- a list", "utf-8")
    (problem,) = read_folder(folder).problems
    assert problem.place.file == "rules/club.yaml"


def test_pages_are_read_with_their_titles(tmp_path: Path) -> None:
    pages = write(tmp_path, build_yaml=HEAD) / "pages"
    pages.mkdir()
    (pages / "b_plan.md").write_text("Some text\n\n## The plan ##\n\n# Later\n", "utf-8")
    (pages / "a_note.md").write_text("no heading", "utf-8")
    (pages / ".hidden.md").write_text("# no", "utf-8")
    (pages / "photo.txt").write_text("# no", "utf-8")
    build = read_folder(tmp_path).build
    assert build is not None
    assert [(p.name, p.title, p.place.file) for p in build.pages] == [
        ("a_note", "a_note", "pages/a_note.md"),
        ("b_plan", "The plan", "pages/b_plan.md"),
    ]


def test_a_heading_inside_a_fence_is_no_title(tmp_path: Path) -> None:
    pages = write(tmp_path, build_yaml=HEAD) / "pages"
    pages.mkdir()
    (pages / "how.md").write_text("```\n# a comment\n```\n\n# How\n", "utf-8")
    build = read_folder(tmp_path).build
    assert build is not None
    assert build.pages[0].title == "How"


def test_pages_must_stay_inside_and_be_few(tmp_path: Path) -> None:
    outside = tmp_path / "secret.md"
    outside.write_text("# secret")
    pages = tmp_path / "car" / "pages"
    pages.mkdir(parents=True)
    write(tmp_path / "car", build_yaml=HEAD)
    (pages / "a.md").symlink_to(outside)
    for number in range(MAX_PAGES):
        (pages / f"b{number}.md").write_text("x")
    assert {code for code, _ in said(read_folder(tmp_path / "car"))} == {
        "file.outside",
        "file.pages",
    }


def test_dot_folders_and_other_files_are_left_alone(tmp_path: Path) -> None:
    write(tmp_path, build_yaml=HEAD, README_md="x", photo_jpg="x", notes_txt="x")
    (tmp_path / ".git").mkdir()
    (tmp_path / ".hidden.yaml").write_text("")
    assert read_folder(tmp_path).problems == ()
