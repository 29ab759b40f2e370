"""YAML text → plain data, with the place of every key and every value.

The parser's events are walked one by one, so that size, depth and number of nodes are bounded
before anything is built, and anchors, aliases, merge keys and tags never reach the data.
Plain scalars are read as YAML 1.2 does; those that other readers take for something else are
refused with the reason.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import yaml

from buildspec.diagnostics import MAX_MISTAKES, Diagnostic, Note, Place, quoted, too_many
from buildspec.files import UNPRINTABLE, name_of
from buildspec.scalars import Ambiguous, resolve
from buildspec.syntax import KEY, MAX_DEPTH, syntax_problem, too_deep

MAX_NODES = 200_000
"""Keys, values and entries a file may have."""

Path = tuple[str | int, ...]
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Spot(NamedTuple):
    """Where a value stands, how it is written there, and where in that place its text begins.

    `inner` is -1 where the text does not stand in one piece on one line.
    """

    place: Place
    text: str = ""
    inner: int = -1

    def part(self, start: int, end: int) -> Place:
        """The place of the characters from `start` to `end` of the text."""
        if self.inner < 0 or start >= len(self.text):
            return self.place
        width = max(min(end, len(self.text)) - start, 1)
        return Place(
            self.place.file, self.place.line, self.place.column + self.inner + start, width
        )


@dataclass(frozen=True)
class Document:
    """What one file says. `broken` are the paths whose value was already reported as a problem."""

    data: object
    keys: Mapping[Path, Place] = field(default_factory=dict)
    values: Mapping[Path, Spot] = field(default_factory=dict)
    problems: tuple[Diagnostic, ...] = ()
    broken: frozenset[Path] = frozenset()

    def place(self, path: Path) -> Place:
        """The place to mark for `path`: a scalar itself; a collection or nothing by its key."""
        spot = self.values.get(path)
        if spot is not None and spot.text:
            return spot.place
        if path in self.keys:
            return self.keys[path]
        if spot is not None:
            return spot.place
        return self.place(path[:-1]) if path else Place("", 0)

    def key(self, path: Path) -> Place:
        """The place of the key that leads to `path`, or of the value where there is none."""
        return self.keys.get(path) or self.place(path)


# -------------------------------------------------------------------------------- composing


def read_yaml(text: str, file: str, prefix: Path = ()) -> Document:
    """Read one file. `prefix` is where its content belongs in the whole description."""
    composer = _Composer(file, prefix)
    try:
        for event in _events(text):
            if not composer.take(event):
                break
    except yaml.YAMLError as error:
        composer.fail(syntax_problem(error, text, file))
    return composer.document()


def _events(text: str) -> Iterator[Any]:
    events: Iterator[Any] = yaml.parse(text, Loader=_LOADER)
    return events


@dataclass
class _Frame:
    """A collection under construction. `keep` is False where its content is thrown away."""

    into: dict[str, object] | list[object] | None
    path: Path
    keep: bool
    place: Place
    key: str | None = None
    key_kept: bool = True
    listed: int = 0


class _Composer:
    """The one mutable thing here: takes events, keeps what they say, and is then frozen."""

    def __init__(self, file: str, prefix: Path) -> None:
        self.file, self.prefix = file, prefix
        self.root: object = None
        self.keys: dict[Path, Place] = {}
        self.values: dict[Path, Spot] = {}
        self.problems: list[Diagnostic] = []
        self.broken: set[Path] = set()
        self.aliases: set[str] = set()
        self.stack: list[_Frame] = []
        self.nodes = self.documents = 0

    def document(self) -> Document:
        return Document(
            self.root, self.keys, self.values, tuple(self.problems), frozenset(self.broken)
        )

    def fail(self, problem: Diagnostic) -> None:
        """The file ends here for us: nothing it says is used, so nothing else is said about it."""
        self.problems.append(problem)
        self.root = None
        self.broken.add(self.prefix)

    def report(self, code: str, message: str, place: Place, advice: str, *notes: Note) -> None:
        self.problems.append(Diagnostic(code, message, place, advice, notes))

    def take(self, event: Any) -> bool:
        """Take one event; False when reading should stop."""
        if isinstance(event, yaml.ScalarEvent):
            self.scalar(event)
        elif isinstance(event, yaml.MappingStartEvent):
            self.open(event, {})
        elif isinstance(event, yaml.SequenceStartEvent):
            self.open(event, [])
        elif isinstance(event, yaml.CollectionEndEvent):
            self.close(event)
        elif isinstance(event, yaml.AliasEvent):
            self.alias(event)
        elif isinstance(event, yaml.DocumentStartEvent):
            return self.start(event)
        return self.within_caps(event)

    def within_caps(self, event: Any) -> bool:
        if len(self.stack) > MAX_DEPTH:
            self.fail(too_deep(self.at(event)))
        elif self.nodes > MAX_NODES:
            self.fail(
                Diagnostic(
                    "file.nodes",
                    f"the file holds more than {MAX_NODES:,} keys and values",
                    self.at(event),
                    "move long tables into CSV files, or leave out what is not needed",
                )
            )
        elif len(self.problems) >= MAX_MISTAKES:
            self.fail(too_many(self.at(event)))
        else:
            return True
        return False

    def start(self, event: Any) -> bool:
        self.documents += 1
        if event.version or event.tags:
            self.report(
                "yaml.directive",
                "a `%` directive stands at the top of the file",
                self.at(event),
                "take the line out; nothing in a description needs it",
            )
        if self.documents > 1:
            self.report(
                "yaml.documents",
                "a second document begins here",
                self.at(event),
                "a file holds one description: take out the `---` line",
            )
            return False
        return True

    def at(self, event: Any) -> Place:
        """Where an event stands, as far as it reaches on its first line."""
        start, end = event.start_mark, event.end_mark
        width = end.column - start.column if end.line == start.line else 1
        return Place(self.file, start.line + 1, start.column + 1, max(width, 1))

    # -- what an event may not carry

    def refused(self, event: Any, place: Place) -> bool:
        """Report an anchor or a tag. A tagged value counts as broken: its type is not ours."""
        if event.anchor is not None:
            self.report(
                "yaml.anchor",
                f"{quoted('&' + event.anchor)} is an anchor",
                place,
                "write the value out where it is needed: a value stands in one place only",
            )
        if event.tag is not None:
            self.report(
                "yaml.tag",
                "a tag (`!`) stands before the value",
                place,
                "write the value alone; put text that begins with `!` in quotes",
            )
        return event.tag is not None

    def alias(self, event: Any) -> None:
        place = self.at(event)
        if event.anchor not in self.aliases:  # once a name: a few lines can hold a million uses
            self.aliases.add(event.anchor)
            self.report(
                "yaml.alias",
                f"{quoted('*' + event.anchor)} stands for a value written elsewhere",
                place,
                "write the value out wherever it is used; put text that begins with `*` in quotes",
            )
        self.nodes += 1
        if self.stack and isinstance(self.stack[-1].into, dict) and self.stack[-1].key is None:
            self.stack[-1].key, self.stack[-1].key_kept = "", False
        else:
            self.put(None, Spot(place, event.anchor), broken=True)

    # -- keys and values

    def scalar(self, event: Any) -> None:
        self.nodes += 1
        place = self.at(event)
        frame = self.stack[-1] if self.stack else None
        if frame is not None and isinstance(frame.into, dict) and frame.key is None:
            self.take_key(frame, event, place)
            return
        bad = self.refused(event, place)
        value: object = event.value
        if event.implicit[0]:
            value = resolve(event.value)
        if isinstance(value, Ambiguous):
            self.report(value.code, value.message, place, value.help)
            value, bad = None, True
        elif isinstance(value, str) and UNPRINTABLE.search(value):
            bad = self.unprintable(value, place)
        self.put(value, self.spot(event, place), bad)

    def spot(self, event: Any, place: Place) -> Spot:
        """A scalar's spot: in one piece, its text begins at once or behind one quote."""
        text: str = event.value
        quotes = 1 if event.style else 0  # libyaml says "" for plain, the other parser None
        whole = (not event.style or event.style in "'\"") and place.width == len(text) + 2 * quotes
        return Spot(place, text or ('""' if quotes else ""), quotes if whole else -1)

    def unprintable(self, value: str, place: Place) -> bool:
        """Report what an escape sequence hid; a character of the file itself is known already."""
        found = UNPRINTABLE.search(value)
        if found is not None and found.group() != "�":
            self.report(
                "text.control",
                f"this text holds {name_of(found.group())}",
                place,
                "take it out: it cannot be seen, and changes what a reader sees",
            )
        return True

    def take_key(self, frame: _Frame, event: Any, place: Place) -> None:
        key: str = event.value
        self.refused(event, place)
        frame.key, frame.key_kept = key, frame.keep
        if not frame.listed:
            frame.listed = 1
            self.narrow(frame, place)
        if not frame.keep:
            return
        frame.key_kept = self.sound_key(frame, key, event, place)
        if frame.key_kept:
            self.keys[(*frame.path, key)] = place

    def narrow(self, frame: _Frame, place: Place) -> None:
        """A block mapping is marked by its first key."""
        spot = self.values.get(frame.path)
        if frame.keep and spot is not None and spot.place[1:3] == place[1:3]:
            self.values[frame.path] = Spot(place)

    def sound_key(self, frame: _Frame, key: str, event: Any, place: Place) -> bool:
        path = (*frame.path, key)
        if not event.style and key == "<<":
            self.report(
                "yaml.merge",
                "`<<` merges keys written elsewhere",
                place,
                "write the keys out: a value stands in one place only",
            )
        elif not key:
            self.report("yaml.key", "a key is missing before the colon", place, KEY)
        elif UNPRINTABLE.search(key):
            self.unprintable(key, place)
        elif path in self.keys:
            self.report(
                "key.repeated",
                f"{quoted(key)} stands here a second time",
                place,
                "keep one of the two",
                Note(self.keys[path], "the first one"),
            )
        else:
            return True
        return False

    def put(self, value: object, spot: Spot, broken: bool = False) -> tuple[Path, bool]:
        """Put a value where it belongs; returns its path, and whether it is kept."""
        frame = self.stack[-1] if self.stack else None
        path, keep = self.prefix, True
        if frame is None:
            self.root = value
        elif isinstance(frame.into, dict):
            path, keep = (*frame.path, frame.key or ""), frame.keep and frame.key_kept
            if keep and frame.key is not None:
                frame.into[frame.key] = value
            frame.key = None
        elif frame.into is not None:
            path, keep = (*frame.path, len(frame.into)), frame.keep
            frame.into.append(value)
        if keep:
            self.values[path] = spot
            if broken:
                self.broken.add(path)
        return path, keep

    def open(self, event: Any, into: dict[str, object] | list[object]) -> None:
        self.nodes += 1
        place = self.at(event)
        frame = self.stack[-1] if self.stack else None
        bad = self.refused(event, place)
        if frame is not None and isinstance(frame.into, dict) and frame.key is None:
            self.report(
                "yaml.key",
                "a list or a group stands where a key belongs",
                place,
                "a key is a plain word, followed by a colon",
            )
            frame.key, frame.key_kept = "", False
            self.stack.append(_Frame(into, frame.path, False, place, key_kept=False, listed=-1))
            return
        path, keep = self.put(into, Spot(place), bad)
        self.stack.append(_Frame(into, path, keep, place))

    def close(self, event: Any) -> None:
        frame = self.stack.pop()
        if frame.listed == -1:  # it stood where a key belongs; its value follows and is thrown away
            return
        end = event.end_mark
        flow = end.column > event.start_mark.column  # a block collection ends in nothing
        spot = self.values.get(frame.path)
        if flow and frame.keep and spot is not None and end.line + 1 == frame.place.line:
            width = end.column + 1 - frame.place.column
            self.values[frame.path] = Spot(
                Place(self.file, frame.place.line, frame.place.column, width)
            )
