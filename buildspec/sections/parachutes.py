"""The section `parachutes`: canopy, lines, riser and where they pull."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place
from buildspec.quantities import Basis, Quantity
from buildspec.sections.datum import Datum
from buildspec.sections.named import Named
from buildspec.sections.wheels import Wheels

MOST_COEFFICIENT = 1.2
"""No canopy has more drag on its nominal area; a larger figure is on the projected one, or an error."""

WEBBINGS: Mapping[str, frozenset[str]] = {
    "MIL-W-4088K": frozenset(
        (
            "VI",
            "VII",
            "VIII",
            "IX",
            "X",
            "XII",
            "XIII",
            "XVI",
            "XVII",
            "XVIII",
            "XIX",
            "XX",
            "XXII",
            "XXIII",
            "XXIV",
            "XXV",
            "XXVI",
            "XXVII",
            "XXVIII",
        )
    ),
    "PIA-W-1100A": frozenset(
        (
            "VII",
            "XIII",
            "XVII",
            "XXVI",
        )
    ),
}
"""The types of webbing that can be looked up, by specification with its revision."""

CanopyType = Literal[
    "flat_circular",
    "conical",
    "extended_skirt_10",
    "extended_skirt_14",
    "hemispherical",
    "guide_surface_ribbed",
    "guide_surface_ribless",
    "annular",
    "cross",
    "flat_ribbon",
    "conical_ribbon",
    "ringslot",
    "ringsail",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The suspension lines; `strength` and `stretch` are those of one line at its break."""

    count: int
    length: Quantity
    strength: Quantity
    stretch: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Riser:
    """The towing strap: a webbing of the table, or the strength of one leg."""

    length: Quantity
    legs: int = 1
    webbing: str | None = None
    strength: Quantity | None = None
    stretch: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """Shares of the strength that are left."""

    seam: Quantity
    knot: Quantity
    abrasion: Quantity
    age: Quantity
    heat: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attach:
    """Where the strap is fixed to the vehicle."""

    x: Quantity
    y: Quantity
    z: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Canopy(Named):
    """One parachute. Drag comes from `drag_area`, else from `diameter` with a coefficient or the type's range."""

    id: str
    title: str = ""
    type: CanopyType | None = None
    diameter: Quantity | None = None
    drag_coefficient: Quantity | None = None
    drag_area: Quantity | None = None
    opening_coefficient: Quantity | None = None
    fill_constant: Quantity | None = None
    growth_exponent: Quantity | None = None
    wake_loss: Quantity
    mass: Quantity | None = None
    pilot_drag_area: Quantity | None = None
    snatch_load: Quantity | None = None
    lines: Lines | None = None
    riser: Riser | None = None
    losses: Losses | None = None
    shackle: Quantity | None = None
    mount: Quantity | None = None
    factor: Quantity
    attach: Attach
    cone: Quantity
    speed: Quantity | None = None
    most_speed: Quantity | None = None
    least_speed: Quantity | None = None
    delay: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parachutes:
    """All parachutes, and the speed their loads are computed at, where it is stated."""

    canopies: tuple[Canopy, ...]
    speed: Quantity | None = None


LITTLE_LEFT = 0.5
"""A share of the strength below which somebody probably wrote what is lost. Our own bound."""


def problems(section: Parachutes, build: Build) -> Iterable[Diagnostic]:
    """Each drag is given, once, and on the nominal area; each riser's strength once."""
    for canopy in section.canopies:
        place = build.place(f"parachutes.canopies.{canopy.id}") or Place("build.yaml")
        yield from _drag(canopy, place)
        yield from _coefficient(canopy, place)
        yield from _losses(canopy, place)
        yield from _attached(canopy, build, place)
        yield from _webbing(
            canopy, build.place(f"parachutes.canopies.{canopy.id}.riser.webbing") or place
        )
        if canopy.riser and canopy.riser.webbing and canopy.riser.strength:
            yield Diagnostic(
                "parachutes.riser-twice",
                f"the strength of the riser of {canopy.id} is given twice: by its webbing and as "
                "`strength`",
                canopy.riser.strength.place or place,
                "keep one of the two",
            )


def _attached(canopy: Canopy, build: Build, place: Place) -> Iterable[Diagnostic]:
    """A strap that ends under the ground, or ahead of the vehicle: a sign is wrong, or the datum."""
    datum, wheels, at = build.section(Datum), build.section(Wheels), canopy.attach
    ground = datum.ground if datum else None
    if at.z.si <= (ground.si if ground else 0.0):
        yield Diagnostic(
            "parachutes.below-ground",
            f"{canopy.id} is attached at or below the ground, by `z: {at.z.written}`",
            at.z.place or place,
            "z is up: look at its sign, and at `ground` of the datum",
            (Note(ground.place, "the ground"),) if ground and ground.place else (),
        )
    axles = [wheel.x for wheel in wheels.positions] if wheels else []
    first = min(axles, key=lambda x: x.si, default=None)
    if first and at.x.si < first.si:
        yield Diagnostic(
            "parachutes.ahead",
            f"{canopy.id} is attached ahead of the first axle, by `x: {at.x.written}`",
            at.x.place or place,
            "x is aft: look at its sign, and from where it is measured",
            (Note(first.place, "the first axle"),) if first.place else (),
            severity="warning",
        )


def _losses(canopy: Canopy, place: Place) -> Iterable[Diagnostic]:
    """Shares that are left, written as what is lost: little would be left of the strength."""
    for name in ("seam", "knot", "abrasion", "age", "heat"):
        left: Quantity | None = getattr(canopy.losses, name, None)
        if left is not None and left.si < LITTLE_LEFT:
            yield Diagnostic(
                "parachutes.losses",
                f"by `{name}: {left.written}` little of the strength is left",
                left.place or place,
                f"the share that is left belongs here, {100 * (1 - left.si):.3g} % where that much is lost",
                severity="warning",
            )


def _webbing(canopy: Canopy, place: Place) -> Iterable[Diagnostic]:
    """Only a webbing with its revision can be looked up; none is guessed, for strengths changed between revisions."""
    name = canopy.riser.webbing if canopy.riser else None
    if name is None:
        return
    specification, _, word = name.partition(" type ")
    if word not in WEBBINGS.get(specification, ()):
        yield Diagnostic(
            "parachutes.webbing",
            f"`{name}` is no webbing of the table",
            place,
            "write specification, revision and type as on the roll's certificate, such as "
            "`MIL-W-4088K type XXVI`: strengths changed between revisions, so the letter decides; "
            "for any other webbing give `strength`",
        )


def _drag(canopy: Canopy, place: Place) -> Iterable[Diagnostic]:
    if canopy.drag_area and canopy.drag_coefficient:
        yield Diagnostic(
            "parachutes.drag-twice",
            f"the drag of {canopy.id} is given twice: as `drag_area` and as `drag_coefficient`",
            canopy.drag_coefficient.place or place,
            "keep one of the two",
        )
    if not canopy.drag_area and not (canopy.diameter and (canopy.drag_coefficient or canopy.type)):
        yield Diagnostic(
            "parachutes.drag-missing",
            f"no drag is given for {canopy.id}",
            place,
            "give `drag_area`, or the nominal `diameter` with a `type` or a `drag_coefficient`",
        )


def _coefficient(canopy: Canopy, place: Place) -> Iterable[Diagnostic]:
    """Refuse a coefficient that can only be on the projected area."""
    given, value = canopy.drag_coefficient, None
    if given:
        value = given.si
    elif canopy.drag_area and canopy.diameter:
        given = canopy.drag_area
        value = canopy.drag_area.si / (0.25 * 3.141592653589793 * canopy.diameter.si**2)
    if given is None or value is None or value <= MOST_COEFFICIENT:
        return
    yield Diagnostic(
        "parachutes.projected",
        f"{given.written} means a drag coefficient of {value:.2f} on the nominal area, and no "
        f"canopy has more than {MOST_COEFFICIENT}",
        given.place or place,
        "a coefficient on the projected area must be multiplied by (open diameter / nominal diameter)²; the nominal "
        "diameter is that of a circle with the area of all the cloth",
    )
