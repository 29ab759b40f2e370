"""A value of the description, or a result, against the bounds of a line. Prescription only: no margin."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol, TypeVar

from buildspec.dotted import Bound, find, governing, read_bound, scale_of
from buildspec.dotted import Lost as _Lost
from buildspec.quantities import Misread, Quantity
from buildspec.sections.rules import Compare, Plain, RecordStep
from buildspec.sections.venue import Venue
from generator.rules.world import Told, World, unknown
from generator.vocabulary import Fact, Result

ROUNDING = 1e-9
"""Two numbers closer than this part of the larger are equal: what converting a unit may leave."""
TWO = 2.0
"""Standard uncertainties of a result that are looked at beside a bound."""
NAMED = 3
"""Assumed values named in a reason; more are counted."""


@dataclass(frozen=True, slots=True)
class Compared:
    """What is compared: its value on its scale, how it is printed, and how far off it may be.

    `value` is None with an `absent` reason where there is none. `said` is the value in words.
    """

    scale: str
    value: Bound | None
    fact: Fact = None
    said: str = ""
    half_width: float = 0.0
    absent: str = ""
    doubt: str = ""


# ------------------------------------------------------------------------- what is compared


def described(dotted: str, world: World) -> Compared:
    """A value of the description as it is compared; a list counts by its entries
    up to the day of the evaluation.
    """
    schema = governing(dotted)
    scale = "" if isinstance(schema, _Lost) else scale_of(schema)
    value = find(world.build.sections, dotted)
    if value is None:
        return Compared(scale, None, absent=f"{dotted} is not stated")
    return _quantity(value) if isinstance(value, Quantity) else _plain(value, world.as_of)


def _plain(value: object, as_of: datetime.date) -> Compared:
    """What is no quantity: a list by its entries, a switch, a date, a number or a word."""
    if isinstance(value, tuple):
        return _counted(value, as_of)
    if isinstance(value, bool):
        return Compared("switch", value, str(value).lower(), str(value).lower())
    if isinstance(value, datetime.date):
        return Compared("date", value, value, value.isoformat())
    if isinstance(value, int | float):
        return Compared("count", float(value), f"{value:g}", f"{value:g}")
    return Compared("word", str(value), str(value), str(value))


def _counted(entries: tuple[object, ...], as_of: datetime.date) -> Compared:
    """A list by its entries; one that is dated after the day of the evaluation is yet to come."""
    days = (getattr(entry, "date", None) for entry in entries)
    ahead = sum(1 for day in days if isinstance(day, datetime.date) and day > as_of)
    number = len(entries) - ahead
    more = f" ({ahead} more dated after {as_of})" if ahead else ""
    return Compared("count", float(number), number, f"a count of {number}{more}")


def _quantity(value: Quantity) -> Compared:
    """A quantity; one that nobody measured or rated leaves a doubt."""
    doubt = "" if value.stated or value.basis != "assumed" else "the value is assumed"
    how = "" if value.stated else f" ({value.basis})"
    return Compared(value.kind, value.si, value, f"{value.written}{how}", value.reach, doubt=doubt)


def computed(dotted: str, world: World) -> Compared:
    """A result as it is compared."""
    result = world.results.get(dotted)
    if result is None:
        return Compared(
            "", None, absent=unknown(dotted, "result", tuple(world.results), world.evaluated)
        )
    if result.value is None:
        return Compared(result.kind, None, absent=result.absent or f"{result.title} is not known")
    return _result(result, result.value, _assumed(result, world))


def _assumed(result: Result, world: World) -> str:
    """What a result rests on that nobody measured or rated; "" where there is no such value.

    One is enough, for how much it decides is not known; what the program supplies itself is no better.
    """
    venue = world.build.section(Venue)
    air = venue is not None and any(i.startswith("venue.") for i in result.inputs)
    if air and venue and venue.temperature is None:
        return "it rests on air of a temperature that nobody stated (venue.temperature)"
    known = (world.build.quantities.get(i) for i in dict.fromkeys(result.inputs))
    assumed = [q for q in known if q is not None and not q.stated and q.basis == "assumed"]
    if not assumed:
        return ""
    names = ", ".join(q.id for q in assumed[:NAMED])
    more = f" and {len(assumed) - NAMED} more" if len(assumed) > NAMED else ""
    return f"it rests on assumed values ({names}{more})"


def _result(result: Result, value: float, doubt: str) -> Compared:
    return Compared(
        result.kind,
        value,
        result,
        f"“{result.title}”, as computed,",
        TWO * result.standard_uncertainty,
        doubt=doubt,
    )


# ------------------------------------------------------------------------------- the bounds


def compare(line: Compare, world: World) -> Told:
    """The state of a comparison, and why."""
    bounds = _bounds(line, world)
    if isinstance(bounds, Told):
        return bounds
    dotted = line.value or line.result
    found = described(dotted, world) if line.value else computed(dotted, world)
    prescribed = words(bounds)
    if found.value is None:
        return Told("open", found.absent, prescribed, None, (dotted,))
    read = {key: _read(bound, found.scale) for key, bound in bounds.items()}
    faults = [r.message for entry in read.values() for r in entry if isinstance(r, Misread)]
    if faults:
        return Told("open", "; ".join(faults), prescribed, found.fact, (dotted,))
    return _judged(found, _sound(read), prescribed, dotted)


def _judged(
    found: Compared, bounds: Mapping[str, tuple[Bound, ...]], prescribed: str, dotted: str
) -> Told:
    assert found.value is not None
    fits = all(_fits(key, found.value, bound) for key, bound in bounds.items())
    told = Told("departs", f"{found.said} is not {prescribed}", prescribed, found.fact, (dotted,))
    if not fits:
        return told
    if found.doubt:
        return told.now(
            "open",
            f"{found.said} is {prescribed}, but {found.doubt}: measure, or state where the value comes from",
        )
    said = found.said.removesuffix(",")
    return told.now("conforms", f"found {said}; asked: {prescribed}{_near(found, bounds)}")


def _near(found: Compared, bounds: Mapping[str, tuple[Bound, ...]]) -> str:
    """A remark where the spread reaches across a bound. The value itself decides all the same."""
    if not found.half_width or not isinstance(found.value, float):
        return ""
    ends = (found.value - found.half_width, found.value + found.half_width)
    held = all(_fits(key, end, bound) for key, bound in bounds.items() for end in ends)
    return "" if held else "; its spread reaches across the bound"


def _bounds(line: Compare, world: World) -> Mapping[str, tuple[Plain, ...]] | Told:
    """The bounds that count, of the step that the class record falls into where they step."""
    if not line.by_record:
        return _given(line)
    record = world.record
    if record is None:
        return Told("open", "the bounds step with vehicle.class_record, which is not stated")
    step = step_below(line.by_record, record)
    if step is None:
        return Told(
            "not applicable",
            f"the class record, {record.written}, lies below the first step",
            refs=(record.id,),
        )
    return _given(step)


def _given(line: Compare | RecordStep) -> Mapping[str, tuple[Plain, ...]]:
    singles = {
        k: (getattr(line, k),) for k in ("least", "most", "equal") if getattr(line, k) is not None
    }
    several = {k: getattr(line, k) for k in ("one_of", "within") if getattr(line, k, ())}
    return singles | several


def _read(bound: tuple[Plain, ...], scale: str) -> tuple[Bound | Misread, ...]:
    return tuple(read_bound(entry, scale) for entry in bound)


def _sound(read: Mapping[str, tuple[Bound | Misread, ...]]) -> Mapping[str, tuple[Bound, ...]]:
    return {k: tuple(b for b in bs if not isinstance(b, Misread)) for k, bs in read.items()}


def words(bounds: Mapping[str, tuple[Plain, ...]]) -> str:
    """Bounds as a sentence takes them: `at least 3 in`, `one of gasoline, methanol`."""
    told = {
        "least": "at least {0}",
        "most": "at most {0}",
        "equal": "{0}",
        "over": "over {0}",
        "under": "under {0}",
    }
    return " and ".join(_said(told.get(key, ""), key, bound) for key, bound in bounds.items())


def _said(form: str, key: str, bound: tuple[Plain, ...]) -> str:
    written = [str(b).lower() if isinstance(b, bool) else str(b) for b in bound]
    if key == "within":
        return f"between {written[0]} and {written[1]}"
    return form.format(*written) if form else f"one of {', '.join(written)}"


# ------------------------------------------------------------------------------- comparison


class _Step(Protocol):
    """A step for class records above a speed."""

    @property
    def above(self) -> Quantity:
        """The class record above which it begins."""


S = TypeVar("S", bound=_Step)


def step_below(steps: Iterable[S], record: Quantity) -> S | None:
    """The highest step below the class record; a record at a step is not above it."""
    below = [s for s in steps if less(s.above.si, record.si)]
    return max(below, key=lambda s: s.above.si, default=None)


def _fits(key: str, value: Bound, bound: tuple[Bound, ...]) -> bool:
    """Whether a value keeps one bound; at the bound itself it does."""
    if key == "within":
        return not less(value, bound[0]) and not less(bound[1], value)
    if key == "least":
        return not less(value, bound[0])
    if key == "most":
        return not less(bound[0], value)
    return any(same(value, b) for b in bound)


def less(a: Bound, b: Bound) -> bool:
    """Whether `a` is less than `b` by more than rounding. Both are numbers or both dates."""
    if isinstance(a, float) and isinstance(b, float):
        return a < b - ROUNDING * max(abs(a), abs(b))
    if isinstance(a, datetime.date) and isinstance(b, datetime.date):
        return a < b
    raise TypeError("only numbers and dates have an order")


def same(a: Bound, b: Bound) -> bool:
    """Whether two values are equal: numbers to rounding, words without regard to capitals."""
    if isinstance(a, str) and isinstance(b, str):
        return a.casefold() == b.casefold()
    if isinstance(a, float) and isinstance(b, float):
        return not less(a, b) and not less(b, a)
    return a == b
