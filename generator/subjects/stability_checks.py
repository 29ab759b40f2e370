"""The checks of stability: static margin, front axle, and the crosswind against grip and overturning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from buildspec.quantities import Quantity
from generator.checks import make_check
from generator.formulas import stability as f
from generator.subjects.stability_records import Detail, leaves_too_little
from generator.vocabulary import Check, Result

NOT_AHEAD = "Static margin asked where none is stated: the centre of pressure not ahead of the CG"
NO_WIND = Result(
    "stability.cross_wind_asked",
    "Crosswind the team would run in",
    None,
    "speed",
    absent="the most crosswind the team would run in is not stated: `course.cross_wind`",
)


def checks(detail: Detail) -> Iterable[Check]:
    """Every check; the two of the crosswind are open where none is stated."""
    limits, wind = detail.shape.limits, detail.of.course.cross_wind
    running = [c for c in detail.conditions if c.running]
    if running:
        least = min(running, key=lambda c: c.in_wheelbases.value or 0.0)
        asked = Result("stability.static_margin_asked", NOT_AHEAD, 0.0, "share")
        if limits and limits.static_margin:
            asked = _stated(limits.static_margin, "Static margin asked for")
        yield _check(
            "static_margin",
            "Centre of pressure behind the CG",
            asked,
            least.in_wheelbases,
            f"least of the conditions that run, {least.title}, up to that speed; {_how(detail)}",
        )
    if limits and limits.front_load:
        yield _check(
            "front_load",
            "Front axle stays loaded at speed",
            _stated(limits.front_load, "Front axle load asked for"),
            detail.front,
            f"full throttle, steady air; the worst of all conditions: {detail.lifted}",
        )
    asked_wind = _stated(wind, NO_WIND.title) if wind else NO_WIND
    yield _crosswind(detail, asked_wind, limits.factor if limits else None)
    yield _overturning(detail, asked_wind, limits.factor if limits else None)


def _crosswind(detail: Detail, wind: Result, factor: Quantity | None) -> Check:
    ahead = [c for c in detail.conditions if c.running and (c.in_wheelbases.value or 0.0) < 0.0]
    why = detail.astray
    if ahead:
        why = (
            f"the centre of pressure is ahead of the CG ({ahead[0].title}): the vehicle turns out of "
            "the balance that this compares"
        )
    capacity = _unless(why or _unless_lifting(detail, wind, factor), detail.wind)
    return make_check(
        "stability.check.crosswind",
        "Tires hold the crosswind at speed",
        demand=wind,
        capacity=capacity,
        factor=factor.si if factor else 1.0,
        inputs=(*detail.wind.inputs, *wind.inputs, *((factor.id,) if factor else ())),
        sources=(f.BARROWMAN,),
        basis_of_verdict=f"{_how(detail)}; the worst of all conditions and speeds: {detail.blown}",
        ways="run only in less wind, or fin area farther aft",
    )


def _unless_lifting(detail: Detail, wind: Result, factor: Quantity | None) -> str:
    """Why a crosswind is not held before the team says that the driver lifts; what is short stays short."""
    limits, asked = detail.shape.limits, (wind.value or 0.0) * (factor.si if factor else 1.0)
    if not detail.lifting or (limits and limits.driver_lifts) or (detail.wind.value or 0.0) < asked:
        return ""
    return f"{leaves_too_little(detail)}: say in `shape.limits.driver_lifts` that the driver lifts there, and brief it"


def _unless(why: str, capacity: Result) -> Result:
    """The capacity, or none where `why` says why it says nothing."""
    if not why:
        return capacity
    return replace(capacity, value=None, standard_uncertainty=0.0, absent=why)


def _overturning(detail: Detail, wind: Result, factor: Quantity | None) -> Check:
    held, when = detail.tipping
    worst = f": {when}" if when else ""
    return make_check(
        "stability.check.overturning",
        "Windward wheels stay on the ground in the crosswind",
        demand=wind,
        capacity=_unless(detail.astray, held),
        factor=factor.si if factor else 1.0,
        inputs=(*held.inputs, *wind.inputs, *((factor.id,) if factor else ())),
        sources=(f.BARROWMAN,),
        basis_of_verdict=f"full throttle, steady wind, no roll on the springs; {_how(detail)}; the worst of all "
        f"conditions and speeds{worst}",
        ways="run only in less wind, a wider track, or less side area high up",
    )


def _how(detail: Detail) -> str:
    given = detail.shape.whole
    if given:
        return f"slope and centre of the whole vehicle as {given.slope.basis}"
    return "an estimate by components, which knows no ground: for arranging and comparing"


def _stated(quantity: Quantity, title: str) -> Result:
    return Result(
        quantity.id,
        title,
        quantity.si,
        quantity.kind,
        quantity.standard_uncertainty,
        inputs=(quantity.id,),
    )


def _check(word: str, title: str, demand: Result, capacity: Result, how: str) -> Check:
    return make_check(
        f"stability.check.{word}",
        title,
        demand=demand,
        capacity=capacity,
        signed=True,
        inputs=(*demand.inputs, *capacity.inputs),
        sources=(f.BARROWMAN,) if word == "static_margin" else (),
        basis_of_verdict=how,
        ways="fin area farther aft or mass farther forward"
        if word == "static_margin"
        else "less lift there, or more load on that axle",
    )
