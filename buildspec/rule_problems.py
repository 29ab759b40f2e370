"""What a schema cannot say about the lines of rule sheets: proofs, conditions, bounds, waivers."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from buildspec.bounds import bound_problems
from buildspec.diagnostics import Diagnostic, Note, Place, closest, listed, quoted
from buildspec.dotted import Lost, governing, missing_entry, scale_of

if TYPE_CHECKING:
    from buildspec.build import Build
    from buildspec.sections.rules import Compare, Condition, Line, RecordStep, Rules, Sheet

PROOFS = ("compare", "attest", "demonstrate", "document", "follows")
SUBJECTS = ("fitted", "not_fitted", "has", "has_no", "value")
RELATIONS = ("over", "under", "equal", "one_of")
BOUNDS = ("least", "most", "equal", "one_of", "within", "by_record")
PAIRED = frozenset({"least", "most"})


@dataclass(frozen=True, slots=True)
class _At:
    """One record of the section in the description: its dotted id."""

    build: Build
    id: str

    def place(self, key: str = "") -> Place:
        """Where a key of the record stands, or the record itself."""
        return self.build.where(f"{self.id}.{key}" if key else self.id)

    def down(self, *steps: str | int) -> _At:
        """A record below this one."""
        return _At(self.build, ".".join((self.id, *(str(s) for s in steps))))

    def says(self, code: str, message: str, key: str, advice: str, *notes: Note) -> Diagnostic:
        """A problem at a key of the record."""
        return Diagnostic(code, message, self.place(key), advice, notes)


def look(section: Rules, build: Build) -> Iterator[Diagnostic]:
    """Every mistake in the lines of the section."""
    for sheet in section.sheets:
        at = _At(build, f"rules.sheets.{sheet.id}")
        yield from _steps_of_records([s.above.si for s in sheet.inspectors], at.down("inspectors"))
        for line in sheet.requirements:
            yield from _line(sheet, line, at.down("requirements", line.id))


def _line(sheet: Sheet, line: Line, at: _At) -> Iterator[Diagnostic]:
    yield from _group(sheet, line, at)
    yield from _blank(line, at)
    yield from _proof(line, at)
    for number, condition in enumerate(line.applies):
        yield from _condition(condition, at.down("applies", number))
    if line.compare is not None:
        yield from _compare(line.compare, at.down("compare"))
    yield from _looked(line, at)
    yield from _document(line, at.down("document"))
    yield from _waiver(line, at)


def _group(sheet: Sheet, line: Line, at: _At) -> Iterator[Diagnostic]:
    """The group must be one of the line's own sheet; the schema looks at all sheets."""
    known = tuple(g.id for g in sheet.groups)
    if line.group not in known:
        near = closest(line.group, known)
        hint = f"did you mean `{near}`? " if near else ""
        yield at.says(
            "rules.group",
            f"{quoted(line.group)} is no group of the sheet {quoted(sheet.id)}",
            "group",
            f"{hint}its groups are {listed(known, 40)}",
        )


def _blank(line: Line, at: _At) -> Iterator[Diagnostic]:
    """A reason, a name or a scope of nothing but spaces says nothing."""
    asked: list[tuple[object, _At, tuple[str, ...]]] = [
        (line, at, ("statement", "not_applicable")),
        (line.waiver, at.down("waiver"), ("authority", "reference", "scope")),
        (line.attest, at.down("attest"), ("by",)),
        (line.demonstrate, at.down("demonstrate"), ("by",)),
        *((c, at.down("applies", n), ("otherwise",)) for n, c in enumerate(line.applies)),
    ]
    for record, where, keys in asked:
        for key in keys:
            if (said := getattr(record, key, "")) and not said.strip():
                yield where.says(
                    "rules.blank",
                    f"{quoted(key)} is blank",
                    key,
                    "write it out, or take the line out",
                )


def _given(record: object, keys: tuple[str, ...]) -> tuple[str, ...]:
    """The keys that a record fills."""
    values = ((key, getattr(record, key)) for key in keys)
    return tuple(key for key, value in values if value is not None and value not in ("", ()))


def _proof(line: Line, at: _At) -> Iterator[Diagnostic]:
    given = _given(line, PROOFS)
    if not given:
        yield at.says(
            "rules.proof",
            f"{quoted(line.id)} says nothing of how it is proved",
            "id",
            f"give it one of {listed(PROOFS)}; `attest: {{}}` where a person is to look",
        )
    elif len(given) > 1:
        yield at.says(
            "rules.proof",
            f"{quoted(line.id)} is proved in two ways, {listed(given)}",
            given[1],
            "keep one; where both are asked, write two lines",
            Note(at.place(given[0]), "the other one"),
        )


# --------------------------------------------------------------------------------- conditions


def _condition(condition: Condition, at: _At) -> Iterator[Diagnostic]:
    subjects, relations = _given(condition, SUBJECTS), _given(condition, RELATIONS)
    if len(subjects) != 1:
        said = f"names {listed(subjects)}" if subjects else "names nothing that it looks at"
        yield at.says(
            "rules.condition",
            f"this condition {said}",
            subjects[1] if subjects else "",
            f"it takes exactly one of {listed(SUBJECTS)}; write a second condition for the other"
            if subjects
            else f"it takes exactly one of {listed(SUBJECTS)}",
        )
        return
    name = subjects[0]
    if name == "value":
        yield from _value_condition(condition, relations, at)
    elif relations:
        yield at.says(
            "rules.condition",
            f"{quoted(relations[0])} goes with `value`, and this condition has {quoted(name)}",
            relations[0],
            "take it out, or name the value that it is held against",
        )
    if name in ("has", "has_no"):
        lost = governing(getattr(condition, name))
        if isinstance(lost, Lost):
            yield at.says("rules.path", lost.message, name, lost.help)


def _value_condition(
    condition: Condition, relations: tuple[str, ...], at: _At
) -> Iterator[Diagnostic]:
    if len(relations) != 1:
        said = (
            "is held against nothing"
            if not relations
            else f"is held against two things, {listed(relations)}"
        )
        yield at.says(
            "rules.condition",
            f"the value {said}",
            relations[1] if relations else "value",
            f"give exactly one of {listed(RELATIONS)}",
        )
        return
    yield from _bounds(condition.value, {r: getattr(condition, r) for r in relations}, at)


# ------------------------------------------------------------------------------------ bounds


def _compare(compare: Compare, at: _At) -> Iterator[Diagnostic]:
    of, bounds = _given(compare, ("value", "result")), _given(compare, BOUNDS)
    if len(of) != 1:
        said = "names nothing that is compared" if not of else "names a value and a result"
        yield at.says(
            "rules.compare",
            f"this comparison {said}",
            of[1] if of else "",
            "give exactly one of `value`, of the description, and `result`, of the program",
        )
    if not bounds:
        yield at.says(
            "rules.compare",
            "this comparison has no bound",
            of[0] if of else "",
            f"give one of {listed(BOUNDS)}",
        )
    elif len(bounds) > 1 and set(bounds) != PAIRED:
        yield at.says(
            "rules.compare",
            f"these bounds do not go together: {listed(bounds)}",
            bounds[1],
            "keep one; only `least` and `most` go together",
        )
    if len(of) == 1:
        given = {b: getattr(compare, b) for b in bounds if b != "by_record"}
        yield from _bounds(compare.value, given, at)
        yield from _by_record(compare, at)


def _by_record(compare: Compare, at: _At) -> Iterator[Diagnostic]:
    steps = compare.by_record
    yield from _steps_of_records([s.above.si for s in steps], at.down("by_record"))
    for number, step in enumerate(steps):
        yield from _record_step(compare.value, step, at.down("by_record", number))


def _record_step(value: str, step: RecordStep, at: _At) -> Iterator[Diagnostic]:
    bounds = _given(step, ("least", "most", "equal"))
    if not bounds:
        yield at.says(
            "rules.compare", "this step has no bound", "above", "give `least`, `most` or `equal`"
        )
    yield from _bounds(value, {b: getattr(step, b) for b in bounds}, at)


def _steps_of_records(speeds: list[float], at: _At) -> Iterator[Diagnostic]:
    """Steps rise, each above another speed."""
    for number, (before, here) in enumerate(itertools.pairwise(speeds), 1):
        if here <= before:
            yield at.down(number).says(
                "rules.steps",
                "this step is not above the one before it",
                "above",
                "write the steps from the lowest speed to the highest, each once",
                Note(at.down(number - 1).place("above"), "the one before it"),
            )


def _bounds(value: str, bounds: Mapping[str, object], at: _At) -> Iterator[Diagnostic]:
    """The value's path, and each bound as the value's kind reads it. "" where a result is compared."""
    if not value:
        return
    schema = governing(value)
    lost = schema if isinstance(schema, Lost) else missing_entry(at.build.sections, value)
    if lost is not None:
        yield at.says("rules.path", lost.message, "value", lost.help)
        return
    assert not isinstance(schema, Lost)
    scale = scale_of(schema)
    if not scale:
        yield at.says(
            "rules.path",
            f"{quoted(value)} is a group of values, which cannot be compared",
            "value",
            "name one value in it, or ask with `has` whether it is there",
        )
        return
    yield from bound_problems(bounds, scale, at.place, value)


# ------------------------------------------------------------------- what people said and hold


def _looked(line: Line, at: _At) -> Iterator[Diagnostic]:
    for key in ("attest", "demonstrate"):
        seen = getattr(line, key)
        if seen is None or not (seen.found or seen.by or seen.date):
            continue
        lacking = [k for k in ("by", "date", "found") if not getattr(seen, k)]
        if lacking:
            given = next(k for k in ("found", "by", "date") if getattr(seen, k))
            yield at.down(key).says(
                "rules.looked",
                f"{quoted(line.id)} says {quoted(given)}, and not {listed(lacking)}",
                given,
                "say who looked, on which day, and what was found; leave all three out until then",
            )


def _document(line: Line, at: _At) -> Iterator[Diagnostic]:
    held = line.document
    if held is None:
        return
    if held.expires and held.unlimited:
        yield at.says(
            "rules.document",
            "a document that does not expire has a day on which it expires",
            "unlimited",
            "keep one of the two",
            Note(at.place("expires"), "the day"),
        )
    if held.expires and held.issued and held.expires < held.issued:
        yield at.says(
            "rules.document",
            f"it expires on {held.expires}, before it was issued on {held.issued}",
            "expires",
            "correct one of the two dates",
        )


def _waiver(line: Line, at: _At) -> Iterator[Diagnostic]:
    waiver = line.waiver
    if waiver is None:
        return
    if line.not_applicable:
        yield at.says(
            "rules.waiver",
            "a line that does not apply needs no waiver",
            "waiver",
            "take one of the two out",
            Note(at.place("not_applicable"), "does not apply"),
        )
    if waiver.until and waiver.until < waiver.date:
        yield at.down("waiver").says(
            "rules.waiver",
            f"it ends on {waiver.until}, before it was given on {waiver.date}",
            "until",
            "correct one of the two dates",
        )
