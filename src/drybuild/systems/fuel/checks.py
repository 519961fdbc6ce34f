"""Checks and records of the fuel room."""

from __future__ import annotations

from drybuild.findings import PRACTICE, Room, Source, inside, not_above, not_below
from drybuild.systems.fuel import checks_slack as slack
from drybuild.systems.fuel.results import BALANCE, DARCY, DOE, J1832, OCTANE, REGULATOR

FIRE = (
    "Fuel under pressure burns and goes through skin. Let the pressure off before any fitting is "
    "opened, battery earth off, air moving, no flame or spark, an extinguisher for liquids at "
    "hand. The parts' makers and the vehicle's maker decide; have the work seen by someone "
    "licensed."
)
LEAN = (
    "A lean engine under boost breaks within seconds. Let the calibrator decide on the dyno, and "
    "stop at once when the rail pressure falls against the manifold."
)
ETHANOL = Source(
    "DOE, Handbook for Handling, Storing, and Dispensing E85 (DOE/GO-102010-3073)",
    edition="2010", clause="materials section; maker's limit where stated", how="memory",
)  # fmt: skip
HOSE = Source("working pressure as the maker of the hose states it", how="practice")
CRANE = Source("Crane TP-410", clause="net positive suction head, example 7-32", how="read")
MAKER = Source("limit as its maker states it", how="practice")

WETTED = {
    "tank": "fuel tank", "pump": "fuel pump", "feed_line": "fuel feed line",
    "fuel_filter": "fuel filter", "fuel_rail": "fuel rail", "injectors": "injectors",
    "regulator": "pressure regulator", "return_line": "fuel return line",
    "ethanol_sensor": "ethanol sensor",
}  # fmt: skip
USED = {"used": "?blend.{blend}.used"}


def register(room: Room) -> None:
    """Offer the room's checks and records."""
    _injectors(room)
    _flows(room)
    _pressures(room)
    _fuels(room)
    _records(room)


def _injectors(room: Room) -> None:
    room.check(
        "fuel.injector_duty", title="injector duty at full load", per="blend", kind="fraction",
        share_of="the engine's cycle",
        slack=slack.injector_duty,
        needs={"injection": "fuel.injection.{blend}", "limit": "?goal.duty_limit", **USED},
        formula="slack = limit (85 % unless the goal says) − duty, worst engine speed",
        consequence="engine", stops=("full load",), source=PRACTICE,
        pose="full throttle along engine speed, at the rail pressure that pump and lines leave",
        when_short="the injectors are open too long at full load",
        do="larger injectors, a higher base pressure inside what rail and injectors stand, or "
        "less air",
        safety=LEAN,
    )  # fmt: skip
    room.check(
        "fuel.idle_pulse", title="smallest injector pulse at idle", per="blend", kind="time",
        between=not_below(slack.pulse_at_idle, "smallest"),
        slack=slack.idle_pulse,
        needs={
            "injection": "fuel.idle_injection.{blend}", "smallest": "injectors.smallest_pulse",
            **USED,
        },
        formula="slack = pulse at idle − smallest pulse that repeats",
        gap_wanted=0.1e-3,  # closed-loop trim shortens the pulse by about a tenth
        consequence="nuisance", stops=("drive",), source=J1832, pose="warm idle, no load, λ = 1",
        when_short="the injectors are too large to idle evenly",
        do="smaller injectors, a lower rail pressure, or a richer or faster idle",
    )  # fmt: skip
    room.check(
        "fuel.injector_pressure_ceiling", title="pressure difference the injectors open against",
        between=not_above(slack.highest_difference, "limit"),
        per="blend", kind="pressure_difference", slack=slack.injector_pressure_ceiling,
        needs={
            "injection": "fuel.injection.{blend}", "idle_injection": "fuel.idle_injection.{blend}",
            "limit": "injectors.pressure_limit", **USED,
        },
        formula="slack = limit − highest of rail − manifold, full load and idle",
        gap_wanted=10e3,  # pressure waves in the rail
        consequence="engine", stops=("full load",), source=MAKER,
        pose="full throttle along engine speed, and warm idle",
        when_short="the injectors may not open against the rail pressure",
        do="a lower base pressure, or injectors made for more", safety=LEAN,
    )  # fmt: skip


def _flows(room: Room) -> None:
    full = {"point": "fuel.full_load.{blend}", "rail": "fuel.rail", **USED}
    room.check(
        "fuel.pump_flow", title="pump flow at full load", per="blend", kind="ratio",
        share_of="what the engine takes",
        slack=slack.pump_flow, needs=full, gap_wanted=0.10,  # wear, dirt, pulses, hot soak
        formula="slack = flow at the regulator's pressure, at the pump's own voltage, "
        "over what the engine takes − 1",
        consequence="engine", stops=("full load",), source=BALANCE,
        pose="full throttle along engine speed, hot fuel",
        when_short="the pump cannot feed the engine at full load: the rail pressure falls",
        do="a larger pump, thicker and shorter wires, a wider feed line or a cleaner filter",
        safety=LEAN,
    )  # fmt: skip
    room.check(
        "fuel.return_flow", title="rail pressure at idle: what goes back to the tank",
        between=not_above("rail_pressure", slack.idle_rail_most, kind="pressure_gauge"),
        per="blend", kind="pressure_difference", slack=slack.return_flow,
        needs={
            "rail_pressure": "fuel.idle_rail_pressure.{blend}",
            "held": "fuel.idle_set_pressure",
            "base": "regulator.base_pressure",
            "flow_back": "~fuel.idle_return_flow.{blend}",
            **USED,
        },
        formula="slack = 5 % of base pressure − (rail at idle − what the regulator should hold)",
        consequence="damage", stops=("drive",), source=BALANCE, pose="warm idle, hot fuel",
        when_short="the pump is too much for the way back: rail pressure at idle lies above what "
        "the regulator should hold, and the engine runs rich",
        do="a wider return line, a pump control that slows it at idle, or a smaller pump",
    )  # fmt: skip
    room.check(
        "fuel.supply_loss", title="pressure lost between pump and rail", per="blend",
        kind="pressure_difference", slack=slack.supply_loss, needs=full,
        formula="slack = 0.6 bar − (pump − rail)",
        consequence="nuisance", stops=("full load",), source=DARCY,
        pose="full throttle along engine speed, hot fuel",
        when_short="the feed line and filter eat the pump's pressure",
        do="a wider or shorter feed line, fewer tight fittings, a larger filter",
    )  # fmt: skip
    room.check(
        "fuel.filter_flow", title="flow through the fuel filter", per="blend", kind="flow_volume",
        between=not_above(slack.highest_flow, "limit"),
        slack=slack.filter_flow,
        needs={
            "point": "fuel.full_load.{blend}", "idle": "fuel.idle.{blend}",
            "limit": "fuel_filter.flow_limit", "present": "?fuel_filter.present", **USED,
        },
        formula="slack = filter's limit − highest pump flow", consequence="damage",
        stops=("full load",), source=MAKER, pose="idle and full throttle",
        when_short="more flow than the filter is made for: dirt may pass", do="a larger filter",
    )  # fmt: skip
    room.check(
        "fuel.suction", title="pressure at the pump's inlet over vapour pressure", per="blend",
        between=not_below(slack.over_vapour, "needed"),
        kind="pressure_difference", slack=slack.suction,
        needs={
            "air": "~breathing.air", "fuel": "fuel.hot.{blend}",
            "properties": "fuel.properties.{blend}", "point": "fuel.full_load.{blend}",
            "vapour_pressure": "blend.{blend}.vapour_pressure", "height": "tank.fuel_height",
            "strainer_loss": "pump.strainer_loss", "strainer_flow": "pump.strainer_flow",
            "needed": "pump.inlet_pressure_needed", **USED,
        },
        formula="slack = barometer − vapour pressure(T) + ρgh − strainer loss·(Q/Q₀)² − needed",
        gap_wanted=3e3,  # Reid's figure lies some per cent under the true vapour pressure
        consequence="engine", stops=("full load",), source=CRANE,
        pose="vented tank, lowest level, hottest fuel, highest flow",
        when_short="the fuel boils in the pump's inlet: it starves",
        do="a swirl pot or flooded pump, a clean and larger strainer, cooler fuel, "
        "fuel of a lower vapour class",
        safety=LEAN,
    )  # fmt: skip
    room.check(
        "fuel.rail_balance", title="same pressure at the first and last injector", per="blend",
        share_of="each injector's flow",
        kind="fraction", slack=slack.rail_balance,
        needs={
            "injection": "fuel.injection.{blend}", "point": "fuel.full_load.{blend}",
            "fuel": "fuel.hot.{blend}", "rails": "fuel_rail.rails",
            "arrangement": "fuel_rail.arrangement", "bore": "fuel_rail.bore",
            "length": "fuel_rail.length", **USED,
        },
        formula="slack = 1 % − ½·(pressure drop along the rails)/(pressure difference)",
        consequence="engine", stops=("full load",), source=DARCY,
        pose="full throttle along engine speed; pressure waves not counted",
        when_short="the last cylinder gets less fuel than the first",
        do="rails side by side instead of in series, or a wider rail", safety=LEAN,
    )  # fmt: skip


def _pressures(room: Room) -> None:
    room.check(
        "fuel.rail_pressure_ceiling", title="rail pressure against what the rail stands",
        between=not_above("highest", "limit"),
        kind="pressure_gauge", slack=slack.below,
        needs={"limit": "fuel_rail.pressure_limit", "highest": "fuel.highest_rail_pressure"},
        formula="slack = limit − highest rail pressure, boost overshoot included",
        gap_wanted=50e3,  # pressure waves and the regulator's climb
        consequence="injury", stops=("run",), source=MAKER, pose="highest boost",
        when_short="the rail may be taken beyond its working pressure",
        do="a lower base pressure or a rail rated higher", safety=FIRE,
    )  # fmt: skip
    room.check(
        "fuel.feed_hose_pressure", title="feed line against the pump's blocked pressure",
        between=not_above("highest", "limit"),
        kind="pressure_gauge", slack=slack.below,
        needs={"limit": "feed_line.pressure_rating", "highest": "pump.relief_pressure"},
        formula="slack = working pressure of hose and ends − pressure of the pump's relief valve",
        consequence="injury", stops=("run",), source=HOSE,
        pose="a stuck regulator or pinched return: the pump against its own relief valve",
        when_short="a blocked return can burst the feed line",
        do="hose and ends rated above the pump's relief valve", safety=FIRE,
    )  # fmt: skip
    room.check(
        "fuel.pump_relief", title="pump's relief valve stays shut in use", kind="pressure_gauge",
        between=not_above("highest", "limit"),
        slack=slack.below,
        needs={"limit": "pump.relief_pressure", "highest": "fuel.pump_pressure"},
        formula="slack = relief pressure − highest pump pressure, boost overshoot included",
        gap_wanted=50e3,  # pressure waves; a valve weeps before it opens
        consequence="engine", stops=("full load",), source=MAKER, pose="highest boost",
        when_short="the pump's own relief valve opens at full load and the rail starves",
        do="a lower base pressure, a wider feed line, or a pump with a higher relief",
        safety=LEAN,
    )  # fmt: skip
    room.check(
        "fuel.filter_pressure", title="fuel filter against the pump's blocked pressure",
        between=not_above("highest", "limit"),
        kind="pressure_gauge", slack=slack.filter_below,
        needs={
            "limit": "fuel_filter.pressure_rating", "highest": "pump.relief_pressure",
            "present": "?fuel_filter.present",
        },
        formula="slack = filter's working pressure − pressure of the pump's relief valve",
        consequence="injury", stops=("run",), source=HOSE,
        pose="a stuck regulator or pinched return",
        when_short="a blocked return can burst the filter",
        do="a filter rated above the pump's relief valve", safety=FIRE,
    )  # fmt: skip
    room.check(
        "fuel.return_hose_pressure", title="return line against its own back pressure",
        between=not_above("rail_pressure", "limit"),
        per="blend", kind="pressure_gauge", slack=slack.return_hose,
        needs={
            "limit": "return_line.pressure_rating",
            "rail_pressure": "fuel.idle_rail_pressure.{blend}",
            "present": "?return_line.present", **USED,
        },
        formula="slack = working pressure − rail pressure at idle (the return never sees more)",
        consequence="injury", stops=("run",), source=HOSE, pose="warm idle, all flow going back",
        when_short="the return line sees more pressure than it is rated for",
        do="a wider return line, or hose and ends rated higher", safety=FIRE,
    )  # fmt: skip


def _fuels(room: Room) -> None:
    for place, title in WETTED.items():
        stands = "stand" if place == "injectors" else "stands"
        room.check(
            f"fuel.ethanol_fit_{place}", title=f"{title} {stands} the ethanol", per="blend",
            kind="fraction", slack=slack.ethanol_fit,
            needs={
                "ethanol": "blend.{blend}.ethanol",
                "stands": f"{place}.ethanol_limit|{place}.wetted",
                "present": f"?{place}.present", **USED,
            },
            between=not_above("ethanol", slack.stood), share_of="the fuel, by volume",
            formula="slack = maker's limit, or the weakest wetted material's − ethanol content",
            consequence="injury", stops=("run",), source=ETHANOL,
            pose="the richest content that the pump may sell, for years",
            when_short=f"{title}: not made for this much ethanol; seals swell, metal corrodes, "
            "fuel gets out",
            do="a part whose maker states this fuel for every wetted surface, seals too",
            safety=FIRE,
        )  # fmt: skip
    room.check(
        "fuel.octane", title="octane of the fuel, in RON points", per="blend", kind="number",
        between=not_below("octane", "required"),
        slack=slack.octane,
        needs={
            "octane": "fuel.octane.{blend}",
            "required": "map.octane_required|engine.octane_required", **USED,
        },
        formula="slack = research octane − what the map or the engine requires",
        consequence="engine", stops=("full load",), source=OCTANE, pose="as pumped",
        when_short="too few RON points for the map: the fuel knocks earlier than it counts on",
        do="fuel of a higher octane, or a map made for this one",
        safety="Knock under boost breaks pistons. The calibrator decides on the dyno.",
    )  # fmt: skip
    room.check(
        "fuel.sensor_range", title="ethanol sensor reads the whole range", per="blend",
        between=inside("ethanol", "low", "high"), share_of="the fuel, by volume",
        kind="fraction", slack=slack.sensor_range,
        needs={
            "ethanol": "blend.{blend}.ethanol", "low": "ethanol_sensor.ethanol_low",
            "high": "ethanol_sensor.ethanol_high", "present": "ethanol_sensor.present", **USED,
        },
        formula="slack = smaller of content − lowest, highest − content", consequence="engine",
        stops=("full load",), source=MAKER, pose="contents vary from fill to fill",
        when_short="the sensor does not read this fuel", do="a sensor that reads it", safety=LEAN,
    )  # fmt: skip
    room.check(
        "fuel.range", title="distance on a tank", per="blend", kind="distance",
        between=not_below("range", "wanted"),
        slack=slack.distance,
        needs={"range": "fuel.range.{blend}", "wanted": "goal.range_wanted", **USED},
        formula="slack = usable volume/use − wanted", consequence="nuisance", stops=(),
        source=DOE, pose="driven as it has been",
        when_short="the tank does not reach as far as wanted",
        do="a larger tank, more stops, or the other fuel for long ways",
    )  # fmt: skip


def _records(room: Room) -> None:
    room.record(
        "fuel.pressure_let_off", title="fuel pressure let off before opening, battery earth off",
        changed=(
            "feed_line", "return_line", "fuel_filter", "fuel_rail", "injectors", "regulator",
            "ethanol_sensor", "pump",
        ),
        stops=("turn over",), evidence=("value", "name"),
        do="run the pump dry or use the maker's way, read 0 on a gauge, cloth over the fitting",
        safety=FIRE, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "fuel.leak_checked", title="fuel system under pressure, every joint dry",
        changed=(
            "feed_line", "return_line", "fuel_filter", "fuel_rail", "injectors", "regulator",
            "ethanol_sensor", "pump", "tank",
        ),
        stops=("run",), evidence=("value", "tool", "name"), second_person=True,
        do="key on, engine off, pump running: pressure and minutes held, every joint wiped and "
        "looked at with a lamp; again warm, after the first start",
        safety=FIRE, source=PRACTICE,
    )  # fmt: skip
    room.record(
        "fuel.rail_pressure_read", title="rail pressure read: key on, idle, reference hose off",
        changed=("pump", "regulator", "return_line", "feed_line", "fuel_filter", "fuel_rail"),
        stops=("creep", "full load"), evidence=("value", "tool", "name"),
        do="three readings against the base pressure; at idle with the hose off it must come back "
        "to base: where it stays above, the way back is too narrow",
        safety=FIRE, source=REGULATOR,
    )  # fmt: skip
    room.record(
        "fuel.content_read", title="ethanol content of the tank known before full load",
        changed=("ethanol_sensor", "injectors"), stops=("full load",),
        evidence=("value", "tool", "name"),
        do="read the sensor or shake 100 mL of fuel with 20 mL of water; pumps vary by the season",
        safety=LEAN, source=PRACTICE,
    )  # fmt: skip
