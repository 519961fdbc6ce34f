"""The library's files: whole for every outline, laid over each other key by key."""

from __future__ import annotations

import tomllib

import pytest

from drybuild.build.kinds import places
from drybuild.build.work_file import WorkFile
from drybuild.examine.tightening import ROOTS
from drybuild.findings.words import use_closure
from drybuild.systems import registry
from drybuild.work.library import Library, load, outline_of, outlines, overlaid, tool_words
from drybuild.work.library.conditions import Term, read_way
from drybuild.work.library.faults import library_faults
from drybuild.work.library.made import ASIDE, made, requirements
from drybuild.work.model import Condition
from drybuild.work.money import Purse, pieces_of, read_amount, usual_currency, with_currency

LEAST = 45


@pytest.fixture(params=outlines())
def library(request: pytest.FixtureRequest) -> Library:
    return load(request.param)


def over(library: Library, text: str) -> Library:
    tables = WorkFile.model_validate(tomllib.loads("format = 1\n" + text))
    return overlaid(library, tables, file="work.toml", text="format = 1\n" + text)


def test_every_outline_has_its_graph(library):
    assert len(library.components) >= LEAST
    assert not any(name.endswith(ASIDE) for name in library.components)
    assert library_faults(library) == []


def test_what_is_put_back_with_something_new_has_it_on_its_list(library):
    """Moved aside or off: a step that says new finds it among what is renewed."""
    notes = made(library, Purse("AUD")).notes
    told = {key: words for key, words in notes.items() if key.startswith("refit:")}
    new = {
        key for key, words in told.items()
        if any(line.startswith("new ") or ", new " in line for line in words.steps)
    }  # fmt: skip
    assert any(key.endswith(ASIDE) for key in new)
    assert {key for key in new if not told[key].renew} == set()


def test_what_is_poured_in_stands_on_the_list(library):
    """Oil and filter of a turbocharger, the strong fuel and the tube for its content."""
    told = told_of(library.effects["turbo_oil"].clear)
    assert "engine oil" in told
    assert "oil filter" in told
    told = told_of(library.jobs["strong_fuel"])
    assert "strong fuel" in told
    assert "test tube" in " ".join(library.jobs["strong_fuel"].bench)
    assert "test tube" in " ".join(library.jobs["strong_fuel"].beforehand)


def told_of(table) -> str:
    return " ".join(one.name for one in table.renew)


def test_what_an_aside_renews_has_a_price_that_can_be_read(library):
    name = next(n for n, table in library.components.items() if table.aside is not None)
    text = f'[component.{name}.aside]\nrenew = [{{ name = "gasket", price = "dear" }}]\n'
    (fault,) = library_faults(over(library, text))
    assert (fault.file, "dear" in fault.found) == ("work.toml", True)


def test_the_outlines_differ_where_the_cars_do():
    graphs = {o: load(o).components for o in outlines()}
    assert "propshaft" not in graphs["transverse-turbo"]
    assert "up_pipe" in graphs["flat-four-turbo"]
    behind = {o: graphs[o]["turbo"].behind for o in outlines()}
    assert len(set(behind.values())) == len(behind)


def test_every_place_of_a_car_is_known(library):
    for root, place in places().items():
        for axle in ("front", "rear") if place.per != "car" else ("",):
            table = library.place(root, axle)
            assert table is not None, root
            assert table.hours is not None, root
            assert "{" not in repr(table.open), root


def test_what_can_hurt_comes_with_cautions(library):
    made_of = made(library, Purse())
    hurting = ("raised_front", "raised_lift", "fuel_pressure", "coolant", "turbo", "gearbox")
    kinds = ("calipers_", "spring_units_", "arms_", "wheels_", "fuel_", "pump_module")
    for name, component in library.components.items():
        if name in hurting or name.startswith(kinds) or component.people > 1:
            assert component.cautions, name
    for key, notes in made_of.notes.items():
        if key.startswith("clear:") and key.split(":")[1] not in QUIET:
            assert notes.cautions, key


QUIET = ("headlamps", "clutch_bedding")
"""Clearings that are done with a look and a pencil."""


def test_records_joints_and_regions_have_names_that_others_know(library):
    records = registry().records
    for effect in library.effects.values():
        if effect.clear is not None:
            assert set(effect.clear.records) <= set(records)
    for component in library.components.values():
        for joint in component.joints:
            root = joint.partition(".")[0]
            assert root in ROOTS or " " in joint, joint
    words = ("front", "rear", "left", "right", "engine", "nose", "under", "cabin", "boot", "tank",
             "gearbox", "car", "driveline")  # fmt: skip
    for name, component in library.components.items():
        assert any(word in component.region for word in words), name


def test_nobody_is_told_that_something_is_safe(library):
    for notes in made(library, Purse()).notes.values():
        text = " ".join((*notes.cautions, *notes.steps, *notes.verify, *notes.tags)).lower()
        assert "safe" not in text
        assert "n·m" not in text
        assert " nm" not in text


def test_wear_enough_for_every_outline(library):
    assert len(library.wear) >= 12
    assert all(w.km or w.years for w in library.wear.values())


def test_cars_have_their_outline():
    assert outline_of("light roadster") == "in-line-rear-drive"
    assert outline_of("awd-turbo-wagon") == "flat-four-turbo"
    assert outline_of("front-turbo-hatch") == "transverse-turbo"
    assert outline_of("transverse-turbo") == "transverse-turbo"
    assert outline_of("blank") == ""
    with pytest.raises(KeyError, match="in-line-rear-drive"):
        load("mid-engine")


def test_conditions_as_written():
    assert read_way("undertray") == (Term("off", "undertray"),)
    assert read_way("raised_front + wheels_front:on") == (
        Term("off", "raised_front"), Term("on", "wheels_front"),
    )  # fmt: skip
    assert read_way("tool:spring compressor") == (Term("tool", "spring compressor"),)
    assert read_way("use:turn over") == (Term("use", "turn over"),)
    assert read_way("clear:coolant_low") == (Term("clear", "coolant_low"),)
    for wrong in ("undertray:gone", ":on", "tool:", "", "a + "):
        with pytest.raises(ValueError, match="a component"):
            read_way(wrong)


def test_aside_is_aside_or_off():
    library = load("in-line-rear-drive")
    aside = (Condition("off", "alternator" + ASIDE),)
    assert requirements(library, (("alternator:aside",),)) == (
        (aside, (Condition("off", "alternator"),)),
    )
    fitted = requirements(library, (("alternator:on",),))
    assert fitted == (((Condition("on", "alternator"), Condition("on", "alternator" + ASIDE)),),)
    component = made(library, Purse()).components["alternator" + ASIDE]
    assert ((Condition("on", "alternator"),),) in component.take.needs
    assert ((Condition("on", "alternator"),),) in component.refit.needs


def test_work_on_a_lift_needs_the_lift_all_along():
    library = load("in-line-rear-drive")
    ways = requirements(library, (("raised_lift", "raised_front"),))[0]
    assert ways[0] == (Condition("off", "raised_lift"), Condition("tool", "lift"))
    assert ways[1] == (Condition("off", "raised_front"),)


def test_what_is_undone_cold_and_what_runs_the_engine_say_so(library):
    for name, table in library.components.items():
        if any(c.lower().startswith(("cold", "never open a hot")) for c in table.cautions):
            assert table.engine == "cold", name
    made_of = made(library, Purse())
    assert made_of.components["dump_pipe"].take.engine == "cold"
    engines = {"first_start": "runs", "road_check": "runs", "manifold_again": "cold"}
    for name, engine in engines.items():
        clearing = made_of.effects[name].clearing
        assert clearing is not None
        assert clearing.work.engine == engine
    assert library.jobs["dyno_day"].engine == "runs"


def test_both_axles_are_written_out():
    library = load("flat-four-turbo")
    assert library.components["wheels_rear"].refit_needs[0] == ("discs_rear:on",)
    assert library.effects["bushes_front"].title.startswith("front")
    assert library.components["hubs_front"].behind != library.components["hubs_rear"].behind
    front = library.place("pads", "front")
    assert front is not None
    assert front.open == (("calipers_front:aside",),)


def test_the_owner_goes_over_the_library_key_by_key():
    before = load("in-line-rear-drive")
    after = over(before, "[component.turbo]\ntake = [1, 2, 3]\n[effect.alignment.clear]\nhours = 2")
    turbo = after.components["turbo"]
    assert turbo.take == (1.0, 2.0, 3.0)
    assert turbo.refit == before.components["turbo"].refit
    clearing = after.effects["alignment"].clear
    assert clearing is not None
    assert clearing.hours == (2.0, 2.0, 2.0)
    assert clearing.records == ("ride.alignment_sheet",)
    assert before.components["turbo"].take != (1.0, 2.0, 3.0)
    assert (after.where("component", "turbo", "take").file,
            after.where("component", "turbo", "take").line) == ("work.toml", 3)  # fmt: skip
    assert after.where("component", "turbo", "refit").file.startswith("work library/in-line")
    assert library_faults(after) == []


def test_an_axle_of_its_own():
    library = over(load("in-line-rear-drive"), '[place."pads.rear"]\nhours = [1, 2, 3]')
    rear, front = library.place("pads", "rear"), library.place("pads", "front")
    assert rear is not None
    assert front is not None
    assert rear.hours == (1.0, 2.0, 3.0)
    assert rear.open == (("calipers_rear:aside",),)
    assert front.hours != rear.hours


def test_what_a_car_has_not_got_stands_in_nobodys_way():
    library = over(load("in-line-rear-drive"), 'without = ["undertray"]')
    assert "undertray" not in library.components
    assert library_faults(library) == []
    needs = made(library, Purse()).components["charge_pipes"].take.needs
    assert "undertray" not in repr(needs)
    again = over(
        library, '[component.undertray]\ntitle = "x"\nregion = "under"\ntake = 1\nrefit = 1'
    )
    assert library_faults(again) == []
    assert "undertray" in repr(made(again, Purse()).components["charge_pipes"].take.needs)


def test_amounts_of_money():
    assert read_amount("1,450 EUR") == (1450.0, "EUR")
    assert read_amount("12,50 EUR") == (12.5, "EUR")
    with pytest.raises(ValueError, match="an amount with its currency"):
        read_amount("1_450 EUR")
    assert read_amount("AUD 64.50") == (64.5, "AUD")
    assert read_amount("18 AUD the set") == (18.0, "AUD")
    assert pieces_of("18 AUD the set", 4) == 1
    assert pieces_of("30 AUD the pair", 4) == 2
    assert pieces_of("30 AUD", 4) == 4
    purse = Purse("AUD", {"EUR": 1.6})
    assert purse.amount("100 EUR") == 160.0
    assert purse.amount("12") == 12.0
    assert purse.amount("5 USD") is None
    assert purse.amount("") is None
    assert usual_currency(["1 EUR", "2 AUD", "3 AUD", "dear"]) == "AUD"
    for wrong in ("dear", "EUR 5 EUR", "five EUR", "-3 EUR"):
        with pytest.raises(ValueError, match="an amount"):
            read_amount(wrong)


def test_a_bare_price_is_shown_in_the_currency_that_it_is_taken_in():
    assert with_currency("180", "EUR") == "180 EUR"
    assert with_currency(" 64 the set", "AUD") == "64 AUD the set"
    for text, currency in (("180 AUD", "EUR"), ("180", ""), ("", "EUR"), ("dear", "EUR")):
        assert with_currency(text, currency) == text


def test_a_tool_whose_name_says_little_is_said_in_words() -> None:
    said = tool_words("headlamp wall")
    assert said.startswith("headlamp wall: ")
    assert "10 m away with marks to aim the headlamps by" in said
    assert tool_words("ramps") == "ramps: drive-on ramps"
    assert tool_words("strings") == "strings, camber gauge and turn plates"
    assert tool_words("my own_thing") == "my own thing"


def test_what_is_driven_has_the_car_to_itself():
    """Common practice: nobody works at a car that somebody drives; an engine whose intake is
    plugged for a test is not run."""
    for outline in outlines():
        effects = load(outline).effects
        for name, table in effects.items():
            needs = str(table.clear.needs) if table.clear is not None else ""
            if "use:creep" in needs or "use:drive" in needs:
                assert "car to itself" in table.clear.tools, (outline, name)
        assert set(effects["boost_leak"].clear.tools) & set(effects["first_start"].clear.tools)
        assert set(effects["boost_leak"].clear.tools) & set(effects["exhaust_check"].clear.tools)


def test_brake_fluid_is_changed_with_all_calipers_on():
    """Common practice: fluid goes through every caliper, so that each is on its hose."""
    for outline in outlines():
        asked = {way for ways in load(outline).places["brake_fluid"].open for way in ways}
        assert {"calipers_front:on", "calipers_rear:on"} <= asked


def test_brakes_are_bled_with_every_caliper_on_its_disc(library):
    """Common practice: pressed without a disc before it, a piston comes out of its caliper."""
    clearing = made(library, Purse()).effects["brakes_open"].clearing
    assert clearing is not None
    only = {c for way in clearing.work.needs if len(way) == 1 for c in way[0]}
    for axle in ("front", "rear"):
        for how in ("", ASIDE):
            assert Condition("on", f"calipers_{axle}{how}") in only, (axle, how)
        # a disc that comes off has its caliper off before and on after
        assert library.components[f"discs_{axle}"].behind == ((f"calipers_{axle}:aside",),)


def test_soot_at_a_joint_is_looked_for_after_the_first_start(library):
    """Common practice: warm, and off again."""
    found = library.effects["exhaust_check"].clear
    assert found is not None
    assert "clear:first_start" in found.first
    assert any("warm and off" in step for step in found.steps)


def test_opened_fuel_keeps_the_engine_from_a_start_until_its_joints_are_looked_at(library):
    leak = library.effects["fuel_leak"]
    assert "turn over" in use_closure("run")
    assert "turn over" in leak.stops
    assert leak.clear is not None
    assert any(tag.startswith("DO NOT CRANK") for tag in leak.clear.tags)


def test_calipers_go_on_when_the_upright_is_held():
    """Common practice: with strut and arms off the upright hangs; nothing is bolted to it."""
    for outline in outlines():
        library = load(outline)
        for axle in ("front", "rear"):
            asked = {w for ways in library.components[f"calipers_{axle}"].refit_needs for w in ways}
            assert {f"spring_units_{axle}:on", f"arms_{axle}:on"} <= asked


def test_no_wheel_goes_on_over_a_caliper_that_hangs_aside():
    """Common practice: without its caliper nothing holds a disc, and the next work is behind it."""
    for outline in outlines():
        library = load(outline)
        for axle in ("front", "rear"):
            asked = {w for ways in library.components[f"wheels_{axle}"].refit_needs for w in ways}
            assert f"calipers_{axle}:on" in asked


def test_a_map_is_flashed_and_a_turbocharger_primed_with_the_fuel_closed():
    """Common practice: the pump primes as the key is on; nobody cranks over open fuel."""
    for outline in outlines():
        library = load(outline)
        assert "clear:fuel_leak" in {w for ways in library.places["map"].open for w in ways}
        primed = library.effects["turbo_oil"].clear
        assert primed is not None
        assert "clear:fuel_leak" in {w for ways in primed.needs for w in ways}


def test_filling_the_strong_fuel_and_correcting_the_speed_say_how_and_what_to_mind():
    """A card with a full tank of fuel on it, or one for the law, is never an empty one."""
    found = load("in-line-rear-drive").jobs
    for name in ("speed_reading", "strong_fuel"):
        assert found[name].steps
        assert found[name].cautions
        assert found[name].verify
    assert "extinguisher" in found["strong_fuel"].cautions[0]


@pytest.mark.parametrize(("first", "expected"), [
    ("take:pump_hatches", "a component of the work library"),
    ("clear:fuel_leek", "a effect of the work library"),
    ("job:pump", "take:COMPONENT, refit:COMPONENT or clear:EFFECT"),
    ("refit:", "take:COMPONENT, refit:COMPONENT or clear:EFFECT"),
])  # fmt: skip
def test_what_comes_first_is_a_task_that_the_library_has(library, first, expected):
    written = over(library, f'[component.pump_hatch]\nrefit_first = ["{first}"]\n')
    (fault,) = library_faults(written)
    assert fault.expected.startswith(expected)
    assert "refit_first" in str(fault)


def test_what_is_looked_at_is_as_it_stays(library):
    """Common practice: clearances at the camber that was set, nuts before the tank is open beside
    them, putty between wheel and a caliper that is on."""
    sweep = library.effects["sweep"].clear
    assert sweep is not None
    assert "clear:alignment" in sweep.first
    assert "clear:wheels_again" in library.components["fuel_pressure"].take_first
    assert "refit:calipers_{axle}" in library.places["wheel"].first
    putty = next(line for line in library.places["wheel"].steps if "putty" in line)
    assert "once that is on the car" in putty
