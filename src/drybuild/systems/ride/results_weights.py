"""Results of the ride room, fifth part: load transfer by its parts, and corner weights."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.systems.ride import corner_weights, roll, stacks, transfer
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride.results import GEOMETRY, STATICS, room
from drybuild.systems.ride.results_roll import MILLIKEN
from drybuild.values import Array

CORNERS_IN_ORDER = ("front.left", "front.right", "rear.left", "rear.right")


def front_share_change(*, now: Array, found: Array) -> Array:
    """Change of the front's share of the load transfer, −1..1."""
    return transfer.share_change(front_share=now, front_share_found=found)


@dataclass(frozen=True)
class CornerSetting:
    """Corner weights as they stand, and what the perches must do; N and m, (4,) or (4, N).

    Front left, front right, rear left, rear right. perch: + raises the spring's lower seat.
    """

    loads: Array
    share: Array
    perch: Array | None
    load_wanted: Array | None


def _stacked(four: list[Any], ndim: int = 1) -> Any:
    """Four figures as (4,), or (4, 1) or (4, N) where draws are behind others of them."""
    found = np.stack(np.broadcast_arrays(*four))
    return found if found.ndim >= ndim else found[:, None]


def _four(taken: dict[str, Any], name: str, ndim: int = 1) -> Any:
    return _stacked([taken[f"{name}_{i}"] for i in range(4)], ndim)


def corner_setting(
    *, wheelbase: Array, front_track: Array, rear_track: Array, wanted: Array | None,
    drop_front: Array | None, drop_rear: Array | None, **taken: Any,
) -> CornerSetting:  # fmt: skip
    """Loads now: weighed now, else as found moved by the perches; and the way to those wanted."""
    tracks = {"front_track": front_track, "rear_track": rear_track}
    ratio = _four(taken, "ratio")
    rates = {"wheel_rates": _four(taken, "rate"), "tyre_rates": _four(taken, "tyre")}
    if any(taken[f"now_{i}"] is None for i in range(4)):
        moves = [
            given.or_zero(taken[f"perch_{i}"]) - given.or_zero(taken[f"perch_found_{i}"])
            for i in range(4)
        ]
        moved = _stacked(moves, ratio.ndim)
        change = corner_weights.load_change(
            lift=moved / ratio, **rates, **tracks, wheelbase=wheelbase
        )
        loads = _four(taken, "found", np.ndim(change)) * given.G + change
    else:
        loads = _four(taken, "now") * given.G
    share = corner_weights.cross_share(fl=loads[0], fr=loads[1], rl=loads[2], rr=loads[3])
    if wanted is None:
        return CornerSetting(loads, share, None, None)
    aim = corner_weights.warp_load(loads=loads, cross_wanted=wanted, **tracks)
    rises = [
        0.0 if goal is None else taken[f"drop_{i}"] - goal
        for i, goal in enumerate((drop_front, drop_front, drop_rear, drop_rear))
    ]
    rise = _stacked(rises, np.asarray(aim).ndim)
    lift = corner_weights.perch_lift(load_wanted=aim, body_rise=rise, **rates)
    perch = stacks.perch_for_height(rise=lift, motion_ratio=ratio)
    return CornerSetting(loads, share, perch, loads + aim)


def setting_share(*, setting: CornerSetting) -> Array:
    """Cross share as the car stands, 0..1."""
    return setting.share


def _setting_needs() -> dict[str, str]:
    needs = {
        "wheelbase": "~car.wheelbase", "front_track": "~corners.track_width.front",
        "rear_track": "~corners.track_width.rear", "wanted": "?goal.cross_share",
        "drop_front": "?goal.drop_front", "drop_rear": "?goal.drop_rear",
    }  # fmt: skip
    for i, corner in enumerate(CORNERS_IN_ORDER):
        axle = corner.split(".")[0]
        needs |= {
            f"found_{i}": f"corner.{corner}.load_kerb",
            f"now_{i}": f"?corner.{corner}.load_now",
            f"rate_{i}": f"ride.wheel_rate.{corner}",
            f"tyre_{i}": f"~corners.tyre_rate.{corner}",
            f"ratio_{i}": f"axle.{axle}.motion_ratio|ride.motion_ratio_measured.{axle}",
            f"perch_{i}": f"?damper.{corner}.perch_raise",
            f"perch_found_{i}": f"?base:damper.{corner}.perch_raise",
            f"drop_{i}": f"~ride.ride_height_drop.{corner}",
        }
    return needs


def _transfer() -> None:
    room.result(
        "ride.springs_stiffness", of=roll.spring_roll_stiffness, per="axle",
        kind="roll_stiffness",
        needs={
            "wheel_rate": "ride.axle_wheel_rate.{axle}",
            "track_width": "~corners.track_width.{axle}",
        },
        formula="K = k_w·t²/2", source=MILLIKEN,
    )  # fmt: skip
    room.result(
        "ride.transfer_parts", of=transfer.transfer_parts, per="axle", kind="object",
        needs={
            "gradient": "ride.roll_gradient",
            "axle_stiffness": "ride.roll_stiffness.{axle}",
            "springs": "ride.springs_stiffness.{axle}",
            "bar": "ride.no_bar.{axle}|ride.bar_stiffness.{axle}",
            "axle_sprung_mass": "~ride.axle_sprung_mass.{axle}",
            "roll_centre_height": "ride.roll_centre_height.{axle}",
            "axle_unsprung_mass": "~ride.axle_unsprung_mass.{axle}",
            "unsprung_height": "~ride.axle_loaded_radius.{axle}",
            "track_width": "~corners.track_width.{axle}",
        },
        formula="(roll gradient·K by springs and bar, m_s·z_rc, m_u·r)/t, N per m/s²",
        source=MILLIKEN,
    )  # fmt: skip
    room.result(
        "ride.inner_wheel_load", of=transfer.inner_wheel_load, per="axle", kind="force",
        needs={
            "axle_load": "~ride.axle_load.{axle}", "transfer": "ride.load_transfer.{axle}",
            "acceleration": "goal.cornering",
        },
        formula="N/2 − transfer·a; below 0 the wheel has lifted", source=MILLIKEN,
    )  # fmt: skip
    room.result(
        "ride.front_share_change", of=front_share_change, kind="number",
        needs={"now": "ride.front_transfer_share", "found": "base:ride.front_transfer_share"},
        formula="front share now − as found: a comparison, not how the car balances",
        source=MILLIKEN,
    )  # fmt: skip


def _weights() -> None:
    room.result(
        "ride.corner_setting", of=corner_setting, kind="object", needs=_setting_needs(),
        formula="ΔN from K·(lift − B·q), B'·ΔN = 0; perch = MR·lift; links of the bars off",
        source=STATICS,
    )  # fmt: skip
    room.result(
        "ride.cross_share", of=setting_share, kind="fraction",
        needs={"setting": "ride.corner_setting"},
        formula="(front left + rear right)/all", source=GEOMETRY,
    )  # fmt: skip


_transfer()
_weights()
