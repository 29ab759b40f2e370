"""The only place that reads or prints a unit.

Our own pattern takes number and unit apart, and the unit must stand in the table of its kind.
Inside the program every value is an SI float; units are attached here, at the border.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, get_args

from buildspec.diagnostics import Place
from buildspec.kinds import KINDS, System, Unit
from buildspec.sizes import size

Basis = Literal["measured", "rated", "calculated", "estimated", "assumed"]
Distribution = Literal["rectangular", "normal", "triangular"]
BASES: tuple[str, ...] = get_args(Basis)
DISTRIBUTIONS: tuple[str, ...] = get_args(Distribution)

#: Spellings that people write and that mean two things, or a thing they did not mean.
_MISLEADING: Mapping[str, str] = {
    "lbs": "write `lb` for a mass or `lbf` for a force",
    "#": "write `lb` for a mass or `lbf` for a force",
    '"': "write `in` after the number",
    "''": "write `in` after the number",
    "'": "write `ft` after the number",
    **dict.fromkeys("″”“", "write `in` after the number"),
    **dict.fromkeys("′’‘", "write `ft` after the number"),
    "ton": "a ton is 2,000 lb, 2,240 lb or 1,000 kg; write the number in `lb`, `kg` or `t` (1,000 kg)",
    "tons": "a ton is 2,000 lb, 2,240 lb or 1,000 kg; write the number in `lb`, `kg` or `t` (1,000 kg)",
    "G": "write `g` for standard gravity",
    "M": "write `m` for metres or `mi` for miles",
    "ml": "write `L`, for example `0.5 L`",
    "k": "write the number out",
}

_NUMBER = re.compile(
    r"""(?P<sign>[+\-−]?)\s*
        (?: (?P<whole>\d+)(?:\s+|-)(?P<num>\d+)/(?P<den>\d+)
          | (?P<num2>\d+)/(?P<den2>\d+)
          | (?P<plain>(?:\d+\.?\d*|\.\d+)(?:[eE][+\-]?\d+)?) )""",
    re.VERBOSE | re.ASCII,
)
_FRACTION = re.compile("[\u00bc-\u00be\u2150-\u215e]")
_FEET_AND_INCHES = re.compile(
    r"(\d+)\s*(?:'|′|’|ft|feet|foot)[\s-]*(\d+)(\.\d+|[\s-]+\d+/\d+|)\s*(?:\"|″|”|''|in|inch|inches)?",
    re.ASCII,
)
_COMMA = re.compile(r"[+\-]?\d+,\d+", re.ASCII)
_WORD = re.compile(r"[A-Za-zµ°%\"'#][^\d\s]*|\S+")
MAX_LENGTH = 80
"""Characters a written quantity may have; a longer one is a mistake, and is not searched."""

MAX_SI = 1e15
"""No value of a vehicle is larger in SI; beyond it products would leave what a computer holds."""


@dataclass(frozen=True, slots=True)
class Misread:
    """Why a written quantity could not be read: `start` and `end` mark the part at fault."""

    code: str
    message: str
    help: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Reading:
    """A number and its unit as written, and the SI value they mean."""

    number: float
    unit: str
    si: float
    fraction: bool = False


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value of the description, in SI, with how it is known.

    `id` is its dotted place in the description. `si` is finite. `half_width` is the stated ± in
    SI (0 where none was stated), `standard_uncertainty` what GUM 4.3 makes of it. `basis` is
    `assumed` wherever the description states none. `stated` marks values that are decisions
    (a target, a limit): nobody measures them, and they are no assumptions. `default` marks a value
    that the program supplied, `asks` one of these that flatters the vehicle, so that somebody has to state it.
    """

    id: str
    si: float
    kind: str
    written: str
    unit: str
    half_width: float = 0.0
    distribution: Distribution = "rectangular"
    coverage: float = 2.0
    basis: Basis = "assumed"
    source: str = ""
    fraction: bool = False
    stated: bool = False
    default: bool = False
    asks: bool = False
    basis_given: bool = True
    place: Place | None = field(default=None, compare=False)

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty in SI (JCGM 100:2008, 4.3.7, 4.3.9 and 4.3.4)."""
        return standard_uncertainty(self.half_width, self.distribution, self.coverage)

    @property
    def reach(self) -> float:
        """How far to either side the value has to be reckoned with, in SI.

        The stated ± where it bounds the value; of a normal distribution no less than two standard
        deviations, for ± one leaves out a third of what may be.
        """
        if self.distribution == "normal":
            return max(self.half_width, 2.0 * self.standard_uncertainty)
        return self.half_width


def standard_uncertainty(half_width: float, distribution: Distribution, coverage: float) -> float:
    """Standard uncertainty of a value known to ± `half_width`.

    Rectangular: a/√3. Triangular: a/√6. Normal: a/k with coverage factor k ≥ 1.
    Source: JCGM 100:2008 (GUM), 4.3.7, 4.3.9 b and 4.3.4.
    """
    if distribution == "normal":
        return half_width / coverage
    return half_width / math.sqrt(3.0 if distribution == "rectangular" else 6.0)


@functools.cache
def _spellings(kind: str) -> Mapping[str, Unit]:
    return {s: u for u in KINDS[kind].units for s in (u.symbol, *u.aliases)}


@functools.cache
def _homes() -> Mapping[str, tuple[str, ...]]:
    """Every spelling, with the kinds that know it."""
    homes: dict[str, tuple[str, ...]] = {}
    for kind in KINDS:
        for spelling in _spellings(kind):
            homes[spelling] = (*homes.get(spelling, ()), kind)
    return homes


def unit_of(kind: str, symbol: str) -> Unit:
    """The unit of `kind` written `symbol`; KeyError where there is none."""
    return _spellings(kind)[symbol]


def to_si(number: float, kind: str, symbol: str) -> float:
    """`number` in the unit `symbol` of `kind`, in SI."""
    factor, offset = size(unit_of(kind, symbol).name)
    return factor * number + offset


def from_si(value: float, kind: str, symbol: str) -> float:
    """An SI value in the unit `symbol` of `kind`."""
    factor, offset = size(unit_of(kind, symbol).name)
    return (value - offset) / factor


def spread_to_si(number: float, kind: str, symbol: str) -> float:
    """A difference (a ± half-width) in SI: as `to_si`, but without a temperature's offset."""
    return size(unit_of(kind, symbol).name)[0] * number


def spread_from_si(value: float, kind: str, symbol: str) -> float:
    """A difference in the unit `symbol`."""
    return value / size(unit_of(kind, symbol).name)[0]


def _allowed(kind: str) -> str:
    """Help: the units of a kind, and an example."""
    symbols = [u.symbol for u in KINDS[kind].units if u.symbol]
    if kind in {"ratio", "share"}:
        return "write a plain number such as `0.25`, or a percentage such as `25 %`"
    unit = KINDS[kind].prints[0]
    return f"units of {KINDS[kind].words}: {', '.join(symbols)}; for example `12.5 {unit}`"


@functools.lru_cache(maxsize=65536)
def read(text: str, kind: str) -> Reading | Misread:
    """Read a written quantity of `kind`, such as `1.75 in`, `1 5/8 in`, `-40 °F` or `25 %`.

    Returns what was read, or why it cannot be read; never raises for any text.
    """
    if refused := _refused(text, kind):
        return refused
    body = text.strip()
    lead = len(text) - len(text.lstrip())
    match = _NUMBER.match(body)
    if not match:
        return _no_number(body, kind, lead)
    number, fraction = _number(match)
    if number is None or not math.isfinite(number):
        return _no_use(match.group(), kind, lead, by_zero=number is None)
    rest = body[match.end() :]
    start = lead + match.end() + len(rest) - len(rest.lstrip())
    unit = _unit(rest.strip(), kind, start, bare=match.group())
    if isinstance(unit, Misread):
        return unit
    si = to_si(number, kind, unit.symbol)
    if not abs(si) <= MAX_SI:
        return _no_use(body, kind, lead)
    return Reading(number, unit.symbol, si, fraction)


def _refused(text: str, kind: str) -> Misread | None:
    """Why a text is refused before it is searched for a number."""
    body, lead = text.strip(), len(text) - len(text.lstrip())
    if len(text) > MAX_LENGTH:
        said = f"this value has {len(text)} characters"
        return Misread("quantity.too-long", said, _allowed(kind), 0, MAX_LENGTH)
    if not body:
        end = max(len(text), 1)
        return Misread("quantity.empty", "this value is empty", _allowed(kind), 0, end)
    if sign := _FRACTION.search(body):
        plain = (
            f"{body[: sign.start()].rstrip()} {_plain_fraction(sign.group())}{body[sign.end() :]}"
        )
        said = f"the fraction `{sign.group()}` is one character"
        start = lead + sign.start()
        return Misread("quantity.fraction", said, f"write `{plain.strip()}`", start, start + 1)
    comma = _COMMA.match(body)
    if not comma:
        return None
    help_ = "write a decimal point, and no separator between thousands: `1234.5`"
    said = f"`{comma.group()}` has a comma in the number"
    return Misread("quantity.comma", said, help_, lead, lead + comma.end())


def _plain_fraction(sign: str) -> str:
    """`1/2` for `½`: what Unicode says the one character stands for."""
    return unicodedata.normalize("NFKC", sign).replace("\N{FRACTION SLASH}", "/")


def _no_use(number: str, kind: str, lead: int, *, by_zero: bool = False) -> Misread:
    """A number that is none: a division by zero, or one too large for a computer."""
    said = f"`{number}` divides by zero" if by_zero else f"`{number}` is no usable number"
    help_ = "write a fraction such as `1 5/8`" if by_zero else _allowed(kind)
    return Misread("quantity.number", said, help_, lead, lead + len(number))


def _number(match: re.Match[str]) -> tuple[float | None, bool]:
    """The number a match stands for (None for a division by zero), and whether it is a fraction."""
    sign = -1.0 if match["sign"] in {"-", "−"} else 1.0
    if match["plain"] is not None:
        return sign * float(match["plain"]), False
    whole, num, den = (
        match["whole"] or "0",
        match["num"] or match["num2"],
        match["den"] or match["den2"],
    )
    if int(den) == 0:
        return None, True
    return sign * float(int(whole) + Fraction(int(num), int(den))), True


def _no_number(body: str, kind: str, lead: int) -> Misread:
    word = _WORD.match(body)
    end = lead + (word.end() if word else len(body))
    if body.lstrip("+-.").lower() in {"nan", "inf", "infinity"}:
        return Misread(
            "quantity.number",
            f"`{body}` is no usable number",
            _allowed(kind),
            lead,
            lead + len(body),
        )
    return Misread(
        "quantity.number", f"`{body}` does not begin with a number", _allowed(kind), lead, end
    )


def _unit(rest: str, kind: str, start: int, bare: str) -> Unit | Misread:
    """The unit written after the number."""
    known = _spellings(kind)
    if rest in known:
        return known[rest]
    if not rest:
        missing = f"`{bare}` has no unit"
        at = max(start - len(bare), 0)
        return Misread("quantity.unit-missing", missing, _allowed(kind), at, start)
    end = start + len(rest)
    second = re.search(r"\d", rest)
    if second and rest not in _homes() and not re.fullmatch(r"[^\d]+[23]", rest):
        return Misread(
            "quantity.two-numbers",
            f"a second number stands in `{rest}`",
            _in_one(bare, rest),
            start + second.start(),
            end,
        )
    return Misread(*_why_not(rest, kind, bare), start, end)


def _why_not(rest: str, kind: str, bare: str) -> tuple[str, str, str]:
    """Code, message and help for a unit that does not belong here."""
    if rest in _MISLEADING:
        return "quantity.unit-ambiguous", f"`{rest}` is not a clear unit", _MISLEADING[rest]
    if homes := _homes().get(rest):
        weighs = _weighs(bare, rest) if kind == "force" and "mass" in homes else ""
        message = (
            f"`{rest}` is a unit of {KINDS[homes[0]].words}, and {KINDS[kind].words} belongs here"
        )
        return "quantity.unit-wrong", message, weighs or _allowed(kind)
    message = f"`{rest}` is not a known unit"
    return "quantity.unit-unknown", message, _guess(rest, _spellings(kind)) or _allowed(kind)


def _in_one(bare: str, rest: str) -> str:
    """Help: how to write a number with a second one behind it: a spread, or feet and inches."""
    value, sign, spread = f"{bare}{rest}".replace("+/-", "±").partition("±")
    if sign:
        unit = spread.strip().lstrip("0123456789./ ").replace("%", "")
        said = f"{bare} {value.removeprefix(bare).strip() or unit}".strip()
        return f"write `{{value: {said}, plus_minus: {spread.strip()}}}`"
    if both := _FEET_AND_INCHES.fullmatch(f"{bare}{rest}"):
        return f"write inches alone: `{12 * int(both[1]) + int(both[2])}{both[3]} in`"
    return "write one number and one unit"


def _weighs(number: str, unit: str) -> str:
    """Help: what a mass weighs under standard gravity, where a force is asked; "" without a number."""
    match = _NUMBER.fullmatch(number.strip())
    mass = _number(match)[0] if match else None
    if mass is None:
        return ""
    weight = to_si(mass, "mass", unit) * size("standard_gravity")[0]
    if not abs(weight) <= MAX_SI:
        return ""
    said = [f"{digits(from_si(weight, 'force', u)).replace(',', '')} {u}" for u in ("N", "lbf")]
    return f"{number} {unit} weigh {said[0]} or {said[1]} under standard gravity; write the force"


def unit_problem(unit: str, kind: str) -> Misread | None:
    """Why `unit`, standing alone in the header of a column, is none of `kind`; None where it is one."""
    found = _unit(unit, kind, 0, bare="this column")
    return found if isinstance(found, Misread) else None


def _guess(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word, [k for k in known if k], n=1, cutoff=0.5)
    return f"did you mean `{close[0]}`?" if close else ""


# ------------------------------------------------------------------------------- printing


@dataclass(frozen=True, slots=True)
class Shown:
    """A value ready to print: number and unit apart, so that a page can keep them on one line."""

    number: str
    unit: str
    spread: str = ""

    def __str__(self) -> str:
        number = f"{self.number} ± {self.spread}" if self.spread else self.number
        if not self.unit:
            return number
        if self.unit in {"%", "°"} and not self.spread:
            return f"{number}{' ' if self.unit == '%' else ''}{self.unit}"
        return (
            f"({number}) {self.unit}"
            if self.spread and self.unit in {"%", "°"}
            else f"{number} {self.unit}"
        )


def decimals(spread: float) -> int:
    """Decimal places that show `spread` (> 0) to two significant digits."""
    exponent = math.floor(math.log10(spread))
    if round(spread / 10.0**exponent, 1) >= 10.0:  # 0.0996 prints as 0.10, not as 0.100
        exponent += 1
    return 1 - exponent


def _places(size: float, figures: int) -> int:
    """The decimals of `figures` significant figures; 9.99996 is 10.00, not 10.000."""
    places = figures - 1 - math.floor(math.log10(size))
    return places - (round(size, places) >= 10.0 ** (figures - places))


def digits(value: float, spread: float = 0.0, figures: int = 4) -> str:
    """A number with `figures` significant figures, or with no more than `spread` supports."""
    if value == 0.0 and spread <= 0.0:
        return "0"
    places = min(decimals(spread) if spread > 0.0 else _places(abs(value), figures), 12)
    rounded = round(value, places)
    if rounded == 0.0:
        if spread <= 0.0:
            return "0"  # twelve decimals of nothing
        rounded = 0.0  # no minus sign before a zero
    text = f"{rounded:,.{max(places, 0)}f}"
    return text.replace("-", "−")


def show(
    value: float,
    kind: str,
    system: System,
    *,
    spread: float = 0.0,
    unit: str = "",
    figures: int = 4,
) -> Shown:
    """An SI value of `kind` in the unit that `system` prints, or in `unit`."""
    symbol = unit or KINDS[kind].printed_unit(system)
    number = from_si(value, kind, symbol)
    half = spread_from_si(spread, kind, symbol) if spread > 0.0 else 0.0
    return Shown(digits(number, half, figures), symbol, digits(half, half) if half else "")


def other(system: System) -> System:
    """The system that is printed second."""
    return System.SI if system is System.US else System.US


def both(value: float, kind: str, system: System, *, spread: float = 0.0, figures: int = 4) -> str:
    """`2,015 lb (914.0 kg)`: both systems, or one where they share the unit."""
    first = show(value, kind, system, spread=spread, figures=figures)
    second = show(value, kind, other(system), spread=spread, figures=figures)
    return str(first) if first.unit == second.unit else f"{first} ({second})"


def show_written(quantity: Quantity, system: System) -> tuple[Shown, Shown | None]:
    """A quantity of the description: as its author wrote it, and in the other system.

    A number with a stated ± shows no more digits than that supports; a fraction of an inch stays
    one. Where the author's unit is of the other system, the printed order still follows `system`.
    """
    home = unit_of(quantity.kind, quantity.unit).system
    author = _as_written(quantity)
    us, si = KINDS[quantity.kind].prints
    if us == si and (home == "" or quantity.unit == us):
        return author, None
    if home in {system.value, ""}:
        return author, show(quantity.si, quantity.kind, other(system), spread=quantity.half_width)
    return show(quantity.si, quantity.kind, system, spread=quantity.half_width), author


def _as_written(quantity: Quantity) -> Shown:
    half = (
        spread_from_si(quantity.half_width, quantity.kind, quantity.unit)
        if quantity.half_width
        else 0.0
    )
    spread = digits(half, half) if half else ""
    if quantity.fraction:
        return Shown(_number_text(quantity.written), quantity.unit, spread)
    number = from_si(quantity.si, quantity.kind, quantity.unit)
    if half:
        return Shown(digits(number, half), quantity.unit, spread)
    return Shown(_number_text(quantity.written), quantity.unit)


def _number_text(written: str) -> str:
    """The number of a written quantity, as its author wrote it."""
    match = _NUMBER.match(written.strip())
    return (
        match.group().replace("-", "−", 1)
        if match and match["sign"]
        else (match.group() if match else written)
    )
