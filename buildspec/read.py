"""A build folder → a Build, or all its problems at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as File
from typing import Any

from buildspec.assemble import assemble
from buildspec.build import Build, Page
from buildspec.diagnostics import (
    Diagnostic,
    Note,
    Place,
    closest,
    harmless,
    in_order,
    listed,
    quoted,
)
from buildspec.documents import Document, Path, Spot, read_yaml
from buildspec.evidence import gather
from buildspec.files import Opener, first_bytes, read_source
from buildspec.nobuild import MAIN, no_folder, no_main
from buildspec.schema import Schema, load, words
from buildspec.tables import read_table

PAGES = "pages"
MAX_PAGES = 200
"""Pages of its own that a team may add."""
SHEETS = "rules"
"""The folder of rule sheets that stand in files of their own, one each."""
MAX_SHEETS = 20
"""Such files that are read."""


@dataclass(frozen=True)
class Reading:
    """What came of reading: `build` is None exactly where there is an error; `texts` by file.

    `data` is the whole description as plain data, its tables in place of their names.
    """

    build: Build | None
    problems: tuple[Diagnostic, ...]
    texts: Mapping[str, str]
    data: object = None


@dataclass
class _Folder:
    """A folder being read: gathers the texts and problems on the way."""

    path: File
    opener: Opener
    texts: dict[str, str] = field(default_factory=dict)
    problems: list[Diagnostic] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)

    def source(self, name: str, asked: Place) -> str | None:
        """The text of a file, or None when that is a problem (which is then recorded)."""
        self.asked.add(name)
        source = read_source(self.path, name, asked, self.opener)
        self.problems += source.problems
        if source.text is not None:
            self.texts[name] = source.text
        return source.text


def read_folder(folder: File, *, opener: Opener = first_bytes) -> Reading:
    """Read the build in `folder`.

    Never raises for anything a folder can hold: what is wrong is in `problems`, all of it at
    once, sorted by file and line. `opener` reads the first bytes of a file, and raises OSError.
    """
    reading = _Folder(folder, opener)
    names = _names(reading)
    if names is None:
        return Reading(None, tuple(reading.problems), {})
    document = _gather(reading, names)
    pages = tuple(_pages(reading))
    reading.problems += document.problems
    proof = gather(folder, document)
    reading.asked |= proof.names
    made = assemble(document, pages, proof.facts)
    reading.problems += made.problems
    if made.fits:
        reading.problems += [*proof.problems, *_strays(reading, names)]
    problems = in_order(reading.problems)
    build = None if any(p.severity == "error" for p in problems) else made.build
    return Reading(build, problems, reading.texts, document.data)


# ------------------------------------------------------------------------------- the folder


def _names(reading: _Folder) -> tuple[str, ...] | None:
    """The names in the folder, sorted; None where there is no folder to read or no `build.yaml`."""
    try:
        names = tuple(sorted(harmless(p.name) for p in reading.path.iterdir()))
    except (OSError, ValueError) as error:
        reading.problems.append(no_folder(reading.path, error))
        return None
    if MAIN not in names:
        reading.problems.append(no_main(reading.path, names))
        return None
    return names


def _gather(reading: _Folder, names: tuple[str, ...]) -> Document:
    """All files that hold sections, and the tables they name, as one document."""
    main = _parsed(reading, MAIN, (), Place(MAIN))
    parts = [main]
    data: dict[str, Any] = dict(main.data) if isinstance(main.data, dict) else {}
    for word in words():
        name = f"{word}.yaml"
        if name not in names:
            continue
        part = _parsed(reading, name, (word,), Place(name))
        if word in data:
            reading.problems.append(
                Diagnostic(
                    "section.twice",
                    f"the section `{word}` stands in `build.yaml` and in `{name}`",
                    main.key((word,)),
                    "keep one of the two",
                    (Note(Place(name), "the other one"),),
                )
            )
            parts.append(Document(None, broken=frozenset({(word,)})))
        else:
            data[word] = part.data
            parts.append(part)
    parts += _sheets(reading, data)
    whole = _merged(main.data if not isinstance(main.data, dict | None) else data, parts)
    tables = list(_tables(reading, whole))
    return _merged(whole.data, [whole, *tables])


def _sheets(reading: _Folder, data: dict[str, Any]) -> list[Document]:
    """The rule sheets in files of their own, put behind those of the section; `data` takes them."""
    names = _listed(reading, SHEETS, ".yaml", MAX_SHEETS, "rule sheets")
    if not names:
        return []
    section = data.get("rules") or {}
    sheets = section.get("sheets") or [] if isinstance(section, dict) else None
    if not isinstance(sheets, list):
        return []  # the section itself is wrong, and is said to be
    parts = []
    for number, name in enumerate(names, len(sheets)):
        inside = f"{SHEETS}/{name}"
        parts.append(_parsed(reading, inside, ("rules", "sheets", number), Place(inside)))
    data["rules"] = {**section, "sheets": [*sheets, *(part.data for part in parts)]}
    return parts


def _parsed(reading: _Folder, name: str, prefix: Path, asked: Place) -> Document:
    text = reading.source(name, asked)
    if text is None:
        return Document(None, broken=frozenset({prefix}))
    document = read_yaml(text, name, prefix)
    if prefix in document.values:
        return document
    return replace(document, values={prefix: Spot(Place(name)), **document.values})


def _merged(data: object, parts: list[Document]) -> Document:
    return Document(
        data,
        {path: place for part in parts for path, place in part.keys.items()},
        {path: spot for part in parts for path, spot in part.values.items()},
        tuple(problem for part in parts for problem in part.problems),
        frozenset(path for part in parts for path in part.broken),
    )


def _tables(reading: _Folder, whole: Document) -> Iterator[Document]:
    """The tables that the description names, put in the place of their names."""
    if not isinstance(whole.data, dict):
        return
    for word in words():
        for path, schema, holder in _named_tables(load(word), whole.data.get(word), (word,)):
            table = _table(reading, holder[path[-1]], schema["items"], path, whole)
            holder[path[-1]] = table.data
            yield table


def _named_tables(
    schema: Schema, data: object, path: Path
) -> Iterator[tuple[Path, Schema, dict[str | int, Any]]]:
    """Every place where the schema allows a table and the data names one, with what holds it."""
    if not isinstance(data, dict):
        return
    for key, inner in schema.get("properties", {}).items():
        if inner.get("x-table") and _is_table(data.get(key)):
            yield (*path, key), inner, data
        elif inner.get("type") == "object":
            yield from _named_tables(inner, data.get(key), (*path, key))


def _is_table(value: object) -> bool:
    return isinstance(value, str) and value.lower().endswith(".csv")


def _table(reading: _Folder, name: str, entry: Schema, path: Path, whole: Document) -> Document:
    text = reading.source(name, whole.place(path))
    if text is None:
        return Document([], broken=frozenset({path}))
    return read_table(text, name, entry, path)


# ----------------------------------------------------------------------------- what is beside it


def _strays(reading: _Folder, names: tuple[str, ...]) -> Iterator[Diagnostic]:
    """Files that look as if they belonged to the description, and that nothing reads."""
    for name in names:
        stem, dot, ending = name.rpartition(".")
        if (
            name in reading.asked
            or not dot
            or name.startswith(".")
            or (stem in words() and ending == "yaml")
        ):
            continue
        if ending.lower() in {"yaml", "yml"}:
            yield _stray_yaml(name, stem)
        elif ending.lower() == "csv":
            yield Diagnostic(
                "file.unused",
                f"{quoted(name)} is not read: nothing names it",
                Place(name),
                "name it where its table belongs, such as `items: " + name + "`",
                severity="warning",
            )


def _stray_yaml(name: str, stem: str) -> Diagnostic:
    known = (*words(), "build")
    near = stem.lower() if stem.lower() in known else closest(stem, known)
    advice = f"did you mean `{near}.yaml`?" if near else f"sections are {listed(words(), 40)}"
    return Diagnostic(
        "file.unused",
        f"{quoted(name)} is not read: it is no section",
        Place(name),
        advice,
        severity="warning",
    )


def _pages(reading: _Folder) -> Iterator[Page]:
    """The pages that the team wrote itself, sorted by name."""
    for name in _listed(reading, PAGES, ".md", MAX_PAGES, "pages"):
        inside = f"{PAGES}/{name}"
        text = reading.source(inside, Place(inside))
        if text is not None:
            yield Page(
                name.removesuffix(".md"),
                _title(text, name.removesuffix(".md")),
                text,
                Place(inside),
            )


def _listed(reading: _Folder, within: str, ending: str, most: int, what: str) -> list[str]:
    """The files of a folder inside that end so, sorted; names that cannot be printed are problems."""
    try:
        found = sorted(
            p.name
            for p in (reading.path / within).iterdir()
            if p.suffix == ending and not p.name.startswith(".")
        )
    except OSError:
        return []
    for name in (n for n in found if harmless(n) != n):
        reading.problems.append(
            Diagnostic(
                "file.name",
                f"the name of the file {quoted(name)} cannot be printed",
                Place(f"{within}/{harmless(name)}"),
                "give it a name of letters and digits",
            )
        )
    names = [n for n in found if harmless(n) == n]
    if len(names) > most:
        reading.problems.append(
            Diagnostic(
                f"file.{within}",
                f"there are {len(names)} {what}",
                Place(within),
                f"at most {most} are read; put several into one file",
            )
        )
    return names[:most]


_HEADING = re.compile(r"^ {0,3}#{1,6}[ \t](.*)$", re.MULTILINE)
_FENCED = re.compile(r"^ {0,3}(```+|~~~+).*?(?:^ {0,3}\1|\Z)", re.MULTILINE | re.DOTALL)


def _title(text: str, stem: str) -> str:
    """The first heading of a Markdown text that stands in no fenced block, or the file's stem."""
    headings = _HEADING.finditer(_FENCED.sub("", text))
    titles = (heading[1].strip().rstrip("#").strip() for heading in headings)
    return next((title for title in titles if title), stem)
