"""Charts of breathing and fuel as SVG: medians with their 95 % band, one question a chart.

matplotlib draws them; it comes with ``pip install "drybuild[page]"``. Their colours are the page's
own, so that they follow it into the dark and onto paper.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from drybuild.examine import Examination
from drybuild.show.engine_words import where_most_taken
from drybuild.values import System, kind_named, show, shown_unit, stepped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FloatArray = npt.NDArray[np.float64]

INK, SOFT, PALE, MARK = "#26343b", "#5c6a70", "#b9c4c6", "#9a4f1c"
PAGE_COLOURS = {INK: "var(--ink)", SOFT: "var(--soft)", PALE: "var(--pale)", MARK: "var(--mark)"}
HATCHES = ("", "////", "....")
LINES = ("-", "--", ":")
METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
UNDER = 0.09
"""Room under the compressor's map for the words at its foot, of the height of the chart."""
COMMON_DUTY = 0.85
"""Where common practice stops using an injector; drawn only as a line to compare with."""


@dataclass(frozen=True)
class Chart:
    """A drawn chart: its question as title, the SVG, and the same in words."""

    title: str
    svg: str
    words: str


class PageExtraMissing(ImportError):
    """Raised with a clear message when the drawing library is not installed."""


def charts(examination: Examination, system: System = "metric") -> list[Chart]:
    """All charts that the build's facts allow."""
    _need_matplotlib()
    drawers = (_torque, _compressor, _rail, _duty, _pump)
    with warnings.catch_warnings():
        # At a speed that no draw solves the line has a gap; that is said by the findings.
        warnings.filterwarnings("ignore", "All-NaN", RuntimeWarning)
        made = [draw(examination, system) for draw in drawers]
    return [chart for chart in made if chart is not None]


def _solved(values: Any) -> bool:
    """Whether there is anything to draw."""
    return bool(np.isfinite(np.asarray(values, dtype=np.float64)).any())


def _need_matplotlib() -> None:
    try:
        import matplotlib  # noqa: F401
    except ImportError:
        raise PageExtraMissing(
            'the page needs its drawing library: pip install "drybuild[page]"'
        ) from None


def known_value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None


def _per_blend(examination: Examination, name: str) -> list[tuple[str, Any]]:
    """A result for each fuel that the build uses and the facts allow."""
    found = []
    for blend in examination.state.build.blends:
        if known_value(examination, f"blend.{blend}.used") is False:
            continue
        value = known_value(examination, f"{name}.{blend}")
        if value is not None:
            found.append((blend, value))
    return found


@dataclass(frozen=True)
class Scale:
    """Turns SI into the reader's unit for a whole axis."""

    label: str
    factor: float
    offset: float

    def __call__(self, values: Any) -> FloatArray:
        return np.asarray(values, dtype=np.float64) * self.factor + self.offset


def scale_of(kind: str, values: Any, system: System) -> Scale:
    size = float(np.nanmax(np.abs(np.asarray(values, dtype=np.float64))))
    unit, label = shown_unit(kind_named(kind), size, system)
    zero = unit.from_si(0.0)
    return Scale(label, unit.from_si(1.0) - zero, zero)


def _torque(examination: Examination, system: System) -> Chart | None:
    rows = [(b, c) for b, c in _per_blend(examination, "breathing.power") if _solved(c.torque)]
    if not rows:
        return None
    scale = scale_of("torque", rows[0][1].torque, system)

    def draw(axes: Axes) -> str:
        said = []
        for index, (blend, curve) in enumerate(rows):
            torque = _columns(curve.torque)
            peak = int(np.nanargmax(np.nanmedian(torque, axis=1)))
            band(axes, _rpm(curve.engine_speed), scale(torque), blend, index)
            rpm = float(_rpm(curve.engine_speed)[peak])
            most = _of_draws("torque", torque[peak], system)
            said.append(f"{blend}: {most}, near {round(rpm, -2):.0f} rpm")
        axes.set_ylabel(f"torque at the crank, {scale.label}")
        axes.set_ylim(bottom=0)
        return "; ".join(said)

    return chart("How much torque, at which speed?", draw)


def _compressor(examination: Examination, system: System) -> Chart | None:
    run = known_value(examination, "breathing.operating")
    grid = known_value(examination, "breathing.map_grid")
    if run is None or not _solved(run.corrected_flow):
        return None
    scale = scale_of("flow_mass", run.corrected_flow, system)

    def draw(axes: Axes) -> str:
        flow, ratio = scale(_columns(run.corrected_flow)), _columns(run.pressure_ratio)
        if grid is not None:
            _map_outline(axes, grid, scale)
        mid_flow, mid_ratio = np.nanmedian(flow, axis=1), np.nanmedian(ratio, axis=1)
        band = _along(flow, ratio)
        if band is not None:
            axes.fill(*band, color=PALE, lw=0, alpha=0.8, label="95 in 100")
        axes.plot(mid_flow, mid_ratio, color=INK, lw=2, label="full throttle")
        for index, words, shift in ((0, "low speed", (0, -5)), (-1, "high speed", (4, -4))):
            axes.annotate(
                words, (mid_flow[index], mid_ratio[index]), xytext=shift, va="top",
                textcoords="offset points", color=SOFT, fontsize=9,
            )  # fmt: skip
        axes.set_xlabel(f"corrected flow, {scale.label} (the map's own reference)")
        axes.set_ylabel("pressure ratio")
        axes.set_xlim(left=0)
        low, high = axes.get_ylim()
        axes.set_ylim(bottom=low - UNDER * (high - low))
        most = np.nanargmax(mid_ratio)
        return f"highest pressure ratio: {_of_draws('ratio', ratio[most], system)}"

    return chart("Where on the compressor's map does it run?", draw, speed=False)


def _map_outline(axes: Axes, grid: Any, scale: Scale) -> None:
    """The map's edge: surge on the left, top speed or choke on the right."""
    ratio = grid.ratio_0 + grid.ratio_step * np.arange(len(grid.surge))
    known = np.isfinite(grid.surge) & np.isfinite(grid.edge)
    surge, edge, ratio = scale(grid.surge[known]), scale(grid.edge[known]), ratio[known]
    x = np.concatenate([surge, edge[::-1], surge[:1]])
    y = np.concatenate([ratio, ratio[::-1], ratio[:1]])
    axes.plot(x, y, color=SOFT, lw=1.1, ls=(0, (5, 2)), label="edge of the map")
    middle = len(ratio) // 2
    # outside of the map: above its left edge, below its right one, for both lean to the right
    for where, words, shift, side, foot in (
        (surge[middle], "surge", (-5, 2), "right", "bottom"),
        (edge[middle], "choke", (5, -4), "left", "top"),
    ):  # fmt: skip
        axes.annotate(
            words, (where, ratio[middle]), xytext=shift, textcoords="offset points",
            ha=side, va=foot, color=SOFT, fontsize=9,
        )  # fmt: skip


def _along(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """The band of 95 in 100 draws across a path: its edges, measured square to the path."""
    mx, my = np.nanmedian(x, axis=1), np.nanmedian(y, axis=1)
    wide, high = np.ptp(mx) or 1.0, np.ptp(my) or 1.0
    dx, dy = np.gradient(mx / wide), np.gradient(my / high)
    length = np.hypot(dx, dy)
    if not np.all(np.isfinite(length)) or np.any(length == 0):
        return None
    nx, ny = -dy / length, dx / length
    off = (x - mx[:, None]) / wide * nx[:, None] + (y - my[:, None]) / high * ny[:, None]
    low, up = np.nanquantile(off, (0.025, 0.975), axis=1)
    edges = [(mx + wide * nx * d, my + high * ny * d) for d in (low, up)]
    return (
        np.concatenate([edges[0][0], edges[1][0][::-1]]),
        np.concatenate([edges[0][1], edges[1][1][::-1]]),
    )


def _rail(examination: Examination, system: System) -> Chart | None:
    rail = known_value(examination, "fuel.rail")
    if rail is None or not _solved(rail.manifold):
        return None
    scale = scale_of("pressure_gauge", rail.pressure, system)

    def draw(axes: Axes) -> str:
        rpm = _rpm(rail.engine_speed)
        pressure = _columns(np.broadcast_to(rail.pressure, np.shape(rail.manifold)))
        manifold = _columns(np.broadcast_to(rail.manifold, np.shape(pressure)))
        band(axes, rpm, scale(pressure), "rail, as the regulator holds it", 0)
        axes.plot(
            rpm, np.nanmedian(scale(manifold), axis=1), color=MARK, ls="--", lw=1.6,
            label="manifold",
        )  # fmt: skip
        axes.set_ylabel(f"pressure, {scale.label}")
        apart = np.nanmin(pressure - manifold, axis=0)
        least = _of_draws("pressure_difference", apart, system)
        return f"the distance between the lines drives the injectors: {least} at the least"

    return chart("What pressure drives the injectors?", draw)


def _duty(examination: Examination, system: System) -> Chart | None:
    rows = [
        (blend, injection)
        for blend, injection in _per_blend(examination, "fuel.injection")
        if np.ndim(injection.duty) == 2 and _solved(injection.duty)
    ]
    if not rows:
        return None

    def draw(axes: Axes) -> str:
        said = []
        for index, (blend, injection) in enumerate(rows):
            band(axes, _rpm(injection.engine_speed), 100 * injection.duty, blend, index)
            peak = np.nanmax(injection.duty, axis=0)
            said.append(f"{blend}: {_of_draws('fraction', peak, system)} at most")
        practice = f"{100 * COMMON_DUTY:.0f} %, common practice"
        axes.axhline(100 * COMMON_DUTY, color=MARK, ls=":", lw=1.6, label=practice)
        axes.set_ylabel("share of the time open, %")
        axes.set_ylim(0, 100)
        return "; ".join(said)

    return chart("How long are the injectors open?", draw)


def _pump(examination: Examination, system: System) -> Chart | None:
    """The thirstiest fuel only: what the pump gives at its own voltage against what is taken."""
    run = known_value(examination, "breathing.operating")
    rows = [
        (blend, point)
        for blend, point in _per_blend(examination, "fuel.full_load")
        if _solved(point.demand) and _solved(point.available)
    ]
    if run is None or not rows:
        return None
    blend, point = max(rows, key=lambda row: float(np.nanmax(np.nanmedian(row[1].demand, axis=-1))))
    scale = scale_of("flow_volume", point.available, system)
    rpm = _rpm(run.engine_speed)
    if np.shape(point.demand)[0] != len(rpm) or np.shape(point.available)[0] != len(rpm):
        return None

    def draw(axes: Axes) -> str:
        band(axes, rpm, scale(point.available), "the pump gives, at its own voltage", 0)
        band(axes, rpm, scale(point.demand), "the engine takes", 1)
        axes.set_ylabel(f"flow, {scale.label}")
        axes.set_ylim(bottom=0)
        takes = _on_axis(scale, where_most_taken(point, "demand"))
        gives = _on_axis(scale, where_most_taken(point, "available"))
        return f"{blend}: the engine takes {takes} at most; the pump gives then {gives}"

    return chart("Does the pump give what the engine takes?", draw)


def _rpm(engine_speed: Any) -> FloatArray:
    return np.asarray(engine_speed, dtype=np.float64) * 60 / (2 * np.pi)


def _columns(values: Any) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    return array if array.ndim == 2 else array[:, None]


def _of_draws(kind: str, values: Any, system: System) -> str:
    low, middle, high = np.nanquantile(values, (0.025, 0.5, 0.975))
    return show(kind, float(middle), float(low), float(high), system=system)


def _on_axis(scale: Scale, values: Any) -> str:
    """A figure with its doubt in the unit of the axis that it is read from."""
    low, middle, high = (float(scale(v)) for v in np.nanquantile(values, (0.025, 0.5, 0.975)))
    said, least, most = stepped(middle, low, high)
    return f"about {said} {scale.label}, {least} to {most}"


def band(axes: Axes, x: Any, y: Any, label: str, index: int) -> None:
    """Median line and 95 % band; lines and hatching tell them apart, colour does not."""
    low, mid, high = np.nanquantile(_columns(y), (0.025, 0.5, 0.975), axis=1)
    axes.fill_between(
        x, low, high, facecolor=PALE if index == 0 else "none", edgecolor=INK if index else PALE,
        alpha=0.7, lw=0.4 if index else 0, hatch=HATCHES[index % 3],
    )  # fmt: skip
    axes.plot(x, mid, color=INK, lw=2, ls=LINES[index % 3], label=label)


def chart(title: str, draw: Callable[[Axes], str], *, speed: bool = True) -> Chart:
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    settings: Any = {
        "svg.fonttype": "none", "svg.hashsalt": title, "font.family": "sans-serif",
        "font.size": 10.5, "axes.edgecolor": INK, "axes.labelcolor": INK, "text.color": INK,
        "xtick.color": INK, "ytick.color": INK, "axes.spines.top": False,
        "axes.spines.right": False, "hatch.linewidth": 0.4,
    }  # fmt: skip
    with rc_context(settings):
        figure = Figure(figsize=(5.4, 3.7), layout="constrained")
        axes = figure.add_subplot()
        words = draw(axes)
        if speed:
            axes.set_xlabel("engine speed, rpm")
        axes.grid(color=PALE, lw=0.4)
        axes.set_axisbelow(True)
        axes.legend(frameon=False, fontsize=9.5)
        out = io.StringIO()
        figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    svg = METADATA.sub("", out.getvalue())
    svg = svg[svg.index("<svg") :]
    for colour, name in PAGE_COLOURS.items():
        svg = svg.replace(colour, name)
    return Chart(title, svg, words)
