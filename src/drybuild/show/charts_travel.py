"""Camber and toe over wheel travel, front and rear, with their bands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drybuild.examine import Examination
from drybuild.findings import AXLES
from drybuild.show.charts import Chart, band, chart, known_value, scale_of
from drybuild.values import System, with_minus

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ASKED = {"camber": "How does camber go over travel?", "toe": "How does toe go over travel?"}


def travel_charts(examination: Examination, system: System) -> list[Chart]:
    """One chart an angle; none where the travel is not known."""
    curves = {a: known_value(examination, f"ride.travel_curves.{a}.left") for a in AXLES}
    known = {axle: found for axle, found in curves.items() if found is not None}
    made = []
    for angle, title in ASKED.items():
        rows = [(a, c.travel, getattr(c, angle)) for a, c in known.items() if c is not None]
        rows = [row for row in rows if row[2] is not None]
        if rows:
            made.append(_angle(angle, title, rows, system))
    return made


def _angle(angle: str, title: str, rows: list[tuple[str, Any, Any]], system: System) -> Chart:
    def draw(axes: Axes) -> str:
        said = []
        travel = scale_of("length", rows[0][1], system)
        degrees = scale_of("angle", rows[0][2], system)
        for index, (axle, z, y) in enumerate(rows):
            band(axes, travel(z), degrees(y), f"{axle} left", index)
            ends = degrees(y).mean(axis=1)
            said.append(
                with_minus(
                    f"{axle}: {ends[0]:.1f} {degrees.label} at full droop, "
                    f"{ends[-1]:.1f} at full bump"
                )
            )
        axes.set_xlabel(f"wheel travel from as found, {travel.label}, + bump")
        axes.set_ylabel(f"{angle}, {degrees.label}")
        return "; ".join(said)

    return chart(title, draw, speed=False)
