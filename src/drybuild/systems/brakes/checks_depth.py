"""Checks of the caliper's outline in the wheel, of fade, and of what the discs' faces take up."""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import (
    LEFT,
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    FormulaRefused,
    Room,
    Source,
    not_above,
)
from drybuild.systems.brakes.checks import HOT, HURT
from drybuild.systems.brakes.formulas import swept
from drybuild.systems.brakes.results import GEOMETRY
from drybuild.systems.brakes.results_depth import Fade
from drybuild.values import Array

R13H_FADE = Source("UN R13-H", edition="01 series", clause="annex 3, 1.5 and 2", how="memory")
HOT_SHARE = 0.60
"""Hot braking at least 60 % of that cold at the same pedal (type-I test, from memory)."""

FACE_HEAT = 1.25
"""Heat per swept area against as found, up to which pads of the same kind are kept (practice)."""


def template(
    *, caliper: Any, barrel: Any, spacer: Array | None, rise: Array | None
) -> Any:
    """Barrel over caliper along the axle, the caliper grown with its heat, the wheel cold."""
    if caliper is None:
        return NOT_APPLICABLE
    if barrel is None:
        raise FormulaRefused("the inner outline of the wheel's barrel")
    if rise is None:
        raise FormulaRefused("how hot the caliper gets")
    out = np.asarray(0.0 if spacer is None else spacer)
    begins, ends = barrel.x[0] + out.max(), barrel.x[-1] + out.min()
    at = np.unique(np.concatenate([caliper.x, barrel.x + np.median(out), [begins, ends]]))
    at = at[(at >= max(caliper.x[0], begins)) & (at <= min(caliper.x[-1], ends))]
    if at.size == 0:
        raise FormulaRefused("outlines of caliper and barrel that lie over each other")
    place = at[:, None]
    outline = _rows(caliper.at(place))
    growth = swept.heat_growth(size=outline, rise=rise, expansion=swept.ALUMINIUM_EXPANSION)
    wheel = _rows(barrel.at(place - out))
    slack = swept.template_gap(barrel=wheel, caliper=outline, caliper_growth=growth)
    return Along(slack=np.asarray(slack), at=at, kind="length")


def _rows(found: Any) -> Any:
    array = np.asarray(found, dtype=np.float64)
    return array if array.ndim == 2 else array[:, None]


def fade_slack(*, fade: Fade | None) -> Any:
    """Friction kept over the least, worst stop of the row."""
    if fade is None:
        return NOT_APPLICABLE
    kept = np.asarray(fade.kept)
    return Along(
        slack=kept - HOT_SHARE, at=np.asarray(fade.stop), kind="number", found=kept, low=HOT_SHARE
    )


def face_heat(*, pad_area: Array | None, now: Array | None, found: Array | None) -> Any:
    """A quarter more heat per swept area than as found, less that now; the pad area only asks."""
    if pad_area is None:
        return NOT_APPLICABLE
    if now is None or found is None:
        raise FormulaRefused("disc diameter and pad height, now and as found")
    return FACE_HEAT - _face_share(now, found)


def _face_share(now: Array, found: Array) -> Array:
    return now / np.asarray(found)


def register(room: Room) -> None:
    """Offer the checks."""
    room.check(
        "brakes.caliper_template", title="caliper's outline inside the barrel, hot", per="corner",
        between=LEFT,
        kind="length", slack=template,
        needs={
            "caliper": "?caliper.{corner}.profile", "barrel": "?wheel.{corner}.barrel_profile",
            "spacer": "?corners.spacer_thickness.{corner}",
            "rise": "~?brakes.caliper_rise.{corner}",
        },
        # Stuck-on balance weights and the flex of wheel and hub in a bend.
        gap_wanted=0.003, consequence="injury", stops=("move", "full load"), source=GEOMETRY,
        formula="barrel − caliper·(1 + α·ΔT), worst along the axle",
        pose="wheel cold, caliper hot, any turn of the wheel, where both outlines were taken; "
        "stuck-on weights come off this room",
        when_short="the rim's barrel meets the caliper", safety=HURT,
        do="try the template in the wheel; another wheel, or a spacer if thread, arch and law "
        "allow it",
    )  # fmt: skip
    room.check(
        "brakes.fade", title="friction kept when hot", per="axle", kind="ratio", slack=fade_slack,
        share_of="the friction at 100 °C",
        needs={"fade": "?brakes.fade.{axle}"}, consequence="injury", stops=("compete",),
        source=R13H_FADE, formula="μ hot/μ at 100 °C − 0.60, worst stop of the row",
        pose="the stops of the event in a row, one temperature for a disc; the face is hotter",
        when_short="the pads lose too much of their bite in this row of stops",
        do="pads for more heat, more disc mass or cooling air", safety=f"{HURT} {HOT}",
    )  # fmt: skip
    room.check(
        "brakes.face_heat", title="heat that the discs' faces take up", per="axle", kind="ratio",
        between=not_above(_face_share, FACE_HEAT), share_of="the heat as found",
        slack=face_heat,
        needs={
            "pad_area": "?pads.{axle}.pad_area", "now": "?brakes.heat_per_area.{axle}",
            "found": "?base:brakes.heat_per_area.{axle}",
        },
        consequence="damage", stops=("compete",), source=PRACTICE,
        formula="1.25 − heat per swept area now/as found",
        pose="one stop of the event, at the balance of each",
        when_short="each face takes up clearly more than before: pads glaze and discs crack",
        do="a larger disc or a taller pad",
    )  # fmt: skip
