"""Which way another tyre grows, in words: to both sides alike, and upwards by its section ratio."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from drybuild.examine import Examination, Step
from drybuild.findings import SIDES
from drybuild.values import System, show

LEAST = 0.0005
"""m, of width: less is no other tyre."""

EACH_SIDE = (
    "A tyre grows to both sides of its middle alike, half of its width to each; its sidewall is as "
    "high as its section ratio of the marked width, so that a wider one of the same ratio is taller"
)
"""Why a gap loses less than a tyre gains in width."""


def grows_text(before: Examination, after: Examination, axle: str, system: System) -> str:
    """How much of another width comes to each side, and what of it to its height; empty where the
    tyre of that axle is as wide as before."""
    corner = f"{axle}.{SIDES[0]}"
    wider = _change(before, after, f"corners.section_width.{corner}")
    if wider is None or abs(wider) < LEAST:
        return ""
    taller = _change(before, after, f"corners.overall_diameter.{corner}")
    way, grows = ("wider", "grows") if wider > 0 else ("narrower", "shrinks")
    said = (
        f"on this rim the tyre is {_length(wider, system)} {way}: it {grows} by "
        f"{_length(wider / 2, system)} to each side"
    )
    if taller is None or abs(taller) < LEAST:
        return f"{said}, and is as high as before"
    up = "higher" if taller > 0 else "lower"
    return f"{said}, and its tread stands {_length(taller / 2, system)} {up}, by its section ratio"


def why_half(steps: Iterable[Step]) -> str:
    """``EACH_SIDE`` where the half width of a tyre is among the steps; else empty."""
    return EACH_SIDE if any(s.address.startswith("corners.half_width.") for s in steps) else ""


def _change(before: Examination, after: Examination, address: str) -> float | None:
    found = []
    for examination in (before, after):
        outcome = examination.evaluation.get(address)
        if not outcome.known or outcome.value is None:
            return None
        found.append(float(np.nanmedian(outcome.value)))
    return found[1] - found[0]


def _length(by: float, system: System) -> str:
    return show("length", round(abs(by), 4), system=system)
