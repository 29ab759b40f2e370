"""Reading one quantity as the description gives it: text, number, or mapping with spread."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, cast

from buildspec.diagnostics import quoted
from buildspec.documents import Path
from buildspec.kinds import KINDS
from buildspec.quantities import Distribution, Misread, Reading, from_si, read, spread_to_si
from buildspec.schema import Schema


class Flaw(NamedTuple):
    """What is wrong with a quantity: `path` leads from the quantity to the part at fault."""

    path: Path
    code: str
    message: str
    help: str
    start: int = 0
    end: int = 0


class Value(NamedTuple):
    """A quantity as read: what `value` says, and its spread in SI."""

    reading: Reading
    half_width: float = 0.0
    distribution: Distribution = "rectangular"
    coverage: float = 2.0


def written(raw: object) -> str:
    """The text of a value that the description gives as text or as a number."""
    return raw if isinstance(raw, str) else repr(raw)


def read_value(raw: object, kind: str, schema: Schema) -> Value | Flaw:
    """Read a quantity of `kind` (text, number or mapping of the right shape) within its bounds.

    `schema` may hold `x-least`, `x-most` (inclusive) and `x-above` (exclusive), in SI.
    """
    given: Mapping[str, Any] = raw if isinstance(raw, Mapping) else {"value": raw}
    inside: Path = ("value",) if isinstance(raw, Mapping) else ()
    reading = read(written(given["value"]), kind)
    if isinstance(reading, Misread):
        return _misread(reading, inside)
    if beyond := _beyond(reading, kind, schema):
        said = written(given["value"])
        return Flaw(
            inside,
            "quantity.range",
            f"{quoted(said.strip())} is out of range",
            beyond,
            0,
            len(said),
        )
    return _with_spread(reading, kind, given, schema)


def _misread(why: Misread, path: Path) -> Flaw:
    return Flaw(path, why.code, why.message, why.help, why.start, why.end)


_BOUNDS: tuple[tuple[str, Callable[[float, float], bool], str], ...] = (
    ("x-least", operator.lt, "not be less than"),
    ("x-above", operator.le, "be more than"),
    ("x-most", operator.gt, "not be more than"),
)


def _beyond(reading: Reading, kind: str, schema: Schema) -> str | None:
    """What a value must be, where it leaves its bounds."""
    for key, fails, word in _BOUNDS:
        bound = schema.get(key)
        if bound is not None and fails(reading.si, bound):
            limit = f"{from_si(bound, kind, reading.unit):.6g} {reading.unit}".strip()
            return f"this value must {word} {limit}{_in_percent(reading, kind, key)}{_as_factor(reading, schema)}"
    return None


def _in_percent(reading: Reading, kind: str, key: str) -> str:
    """Help for a share that was probably meant in percent: `80` for `80 %`."""
    meant = kind in {"ratio", "share"} and not reading.unit and 1.0 < reading.number <= 100.0
    return f"; for a percentage write `{reading.number:g} %`" if meant and key == "x-most" else ""


def _as_factor(reading: Reading, schema: Schema) -> str:
    """Help for a factor that was probably meant as a share: `0.8` for 1.25."""
    asked = schema.get("x-least") == 1 and "factor" in schema.get("title", "").lower()
    meant = asked and 0.1 <= reading.number < 1.0
    share, factor = 100.0 * reading.number, 1.0 / reading.number if meant else 0.0
    return (
        f"; to use no more than {share:.3g} % of what there is, write {factor:.3g}" if meant else ""
    )


def _with_spread(
    reading: Reading, kind: str, given: Mapping[str, Any], schema: Schema
) -> Value | Flaw:
    spread = given.get("plus_minus")
    distribution = cast(Distribution, given.get("distribution", "rectangular"))
    if spread is None:
        for key in ("distribution", "coverage"):
            if key in given:
                return Flaw(
                    (key,),
                    "quantity.spread",
                    f"{quoted(key)} says what a `plus_minus` means, and there is none",
                    "add `plus_minus`, or take this line out",
                )
        return Value(reading)
    if "coverage" in given and distribution != "normal":
        return Flaw(
            ("coverage",),
            "quantity.spread",
            "a coverage factor belongs to a normal distribution",
            "add `distribution: normal`, or take this line out",
        )
    half = _half_width(written(spread), kind, reading)
    if isinstance(half, Misread):
        return _misread(half, ("plus_minus",))
    if half > schema.get("x-most", math.inf) - schema.get("x-least", -math.inf):
        said = f"a spread of {written(spread)} is wider than this value may range"
        return Flaw(
            ("plus_minus",), "quantity.spread", said, "look at its unit and its decimal point"
        )
    return Value(reading, half, distribution, float(given.get("coverage", 2)))


def _half_width(text: str, kind: str, value: Reading) -> float | Misread:
    """A `plus_minus` in SI: a difference of the value's kind, or a percentage of the value."""
    if text.rstrip().endswith("%"):
        return _percentage(text, kind, value)
    found = read(text, kind)
    if isinstance(found, Misread):
        return found
    if found.number < 0:
        return _negative(text)
    return spread_to_si(found.number, kind, found.unit)


def _percentage(text: str, kind: str, value: Reading) -> float | Misread:
    """A percentage is one of the value, but for a share written in percent: then it is points."""
    part = read(text, "ratio")
    if isinstance(part, Misread):
        return part
    if part.si < 0:
        return _negative(text)
    if kind in {"ratio", "share"}:
        return part.si if value.unit == "%" else _unclear(text)
    if kind == "temperature":
        return _refused(
            text,
            "a percentage of a temperature has no meaning",
            "write the difference in degrees, such as `2 °F`",
        )
    if value.si == 0.0 and part.si > 0.0:
        return _refused(
            text,
            "a percentage of zero is zero",
            f"write it with a unit, such as `1 {KINDS[kind].prints[0]}`",
        )
    return part.si * abs(value.si)


def _unclear(text: str) -> Misread:
    return _refused(
        text,
        f"{quoted(text.strip())} may mean points or a part of the value",
        "write it as a number such as `0.02`, or the value in percent too: then both are points",
    )


def _negative(text: str) -> Misread:
    return _refused(
        text,
        f"{quoted(text.strip())} is negative",
        "a plus or minus is how far off either way: write it without a sign",
    )


def _refused(text: str, message: str, advice: str) -> Misread:
    return Misread("quantity.spread", message, advice, 0, len(text))
