"""CSV text → the same plain data as YAML gives, with the place of every cell.

The first row names the columns; a quantity's column carries its unit, `mass [lb]`, and a dot leads
into a group, `size.x [in]`, `mass.plus_minus [%]`. An empty cell is a key left out. Lines that
begin with `#` are comments, but for those a spreadsheet made so: a failed formula loses no row.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

from buildspec.diagnostics import (
    MAX_MISTAKES,
    Diagnostic,
    Note,
    Place,
    closest,
    listed,
    quoted,
    too_many,
)
from buildspec.documents import MAX_NODES, Document, Path, Spot
from buildspec.kinds import KINDS
from buildspec.quantities import unit_problem
from buildspec.scalars import Ambiguous, resolve
from buildspec.schema import Schema, child, load, quantity_kind

MAX_COLUMNS = 200
"""Columns a table may have."""

Form = Literal["text", "scalar", "list", "value", "spread"]


@dataclass(frozen=True, slots=True)
class Column:
    """What a column of a table holds: where its cells go, and how they are read."""

    path: Path
    form: Form
    kind: str = ""


class Cell(NamedTuple):
    """One cell: its text without quotes, its place, and where in that the text begins (or -1)."""

    text: str
    place: Place
    inner: int


def columns(entry: Schema, path: Path = ()) -> Mapping[str, Column]:
    """The columns a table of `entry` may have, by the name in the header."""
    found: dict[str, Column] = {}
    for name, schema in entry["properties"].items():
        here = (*path, name)
        dotted = ".".join(str(step) for step in here)
        if kind := quantity_kind(schema):
            found[dotted] = Column((*here, "value"), "value", kind)
            found.update(_spread_columns(here, kind))
        elif schema.get("type") == "object":
            found.update(columns(schema, here))
        elif schema.get("type") == "array":
            found[dotted] = Column(here, "list")
        else:
            plain = schema.get("type") == "string" or "enum" in schema
            found[dotted] = Column(here, "text" if plain else "scalar")
    return found


def _spread_columns(path: Path, kind: str) -> Iterator[tuple[str, Column]]:
    """The further columns of a quantity: `mass.plus_minus [lb]`, `mass.basis`, ..."""
    for name, schema in load("quantities")["$defs"]["spread"]["properties"].items():
        if name != "value":
            form: Form = (
                "spread"
                if name == "plus_minus"
                else ("scalar" if schema.get("type") == "number" else "text")
            )
            dotted = ".".join(str(step) for step in (*path, name))
            yield dotted, Column((*path, name), form, kind if form == "spread" else "")


def read_table(text: str, file: str, entry: Schema, prefix: Path) -> Document:
    """Read a table whose rows are `entry`; `prefix` is where the rows belong in the description."""
    table = _Table(file, prefix, entry)
    for cells in _records(text, table):
        table.take(cells)
    return table.document()


@dataclass(frozen=True, slots=True)
class _Heading:
    """One column as this table has it; `column` is None where its header is wrong."""

    column: Column | None
    unit: str
    place: Place


@dataclass
class _Table:
    """The one mutable thing here: takes records, and is then frozen."""

    file: str
    prefix: Path
    entry: Schema
    headings: list[_Heading] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)
    values: dict[Path, Spot] = field(default_factory=dict)
    problems: list[Diagnostic] = field(default_factory=list)
    broken: set[Path] = field(default_factory=set)
    spoilt: tuple[Path, ...] = ()
    cells: int = 0

    def report(self, code: str, message: str, place: Place, advice: str, *notes: Note) -> None:
        self.problems.append(Diagnostic(code, message, place, advice, notes))

    def fail(self, code: str, message: str, place: Place, advice: str) -> None:
        """The table ends here for us: nothing in it is used, so nothing else is said about it."""
        self.report(code, message, place, advice)
        self.broken.add(self.prefix)

    def document(self) -> Document:
        if not self.headings and not self.broken:
            self.fail(
                "table.empty",
                "the table is empty",
                Place(self.file),
                f"begin with a row of column names, such as `{_sample(self.entry)}`",
            )
        elif not self.rows and not self.broken:
            self.fail(
                "table.empty",
                "the table has column names and no rows",
                self.headings[0].place,
                "write a row below them",
            )
        return Document(self.rows, {}, self.values, tuple(self.problems), frozenset(self.broken))

    def take(self, cells: list[Cell]) -> None:
        """Take one record: the first names the columns, the others are rows."""
        while cells and not cells[-1].text and len(cells) > len(self.headings):
            cells = cells[:-1]
        if not any(c.text for c in cells):
            return
        if len(self.problems) >= MAX_MISTAKES:
            self.problems.append(too_many(cells[0].place))
            self.broken.add(self.prefix)
            return
        if self.headings:
            self.row(cells)
        else:
            self.head(cells)

    # -- the header

    def head(self, cells: list[Cell]) -> None:
        known = columns(self.entry)
        if len(cells) == 1 and (sign := next((s for s in ";\t|" if s in cells[0].text), "")):
            name = {";": "semicolons", "\t": "tabs", "|": "bars"}[sign]
            self.fail(
                "table.separator",
                f"the columns are separated by {name}",
                cells[0].place,
                "separate them by commas; in a spreadsheet, export as CSV with commas",
            )
        if len(cells) > MAX_COLUMNS:
            self.fail(
                "table.columns",
                f"the first row has {len(cells)} columns",
                cells[MAX_COLUMNS].place,
                f"at most {MAX_COLUMNS} can be read; a table has one line a row",
            )
        seen: dict[Path, Place] = {}
        self.headings = [self.heading(cell, known, seen) for cell in cells]
        if self.broken:
            return
        names = [_split(c.text)[0].partition(".")[0] for c in cells]
        lacking = [n for n in self.entry["required"] if n not in names]
        if lacking:
            self.report(
                "table.column-missing",
                f"the table has no column {listed(lacking)}",
                cells[0].place,
                f"add it to the first row, such as `{_sample(self.entry, lacking)}`",
            )
        wrong = (
            known.get(_split(c.text)[0])
            for c, h in zip(cells, self.headings, strict=True)
            if not h.column
        )
        self.spoilt = tuple(
            dict.fromkeys([(n,) for n in lacking] + [c.path[:1] for c in wrong if c])
        )

    def heading(self, cell: Cell, known: Mapping[str, Column], seen: dict[Path, Place]) -> _Heading:
        name, unit = _split(cell.text)
        column = known.get(name)
        none = _Heading(None, "", cell.place)
        if self.broken:
            return none
        if column is None:
            self.unknown(cell, name, tuple(known))
            return none
        if column.path in seen:
            self.report(
                "table.column-repeated",
                f"the column {quoted(name)} stands here a second time",
                cell.place,
                "keep one of the two",
                Note(seen[column.path], "the first one"),
            )
            return none
        seen[column.path] = cell.place
        return (
            _Heading(column, unit, cell.place) if self.unit_fits(cell, column, name, unit) else none
        )

    def unknown(self, cell: Cell, name: str, known: tuple[str, ...]) -> None:
        near = closest(name, known) if name else None
        plain = [k for k in known if k.rpartition(".")[0] not in known]
        advice = (
            f"did you mean `{near}`?"
            if near
            else f"columns here are {listed(plain, 40)}; a quantity "
            "also has columns such as `.plus_minus`, `.basis` and `.source`"
        )
        said = f"{quoted(name)} is no column of this table" if name else "this column has no name"
        self.report("table.column-unknown", said, cell.place, advice)

    def unit_fits(self, cell: Cell, column: Column, name: str, unit: str) -> bool:
        """Whether the header has a unit of the column's kind; said once, for the whole column."""
        if not column.kind:
            if unit:
                self.report(
                    "table.unit-extra",
                    f"the column {quoted(name)} takes no unit",
                    cell.place,
                    f"write `{name}` alone",
                )
            return not unit
        if column.form == "spread" and unit == "%":
            return True
        flaw = unit_problem(unit, column.kind)
        if flaw is None:
            return True
        example = KINDS[column.kind].prints[0]
        if not unit:
            self.report(
                "table.unit-missing",
                f"the column {quoted(name)} has no unit",
                cell.place,
                f"write it in brackets behind the name, such as `{name} [{example}]`",
            )
        else:
            start = cell.text.index("[") + 1
            spot = Spot(cell.place, cell.text, cell.inner)
            self.report(flaw.code, flaw.message, spot.part(start, start + len(unit)), flaw.help)
        return False

    # -- the rows

    def row(self, cells: list[Cell]) -> None:
        path = (*self.prefix, len(self.rows))
        self.rows.append({})
        self.values[path] = Spot(cells[0].place, cells[0].text, cells[0].inner)
        self.broken.update((*path, *spoilt) for spoilt in self.spoilt)
        if len(cells) != len(self.headings):
            self.uneven(cells, path)
        for cell, heading in zip(cells, self.headings, strict=False):
            if cell.text and heading.column is not None:
                self.cell(cell, heading, path)

    def uneven(self, cells: list[Cell], path: Path) -> None:
        many, asked = len(cells), len(self.headings)
        self.broken.add(path)
        if many < asked:
            self.report(
                "table.row-short",
                f"this row has {many} cells and the first row has {asked}",
                cells[-1].place,
                "write a comma for every column, also behind an empty cell",
            )
        else:
            lists = any(c.form == "list" for c in columns(self.entry).values())
            self.report(
                "table.row-long",
                f"this row has {many} cells and the first row has {asked}",
                cells[asked].place,
                "put a text that contains commas in double quotes"
                + ("; separate the entries of a list by spaces" if lists else ""),
            )

    def cell(self, cell: Cell, heading: _Heading, row: Path) -> None:
        column = heading.column
        assert column is not None
        path = (*row, *column.path)
        value = _read_cell(cell, column, heading.unit)
        if isinstance(value, Ambiguous):
            self.report(value.code, value.message, cell.place, value.help)
            self.broken.add(path[:-1] if column.kind else path)
            return
        self.cells += 1
        if self.cells > MAX_NODES and not self.broken:
            self.fail(
                "file.nodes",
                f"the table holds more than {MAX_NODES:,} cells",
                cell.place,
                "leave out what is not needed",
            )
        _put(self.rows[-1], column.path, value)
        for depth in range(len(row) + 1, len(path)):
            self.values.setdefault(path[:depth], Spot(cell.place, cell.text, cell.inner))
        self.values[path] = Spot(cell.place, cell.text, cell.inner)
        if isinstance(value, list):
            self.values.update(_words(cell, path))


def _read_cell(cell: Cell, column: Column, unit: str) -> object | Ambiguous:
    """What a cell means in its column: a quantity gets the unit of its header."""
    if column.form in {"value", "spread"}:
        if unit and _NOT_NUMBER.search(cell.text):
            return Ambiguous(
                "table.cell",
                f"{quoted(cell.text)} is not a number alone",
                f"its unit, `{unit}`, stands in the first row; leave the cell empty where "
                "the number is not known",
            )
        return f"{cell.text} {unit}" if unit else cell.text
    if column.form == "list":
        return [match.group() for match in _entries(cell.text)]
    return resolve(cell.text) if column.form == "scalar" else cell.text


_NOT_NUMBER = re.compile(r"[^\d\s.,/+\-−eE]", re.ASCII)


def _entries(text: str) -> Iterator[re.Match[str]]:
    """The entries of a list in a cell: between semicolons where there is one, else words."""
    return re.finditer(r"[^;\s](?:[^;]*[^;\s])?" if ";" in text else r"\S+", text)


def _words(cell: Cell, path: Path) -> Iterator[tuple[Path, Spot]]:
    """The spots of the words in a cell that holds a list."""
    whole = Spot(cell.place, cell.text, cell.inner)
    for number, match in enumerate(_entries(cell.text)):
        place = whole.part(match.start(), match.end())
        yield (*path, number), Spot(place, match.group(), 0 if cell.inner >= 0 else -1)


def _put(row: dict[str, Any], path: Path, value: object) -> None:
    for step in path[:-1]:
        row = row.setdefault(str(step), {})
    row[str(path[-1])] = value


def _split(header: str) -> tuple[str, str]:
    """Name and unit of a header cell."""
    match = re.fullmatch(r"([^\[\]]*?)\s*\[\s*([^\[\]]*?)\s*\]", header.strip())
    return (match[1], match[2]) if match else (header.strip(), "")


def _sample(entry: Schema, names: list[str] | None = None) -> str:
    """Header cells as they would be written."""
    return ",".join(_header(name, child(entry, name) or {}) for name in names or entry["required"])


def _header(name: str, schema: Schema) -> str:
    kind = quantity_kind(schema)
    unit = KINDS[kind].prints[0] if kind else ""
    return f"{name} [{unit}]" if unit else name


# ------------------------------------------------------------------------------- tokenizing

_CELL = re.compile(r'[ \t]*"(?P<quoted>(?:[^"]++|"")*+)"[ \t]*(?=,|\r|\n|\Z)|(?P<plain>[^,\r\n]*)')
_END = re.compile(r"\r\n|\r|\n|\Z")
_COMMENT = re.compile(r"[ \t]*(?:#[^\r\n]*)?(?:\r\n|\r|\n|\Z)")
_FAILED = re.compile(
    r"[ \t]*(?P<mark>#(?:[^\W\d_a-z]{2,9}[/0]{0,2}[!?]|N/A|NV))[ \t]*(?=[,\r\n]|\Z)"
)
"""What a spreadsheet writes where a formula failed, such as `#REF!`, at the begin of a row."""


def _records(text: str, table: _Table) -> Iterator[list[Cell]]:
    """The records of RFC 4180 text, without comments and blank lines."""
    at, line = 0, 1
    while at < len(text) and table.prefix not in table.broken:
        if failed := _FAILED.match(text, at):
            place = Place(table.file, line, failed.start("mark") - at + 1, len(failed["mark"]))
            table.fail(
                "table.formula",
                f"{quoted(failed['mark'])} is what a spreadsheet writes where a formula failed",
                place,
                "mend the cell in the spreadsheet, and export the table again",
            )
        if skipped := _COMMENT.match(text, at):
            at, line = skipped.end(), line + 1
            continue
        cells, at, line = _record(text, at, line, table)
        if cells:
            yield cells


def _record(text: str, at: int, line: int, table: _Table) -> tuple[list[Cell], int, int]:
    """One record that begins at `at`: its cells, and where the next begins."""
    begin, cells = at, list[Cell]()
    while True:
        match = _CELL.match(text, at)
        assert match is not None  # the second alternative matches anything
        if match["quoted"] is None and match.group().lstrip().startswith('"'):
            table.fail(
                "table.quote",
                "the quotes of this cell do not enclose it",
                Place(table.file, line, at - begin + 1),
                "put double quotes around the whole cell, and write a quote inside it twice",
            )
            return [], len(text), line
        cells.append(_cell(match, Place(table.file, line, at - begin + 1)))
        if breaks := list(re.finditer(r"\r\n|\r|\n", match.group())):
            line, begin = line + len(breaks), at + breaks[-1].end()
        at = match.end()
        if not text.startswith(",", at):
            end = _END.match(text, at)
            return cells, end.end() if end else len(text), line + 1
        at += 1


def _cell(match: re.Match[str], start: Place) -> Cell:
    whole, inside = match.group(), match["quoted"]
    raw = whole if inside is None else inside
    text = raw.replace('""', '"').strip() if inside is not None else raw.strip()
    one_line = "\n" not in whole and "\r" not in whole
    shift = len(whole) - len(whole.lstrip(" \t"))
    width = len(whole.strip()) if one_line else 1
    place = Place(start.file, start.line, start.column + shift, max(width, 1))
    inner = 0 if inside is None else 1 + len(inside) - len(inside.lstrip())
    one_piece = one_line and text in whole
    return Cell(text, place, inner if one_piece else -1)
