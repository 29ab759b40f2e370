"""Formulas of mass: behaviour that the shared proof of equations and units cannot see."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.checks import margin_of
from generator.formulas import mass
from generator.formulas.margin import margin_of_safety

LENGTHS = st.floats(0.2, 3.0)


@given(x=st.floats(0.0, 4.0), front=st.floats(-1.0, 1.0), base=st.floats(1.0, 5.0))
def test_both_shares_of_the_wheelbase_make_one(x: float, front: float, base: float) -> None:
    rear = front + base
    ahead = mass.front_share(x=x, front=front, rear=rear)
    assert ahead + mass.wheelbase_share(x=x, front=front, rear=rear) == pytest.approx(1.0)


@given(st.floats(1.0, 3.0), st.floats(0.1, 0.8), st.floats(0.2, 0.6), st.floats(0.05, 0.6))
def test_equal_radii_give_the_trade_s_formula(
    base: float, share: float, h: float, angle: float
) -> None:
    """h = r + ΔR·l / (M·tan θ), with ΔR what the lift adds to the reading (common practice)."""
    total, r = 900.0, 0.33
    level = total * share
    reading = level + total * (h - r) * math.tan(angle) / base
    theta = mass.lift_angle(height=base * math.sin(angle), base=base, s=0.0)
    assert theta == pytest.approx(angle)
    found = mass.lifted_height(
        r=r, reading=reading, m=total, d=share * base, base=base, s=0.0, theta=theta
    )
    assert found == pytest.approx(r + (reading - level) * base / (total * math.tan(angle)))
    assert found == pytest.approx(h)


@given(base=LENGTHS, s=st.floats(-0.1, 0.1), angle=st.floats(0.02, 0.9))
def test_the_angle_brings_the_axle_to_its_height(base: float, s: float, angle: float) -> None:
    """Turn the line between the axle centres and measure how far its end went up."""
    rise = base * math.sin(angle) + s * math.cos(angle) - s
    assert mass.lift_angle(height=rise, base=base, s=s) == pytest.approx(angle)


def test_a_tiny_lift_is_outside_the_valid_range() -> None:
    assert mass.lifted_height.outside({"theta": (0.01,)}) == ("theta",)
    assert mass.lifted_height.outside({"theta": (0.1,)}) == ()


@given(st.lists(st.floats(0.1, 50.0), min_size=2, max_size=8), st.floats(-3.0, 3.0))
def test_inertia_is_least_about_the_centre_of_gravity(masses: list[float], off: float) -> None:
    m = np.array(masses)
    x = np.linspace(0.0, 2.0, len(m))
    none = np.zeros(len(m))
    cg = float(mass.centre(s=mass.first_moment(m=m, r=x), m=mass.total_mass(m=m)))

    def about(axis: float) -> float:
        return float(mass.moment_of_inertia(m=m, u=x - axis, v=none, a=none, b=none))

    assert about(cg + off) == pytest.approx(about(cg) + float(m.sum()) * off**2)


def test_products_change_sign_with_an_axis() -> None:
    m, u, v = np.array([1.0, 2.0]), np.array([0.3, -0.4]), np.array([0.5, 0.7])
    assert mass.product_of_inertia(m=m, u=-u, v=v) == -mass.product_of_inertia(m=m, u=u, v=v)


@given(st.floats(1.0, 1e6), st.floats(1.0, 1e6), st.floats(0.5, 5.0))
def test_the_margin_that_is_shown_is_the_margin_that_is_computed(
    demand: float, capacity: float, factor: float
) -> None:
    shown = margin_of_safety(capacity=capacity, factor=factor, demand=demand)
    # what rounding leaves beside 0 is 0
    assert margin_of(demand, capacity, factor) == (0.0 if abs(shown) < 1e-12 else shown)


def test_a_formula_for_any_kind_keeps_its_ratios() -> None:
    """A margin of forces has forces for demand and capacity and a bare number for the factor."""
    force = margin_of_safety.of("force")
    kinds = {name: symbol.kind for name, symbol in force.symbols.items()}
    assert kinds == {"capacity": "force", "factor": "ratio", "demand": "force"}
    assert force.result.kind == "ratio"
    assert margin_of_safety.symbols["capacity"].kind == "length"
