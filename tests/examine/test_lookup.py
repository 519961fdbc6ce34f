"""Addresses from words, as people say them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import drybuild
from drybuild.build.declared import declared_addresses, expand
from drybuild.build.new import make_build
from drybuild.examine.lookup import SAME, Present, entries, search, takes

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def roadster(tmp_path_factory) -> drybuild.OpenBuild:
    folder = make_build(
        tmp_path_factory.mktemp("cars") / "roadster",
        nearest="light-roadster",
        first_change="wheels and tyres",
    )
    return drybuild.open_build(folder)


def _exact(opened, words: str) -> list[str]:
    return [f.entry.address for f in search(opened, words) if f.exact]


@pytest.mark.parametrize(
    ("words", "address"),
    [
        ("rear left tyre pressure", "corner.rear.left.tyre_pressure"),
        ("tyre pressure, rear left", "corner.rear.left.tyre_pressure"),
        ("rear tire pressure", "corner.rear.tyre_pressure"),
        ("front track width", "axle.front.track_width"),
        ("wheelbase", "car.wheelbase"),
        ("kerb weight", "car.kerb_mass"),
        ("brake disc outer diameter front", "disc.front.outer_diameter"),
        ("gap to the strut, front left", "corner.front.left.upright_point.gap"),
        ("clearance to the arch lip rear", "corner.rear.arch_point.gap"),
        ("wheel nuts thread length", "wheel_nuts.thread_length"),
        ("corner.rear.left.camber", "corner.rear.left.camber"),
    ],
)
def test_what_people_say_leads_first_to_its_address(roadster, words, address):
    assert search(roadster, words)[0].entry.address == address


@pytest.mark.parametrize("words", ["rear left tyre pressure", "wheelbase", "front track width"])
def test_its_own_words_mean_one_thing(roadster, words):
    assert len(_exact(roadster, words)) == 1


@pytest.mark.parametrize(
    ("words", "either"),
    [
        ("rear left ride height", {"corner.rear.left.arch_point.height",
                                   "corner.rear.left.measured_drop"}),
        ("wheel offset", {"wheel.offset", "part.my_wheel.offset"}),
        ("tyre size", {"tyre.marking", "part.my_tyre.marking"}),
        ("front camber", {"corner.front.camber", "goal.camber_front"}),
    ],
)  # fmt: skip
def test_what_may_mean_two_things_is_never_chosen(roadster, words, either):
    assert set(_exact(roadster, words)) == either


@pytest.mark.parametrize("words", ["pump flow", "camber gain of everything", "height", "pressure"])
def test_half_a_name_is_not_a_name(roadster, words):
    assert _exact(roadster, words) == []


def test_slips_of_the_keys(roadster):
    for slip, right in (("ride heigth", "ride height"), ("tyre presure", "tyre pressure")):
        meant = search(roadster, right)[0].entry.address
        assert meant in [f.entry.address for f in search(roadster, slip)[:2]]


@pytest.mark.parametrize("words", ["banana", "", "of the", "€"])
def test_words_without_meaning_find_nothing(roadster, words):
    assert search(roadster, words) == []


def test_every_address_offered_can_be_noted(roadster):
    for entry in entries(roadster):
        if not entry.part and not entry.address.startswith("blend."):
            assert expand(entry.address), entry.address
            assert entry.declared.address in expand(entry.address)


def test_every_address_is_found_by_its_own_words(roadster):
    """The whole name, dots and all, comes out on top; nothing is out of reach."""
    for entry in entries(roadster)[::7]:
        if re.search("front|rear", ".".join(entry.declared.path)):
            continue  # a word of its own that is also an axle: it is typed as it stands
        found = [f.entry.address for f in search(roadster, entry.address)[:4]]
        assert entry.address in found, entry.address


def test_parts_in_hand_are_offered_by_their_id_and_standard_ones_are_not(roadster):
    parts = {e.part for e in entries(roadster) if e.part}
    assert parts == {"my_wheel", "my_tyre"}


def test_other_words_lead_to_words_of_addresses():
    found = declared_addresses()
    names = " ".join([*found, *(one.plain for one in found.values())])
    names = names.replace("_", " ").replace(".", " ")
    for said, meant in SAME:
        for one in meant:
            for word in one.split():
                assert word in names, (said, word)


def test_what_a_fact_takes():
    known = declared_addresses()
    assert takes(known["car.wheelbase"]).startswith("a length")
    assert "mm" in takes(known["car.wheelbase"])
    assert takes(known["wheel.front.left.bolt_count"]) == "a whole number"
    assert "cone 60" in takes(known["wheel.front.left.seat"])
    assert takes(known["regulator.referenced"]) == "true or false"
    assert "curve of" in takes(known["pump.curve"])
    assert "no unit" not in " ".join(takes(d) for d in known.values())


def test_what_stands_there_now_with_how_it_is_known(roadster):
    present = Present(roadster)
    said = {e.address: present.said(e) for e in entries(roadster)}
    assert said["car.wheelbase"].endswith("assumed")
    assert said["tyre.marking"] == "195/50 R15 82V, assumed"
    assert said["part.my_tyre.marking"] == "205/45 R16 83W, assumed"
    assert said["turbo.mass"] == "nothing fitted there"
    assert said["tyre.section_width"] == "not stated"
    assert (
        "front left, front right: " in said["axle.load_kerb"]
        or "front: " in (said["axle.load_kerb"])
    )
    assert (
        Present(roadster, "us")
        .said(next(e for e in entries(roadster) if e.address == "car.kerb_mass"))
        .startswith("about 2300 lb")
    )


def test_a_build_without_a_starter_car(tmp_path: Path):
    opened = drybuild.open_build(make_build(tmp_path / "b"))
    assert search(opened, "rear left tyre pressure")[0].exact
    assert {Present(opened).said(e) for e in entries(opened)} >= {"not stated"}


@pytest.mark.parametrize("example", ["plover", "plover_saturdays"])
def test_what_stands_anywhere_is_said_in_words(example):
    opened = drybuild.open_build(EXAMPLES / example)
    present = Present(opened)
    for state in (opened.present.state, opened.state("finished")):
        for address in declared_addresses():
            said = present.at(address, state)
            assert not re.search(r"[{}<>]|\bNone\b|Value|exact", said), f"{address}: {said}"
    said = present.at("turbo.map", opened.state("finished"))
    assert re.match(r"8 speed lines, corrected to \d+(\.\d)? °C and [\d.]+ bar absolute", said)


def test_a_ride_height_is_one_reading_and_not_what_it_was_taken_with(roadster):
    found = [f.entry.address for f in search(roadster, "ride height")]
    assert found == ["corner.arch_point.height", "corner.measured_drop"]


def test_what_a_reading_was_taken_with_is_found_by_both_their_words(roadster):
    assert search(roadster, "arch point camber")[0].entry.address == "corner.arch_point.camber"
    assert not [f for f in search(roadster, "camber") if f.entry.declared.beside]


def test_the_words_of_a_mechanic_lead_to_the_fact(roadster):
    assert search(roadster, "front hub studs")[0].entry.address == "corner.front.bolt_count"
