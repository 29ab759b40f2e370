"""A build folder → a Build, or all its problems at once."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as File
from typing import Any

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
from buildspec.files import Opener, first_bytes, read_source
from buildspec.fill import fill_section, fingerprint, ids, quantities
from buildspec.references import check_references
from buildspec.schema import FORMAT, Schema, load, words
from buildspec.sections import problems_of, record_of
from buildspec.tables import read_table
from buildspec.validate import example_line, validate

MAIN = "build.yaml"
PAGES = "pages"
MAX_PAGES = 200
"""Pages of its own that a team may add."""


@dataclass(frozen=True)
class Reading:
    """What came of reading: `build` is None exactly where there is an error; `texts` by file."""

    build: Build | None
    problems: tuple[Diagnostic, ...]
    texts: Mapping[str, str]


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
    build: Build | None = None
    if _format_fits(document, reading.problems):
        placed = (*validate(document), *check_references(document))
        reading.problems += [
            *(problem for _, problem in placed),
            *_vehicle(document),
            *_strays(reading, names),
        ]
        wrong = (*(path for path, _ in placed), *document.broken)
        spoilt = {path[0] for path in wrong if path} if all(wrong) else set(words())
        build = _build(document, reading, pages, spoilt)
    problems = in_order(reading.problems)
    if any(p.severity == "error" for p in problems):
        build = None
    return Reading(build, problems, reading.texts)


# ------------------------------------------------------------------------------- the folder


def _names(reading: _Folder) -> tuple[str, ...] | None:
    """The names in the folder, sorted; None where there is no folder to read or no `build.yaml`."""
    try:
        names = tuple(sorted(harmless(p.name) for p in reading.path.iterdir()))
    except (OSError, ValueError) as error:
        reading.problems.append(_no_folder(reading.path, error))
        return None
    if MAIN not in names:
        reading.problems.append(_no_main(reading.path, names))
        return None
    return names


def _no_folder(folder: File, error: Exception) -> Diagnostic:
    place = Place(harmless(str(folder)))
    if isinstance(error, NotADirectoryError):
        return Diagnostic(
            "folder.file",
            "this is a file, and a build is a folder",
            place,
            "name the folder that the file stands in",
        )
    if isinstance(error, FileNotFoundError):
        return Diagnostic(
            "folder.missing",
            "there is no such folder",
            place,
            "name a build folder, or make one: `marginbook new my_car`",
        )
    return Diagnostic(
        "folder.unreadable",
        "this folder cannot be read",
        place,
        "give yourself the right to read it",
    )


def _no_main(folder: File, names: tuple[str, ...]) -> Diagnostic:
    place = Place(harmless(str(folder)))
    if not names:
        return Diagnostic(
            "folder.empty",
            "the folder is empty",
            place,
            "a build begins with `build.yaml`; `marginbook new my_car` writes one",
        )
    near = next((n for n in names if n.lower() in {"build.yml", "build.yaml"}), None)
    near = near or closest(MAIN, tuple(n for n in names if n.endswith((".yaml", ".yml"))))
    hint = (
        f"rename `{near}` to `build.yaml`"
        if near
        else "name the folder that holds it, or make one: `marginbook new my_car`"
    )
    return Diagnostic("folder.no-build", "the folder has no `build.yaml`", place, hint)


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
    whole = _merged(main.data if not isinstance(main.data, dict | None) else data, parts)
    tables = list(_tables(reading, whole))
    return _merged(whole.data, [whole, *tables])


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


# ---------------------------------------------------------------------- what holds for all


def _format_fits(document: Document, problems: list[Diagnostic]) -> bool:
    """Whether this program can read the description at all; if not, nothing more is said."""
    if () in document.broken:
        return False
    if not isinstance(document.data, dict):
        problems.append(
            Diagnostic(
                "file.shape",
                "this file must hold sections, each a key with lines below it",
                Place(MAIN),
                f"begin with `format: {FORMAT}`, then `vehicle:`",
            )
        )
        return False
    given = document.data.get("format")
    if isinstance(given, int) and not isinstance(given, bool) and given > FORMAT:
        problems.append(
            Diagnostic(
                "format.newer",
                f"this is written in format {given}, and this program reads format {FORMAT}",
                document.place(("format",)),
                "use a newer version of the program",
            )
        )
        return False
    return True


def _vehicle(document: Document) -> Iterator[Diagnostic]:
    """The one section that must be there."""
    if (
        isinstance(document.data, dict)
        and "vehicle" not in document.data
        and ("vehicle",) not in document.broken
    ):
        if any(closest(str(key), ("vehicle",)) for key in document.data if key not in words()):
            return  # it stands there misspelled, and is reported as that
        yield Diagnostic(
            "key.missing",
            "the description has no `vehicle`",
            Place(MAIN),
            f"add a line such as `{example_line('vehicle', ('vehicle',))}`",
        )


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


# --------------------------------------------------------------------------------- the build


def _build(
    document: Document, reading: _Folder, pages: tuple[Page, ...], spoilt: Collection[str | int]
) -> Build:
    """The build of every section that is not `spoilt` by an error; the sections then look for more.

    A section whose schema says `x-always` is filled also where nothing is written of it.
    """
    data = document.data if isinstance(document.data, dict) else {}
    order = [word for word in data if word in words()]
    order += [word for word in words() if word not in data and load(word).get("x-always")]
    sections = {
        word: fill_section(record_of(word), data.get(word, {}), document, word, load(word))
        for word in order
        if word not in spoilt
    }
    places = {
        name: document.place(path)
        for word in order
        for name, path in ids(data.get(word, {}), (word,), word)
    }
    found = {q.id: q for section in sections.values() for q in quantities(section)}
    places |= {q.id: q.place for q in found.values() if q.place is not None}
    build = Build(sections, found, places, fingerprint(sections), pages)
    for word, section in sections.items():
        if look := problems_of(word):
            reading.problems += look(section, build)
    return build


def _pages(reading: _Folder) -> Iterator[Page]:
    """The pages that the team wrote itself, sorted by name."""
    folder = reading.path / PAGES
    try:
        names = sorted(
            p.name for p in folder.iterdir() if p.suffix == ".md" and not p.name.startswith(".")
        )
    except OSError:
        return
    for name in [n for n in names if harmless(n) != n]:
        names.remove(name)
        reading.problems.append(
            Diagnostic(
                "file.name",
                f"the name of the page {quoted(name)} cannot be printed",
                Place(f"{PAGES}/{harmless(name)}"),
                "give it a name of letters and digits",
            )
        )
    if len(names) > MAX_PAGES:
        reading.problems.append(
            Diagnostic(
                "file.pages",
                f"there are {len(names)} pages",
                Place(PAGES),
                f"at most {MAX_PAGES} are read; put several on one page",
            )
        )
    for name in names[:MAX_PAGES]:
        inside = f"{PAGES}/{name}"
        text = reading.source(inside, Place(inside))
        if text is not None:
            yield Page(
                name.removesuffix(".md"),
                _title(text, name.removesuffix(".md")),
                text,
                Place(inside),
            )


_HEADING = re.compile(r"^ {0,3}#{1,6}[ \t](.*)$", re.MULTILINE)
_FENCED = re.compile(r"^ {0,3}(```+|~~~+).*?(?:^ {0,3}\1|\Z)", re.MULTILINE | re.DOTALL)


def _title(text: str, stem: str) -> str:
    """The first heading of a Markdown text that stands in no fenced block, or the file's stem."""
    headings = _HEADING.finditer(_FENCED.sub("", text))
    titles = (heading[1].strip().rstrip("#").strip() for heading in headings)
    return next((title for title in titles if title), stem)
