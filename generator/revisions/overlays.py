"""An earlier state of a description, as small edits to the present one.

Edits name a place by its dotted id, not by its wording, so that the present files can go on
changing. Lines that are not edited keep their comments and form.
"""

from __future__ import annotations

import csv
import functools
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import yaml

Files = Mapping[str, bytes]


class OverlayError(ValueError):
    """An edit names a place that the description does not have, or that cannot be edited."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a dotted id stands: the nodes on the way to it, or a row and column of a table."""

    file: str
    text: str
    nodes: tuple[Any, ...]
    rest: tuple[str, ...] = ()


def without(files: Files, dotted: str) -> dict[str, bytes]:
    """The files less one section, key, entry or row of a table, and less the comment above it.

    A name with a slash is that of a file.
    """
    kept = dict(files)
    if "/" in dotted:
        if dotted not in kept:
            raise OverlayError(f"there is no file {dotted}")
        del kept[dotted]
        return kept
    if "." not in dotted and f"{dotted}.yaml" in kept:
        del kept[f"{dotted}.yaml"]
        return kept
    place = _find(files, dotted)
    text = _without_row(place, dotted) if place.rest else _without_node(place)
    return kept | {place.file: text.encode()}


def with_value(files: Files, dotted: str, written: str) -> dict[str, bytes]:
    """The files with another value: as it is written in YAML, or in a cell of a table."""
    place = _find(files, dotted)
    if place.rest:
        text = _with_cell(place, dotted, written)
    else:
        node = place.nodes[-1]
        if not (isinstance(node, yaml.ScalarNode) or node.flow_style):
            raise OverlayError(f"{dotted} stands on several lines; edit what is in it")
        text = place.text[: node.start_mark.index] + written + place.text[node.end_mark.index :]
    return {**files, place.file: text.encode()}


# -------------------------------------------------------------------------------- finding


def _find(files: Files, dotted: str) -> _Place:
    word, *rest = dotted.split(".")
    own = f"{word}.yaml" in files
    file = f"{word}.yaml" if own else "build.yaml"
    text = files[file].decode()
    nodes: list[Any] = [_composed(text)]
    parts = rest if own else [word, *rest]
    for at, part in enumerate(parts):
        here = nodes[-1]
        if isinstance(here, yaml.ScalarNode) and here.value.endswith(".csv"):
            return _Place(here.value, files[here.value].decode(), (), tuple(parts[at:]))
        nodes.append(_step(here, part, dotted))
    return _Place(file, text, tuple(nodes))


@functools.lru_cache(maxsize=4)
def _composed(text: str) -> Any:
    return yaml.compose(text, Loader=yaml.SafeLoader)


def _step(node: Any, part: str, dotted: str) -> Any:
    if isinstance(node, yaml.MappingNode):
        found = [value for key, value in node.value if key.value == part]
    elif isinstance(node, yaml.SequenceNode):
        found = [entry for n, entry in enumerate(node.value) if part in {_id(entry), str(n)}]
    else:
        found = []
    if not found:
        raise OverlayError(f"the description has no {dotted}: `{part}` is not there")
    return found[0]


def _id(entry: Any) -> str:
    pairs = entry.value if isinstance(entry, yaml.MappingNode) else ()
    return next((value.value for key, value in pairs if key.value == "id"), "")


# -------------------------------------------------------------------------------- YAML


def _without_node(place: _Place) -> str:
    holder, node = place.nodes[-2], place.nodes[-1]
    pairs = [p if isinstance(p, tuple) else (p, p) for p in holder.value]
    whole = [(first.start_mark.index, _end(last, place.text)) for first, last in pairs]
    at = next(n for n, (_, value) in enumerate(pairs) if value is node)
    if len(whole) == 1:
        raise OverlayError(f"{place.file}: nothing would be left beside it; drop what holds it")
    if holder.flow_style:
        return _cut_flow(place.text, whole, at)
    return _cut_lines(place.text, *whole[at])


def _cut_flow(text: str, whole: Sequence[tuple[int, int]], at: int) -> str:
    if at + 1 < len(whole):
        return text[: whole[at][0]] + text[whole[at + 1][0] :]
    return text[: whole[at - 1][1]] + text[whole[at][1] :]


def _cut_lines(text: str, start: int, end: int) -> str:
    """The text less the lines from `start` to `end`, and less the comment right above them."""
    lines = text.splitlines(keepends=True)
    first, last = text.count("\n", 0, start), text.count("\n", 0, end)
    indent = len(lines[first]) - len(lines[first].lstrip())
    while first and lines[first - 1].startswith(f"{' ' * indent}#"):
        first -= 1
    return "".join(lines[:first] + lines[last + 1 :])


def _end(node: Any, text: str) -> int:
    """Where a node's own text ends; the parser ends a block only where something follows it."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style or not node.value:
        return len(text[: node.end_mark.index].rstrip())
    last = node.value[-1]
    return _end(last[1] if isinstance(node, yaml.MappingNode) else last, text)


# ------------------------------------------------------------------------------- tables


def _rows(place: _Place) -> list[str]:
    return place.text.splitlines(keepends=True)


def _row(place: _Place, dotted: str) -> int:
    found = [n for n, line in enumerate(_rows(place)) if line.split(",", 1)[0] == place.rest[0]]
    if not found:
        raise OverlayError(f"{place.file} has no row for {dotted}")
    return found[0]


def _without_row(place: _Place, dotted: str) -> str:
    rows = _rows(place)
    del rows[_row(place, dotted)]
    return "".join(rows)


def _with_cell(place: _Place, dotted: str, written: str) -> str:
    rows, at, name = _rows(place), _row(place, dotted), ".".join(place.rest[1:])
    header = next(line for line in rows if not line.startswith("#"))
    columns = [cell.partition(" [")[0] for cell in _cells([header])]
    if name not in columns:
        raise OverlayError(f"{place.file} has no column for {dotted}")
    cells = _cells([rows[at]])
    cells[columns.index(name)] = written
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    rows[at] = out.getvalue()
    return "".join(rows)


def _cells(lines: Iterable[str]) -> list[str]:
    return next(csv.reader(lines))
