"""Checks and records of the calibration: each mismatch names the uses that it stops.

None of these checks proposes a figure for a map. What a map asks for is its writer's business;
here it is only held against what is fitted and against ceilings that somebody has stated.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    FormulaRefused,
    Room,
    Source,
    inside,
    matches,
    not_above,
)
from drybuild.systems.calibration import formulas
from drybuild.values import Array

J1832 = Source("SAE J1832", clause="dynamic flow line: slope and offset", how="memory")
DEFINITION = Source("definition", how="computed")

WRITER = "The map's writer decides, on the dyno and from the record; this only compares."
FLOOD = (
    "Over-fuelled engines flood cylinders with petrol: it washes bores, can lock the engine and "
    "burns in the exhaust. Do not try a start to see."
)


AGREES = 0.05
DEAD_TIMES_AGREE = 0.15e-3
SIZES_AGREE = 0.03


def flow_slack(*, difference: Array) -> Array:
    """A twentieth less the mismatch."""
    return formulas.within(difference=difference, allowed=AGREES)


def dead_time_slack(*, fitted: Array, expected: Array) -> Array:
    """0.15 ms less the difference, s: about a tenth of the fuel of an idle pulse."""
    return formulas.within(
        difference=np.asarray(fitted) - expected, allowed=DEAD_TIMES_AGREE
    )


def housing_slack(*, error: Array) -> Array:
    """A twentieth less the error of the air flow."""
    return formulas.within(difference=error, allowed=AGREES)


def fuel_slack(*, used: bool | None, ethanol: Array, least: Array, most: Array) -> Any:
    """Ethanol of the blend inside what the map is made for."""
    if used is False:
        return NOT_APPLICABLE
    return formulas.inside(value=ethanol, low=least, high=most)


def same_word(*, fitted: str, expected: str) -> Any:
    """Whether the map expects what is fitted."""
    return matches(expected in (fitted, "either"))


def same_flag(*, fitted: bool | None, expected: bool | None) -> Any:
    """Whether the map watches or reads what is there. A car that never had it asks nothing."""
    if expected is None:
        if fitted:
            raise FormulaRefused("whether the map expects what is fitted")
        return NOT_APPLICABLE
    if expected and fitted is None:
        raise FormulaRefused("whether what the map expects is fitted")
    return matches(bool(fitted) == expected)


def same_presence(*, fitted: bool | None, expected: str | None) -> Any:
    """Whether what the map expects, "present" or "deleted", is what is fitted."""
    return same_flag(fitted=fitted, expected=None if expected is None else expected == "present")


def same_size(*, fitted: Array, expected: Array) -> Array:
    """3 % less the mismatch of a size or scale."""
    return formulas.within(
        difference=formulas.mismatch(fitted=fitted, expected=expected), allowed=SIZES_AGREE
    )


def more_than(*, have: Array, need: Array) -> Array:
    """What is there less what is needed."""
    return np.asarray(have) - need


def boost_slack(*, target: Array, ceiling: Array | None, goal: Array | None) -> Array:
    """The lower of the map's stated ceiling and the owner's goal, less the boost asked for."""
    return np.asarray(lowest_ceiling(ceiling, goal) - target)


def lowest_ceiling(ceiling: Array | None, goal: Array | None) -> Any:
    """Of the map's own and the owner's, whichever are stated."""
    stated = [np.asarray(x) for x in (ceiling, goal) if x is not None]
    if not stated:
        raise FormulaRefused("the map's boost ceiling or the goal's boost")
    return np.minimum(stated[0], stated[-1])


def first_map_slack(*, stage: str, ceiling: Array | None, final: Array | None) -> Any:
    """What a first map stays below the final one; concerns first maps only."""
    if stage != "first":
        return NOT_APPLICABLE
    if ceiling is None or final is None:
        raise FormulaRefused("the first map's ceiling or the final map's figure")
    return np.asarray(final) - ceiling


def _size_of(difference: Array) -> Any:
    return np.abs(np.asarray(difference))


def _size_of_error(error: Array) -> Any:
    return np.abs(np.asarray(error))


def _dead_times_apart(fitted: Array, expected: Array) -> Any:
    return np.abs(np.asarray(fitted) - expected)


def _sizes_apart(fitted: Array, expected: Array) -> Any:
    return np.abs(np.asarray(formulas.mismatch(fitted=fitted, expected=expected)))


def register(room: Room) -> None:
    """Offer the checks and records."""
    _fuel(room)
    _air(room)
    _limits(room)
    _equipment(room)
    _records(room)


def _fuel(room: Room) -> None:
    room.check(
        "calibration.injector_flow", title="injectors as the map expects", kind="ratio",
        between=not_above(_size_of, AGREES), share_of="the flow that the map expects",
        slack=flow_slack,
        needs={"difference": "calibration.flow_mismatch"},
        consequence="engine", stops=("run",), source=PRACTICE,
        formula="0.05 − |Q fitted/Q expected − 1|",
        pose="at the pressure that the map reckons with, same liquid",
        when_short="the map meters fuel for other injectors",
        do="flash a map written for these injectors before it may run, or fit those it expects",
        safety=f"{FLOOD} {WRITER}",
    )  # fmt: skip
    room.check(
        "calibration.injector_dead_time", title="injector dead time as the map expects",
        between=not_above(_dead_times_apart, DEAD_TIMES_AGREE),
        kind="time", slack=dead_time_slack,
        needs={"fitted": "calibration.dead_time", "expected": "map.dead_time"},
        consequence="engine", stops=("run",), source=J1832,
        formula="0.15 ms − |dead time fitted − expected|", pose="14 V",
        when_short="short pulses carry clearly more or less fuel than the map believes",
        do="a map with the dead time of the fitted injectors", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.fuel_range", title="fuel as the map expects", per="blend", kind="fraction",
        between=inside("ethanol", "least", "most"), share_of="the fuel, by volume",
        slack=fuel_slack,
        needs={
            "used": "?blend.{blend}.used",
            "ethanol": "blend.{blend}.ethanol",
            "least": "map.ethanol_least",
            "most": "map.ethanol_most",
        },
        consequence="engine", stops=("run",), source=PRACTICE,
        formula="ethanol to the nearer end of the map's range",
        pose="any fill of this fuel, winter blends included",
        when_short="this fuel can hold more or less ethanol than the map is made for",
        do="a map that covers what is sold as this fuel, or keep this fuel out of the tank",
        safety=f"Too lean for the fuel burns pistons at load. {WRITER}",
    )  # fmt: skip
    room.check(
        "calibration.rail_pressure", title="rail pressure as the map expects", kind="ratio",
        between=not_above(_size_of, AGREES), share_of="the pressure that the map expects",
        slack=flow_slack, needs={"difference": "calibration.rail_mismatch"},
        consequence="engine", stops=("run",), source=PRACTICE,
        formula="0.05 − |p fitted/p expected − 1|", pose="vacuum line off, pump running",
        when_short="the rail holds another pressure than the map reckons with",
        do="set the regulator to the map's figure, or a map for this pressure",
        safety="Fuel lines stay under pressure: relieve them before opening any joint.",
    )  # fmt: skip
    room.check(
        "calibration.ethanol_sensor", title="ethanol sensor as the map expects", kind="match",
        slack=same_flag,
        needs={"fitted": "?ethanol_sensor.present", "expected": "?map.ethanol_sensor"},
        consequence="engine", stops=("run",), source=DEFINITION,
        formula="fitted as expected", pose="as fitted",
        when_short="the map reads an ethanol sensor that is not there, or ignores one that is",
        do="fit the sensor and flash the map that reads it, both or neither", safety=WRITER,
    )  # fmt: skip


def _air(room: Room) -> None:
    room.check(
        "calibration.air_meter_housing", title="air meter housing as the map expects", kind="ratio",
        between=not_above(_size_of_error, AGREES), share_of="the air that the map reckons",
        slack=housing_slack, needs={"error": "calibration.housing_error"},
        consequence="engine", stops=("run",), source=Source("continuity", how="computed"),
        formula="0.05 − |(d fitted/d expected)² − 1|", pose="steady flow",
        when_short="the map reckons the air of another housing: the engine runs lean or rich",
        do="a map with this housing's scale, or the housing that it expects", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.air_meter_span", title="air meter table long enough", kind="flow_mass",
        between=not_above("need", "have"),
        slack=more_than,
        needs={"have": "map.air_meter_span", "need": "breathing.peak_air_flow"},
        # Pulsing flow peaks above the mean that is reckoned.
        gap_wanted=0.010, consequence="engine", stops=("full load",), source=PRACTICE,
        formula="end of the map's table − greatest air flow", pose="full load at the site",
        when_short="above the table's end the map does not see more air and runs lean",
        do="a map with a longer table, or less air", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.pressure_sensor_span", title="pressure sensor reads the overshoot",
        between=not_above("need", "have"),
        kind="pressure_absolute", slack=more_than,
        needs={
            "have": "pressure_sensor.span",
            "need": "breathing.peak_manifold_pressure_overshoot",
        },
        gap_wanted=5e3, consequence="engine", stops=("full load",), source=PRACTICE,
        formula="top of the sensor's scale − greatest manifold pressure",
        pose="full load at the site, boost at its overshoot",
        when_short="above the top of its scale nobody sees the boost, nor can anything cut it",
        do="a sensor with a larger span and the map that knows it", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.pressure_sensor_scale", title="pressure sensor as the map expects",
        between=not_above(_sizes_apart, SIZES_AGREE), share_of="the span that the map expects",
        kind="ratio", slack=same_size,
        needs={"fitted": "pressure_sensor.span", "expected": "map.pressure_sensor_span"},
        consequence="engine", stops=("run",), source=DEFINITION,
        formula="0.03 − |span fitted/expected − 1|", pose="as fitted",
        when_short="the map reads every pressure wrongly",
        do="the map for this sensor, or the sensor that the map expects", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.throttle", title="throttle as the map expects", kind="ratio", slack=same_size,
        between=not_above(_sizes_apart, SIZES_AGREE), share_of="the bore that the map expects",
        needs={"fitted": "throttle.bore", "expected": "map.throttle_bore"},
        consequence="damage", stops=("creep",), source=DEFINITION,
        formula="0.03 − |bore fitted/expected − 1|", pose="as fitted",
        when_short="idle and small openings do not come out as the map believes",
        do="a map for this throttle", safety="A throttle that hangs or surges can run off with "
        "the car: engine off and on, hand on the key, before it moves.",
    )  # fmt: skip


def _limits(room: Room) -> None:
    room.check(
        "calibration.boost_target", title="boost asked for, against its ceilings",
        between=not_above("target", lowest_ceiling),
        kind="pressure_gauge", slack=boost_slack,
        needs={
            "target": "map.boost_target",
            "ceiling": "?map.boost_ceiling",
            "goal": "?goal.boost",
        },
        # Written as 0.05 bar over the ceiling at most: control scatter, not a licence.
        gap_wanted=-5e3, consequence="engine", stops=("full load",), source=PRACTICE,
        formula="the lower of the map's ceiling and the goal − boost asked for",
        pose="full load",
        when_short="the map asks for more boost than its ceiling, or the goal of the build, states",
        do="the map's writer lowers it, or the goal is checked anew at that boost",
        safety=f"{WRITER} Nobody raises boost on the word of this tool.",
    )  # fmt: skip
    room.check(
        "calibration.first_boost", title="first map cautious in boost", kind="pressure_gauge",
        between=not_above("ceiling", "final"),
        slack=first_map_slack,
        needs={
            "stage": "map.stage",
            "ceiling": "?map.boost_ceiling",
            "final": "?map.final_boost",
        },
        gap_wanted=20e3, consequence="engine", stops=("full load",), source=PRACTICE,
        formula="final map's boost − first map's ceiling",
        pose="first map, before its logs are read",
        when_short="the first map is not clearly more cautious than the final one",
        do="the map's writer states a lower ceiling for the first map", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.first_advance", title="first map cautious in advance", kind="angle",
        between=not_above("ceiling", "final"),
        slack=first_map_slack,
        needs={
            "stage": "map.stage",
            "ceiling": "?map.advance_ceiling",
            "final": "?map.final_advance",
        },
        gap_wanted=float(np.radians(1.0)), consequence="engine", stops=("full load",),
        source=PRACTICE, formula="final map's advance − first map's ceiling",
        pose="first map, before its logs are read",
        when_short="the first map is not clearly more cautious than the final one",
        do="the map's writer states a lower ceiling for the first map", safety=WRITER,
    )  # fmt: skip
    room.check(
        "calibration.rev_limit", title="map's rev limit against what the engine stands",
        between=not_above("need", "have"),
        kind="rotation_speed", slack=more_than,
        needs={"have": "engine_limits.engine_speed|engine.rev_limit", "need": "map.rev_limit"},
        consequence="engine", stops=("full load",), source=PRACTICE,
        formula="engine's stated limit − rev limit of the map", pose="as flashed",
        when_short="the map lets the engine turn faster than it is known to stand",
        do="the map's writer lowers the limit", safety=WRITER,
    )  # fmt: skip


def _equipment(room: Room) -> None:
    room.check(
        "calibration.flaps", title="charge-motion flaps as the map expects", kind="match",
        slack=same_presence,
        needs={"fitted": "?flaps.present", "expected": "?map.flaps"},
        consequence="damage", stops=("full load",), source=DEFINITION,
        formula="fitted as expected", pose="as fitted",
        when_short="the map meters and times for flaps that are not there, or leaves them standing",
        do="a map that knows whether the flaps are there",
        safety=f"{WRITER} Whether flaps may go is a matter of law, judged there.",
    )  # fmt: skip
    room.check(
        "calibration.catalyst_monitor", title="catalyst watched by the map", kind="match",
        slack=same_flag,
        needs={"fitted": "?catalyst.present", "expected": "?map.catalyst_monitor"},
        consequence="law", stops=("drive",), source=Source(
            "UN R83", clause="on-board diagnostics, catalyst monitoring", how="memory"
        ),
        formula="watched as fitted", pose="as flashed",
        when_short="the map does not watch the catalyst, or watches one that is not there",
        do="a map with the monitor on and the catalyst fitted",
        safety="A switched-off monitor is an offence on public roads in many places.",
    )  # fmt: skip
    room.check(
        "calibration.relief_valve", title="relief valve as the map expects", kind="match",
        slack=same_word,
        needs={"fitted": "relief_valve.discharge", "expected": "map.relief_valve"},
        consequence="damage", stops=("drive",), source=PRACTICE,
        formula="discharge as expected", pose="throttle shut from boost",
        when_short="air that was metered is let out: rich and stumbling when the throttle shuts",
        do="a valve that returns the air to the intake, or a map that meters by pressure",
        safety="An engine that stalls when the throttle shuts takes the servo's vacuum with it.",
    )  # fmt: skip


def _records(room: Room) -> None:
    room.record(
        "calibration.flashed", title="map flashed and read back", changed=("map",),
        stops=("run",),
        do="flash with the battery on a charger; read back; note file name and checksum",
        safety="A flash that breaks off leaves the car standing: never on a weak battery.",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "calibration.first_start", title="log of the first start kept",
        changed=("map", "injectors", "pump", "regulator", "air_meter", "fuel_rail"),
        stops=("creep",),
        do="rail pressure before the first start; no leak; log lambda, trims and rail pressure "
        "from cold to warm idle; stop at once on a leak, a noise or lambda that does not come in",
        safety="Extinguisher at hand, nobody under the car, doors open; fuel leaks burn.",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "calibration.relearned", title="throttle and sensors relearned",
        changed=("map", "throttle", "air_meter", "pressure_sensor", "ethanol_sensor"),
        stops=("creep",), evidence=("value", "name"),
        do="relearn as the vehicle maker describes; look that idle and readings at rest are right",
        source=PRACTICE,
    )  # fmt: skip
    room.record(
        "calibration.gentle_log", title="log of the first gentle drive read by the map's writer",
        changed=("map", "injectors", "turbo", "pump", "air_meter", "pressure_sensor"),
        stops=("full load",),
        do="a drive without boost, logged; the writer reads lambda, trims, pressure and knock "
        "and says in writing that full load may be tried",
        safety=WRITER, source=PRACTICE,
    )  # fmt: skip
