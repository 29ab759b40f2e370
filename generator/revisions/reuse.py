"""Evaluations of descriptions that differ little: a subject that would find the same is not computed again.

A subject sees the build through a glass that notes what it looks at. Where another build answers all of that
the same, the day's questions too, and the subjects it needs came out the same, so does this one. Some subjects
look at every value of the description; where what they find is the same all the same, those behind them stand.

Lines of files are left out of that: whoever prints where a value stands needs an evaluation of its own.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import partial
from typing import Any, TypeVar

import numpy as np

from buildspec.build import Build, Page
from buildspec.diagnostics import Place
from buildspec.evidence import FileFact
from buildspec.quantities import Quantity
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome

KEPT = 4
"""Outcomes that are remembered of each subject, those last asked for."""
S = TypeVar("S")
_Question = tuple[str, object]
_Asked = dict[_Question, object]
_ALL = "*"


class Reuse:
    """Evaluates builds one after the other, and remembers what each subject found."""

    def __init__(self) -> None:
        self._known: dict[str, list[_Entry]] = {}
        self._led_to: set[str] = set()

    def evaluate(
        self, build: Build, *, as_of: datetime.date, subjects: tuple[Subject, ...] | None = None
    ) -> Evaluation:
        """What `generator.evaluation.evaluate` gives, but for the lines that its diagnostics name."""
        found: dict[str, Outcome | None] = {}
        chosen = load_subjects() if subjects is None else subjects
        needs = [word for subject in chosen for word in subject.needs]
        self._led_to = {word for word in needs if needs.count(word) > 1}  # one looks at all of them
        return evaluate(
            build,
            as_of=as_of,
            subjects=tuple(
                replace(s, evaluate=partial(self._outcome, s, as_of, found)) for s in chosen
            ),
        )

    def _outcome(
        self,
        subject: Subject,
        as_of: datetime.date,
        found: dict[str, Outcome | None],
        build: Build,
        given: Given,
    ) -> Outcome | None:
        needs = {word: found[word] for word in given.outcomes}
        known = self._known.setdefault(subject.word, [])
        entry = next((e for e in known if e.fits(build, as_of, needs)), None)
        if entry is None:
            asked: _Asked = {}
            outcome = subject.evaluate(_Glass(build, asked), given)
            before = known if subject.word in self._led_to else []
            same = (e.outcome for e in before if alike(e.outcome, outcome))
            entry = _Entry(asked, given, needs, next(same, outcome))
        else:
            given.ask_like(entry.given)
        self._known[subject.word] = [entry, *(e for e in known if e is not entry)][:KEPT]
        found[subject.word] = entry.outcome
        return entry.outcome


@dataclass(frozen=True)
class _Entry:
    """What a subject found: what it asked of the build, of the day and of other subjects before."""

    asked: Mapping[_Question, object]
    given: Given
    needs: Mapping[str, Outcome | None]
    outcome: Outcome | None

    def fits(self, build: Build, as_of: datetime.date, needs: Mapping[str, Outcome | None]) -> bool:
        """Whether all of that would be answered the same."""
        if not self.given.same_on(as_of) or self.needs.keys() != needs.keys():
            return False
        if any(self.needs[word] is not outcome for word, outcome in needs.items()):
            return False
        return all(_answer(build, *question) == said for question, said in self.asked.items())


def alike(one: Any, other: Any) -> bool:
    """Whether two things that were computed hold the same all through. False where it cannot be told."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, Mapping):
        return list(one) == list(other) and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, np.ndarray):
        return bool(np.array_equal(one, other))
    parts = _parts(one), _parts(other)
    if None in parts:
        return bool(one == other)
    return len(parts[0]) == len(parts[1]) and all(map(alike, *parts))


def _parts(whole: Any) -> Any:
    """What a record or a sequence holds; None for anything else."""
    if is_dataclass(whole):
        return [getattr(whole, f.name) for f in fields(whole)]
    return list(whole) if isinstance(whole, tuple | list) else None


# --------------------------------------------------------------------------------- the glass


def _answer(build: Build, what: str, key: Any) -> object:
    """What a build answers to a question, without the lines of its files."""
    if what == "section":
        return build.section(key)
    held = getattr(build, what)
    if not isinstance(held, Mapping):
        return held
    if what == "places":
        return tuple(held) if key == _ALL else key in held
    return dict(held) if key == _ALL else held.get(key)


class _Glass(Build):
    """A build seen through: it answers as that does, and notes each question with its answer."""

    _through: Build
    _asked: _Asked

    def __init__(self, build: Build, asked: _Asked) -> None:
        object.__setattr__(self, "_through", build)
        object.__setattr__(self, "_asked", asked)

    def section(self, kind: type[S]) -> S | None:
        """As of the build itself."""
        self._note("section", kind)
        return self._through.section(kind)

    def _note(self, what: str, key: object = _ALL) -> None:
        self._asked[what, key] = _answer(self._through, what, key)

    @property
    def sections(self) -> Mapping[str, object]:
        return _Noted(self, "sections")

    @property
    def quantities(self) -> Mapping[str, Quantity]:
        return _Noted(self, "quantities")

    @property
    def places(self) -> Mapping[str, Place]:
        return _Noted(self, "places")

    @property
    def files(self) -> Mapping[str, FileFact]:
        return _Noted(self, "files")

    @property
    def fingerprint(self) -> str:
        self._note("fingerprint")
        return self._through.fingerprint

    @property
    def pages(self) -> tuple[Page, ...]:
        self._note("pages")
        return self._through.pages


class _Noted(Mapping[str, Any]):
    """One of a build's mappings, seen through the glass."""

    def __init__(self, glass: _Glass, what: str) -> None:
        self._glass, self._what = glass, what
        self._held: Mapping[str, Any] = getattr(glass._through, what)

    def __getitem__(self, key: str) -> Any:
        self._glass._note(self._what, key)
        return self._held[key]

    def __iter__(self) -> Iterator[str]:
        self._glass._note(self._what)
        return iter(self._held)

    def __len__(self) -> int:
        self._glass._note(self._what)
        return len(self._held)
