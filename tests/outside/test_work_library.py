"""The work library held to the trade's practice over each outline's graph, and to networkx."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from itertools import pairwise, product

import networkx as nx
import pytest

from drybuild.build.work_file import PlaceTable
from drybuild.findings.words import use_closure
from drybuild.work.library import Library, load, outlines
from drybuild.work.library.access import behind, loop_of, reachable
from drybuild.work.library.made import ASIDE, Made, made, requirements
from drybuild.work.model import Component, Condition, Hours, Job, Requirement, Work
from drybuild.work.money import Purse
from drybuild.work.narrow import narrowed

Against = Callable[..., None]
MADE = "drybuild.work.library.made.made"
ALL = tuple(outlines())
RAISED = ("raised_front", "raised_rear", "raised_lift")
AXLES = ("front", "rear")


@cache
def library_made(outline: str) -> Made:
    return made(load(outline), Purse())


def holding(rule: Callable[[Library, Made], bool]) -> tuple[str, ...]:
    """The outlines in which a rule holds."""
    return tuple(outline for outline in ALL if rule(load(outline), library_made(outline)))


def always(needs: Iterable[Requirement], condition: Condition) -> bool:
    """Whether the condition holds in every way of some requirement."""
    return any(all(condition in way for way in requirement) for requirement in needs)


def off(name: str) -> Condition:
    return Condition("off", name)


def off_whole(components: Mapping[str, Component], needs: Iterable[Requirement]) -> frozenset[str]:
    """Components that are off whichever way the needs are met; aside counts as its component."""
    found: set[str] = set()
    for requirement in needs:
        ways = []
        for way in requirement:
            names = {c.name for c in way if c.kind == "off"}
            deeper = [off_whole(components, components[n].take.needs) for n in names]
            ways.append({n.removesuffix(ASIDE) for n in names}.union(*deeper))
        found |= set.intersection(*ways) if ways else set()
    return frozenset(found)


def place_of(library: Library, root: str, axle: str = "") -> PlaceTable:
    table = library.place(root, axle)
    assert table is not None
    return table


def place_needs(library: Library, root: str, axle: str = "") -> tuple[Requirement, ...]:
    return requirements(library, place_of(library, root, axle).open)


def clearing(found: Made, effect: str) -> Work:
    job = found.effects[effect].clearing
    assert job is not None
    return job.work


def causes_of(found: Made, effect: str) -> frozenset[str]:
    """Components whose taking off or refitting has the effect."""
    return frozenset(
        n for n, c in found.components.items() if effect in (*c.take.causes, *c.refit.causes)
    )


@pytest.mark.practice
def test_rubber_bushes_are_tightened_laden(against: Against) -> None:
    """Arms, units and bars owe a tightening that needs the car on its wheels, by two people."""

    def rule(library: Library, found: Made) -> bool:
        for axle in AXLES:
            work = clearing(found, f"bushes_{axle}")
            wheels = always(work.needs, Condition("on", f"wheels_{axle}"))
            down = all(
                any(Condition("on", r) in way for requirement in work.needs for way in requirement)
                for r in RAISED
            )
            hung = {f"arms_{axle}", f"spring_units_{axle}"} <= causes_of(found, f"bushes_{axle}")
            if not (wheels and down and hung and work.people >= 2):
                return False
            if found.effects[f"bushes_{axle}"].stops != ("creep", "full load"):
                return False
        return True

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: a rubber bush is tightened at ride height, or it tears and holds the car up",
    )  # fmt: skip


@pytest.mark.practice
def test_wheels_are_tightened_again_after_50_to_100_km(against: Against) -> None:
    def rule(library: Library, found: Made) -> bool:
        effect = found.effects["wheels_again"]
        causes = causes_of(found, "wheels_again")
        return (
            50 <= effect.between <= 100 and effect.owed
            and {"wheels_front", "wheels_rear"} <= causes
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: nuts settle; tightened again after the first 50 to 100 km",
    )  # fmt: skip


@pytest.mark.practice
def test_alignment_and_lamps_after_ride_height(against: Against) -> None:
    """Whatever changes the ride height or a link owes an alignment, once the bushes are tight."""

    def rule(library: Library, found: Made) -> bool:
        moved = {f"{n}_{a}" for n in ("spring_units", "arms") for a in AXLES} | {"track_rod_ends"}
        lamps = {f"spring_units_{a}" for a in AXLES} <= causes_of(found, "headlamps")
        work = clearing(found, "alignment")
        bushes = all(always(work.needs, Condition("clear", f"bushes_{a}")) for a in AXLES)
        on_wheels = all(always(work.needs, Condition("on", n)) for n in RAISED)
        stops = "drive" in found.effects["alignment"].stops
        return moved <= causes_of(found, "alignment") and lamps and bushes and on_wheels and stops

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: alignment and lamp aim come after ride height, and before the road",
    )  # fmt: skip


@pytest.mark.practice
def test_fuel_pressure_is_let_off_first(against: Against) -> None:
    """Nothing of the fuel system is opened or closed under pressure or with the battery on."""

    def rule(library: Library, found: Made) -> bool:
        names = ("fuel_rail", "pump_module", "fuel_filter", "fuel_tank")
        works = [w for n in names for w in (found.components[n].take, found.components[n].refit)]
        needs = [w.needs for w in works]
        needs += [place_needs(library, p) for p in (
            "feed_line", "return_line", "regulator", "ethanol_sensor",
        )]  # fmt: skip
        needs += [
            tuple(r for n in off_whole(found.components, place_needs(library, p))
                  for r in found.components[n].take.needs)
            for p in ("pump", "injectors", "fuel_rail", "fuel_filter", "tank")
        ]  # fmt: skip
        return all(
            always(need, off("fuel_pressure")) and always(need, off("battery_earth"))
            for need in needs
        )

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: pressure off, battery earth off, then the first union",
    )  # fmt: skip


@pytest.mark.practice
def test_first_start_comes_after_the_leak_check(against: Against) -> None:
    """The leak check lifts what stops running; the first start needs the engine to run."""

    def rule(library: Library, found: Made) -> bool:
        leak, start = found.effects["fuel_leak"], clearing(found, "first_start")
        caused = {"fuel_leak", "first_start"} <= set(found.components["fuel_pressure"].take.causes)
        check = clearing(found, "fuel_leak")
        under = always(check.needs, Condition("on", "fuel_pressure"))
        return bool(
            use_closure("run") & {*leak.stops} and always(start.needs, Condition("use", "run"))
            and caused and under and check.people >= 2
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: key on, engine off, every joint dry, seen by two; only then it is started",
    )  # fmt: skip


@pytest.mark.practice
def test_captive_springs_are_released_on_the_bench(against: Against) -> None:
    """A strut is taken apart off the car and in a compressor; never by its top nut on the car."""

    def rule(library: Library, found: Made) -> bool:
        # springs behind a twist beam come loose as the beam is let down: nothing holds them
        axles = ("front",) if "beam" in library.components["arms_rear"].title else AXLES
        return all(
            always(place_needs(library, root, axle), Condition("tool", "spring compressor"))
            and f"spring_units_{axle}" in off_whole(
                found.components, place_needs(library, root, axle)
            )
            and "spring compressor" in place_of(library, root, axle).tools
            for root in ("spring", "damper", "bump_stop") for axle in axles
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: a captive spring is squeezed in a compressor before its nut is undone",
    )  # fmt: skip


@pytest.mark.practice
def test_coolant_is_filled_tested_and_bled(against: Against) -> None:
    """What is opened behind the coolant owes filling and a cold test before it may run, then a
    warm run that bleeds it before it may creep."""

    def rule(library: Library, found: Made) -> bool:
        wet = ("radiator", "thermostat_housing", "water_pump", "turbo")
        behind_it = all(always(found.components[n].take.needs, off("coolant")) for n in wet)
        drained = {"coolant_low", "first_start"} <= set(found.components["coolant"].take.causes)
        return (
            behind_it and drained and "run" in found.effects["coolant_low"].stops
            and "creep" in found.effects["first_start"].stops
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: fill, pressure-test cold, run warm and bleed, look again when it is cold",
    )  # fmt: skip


@pytest.mark.practice
def test_brakes_are_bled_by_two_with_the_nipples_in_reach(against: Against) -> None:
    def rule(library: Library, found: Made) -> bool:
        work = clearing(found, "brakes_open")
        wheels, lift = {off("wheels_front"), off("wheels_rear")}, {off("raised_lift")}
        reach = any(
            all(wheels <= set(way) or lift <= set(way) for way in requirement)
            for requirement in work.needs
        )
        hydraulic = {"calipers_front", "calipers_rear", "master_cylinder"} <= causes_of(
            found, "brakes_open"
        )
        places = all("brakes_open" in library.places[p].upsets for p in (
            "brake_hose", "brake_fluid", "brake_valve",
        ))  # fmt: skip
        return work.people >= 2 and reach and hydraulic and places and (
            "creep" in found.effects["brakes_open"].stops
        )

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: one at the pedal, one at the nipple, wheels off or the car on a lift",
    )  # fmt: skip


@pytest.mark.practice
def test_what_cures_or_beds_in_is_waited_for(against: Against) -> None:
    """Sealant half a day before it runs, a clutch some hundred km before full load, pads driven."""

    def rule(library: Library, found: Made) -> bool:
        sealant = found.effects["sealant_cures"]
        clutch = found.effects["clutch_bedding"]
        pads = clearing(found, "brake_bedding")
        heat = found.effects["manifold_again"]
        return (
            sealant.lasting >= 12 and "run" in sealant.stops
            and "sealant_cures" in found.components["sump"].refit.causes
            and clutch.between >= 200 and "full load" in clutch.stops
            and always(pads.needs, Condition("use", "drive"))
            and heat.between > 0 and "manifold_again" in found.components["turbo"].refit.causes
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: cure, heat and bedding come before the use that they are for",
    )  # fmt: skip


@pytest.mark.practice
def test_a_turbo_gets_its_oil_before_it_runs(against: Against) -> None:
    """Turned over without injection until pressure shows: that needs no running, and stops it."""

    def rule(library: Library, found: Made) -> bool:
        work = clearing(found, "turbo_oil")
        return (
            "turbo_oil" in found.components["turbo"].take.causes
            and "run" in found.effects["turbo_oil"].stops
            and always(work.needs, Condition("use", "turn over"))
        )  # fmt: skip

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: a turbocharger is primed with oil before the first start",
    )  # fmt: skip


@pytest.mark.practice
def test_shaft_nuts_are_tightened_on_the_ground(against: Against) -> None:
    def rule(library: Library, found: Made) -> bool:
        work = clearing(found, "shaft_nuts")
        ground = all(always(work.needs, Condition("on", n)) for n in (*RAISED, "wheels_front"))
        return ground and work.people >= 2 and "drive_shafts" in causes_of(found, "shaft_nuts")

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: never with the car on stands: the force pulls it off",
    )  # fmt: skip


@pytest.mark.practice
def test_a_car_is_not_let_down_without_its_wheels(against: Against) -> None:
    """Lowering needs the wheels on; a wheel goes on only over disc, upright, arm and unit."""

    def rule(library: Library, found: Made) -> bool:
        lowering = {
            "raised_front": ("wheels_front",), "raised_rear": ("wheels_rear",),
            "raised_lift": ("wheels_front", "wheels_rear"),
        }  # fmt: skip
        down = all(
            always(found.components[n].refit.needs, Condition("on", wheel))
            for n, wheels in lowering.items() for wheel in wheels
        )  # fmt: skip
        carried = all(
            always(found.components[f"wheels_{a}"].refit.needs, Condition("on", f"{n}_{a}"))
            for a in AXLES for n in ("discs", "hubs", "arms", "spring_units")
        )
        return down and carried

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: nothing stands on its hubs",
    )  # fmt: skip


@pytest.mark.practice
def test_heavy_parts_come_out_by_two_over_four_stands_or_a_lift(against: Against) -> None:
    """Gearbox and axle drive shift the balance: both ends up, or a lift, and two people."""

    def rule(library: Library, found: Made) -> bool:
        heavy = [n for n in ("gearbox", "final_drive") if n in found.components]
        lift, four = {off("raised_lift")}, {off("raised_front"), off("raised_rear")}
        for name in heavy:
            component = found.components[name]
            both = [
                r for r in component.take.needs
                if all(lift <= set(way) or four <= set(way) for way in r)
            ]  # fmt: skip
            if not both or component.take.people < 2 or component.refit.people < 2:
                return False
        return True

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: heavy parts off one end of a car on two stands tip it",
    )  # fmt: skip


@pytest.mark.practice
def test_what_clears_is_never_shortened(against: Against) -> None:
    """Bleeding, filling, leak, road and alignment checks have one length: P10 is P90."""

    def rule(library: Library, found: Made) -> bool:
        jobs = [e.clearing for e in found.effects.values() if e.clearing is not None]
        return all(job.fixed and job.work.hours.fixed and job.work.hours.low > 0 for job in jobs)

    against(
        MADE, got=holding(rule), expected=ALL,
        source="trade: a check is as long as it is",
    )  # fmt: skip


def graph_of(components: Mapping[str, Component]) -> nx.DiGraph:
    """An edge from each component to what can stand in front of it, for taking off or refitting."""
    graph = nx.DiGraph()
    graph.add_nodes_from(components)
    for name, component in components.items():
        for other in behind((*component.take.needs, *component.refit.needs)):
            graph.add_edge(name, other)
    return graph


@pytest.mark.cross_model
def test_access_has_no_loop(against: Against) -> None:
    """Every component of every outline is reachable, and networkx finds the whole graph acyclic."""
    got, expected = [], []
    for outline in ALL:
        components = library_made(outline).components
        got.append(outline if len(reachable(components)) == len(components) else "")
        expected.append(outline if nx.is_directed_acyclic_graph(graph_of(components)) else "")
    assert all(expected)
    against(
        "drybuild.work.library.access.reachable", got=tuple(got), expected=tuple(expected),
        source="networkx.is_directed_acyclic_graph",
    )  # fmt: skip


def component(name: str, *needs: Requirement) -> Component:
    work = Work(Hours(1, 1, 1), needs=tuple(needs))
    return Component(name, name, "x", work, work)


@pytest.mark.cross_model
def test_loops_are_found_where_networkx_finds_them(against: Against) -> None:
    """All-of graphs of four components, every one of them: reachable means no cycle behind it."""
    names = ("a", "b", "c", "d")
    edges = [(x, y) for x in names for y in names if x != y]
    got, expected, loops = [], [], []
    for chosen in product((False, True), repeat=len(edges)):
        graph = nx.DiGraph()
        graph.add_nodes_from(names)
        graph.add_edges_from(e for e, there in zip(edges, chosen, strict=True) if there)
        components = {n: component(n, *(((off(m),),) for m in graph[n])) for n in names}
        reached = reachable(components)
        cyclic = {n for c in nx.simple_cycles(graph) for n in c}
        stuck = {n for n in names if ({n} | nx.descendants(graph, n)) & cyclic}
        got.append("".join(n for n in names if n in reached))
        expected.append("".join(n for n in names if n not in stuck))
        if stuck and len(loops) < 400:
            unreached = {n: c for n, c in components.items() if n not in reached}
            loop = loop_of(min(stuck), unreached, reached)
            ring = [*loop, loop[0]]
            loops.append(all(graph.has_edge(x, y) for x, y in pairwise(ring)))
    assert loops
    assert all(loops)
    against(
        "drybuild.work.library.access.reachable", got=tuple(got), expected=tuple(expected),
        source="networkx.simple_cycles and descendants, all 4096 graphs of four nodes",
    )  # fmt: skip


@pytest.mark.cross_model
def test_what_is_kept_is_what_leads_there(against: Against) -> None:
    """For a job on one component, narrowing keeps its ancestors in the access graph."""
    got, expected = [], []
    for outline in ALL:
        found = library_made(outline)
        plain = {
            n: Component(c.id, c.title, c.region, Work(c.take.hours, needs=_first(c.take.needs)),
                         Work(c.refit.hours, needs=_first(c.refit.needs)))
            for n, c in found.components.items()
        }  # fmt: skip
        graph = graph_of(plain)
        tools = {
            c.name for x in plain.values() for w in (x.take, x.refit)
            for r in w.needs for way in r for c in way if c.kind == "tool"
        }  # fmt: skip
        for name in plain:
            job = Job("j", "j", "fit", "x", Work(Hours(1, 1, 1), needs=(((off(name),),),)))
            small = narrowed(plain, {}, {"j": job}, tools=tools)
            got.append(" ".join(sorted(small.components)))
            expected.append(" ".join(sorted({name} | nx.descendants(graph, name))))
    against(
        "drybuild.work.narrow.narrowed", got=tuple(got), expected=tuple(expected),
        source="networkx.descendants over every component of the three outlines",
    )  # fmt: skip


def _first(needs: tuple[Requirement, ...]) -> tuple[Requirement, ...]:
    """The graph of the first ways alone: all-of, as networkx takes it."""
    return tuple((requirement[0],) for requirement in needs)
