"""Quantities: number, unit and spread, against pint, exact fractions and the GUM."""

from __future__ import annotations

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.kinds import KINDS, System, Unit
from buildspec.quantities import Misread, Quantity, Reading, digits, read, show_written
from buildspec.sizes import size
from buildspec.values import Flaw, Value, read_value
from tests.buildspec.descriptions import HEAD, MASS, build_of

UNITS = [(kind.name, unit) for kind in KINDS.values() for unit in kind.units if unit.symbol]
numbers = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False).map(lambda x: float(f"{x:.6g}"))


def value(raw: object, kind: str = "length", **bounds: float) -> Value:
    found = read_value(raw, kind, bounds)
    assert isinstance(found, Value), found
    return found


FULL = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
"""pint's own list, against which ours is held."""
PLAIN = str.maketrans({"·": "*", "²": "**2", "³": "**3", "⁴": "**4"})


def flaw(raw: object, kind: str = "length", **bounds: float) -> Flaw:
    found = read_value(raw, kind, bounds)
    assert isinstance(found, Flaw), found
    return found


@pytest.mark.parametrize(("kind", "unit"), UNITS, ids=lambda u: getattr(u, "symbol", u))
def test_every_unit_is_what_pint_says(kind: str, unit: Unit) -> None:
    """Factor and offset, and the dimension of its kind. Tolerance: a few roundings in pint's own chain."""
    factor, offset = size(unit.name)
    for number in (0.0, 1.0, 7.3):
        theirs = FULL.Quantity(number, unit.name).to_base_units()
        assert math.isclose(factor * number + offset, theirs.magnitude, rel_tol=1e-13)
        assert theirs.is_compatible_with(FULL(KINDS[kind].si.translate(PLAIN)))


@given(number=numbers, pair=st.sampled_from(UNITS))
def test_reading_agrees_with_pint(number: float, pair: tuple[str, Unit]) -> None:
    """Tolerance: a few roundings of a double; ours by one factor, pint's by its own chain."""
    kind, unit = pair
    for spelling in (unit.symbol, *unit.aliases):
        ours = read(f"{number!r} {spelling}", kind)
        assert isinstance(ours, Reading)
        theirs = FULL.Quantity(number, unit.name).to_base_units().magnitude
        offset = 460.0 if kind == "temperature" else 0.0  # near absolute zero the offset cancels
        assert math.isclose(ours.si, theirs, rel_tol=1e-12, abs_tol=1e-12 * (1.0 + offset))


@given(
    whole=st.integers(0, 500),
    part=st.fractions(0, 1, max_denominator=128),
    sign=st.sampled_from(["", "-", "−", "+"]),
    joint=st.sampled_from([" ", "-"]),
)
def test_fractions_of_an_inch_are_exact(whole: int, part: Fraction, sign: str, joint: str) -> None:
    """1 in is 0.0254 m by definition (international yard and pound agreement, 1959)."""
    text = f"{sign}{whole}{joint}{part.numerator}/{part.denominator} in"
    found = read(text, "length")
    assert isinstance(found, Reading)
    exact = (whole + part) * Fraction(254, 10000) * (-1 if sign in ("-", "−") else 1)
    assert math.isclose(found.si, float(exact), rel_tol=1e-15, abs_tol=0.0)
    assert found.fraction


@given(st.text(max_size=100), st.sampled_from(sorted(KINDS)))
def test_no_text_at_all_raises(text: str, kind: str) -> None:
    found = read(text, kind)
    if isinstance(found, Misread):
        assert found.message
        assert found.help
        assert 0 <= found.start <= found.end
    else:
        assert math.isfinite(found.si)


@given(
    number=numbers,
    pair=st.sampled_from([p for p in UNITS if p[1].symbol != "%"]),
    system=st.sampled_from(list(System)),
)
def test_a_value_shown_as_written_reads_back_the_same(
    number: float, pair: tuple[str, Unit], system: System
) -> None:
    kind, unit = pair
    written = f"{number!r} {unit.symbol}"
    reading = read(written, kind)
    assert isinstance(reading, Reading)
    quantity = Quantity("x", reading.si, kind, written, unit.symbol)
    first, second = show_written(quantity, system)
    author = first if first.unit == unit.symbol else second
    assert author is not None
    again = read(f"{author.number} {author.unit}", kind)
    assert isinstance(again, Reading)
    assert again.si == reading.si


@pytest.mark.parametrize("written", ["1 5/8 in", "5/8 in", "-2-3/16 in", "1.50 in", "0.062 in"])
def test_a_length_is_printed_as_its_author_wrote_it(written: str) -> None:
    reading = read(written, "length")
    assert isinstance(reading, Reading)
    quantity = Quantity("x", reading.si, "length", written, reading.unit, fraction=reading.fraction)
    assert str(show_written(quantity, System.US)[0]) == written.replace("-2", "−2")


# ---------------------------------------------------------------------------------- spread


@pytest.mark.parametrize(
    ("number", "shown"),
    [(9.99996, "10.00"), (0.99999999, "1.000"), (999.96, "1,000"), (-9.99996, "−10.00")],
)
def test_rounding_up_to_a_further_digit_shows_no_figure_more(number: float, shown: str) -> None:
    assert digits(number) == shown


@pytest.mark.parametrize("number", [3e-17, -3e-17, 0.0])
def test_what_is_only_rounding_is_printed_as_nothing(number: float) -> None:
    assert digits(number) == "0"
    assert digits(number, 0.5) == "0.00"  # as many decimals as its spread has


def test_no_spread_means_none() -> None:
    assert value("3 in").half_width == 0.0


def test_a_spread_with_a_unit_of_its_own() -> None:
    assert value({"value": "10 in", "plus_minus": "5 mm"}).half_width == pytest.approx(0.005)


def test_a_percentage_of_the_value() -> None:
    assert value({"value": "-10 in", "plus_minus": "2 %"}).half_width == pytest.approx(0.2 * 0.0254)


@pytest.mark.parametrize(("written", "kelvins"), [("9 °F", 5.0), ("5 °C", 5.0), ("5 K", 5.0)])
def test_a_temperature_spreads_by_a_difference(written: str, kelvins: float) -> None:
    """9 °F of difference are 5 K: the scales' definition."""
    found = value({"value": "85 °F", "plus_minus": written}, "temperature")
    assert found.half_width == pytest.approx(kelvins, rel=1e-12)
    assert found.reading.si == pytest.approx((85 - 32) / 1.8 + 273.15, rel=1e-12)


@pytest.mark.parametrize(
    ("raw", "half"),
    [
        ({"value": "25 %", "plus_minus": "2 %"}, 0.02),
        ({"value": "25 %", "plus_minus": "0.02"}, 0.02),
        ({"value": 0.25, "plus_minus": 0.02}, 0.02),
    ],
)
def test_the_spread_of_a_share_is_in_points(raw: object, half: float) -> None:
    assert value(raw, "share").half_width == pytest.approx(half, rel=1e-12)


@pytest.mark.parametrize(
    ("raw", "kind", "code", "path"),
    [
        ({"value": 0.25, "plus_minus": "2 %"}, "share", "quantity.spread", ("plus_minus",)),
        (
            {"value": "85 °F", "plus_minus": "2 %"},
            "temperature",
            "quantity.spread",
            ("plus_minus",),
        ),
        ({"value": "0 in", "plus_minus": "2 %"}, "length", "quantity.spread", ("plus_minus",)),
        ({"value": "3 in", "plus_minus": "-1 mm"}, "length", "quantity.spread", ("plus_minus",)),
        ({"value": "3 in", "plus_minus": "-1 %"}, "length", "quantity.spread", ("plus_minus",)),
        ({"value": "3 in", "plus_minus": "x %"}, "length", "quantity.number", ("plus_minus",)),
        ({"value": "3 in", "plus_minus": "1 lb"}, "length", "quantity.unit-wrong", ("plus_minus",)),
        ({"value": "3 in", "coverage": 2}, "length", "quantity.spread", ("coverage",)),
        ({"value": "3 lb"}, "length", "quantity.unit-wrong", ("value",)),
        ("3", "length", "quantity.unit-missing", ()),
        (3, "length", "quantity.unit-missing", ()),
    ],
)
def test_what_cannot_be_a_spread(raw: object, kind: str, code: str, path: tuple[str, ...]) -> None:
    found = flaw(raw, kind)
    assert (found.code, found.path) == (code, path)


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ({"plus_minus": "1 mm"}, 0.001 / math.sqrt(3)),
        ({"plus_minus": "1 mm", "distribution": "triangular"}, 0.001 / math.sqrt(6)),
        ({"plus_minus": "1 mm", "distribution": "normal"}, 0.0005),
        ({"plus_minus": "1 mm", "distribution": "normal", "coverage": 3}, 0.001 / 3),
    ],
)
def test_standard_uncertainty(raw: dict[str, object], expected: float) -> None:
    """JCGM 100:2008, 4.3.7 (a/√3), 4.3.9 b (a/√6), 4.3.4 (U/k); formulas from memory."""
    spread = ", ".join(f"{k}: {v}" for k, v in raw.items())
    build = build_of(HEAD + MASS.replace("x: 70 in", f"x: {{value: 1 m, {spread}}}"))
    assert build.quantities["mass.items.frame.x"].standard_uncertainty == pytest.approx(expected)


@pytest.mark.parametrize(
    ("text", "bounds", "good"),
    [
        ("0 in", {"x-least": 0.0}, True),
        ("-0.1 in", {"x-least": 0.0}, False),
        ("0 in", {"x-above": 0.0}, False),
        ("0.1 in", {"x-above": 0.0}, True),
        ("1 m", {"x-most": 1.0}, True),
        ("1.001 m", {"x-most": 1.0}, False),
    ],
)
def test_bounds(text: str, bounds: dict[str, float], good: bool) -> None:
    found = read_value(text, "length", bounds)
    assert isinstance(found, Value) == good
    if isinstance(found, Flaw):
        assert found.code == "quantity.range"


def test_a_value_no_vehicle_has_is_refused_before_it_overflows() -> None:
    """Squares of 1e300 would leave what a double holds, and pass as infinity."""
    found = read("1e300 lb", "mass")
    assert isinstance(found, Misread)
    assert found.code == "quantity.number"
    assert isinstance(read("210 GPa", "stress"), Reading)  # steel's stiffness, the largest in use


def test_a_mass_where_a_force_is_asked_is_told_what_it_weighs() -> None:
    """350 × 9.80665 (standard gravity, CGPM 1901) and 350 / 0.45359237 (the pound of 1959)."""
    found = read("350 kg", "force")
    assert isinstance(found, Misread)
    assert f"{350 * 9.80665:.0f} N" in found.help
    assert f"{350 / 0.45359237:.1f} lbf" in found.help
    assert read("350 kgf", "force") == Reading(350.0, "kgf", pytest.approx(350 * 9.80665), False)


@pytest.mark.parametrize("text", ["1/0 kg", "1e300 kg"])
def test_a_mass_that_is_no_number_is_told_the_units_alone(text: str) -> None:
    found = read(text, "force")
    assert isinstance(found, Misread)
    assert "weigh" not in found.help
