"""Results of the ride room, fourth part: toe, caster and thrust as measured, before and after.

"Now" is what was read with the parts that are fitted now, else what the geometry makes of the
reading before. Curves of stiff links are behind the latter: bushes' give is left out.
"""

from __future__ import annotations

from collections.abc import Callable

from drybuild.findings import Source
from drybuild.systems.ride import results_inputs as given
from drybuild.systems.ride import toe
from drybuild.systems.ride.results import GEOMETRY, room
from drybuild.values import Array

STRING = Source("string method of workshop practice", how="practice")
GAUGE = Source("toe gauge method of workshop practice", how="practice")
PLATES = Source("turn plate method, rotation about a leaning axis", how="computed")

def toe_by_string(side: float) -> Callable[..., Array]:
    """Toe of one wheel by its string; the strings' lean counts the other way on the right."""

    def of(*, front: Array, rear: Array, over: Array, lean: Array | None) -> Array:
        return toe.toe_by_string(
            front_gap=front, rear_gap=rear, over=over, lean=side * given.or_zero(lean)
        )

    return of


def toe_by_gauge(*, front: Array, rear: Array, over: Array) -> Array:
    """Toe of one wheel by the gauge, half of the total: the steering is taken as centred."""
    return 0.5 * toe.toe_by_gauge(front=front, rear=rear, over=over)


def caster_after(
    *, found: Array, pitch: Array | None, set_by: Array | None, set_by_found: Array | None
) -> Array:
    """Caster worked out from that as found, body pitch and adjuster."""
    return toe.caster_with_pitch(
        found=found, pitch=given.or_zero(pitch),
        set_by=given.or_zero(set_by) - given.or_zero(set_by_found),
    )  # fmt: skip


def track_angle(*, left: Array, right: Array, track_width: Array) -> Array:
    """Set-back as an angle."""
    return toe.set_back(left=left, right=right, track_width=track_width)


def _strings(ending: str) -> None:
    hubs = {
        f"{axle}_{side}": f"corner.{axle}.{side}.strings{ending}.hub"
        for axle in ("front", "rear")
        for side in ("left", "right")
    }
    room.result(
        f"ride.string_lean{ending}", of=toe.string_lean, kind="angle",
        needs={**hubs, "wheelbase": "~car.wheelbase"},
        formula="ψ = atan(((right − left)/2 front − rear)/wheelbase), hub gaps", source=STRING,
    )  # fmt: skip
    # One result for either side: the other side's gaps would turn its sign, so each has its own.
    for side, sign in (("left", 1.0), ("right", -1.0)):
        for axle in ("front", "rear"):
            at = f"corner.{axle}.{side}.strings{ending}"
            room.result(
                f"ride.toe_by_string{ending}_{axle}_{side}", of=toe_by_string(sign), kind="angle",
                needs={
                    "front": f"{at}.front", "rear": f"{at}.rear", "over": f"{at}.over",
                    "lean": f"?ride.string_lean{ending}",
                },
                formula="asin((front gap − rear gap)/diameter) ± lean of the strings",
                source=STRING,
            )  # fmt: skip
    gauge = f"axle.{{axle}}.toe_gauge{ending}"
    room.result(
        f"ride.toe_by_gauge{ending}", of=toe_by_gauge, per="axle", kind="angle",
        needs={"front": f"{gauge}.front", "rear": f"{gauge}.rear", "over": f"{gauge}.over"},
        formula="asin((rear − front)/diameter)/2, steering centred", source=GAUGE,
    )  # fmt: skip
    plates = f"corner.{{corner}}.turn_plates{ending}"
    room.result(
        f"ride.caster_by_plates{ending}", of=toe.caster_by_plates, per="corner", kind="angle",
        needs={
            "camber_in": f"{plates}.camber_in", "camber_out": f"{plates}.camber_out",
            "steer": f"{plates}.steer",
        },
        formula="atan((tan γ_out − tan γ_in)/(2·sin δ))", source=PLATES,
        valid={"steer": (0.17, 0.53)},
    )  # fmt: skip


def string_address(ending: str) -> str:
    """Address of the toe by strings for any corner."""
    return f"ride.toe_by_string{ending}_{{axle}}_{{side}}"


def _now() -> None:
    toes = f"|{string_address('_now')}|ride.toe_by_gauge_now.{{axle}}|ride.toe.{{corner}}"
    for name, chain, words in (
        ("camber_set", "corner.{corner}.camber_now|ride.camber.{corner}", "camber"),
        ("toe_set", "corner.{corner}.toe_now" + toes, "toe"),
    ):
        room.result(
            f"ride.{name}", of=given.itself, per="corner", kind="angle", needs={"value": chain},
            formula=f"{words} as measured now; else worked out from that as found",
            source=GEOMETRY,
        )  # fmt: skip
    room.result(
        "ride.caster_worked_out", of=caster_after, per="corner", kind="angle",
        needs={
            "found": "corner.{corner}.caster|ride.caster_by_plates.{corner}",
            "pitch": "?ride.body_pitch", "set_by": "?arm.{corner}.caster_change",
            "set_by_found": "?base:arm.{corner}.caster_change",
        },
        formula="as found + body pitch + what the adjuster adds", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "ride.caster_set", of=given.itself, per="corner", kind="angle",
        needs={
            "value": "corner.{corner}.caster_now|ride.caster_by_plates_now.{corner}"
            "|ride.caster_worked_out.{corner}"
        },
        formula="caster as measured now; else worked out from that as found", source=GEOMETRY,
    )  # fmt: skip


def _whole() -> None:
    def sides(name: str) -> dict[str, str]:
        return {side: f"ride.{name}.{{axle}}.{side}" for side in ("left", "right")}

    room.result(
        "ride.total_toe", of=toe.total_toe, per="axle", kind="angle", needs=sides("toe_set"),
        formula="left + right", source=GEOMETRY,
    )  # fmt: skip
    for name in ("camber", "caster"):
        room.result(
            f"ride.cross_{name}", of=toe.cross, per="axle", kind="angle",
            needs=sides(f"{name}_set"), formula="left − right", source=GEOMETRY,
        )  # fmt: skip
    room.result(
        "ride.caster_mean", of=given.mean_of, per="axle", kind="angle", needs=sides("caster_set"),
        formula="mean of both sides", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "ride.thrust_angle", of=toe.thrust_angle, kind="angle",
        needs={side: f"ride.toe_set.rear.{side}" for side in ("left", "right")},
        formula="(toe left − toe right)/2 of the rear wheels, + to the right", source=GEOMETRY,
    )  # fmt: skip
    room.result(
        "ride.set_back", of=track_angle, kind="angle",
        needs={
            "left": "car.wheelbase_left", "right": "car.wheelbase_right",
            "track_width": "~corners.track_width.front",
        },
        formula="atan((wheelbase left − right)/track)", source=GEOMETRY,
    )  # fmt: skip


for _ending in ("", "_now"):
    _strings(_ending)
_now()
_whole()
