"""Charts of breathing and fuel as SVG: medians with their 95 % band, one question a chart.

matplotlib draws them; it comes with ``pip install "drybuild[page]"``.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from drybuild.examine import Examination
from drybuild.values import to_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, PALE, MARK = "#26343b", "#b9c4c6", "#9a4f1c"
HATCHES = ("", "///")
LINES = ("-", "--", ":")


@dataclass(frozen=True)
class Chart:
    """A drawn chart: its question as title, the SVG, and the same in words."""

    title: str
    svg: str
    words: str


class PageExtraMissing(ImportError):
    """Raised with a clear message when the drawing library is not installed."""


def charts(examination: Examination) -> list[Chart]:
    """All charts that the build's facts allow."""
    _need_matplotlib()
    made = (_torque(examination), _compressor(examination), _rail(examination), _duty(examination))
    return [chart for chart in made if chart is not None]


def _need_matplotlib() -> None:
    try:
        import matplotlib  # noqa: F401
    except ImportError:
        raise PageExtraMissing(
            'the page needs its drawing library: pip install "drybuild[page]"'
        ) from None


def _value(examination: Examination, address: str) -> Any:
    outcome = examination.evaluation.get(address)
    return outcome.value if outcome.known else None


def _torque(examination: Examination) -> Chart | None:
    rows = [
        (blend, _value(examination, f"breathing.power.{blend}"))
        for blend in examination.state.build.blends
    ]
    rows = [(blend, curve) for blend, curve in rows if curve is not None]
    if not rows:
        return None

    def draw(axes: Axes) -> str:
        said = []
        for index, (blend, curve) in enumerate(rows):
            rpm = _rpm(curve.engine_speed)
            peak = _band(axes, rpm, curve.torque, blend, index)
            said.append(f"{blend}: about {peak:.0f} N·m at most")
        axes.set_ylabel("torque at the crank, N·m")
        return "; ".join(said)

    return _chart("How much torque, at which speed?", draw)


def _compressor(examination: Examination) -> Chart | None:
    run = _value(examination, "breathing.operating")
    if run is None or not np.isfinite(run.corrected_flow).any():
        return None

    def draw(axes: Axes) -> str:
        flow, ratio = run.corrected_flow, run.pressure_ratio
        f, r = np.nanmedian(flow, axis=1), np.nanmedian(ratio, axis=1)
        flo, fhi = np.nanquantile(flow, (0.025, 0.975), axis=1)
        rlo, rhi = np.nanquantile(ratio, (0.025, 0.975), axis=1)
        axes.fill(
            np.concatenate([flo, fhi[::-1]]), np.concatenate([rhi, rlo[::-1]]),
            color=PALE, lw=0, label="95 in 100",
        )  # fmt: skip
        axes.plot(f, r, color=INK, lw=1.8, label="full throttle, from low to high speed")
        order = np.argsort(r)
        surge, choke = np.nanmedian(run.surge_flow, axis=1), np.nanmedian(run.choke_flow, axis=1)
        axes.plot(surge[order], r[order], color=MARK, ls="--", lw=1.2, label="surge at that ratio")
        axes.plot(choke[order], r[order], color=MARK, ls=":", lw=1.2, label="choke at that ratio")
        axes.set_xlabel("corrected flow, kg/s (the map's own reference)")
        axes.set_ylabel("pressure ratio")
        return f"the highest pressure ratio is about {np.nanmax(r):.2f}"

    return _chart("Where on the compressor's map does it run?", draw, speed=False)


def _rail(examination: Examination) -> Chart | None:
    rail = _value(examination, "fuel.rail")
    if rail is None:
        return None

    def draw(axes: Axes) -> str:
        rpm = _rpm(rail.engine_speed)
        bar = to_unit("pressure_gauge", 1.0, "bar gauge")
        _band(axes, rpm, bar * np.asarray(rail.pressure), "rail", 0)
        manifold = bar * np.broadcast_to(rail.manifold, np.shape(rail.pressure))
        axes.plot(
            rpm, np.nanmedian(manifold, axis=-1), color=MARK, ls="--", lw=1.2, label="manifold"
        )
        axes.set_ylabel("pressure, bar gauge")
        return "the distance between the two lines is what the injectors see"

    return _chart("What pressure does the regulator hold, over the manifold's?", draw)


def _duty(examination: Examination) -> Chart | None:
    rows = []
    for blend in examination.state.build.blends:
        found = _value(examination, f"fuel.duty.{blend}")
        duty = getattr(found, "duty", found)
        speed = getattr(found, "engine_speed", None)
        if speed is None:
            run = _value(examination, "breathing.operating")
            speed = None if run is None else run.engine_speed
        if duty is not None and speed is not None and np.ndim(duty) == 2:
            rows.append((blend, speed, duty))
    if not rows:
        return None

    def draw(axes: Axes) -> str:
        said = []
        for index, (blend, speed, duty) in enumerate(rows):
            peak = _band(axes, _rpm(speed), 100 * duty, blend, index)
            said.append(f"{blend}: about {peak:.0f} % at most")
        axes.axhline(85, color=MARK, ls=":", lw=1.2, label="85 %, common practice")
        axes.set_ylabel("injector duty, %")
        axes.set_ylim(bottom=0)
        return "; ".join(said)

    return _chart("How long are the injectors open?", draw)


def _rpm(engine_speed: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.asarray(engine_speed) * 60 / (2 * np.pi)


def _band(axes: Axes, x: Any, y: Any, label: str, index: int) -> float:
    """Median line and 95 % band; returns the highest median."""
    y = np.broadcast_to(y, (len(x), np.shape(y)[-1]))
    low, mid, high = np.nanquantile(y, (0.025, 0.5, 0.975), axis=1)
    axes.fill_between(
        x, low, high, facecolor=PALE if index == 0 else "none", edgecolor=INK,
        alpha=0.6, lw=0.4 if index else 0, hatch=HATCHES[index % 2],
    )  # fmt: skip
    axes.plot(x, mid, color=INK, lw=1.8, ls=LINES[index % 3], label=label)
    return float(np.nanmax(mid))


def _chart(title: str, draw: Any, *, speed: bool = True) -> Chart:
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    settings: Any = {
        "svg.fonttype": "none", "svg.hashsalt": "drybuild", "font.family": "sans-serif",
        "font.size": 10, "axes.edgecolor": INK, "axes.labelcolor": INK, "text.color": INK,
        "xtick.color": INK, "ytick.color": INK, "axes.spines.top": False,
        "axes.spines.right": False, "hatch.linewidth": 0.4,
    }  # fmt: skip
    with rc_context(settings):
        figure = Figure(figsize=(6.4, 3.6), layout="constrained")
        axes = figure.add_subplot()
        words = draw(axes)
        if speed:
            axes.set_xlabel("engine speed, rpm")
        axes.grid(color=PALE, lw=0.4)
        axes.set_axisbelow(True)
        axes.legend(frameon=False, fontsize=9)
        out = io.StringIO()
        figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    svg = out.getvalue()
    return Chart(title, svg[svg.index("<svg") :], words)
