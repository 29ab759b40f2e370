"""Drawing paper for every chart: one size, one look, colours that follow the page's scheme.

A chart is drawn in sentinel colours, which `finish` exchanges for the site's CSS variables, so that
one drawing serves the light scheme, the dark one and print. Colour is never the only carrier: use
HATCHES, MARKERS and DASHES beside SERIES.
"""

from __future__ import annotations

import functools
import hashlib
import html
import io
import re
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator, ScalarFormatter

from generator.charts.chart import Chart

INK = "#010203"
MUTED = "#020304"
GRID = "#030405"
PAPER = "#040506"
ACCENT = "#050607"
HOLDS = "#060708"
SHORT = "#070809"
OPEN = "#08090a"
SERIES = ("#090a0b", "#0a0b0c", "#0b0c0d", "#0c0d0e", "#0d0e0f", "#0e0f10")
MARKERS = ("o", "s", "^", "D", "v", "P")
DASHES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (7, 2, 1.5, 2)), (0, (3, 1)), (0, (9, 3)))
HATCHES = ("", "////", "----", "\\\\\\\\", "xxxx", "++++")

_VARIABLES = {
    INK: "ink",
    MUTED: "muted",
    GRID: "grid",
    PAPER: "paper",
    ACCENT: "accent",
    HOLDS: "holds",
    SHORT: "short",
    OPEN: "open",
    **{colour: f"series-{n}" for n, colour in enumerate(SERIES, 1)},
}

_CONTROLS = dict.fromkeys((*range(9), 11, 12, *range(14, 32), *range(127, 160)), "\ufffd")

_LOOK: dict[str, Any] = {
    "svg.fonttype": "none",
    "font.family": ["DejaVu Sans"],
    "font.size": 9.0,
    "text.color": INK,
    "text.parse_math": False,
    "axes.edgecolor": MUTED,
    "axes.labelcolor": INK,
    "axes.facecolor": "none",
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "axes.titlesize": 9.0,
    "axes.titlelocation": "left",
    "axes.unicode_minus": True,
    "figure.facecolor": "none",
    "figure.dpi": 100.0,
    "grid.color": GRID,
    "grid.linewidth": 0.7,
    "hatch.color": PAPER,
    "hatch.linewidth": 0.9,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "lines.linewidth": 1.6,
    "patch.linewidth": 0.8,
    "xtick.color": MUTED,
    "ytick.color": MUTED,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.labelsize": 8.5,
    "ytick.labelsize": 8.5,
}


WIDTH = 4.9
"""Width of a drawing, inches: a phone shows all of it, in letters of 9 points that can be read."""


def figure(width: float = WIDTH, height: float = 3.6) -> Figure:
    """An empty figure of `width` × `height` inches with a fixed layout. Add axes to it with `axes`
    or `Figure.add_axes`; text in it is never read as mathematics.
    """
    mpl.rcParams.update(_LOOK)  # type: ignore[arg-type]
    # read whenever an artist is made; only charts are drawn here
    return Figure(figsize=(width, height))


def axes(
    fig: Figure, left: float = 0.7, right: float = 0.15, bottom: float = 0.55, top: float = 0.15
) -> Axes:
    """Axes that fill the figure but for margins given in inches."""
    width, height = (float(size) for size in fig.get_size_inches())
    return fig.add_axes(
        (
            left / width,
            bottom / height,
            (width - left - right) / width,
            (height - bottom - top) / height,
        )
    )


def labelled(what: str, unit: str) -> str:
    """The words beside an axis: `labelled("x, aft of the origin", "in")` is
    `x, aft of the origin (in)`. A number without a unit has the words alone.
    """
    return f"{what} ({unit})" if unit else what


def finish(fig: Figure, chart_id: str, title: str, finding: str, caption: str = "") -> Chart:
    """The figure as a chart. `finding` says in a sentence what the drawing shows."""
    _part_thousands(fig)
    sink = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": chart_id, "svg.fonttype": "none"}):
        fig.savefig(
            sink,
            format="svg",
            transparent=True,
            metadata={"Date": None, "Creator": None, "Format": None, "Type": None},
        )
    return Chart(
        chart_id, title, _tidy(sink.getvalue(), chart_id, title, finding), finding, caption
    )


def _part_thousands(fig: Figure) -> None:
    """Numbers beside an axis that goes beyond a thousand as everywhere on the pages: `12,500`."""
    for axis in (axis for ax in fig.axes for axis in (ax.xaxis, ax.yaxis)):
        plain = isinstance(axis.get_major_formatter(), ScalarFormatter)
        if plain and max(map(abs, axis.get_view_interval())) >= 1000.0:
            axis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:,.10g}".replace("-", "−")))
            if axis.axis_name == "x" and isinstance(axis.get_major_locator(), MaxNLocator):
                axis.set_major_locator(MaxNLocator(4))  # long numbers side by side need room


def _tidy(svg: str, chart_id: str, title: str, finding: str) -> str:
    """Inline SVG: names of its own, the site's colours and font, a title and a description."""
    prefix = "c" + hashlib.sha256(chart_id.encode()).hexdigest()[:8] + "-"
    body = svg[svg.index("<svg") :]
    body = re.sub(
        r"<style[^>]*>.*?</style>\s*", "", body, flags=re.DOTALL
    )  # it styles the whole page
    body = body.replace("xlink:href", "href").translate(_CONTROLS)
    body = re.sub(r'\bid="', f'id="{prefix}', body)
    body = re.sub(r"(url\(|href=\")#", rf"\1#{prefix}", body)
    body = _colours().sub(lambda found: f"var(--mb-{_VARIABLES[found[0].lower()]})", body)
    body = re.sub(r"(font(?:-family)?: [^;\"<]*)'DejaVu Sans'", r"\1var(--mb-chart-font)", body)
    body = re.sub(
        r"<svg [^>]*?viewBox=\"([^\"]+)\"[^>]*>",
        lambda found: _head(title, finding, found[1]),
        body,
        count=1,
    )
    return re.sub(r"\s*\n\s*", "\n", body).strip()


def _head(title: str, finding: str, box: str) -> str:
    """The opening of the SVG with its view box; a drawing wider than a phone is marked as such."""
    title, finding = title.translate(_CONTROLS), finding.translate(_CONTROLS)
    words = f"<title>{html.escape(title)}</title>\n<desc>{html.escape(finding)}</desc>"
    name = html.escape(f"{title}. {finding}", quote=True)
    across, high = (float(n) for n in box.split()[2:])
    wide = " mb-wide" if across > 72.0 * WIDTH + 1.0 else ""
    wide += " mb-tall" if high > 1.15 * across else ""
    head = f'<svg class="mb-chart{wide}" role="img" aria-label="{name}" viewBox="{box}" xmlns="http://www.w3.org/2000/svg">'
    return f"{head}\n{words}"


@functools.cache
def _colours() -> re.Pattern[str]:
    return re.compile(rf"(?:(?<=: )|(?<==\"))(?:{'|'.join(_VARIABLES)})(?=[;\"])", re.IGNORECASE)


def per_cent(share: float, places: int = 0) -> str:
    """A share as the pages print it: `18 %`."""
    return f"{100.0 * share:.{places}f} %"
