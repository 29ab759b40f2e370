"""Whatever a file holds: problems or a build, never an exception, and bounded work."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildspec.diagnostics import render, render_concise, to_json
from buildspec.documents import read_yaml
from buildspec.files import decode
from buildspec.read import Reading
from buildspec.schema import at
from buildspec.tables import read_table
from tests.buildspec.descriptions import HEAD, MASS, reading_of

ROOT = Path(__file__).parents[2]
PARTS = [
    "{",
    "}",
    "[",
    "]",
    ": ",
    "- ",
    "\n",
    "  ",
    "\t",
    "'",
    '"',
    "#",
    "&a ",
    "*a",
    "!t ",
    "<<",
    "|",
    ">",
    ",",
    "?",
    "%",
    "@",
    "`",
    "\\",
    "\0",
    "\x1b",
    "\u202e",
    "\ufeff",
    "\u2028",
    "\x85",
    "null",
    "no",
    "1e999",
    "-",
    "0x1",
    "1:30",
    "nan",
    "999 lb",
    "-1 in",
    "1/0 in",
    "5 %",
    "9" * 50,
    "é",
    "漢字",
    "---\n",
    "...\n",
    "x.csv",
    "../x",
    "format: 2",
    "id: frame",
    "after: [out]",
    "{value: 1 in}",
    "plus_minus: 3 %",
    "true",
]


def sound(reading: Reading) -> None:
    """What holds of every reading: a build or errors, all of it printable, every place real."""
    errors = [p for p in reading.problems if p.severity == "error"]
    assert (reading.build is None) == bool(errors)
    assert render(reading.problems, reading.texts).encode("utf-8") or not reading.problems
    render_concise(reading.problems).encode("utf-8")
    assert len(to_json(reading.problems)) == len(reading.problems)
    for problem in reading.problems:
        assert problem.message
        assert problem.place.file
        if problem.place.line:
            lines = (
                reading.texts[problem.place.file]
                .replace("\r\n", "\n")
                .replace("\r", "\n")
                .split("\n")
            )
            assert 1 <= problem.place.line <= len(lines)
            assert 1 <= problem.place.column <= len(lines[problem.place.line - 1]) + 1


def good_folders() -> list[Path]:
    """Descriptions that read without a problem."""
    found = [p.parent for p in sorted((ROOT / "tests" / "specs" / "good").glob("*/build.yaml"))]
    return [*found, ROOT / "generator" / "starter"]


def mutated(data: bytes, chance: random.Random) -> bytes:
    """A few random cuts, copies, exchanges and insertions."""
    for _ in range(chance.randint(1, 4)):
        start = chance.randrange(len(data) + 1)
        end = min(len(data), start + chance.choice([0, 1, 2, 5, 20, 200]))
        what = chance.randrange(5)
        if what == 0:
            data = data[:start] + data[end:]
        elif what == 1:
            data = data[:start] + chance.choice(PARTS).encode() + data[end:]
        elif what == 2:
            data = data[:start] + data[start:end] * 2 + data[end:]
        elif what == 3:
            data = data[:start] + bytes([chance.randrange(256)]) + data[start:]
        else:
            lines = data.split(b"\n")
            chance.shuffle(lines[:8])
            one, two = chance.randrange(len(lines)), chance.randrange(len(lines))
            lines[one], lines[two] = lines[two], lines[one]
            data = b"\n".join(lines)
    return data


@pytest.mark.parametrize("folder", good_folders(), ids=lambda f: f.name)
@pytest.mark.parametrize("seed", range(6))
def test_mutated_descriptions_never_raise(folder: Path, seed: int) -> None:
    files = {
        p.name.replace(".", "_"): p.read_bytes()
        for p in sorted(folder.iterdir())
        if p.suffix in (".yaml", ".csv")
    }
    chance = random.Random(seed)
    for _ in range(8):
        name = chance.choice(sorted(files))
        sound(reading_of(**{**files, name: mutated(files[name], chance)}))  # type: ignore[arg-type]


SMALL = (
    HEAD
    + MASS
    + """egress:
  activities:
    - {id: stop, text: Stop, duration: 2 s}
    - {id: out, text: Out, optimistic: 1 s, likely: 2 s, pessimistic: 3 s, after: [stop]}
  scenarios: [{id: up, title: Up, drop: [stop], change: [{activity: out, duration: 4 s}]}]
  drills: [{id: a, date: 2026-05-02, scenario: up, person: A, total: 9 s}]
"""
)


@settings(max_examples=150)
@given(st.data())
def test_a_small_description_with_parts_put_in(data: st.DataObject) -> None:
    text = SMALL
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 12)))
        text = text[:start] + data.draw(st.sampled_from(PARTS)) + text[end:]
    sound(reading_of(text))


@settings(max_examples=150)
@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    sound(reading_of(data))


@settings(max_examples=150)
@given(st.text(max_size=300))
def test_any_text_as_a_section_and_as_a_table(text: str) -> None:
    data = text.encode("utf-8", "replace")
    sound(reading_of(HEAD, mass_yaml=data))
    table = HEAD + "mass: {items: items.csv, conditions: [{id: c}], design_condition: c}\n"
    sound(reading_of(table, items_csv=data))
    sound(reading_of(table, items_csv=b"id,name,mass [lb],x [in],z [in]\n" + data))


json_like = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from(["1 lb", "2 in", "frame", "x.csv", "2026-05-02", "us", ""])
    | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                [
                    "id",
                    "name",
                    "mass",
                    "x",
                    "z",
                    "items",
                    "conditions",
                    "fill",
                    "after",
                    "value",
                    "plus_minus",
                    "positions",
                    "scenarios",
                    "activities",
                    "drop",
                    "add",
                    "times",
                ]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=25,
)


@settings(max_examples=200)
@given(
    st.dictionaries(
        st.sampled_from(
            ["format", "vehicle", "mass", "wheels", "egress", "units", "notes", "datum"]
        ),
        json_like,
        max_size=5,
    )
)
def test_any_data_of_the_right_words(data: dict[str, object]) -> None:
    import yaml

    sound(reading_of(yaml.safe_dump(data, allow_unicode=True)))


@given(st.text(max_size=400))
def test_any_text_as_yaml(text: str) -> None:
    source = decode(text.encode("utf-8", "replace"), "f.yaml")
    if source.text is not None:
        read_yaml(source.text, "f.yaml")


@given(st.text(alphabet='ab,"\n\r;[] 19.-#', max_size=200))
def test_any_text_as_a_table(text: str) -> None:
    entry = (at(("mass", "items")) or {})["items"]
    document = read_table(text, "t.csv", entry, ("mass", "items"))
    assert isinstance(document.data, list)


# ------------------------------------------------------------------------------ bounded work


def test_many_mistakes_are_bounded() -> None:
    """20,000 wrong entries give a bounded number of problems, and the text of them stays small."""
    rows = "".join(f"    - {{id: {n}, nam: x, mass: 3}}\n" for n in range(20000))
    reading = reading_of(HEAD + "mass:\n  items:\n" + rows)
    assert 0 < len(reading.problems) <= 1001
    assert len(render(reading.problems, reading.texts)) < 200_000


def test_many_dangling_names_are_bounded() -> None:
    items = "".join(
        f"    - {{id: i{n}, name: x, mass: 3 lb, x: 1 in, z: 1 in}}\n" for n in range(2000)
    )
    names = ", ".join(f"j{n}" for n in range(2000))
    text = (
        HEAD + "mass:\n  items:\n" + items + f"  conditions: [{{id: c, without: [{names}]}}]\n"
        "  design_condition: c\n"
    )
    problems = reading_of(text).problems
    assert 0 < len(problems) <= 201
    assert problems[-1].code == "file.mistakes" or "file.mistakes" in {p.code for p in problems}


@pytest.mark.parametrize(
    "long",
    [
        "1" * 100_000,
        "1_" * 50_000,
        "1:" * 50_000,
        "." * 100_000,
        "# " + " " * 100_000 + "x",
        '"' + "a" * 100_000,
        "a" * 100_000,
        "-" * 100_000,
        "é" * 50_000,
        '""' * 50_000,
        "`" * 100_000,
        ",".join(["9 lb"] * 20_000),
    ],
)
def test_long_runs_of_one_thing(long: str) -> None:
    """None of these may be searched in a time that grows with its square (each ends at once)."""
    sound(reading_of(f"format: 1\nvehicle:\n  name: {long}\n"))
    sound(reading_of(HEAD, venue_yaml=f"elevation: {long}\n"))
    table = HEAD + "mass: {items: items.csv, conditions: [{id: c}], design_condition: c}\n"
    sound(reading_of(table, items_csv=f"id,name,mass [lb],x [in],z [in]\na,{long},1,2,3\n"))
    sound(reading_of(table, items_csv=long))
