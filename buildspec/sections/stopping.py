"""The section `stopping`: what the driver does behind the timed section, and what may fail."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
from buildspec.quantities import Basis, Quantity

TRIGGERS = ("after", "mark", "below", "following")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deploy:
    """When a parachute is pulled: one of `after`, `mark`, `below` and `following`."""

    id: str
    parachute: str
    after: Quantity | None = None
    mark: Quantity | None = None
    below: Quantity | None = None
    following: Quantity | None = None
    backup: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Brakes:
    """The wheel brakes: used below a speed, on some wheels, up to a torque of all together."""

    below: Quantity
    delay: Quantity
    torque: Quantity
    front_share: Quantity | None = None
    wheels: tuple[str, ...]
    rotor_mass: Quantity | None = None
    front_rotor_mass: Quantity | None = None
    specific_heat: Quantity | None = None
    most_temperature: Quantity | None = None
    cooled_to: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopping:
    """The plan of the stop."""

    speed: Quantity | None = None
    throttle_delay: Quantity
    engine_braking: Quantity
    deploy: tuple[Deploy, ...] = ()
    brakes: Brakes | None = None
    late_by: Quantity
    factor: Quantity
    basis: Basis | None = None
    source: str = ""


def problems(section: Stopping, build: Build) -> Iterable[Diagnostic]:
    """Each deployment has one trigger, none before the timed sections end, none follows nothing; rotors."""
    yield from _rotors(section.brakes)
    for number, deploy in enumerate(section.deploy):
        place = build.place(f"stopping.deploy.{deploy.id}") or Place("build.yaml")
        given = [word for word in TRIGGERS if getattr(deploy, word)]
        if len(given) != 1:
            said = (
                "does not say when"
                if not given
                else f"says when {len(given)} times: {', '.join(given)}"
            )
            yield Diagnostic(
                "stopping.trigger",
                f"the deployment {deploy.id} {said}",
                place,
                "give exactly one of `after`, `mark`, `below` and `following`",
            )
        for early in (deploy.after, deploy.mark):
            if early and early.si < 0.0:
                yield Diagnostic(
                    "stopping.early",
                    f"{deploy.id} is pulled before the last timed section ends: {early.written}",
                    early.place or place,
                    "a mark or a time counts from the end of the last timed section and must not be "
                    "negative",
                )
        for word in ("following", "backup"):
            if number == 0 and getattr(deploy, word):
                yield Diagnostic(
                    "stopping.first",
                    f"{deploy.id} is the first deployment, and `{word}` refers to one before it",
                    getattr(deploy, word).place or place,
                    "give `after`, `mark` or `below`, or put another deployment before it",
                )


def _rotors(brakes: Brakes | None) -> Iterable[Diagnostic]:
    """The front rotors are some of all rotors, and not all."""
    front, whole = (brakes.front_rotor_mass, brakes.rotor_mass) if brakes else (None, None)
    if front and not (whole and front.si < whole.si):
        said = (
            f"no less than that of all, {whole.written}"
            if whole
            else "and that of all is not stated"
        )
        yield Diagnostic(
            "stopping.rotors",
            f"the front rotors' mass is {front.written}, {said}",
            front.place or Place("build.yaml"),
            "give the mass of all rotors together as `rotor_mass`, and of these the front ones'; leave "
            "`front_rotor_mass` out where only one axle is braked",
        )
