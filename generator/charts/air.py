"""The chart of air: density over temperature, with the day's point."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import KINDS
from buildspec.quantities import from_si, show
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    SERIES,
    axes,
    figure,
    finish,
    labelled,
    per_cent,
)
from generator.charts.chart import Chart
from generator.formulas.air import moist_air
from generator.subjects.air import Detail
from generator.vocabulary import Outcome

HUMIDITIES = (0.0, 0.5, 1.0)


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """The chart of density over temperature."""
    detail = outcome.detail
    return (_density(detail, build),) if isinstance(detail, Detail) else ()


def _density(air: Detail, build: Build) -> Chart:
    units = {kind: KINDS[kind].printed_unit(build.system) for kind in ("temperature", "density")}
    fig = figure(height=3.2)
    ax = axes(fig, left=0.8)
    _curves(ax, air, units)
    ax.set_xlabel(labelled("air temperature", units["temperature"]))
    ax.set_ylabel(labelled("density", units["density"]))
    ax.grid(color=GRID)
    ax.legend(loc="upper right")
    return finish(
        fig,
        "air.density_over_temperature",
        "Air density over temperature",
        _finding(air, build),
        "Pressure as on this page.",
    )


def _curves(ax: Axes, air: Detail, units: Mapping[str, str]) -> None:
    """A line a humidity, and the day's point."""
    temperatures = np.linspace(air.temperature - 20.0, air.temperature + 20.0, 41)
    for humidity, dash, colour in zip(HUMIDITIES, DASHES, SERIES, strict=False):
        values = [
            moist_air(pressure=air.pressure, temperature=float(t), humidity=humidity)
            for t in temperatures
        ]
        ax.plot(
            [from_si(float(t), "temperature", units["temperature"]) for t in temperatures],
            [from_si(v, "density", units["density"]) for v in values],
            color=colour,
            linestyle=dash,
            label=f"relative humidity {per_cent(humidity)}",
        )
    here = from_si(air.temperature, "temperature", units["temperature"])
    value = from_si(air.density.value or 0.0, "density", units["density"])
    ax.plot(
        [here],
        [value],
        marker="o",
        markersize=8,
        color=ACCENT,
        linestyle="none",
        label="this description",
    )


def _finding(air: Detail, build: Build) -> str:
    hot = moist_air(
        pressure=air.pressure, temperature=air.temperature + 10.0, humidity=air.humidity
    )
    loss = 1.0 - hot / (air.density.value or 1.0)
    warmer = "18 °F" if build.system == "us" else "10 °C"
    return (
        f"At {show(air.temperature, 'temperature', build.system, figures=3)} the air weighs "
        f"{show(air.density.value or 0.0, 'density', build.system)}; {warmer} warmer it is {per_cent(loss, 1)} thinner."
    )
