"""Usual cures: offered where a finding stops a use, never as more than a guess, examined after."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from lowered_car import lowered_car

from drybuild.build.declared import declaration
from drybuild.build.editing import EditRefused
from drybuild.build.kinds import part_kinds, places
from drybuild.build.new import STARTERS, make_build
from drybuild.build.state import instances_of
from drybuild.examine.amounts import needed
from drybuild.examine.opened import open_build
from drybuild.examine.usual import (
    ADDED,
    Offer,
    add_parts,
    offer_of,
    offers,
    plan,
    usual_cures,
    wanted_at,
)
from drybuild.findings import Verdict
from drybuild.findings.finding import Interval
from drybuild.show.usual_words import asked_of, for_check, others_want, wanted_of
from drybuild.systems import registry

ROOT = Path(__file__).parents[2]


def lowered(tmp_path: Path, starter: str = "front-turbo-hatch") -> Path:
    return lowered_car(tmp_path / "car", starter)


def offered(folder: Path) -> dict[str, Offer]:
    return {o.usual.name: o for o in offers(open_build(folder).examine())}


def test_every_usual_cure_names_checks_places_facts_and_results_that_there_are() -> None:
    known = registry()
    assert {"bar-links", "camber", "spacers"} <= set(usual_cures())
    beams = [u.beam for u in usual_cures().values() if u.beam is not None]
    assert [b.place for b in beams] == ["stub_shim", "stub_shim"]
    for usual in (*usual_cures().values(), *beams):
        assert set(usual.checks) <= set(known.checks), usual.name
        assert usual.place in places()
        assert usual.kind in part_kinds()
        assert usual.facts or usual.unsaid
        per_car = places()[usual.place].per == "car"
        for target in (usual.place,) if per_car else [f"{usual.place}.{a}" for a in usual.axles]:
            instance = instances_of(target)[0]
            for fact in (*usual.facts, *usual.words, *usual.keeps, *usual.unsaid):
                assert declaration(f"{instance}.{fact}") is not None, (usual.name, fact)
        if usual.wanted[0]:
            assert usual.wanted[0].partition(".{")[0] in known.results


@pytest.mark.parametrize("starter", STARTERS)
def test_who_lowers_a_starter_car_is_offered_what_stops_it(tmp_path: Path, starter: str) -> None:
    folder = lowered(tmp_path, starter)
    examination = open_build(folder).examine()
    short = {f.check for f in examination.findings if f.stopping and f.verdict is Verdict.SHORT}
    found = offered(folder)
    assert "camber" in found or "ride.camber_reach" not in short
    assert "bar-links" in found or "ride.bar_link_length" not in short
    assert found
    for offer in found.values():
        for f in offer.findings:  # what stops nothing is likelier short than not
            assert not f.waits_for
            assert f.stopping or (f.chance is not None and f.chance < 0.5)


@pytest.mark.parametrize(
    ("starter", "place", "behind"),
    [("front-turbo-hatch", "stub_shim.rear", "rear shims that set camber and toe"),
     ("awd-turbo-wagon", "arm.rear", "rear arms that set camber"),
     ("v8-saloon", "", ""), ("utility-4x4", "", "")],
)  # fmt: skip
def test_a_beam_is_offered_shims_links_arms_and_a_live_axle_nothing(
    tmp_path: Path, starter: str, place: str, behind: str
) -> None:
    opened = open_build(lowered(tmp_path, starter))
    examination = opened.examine()
    short = [examination.finding("ride.camber_reach", f"{axle}.left").but(verdict=Verdict.SHORT)
             for axle in ("front", "rear")]  # fmt: skip
    offer = offer_of(usual_cures()["camber"], short, examination.state)
    assert offer is not None
    assert set(offer.parts) == {"arm.front", place} - {""}
    assert offer.called("arm.front").startswith("front arms that set camber")
    assert ("shims" in offer.say) == ("shims" in behind)
    if place:
        assert offer.called(place).startswith(behind)
    add_parts(opened.build, offer)
    known = open_build(opened.build.root).build.parts
    for where, part in offer.parts.items():
        assert known[part].name == offer.called(where)
        assert getattr(known[part], "kind", "") == places()[where.partition(".")[0]].kind


def test_shims_of_a_beam_reach_camber_and_toe_and_the_arms_stay_what_they_were(
    tmp_path: Path,
) -> None:
    """One shim a side sets both: once it is planned, nothing more is offered for that axle."""
    folder = lowered(tmp_path)
    before = open_build(folder).examine()
    short = [before.finding(f"ride.{a}_reach", "rear.left").but(verdict=Verdict.SHORT)
             for a in ("camber", "toe")]  # fmt: skip
    toe = offer_of(usual_cures()["toe"], short, before.state)
    assert toe is not None
    assert set(toe.parts) == {"stub_shim.rear"}
    plan(open_build(folder).build, toe)
    after = open_build(folder).examine()
    assert after.state.fitted["arm.rear.left"] == before.state.fitted["arm.rear.left"]
    for finding in short:
        then = after.finding(finding.check, finding.subject)
        assert finding.margin is not None
        assert then.margin is not None
        assert then.margin.low > finding.margin.high
        assert offer_of(usual_cures()["camber"], [finding], after.state) is None


def test_what_waits_for_a_measurement_is_not_to_be_cured(tmp_path: Path) -> None:
    """The gap inside the tyre is open on guesses alone: measured first, no spacer is offered."""
    folder = lowered(tmp_path)
    gap = open_build(folder).examine().finding("corners.tyre_upright_gap", "front.left")
    assert gap.stopping
    assert gap.waits_for == "narrowing"
    assert "spacers" not in offered(folder)


def test_planned_its_parts_are_to_be_chosen_and_the_car_is_examined_again(tmp_path: Path) -> None:
    folder = lowered(tmp_path)
    before = (folder / "build.toml").read_text(encoding="utf-8")
    links, camber = offered(folder)["bar-links"], offered(folder)["camber"]
    assert wanted_at(links) == ("ride.bar_link_length.front.left",)
    assert plan(open_build(folder).build, links) == "bar-links"
    assert plan(open_build(folder).build, camber) == "camber"
    after = (folder / "build.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))  # every comment and line that was there
    added = (folder / ADDED).read_text(encoding="utf-8")
    assert "# length_least: not known yet: shortest setting" in added
    assert 'camber_range = {is = "0.7 to 2 deg", by = "assumed"}' in added
    assert "a guess" in added
    examination = open_build(folder).examine()
    link = examination.finding("ride.bar_link_length", "front.left")
    assert link.verdict is Verdict.UNMEASURED  # nobody knows the links yet: no word of a cure
    assert link.waits_for == "measuring"
    reach = examination.finding("ride.camber_reach", "rear.left")
    assert reach.verdict is Verdict.ENOUGH
    assert not {"bar-links", "camber"} & set(offered(folder))


def test_read_off_the_chosen_part_the_finding_is_decided(tmp_path: Path) -> None:
    folder = lowered(tmp_path)
    links = offered(folder)["bar-links"]
    plan(open_build(folder).build, links)
    file = folder / ADDED
    text = file.read_text(encoding="utf-8")
    for least, most, verdict in (("40 mm", "250 mm", "enough"), ("200 mm", "250 mm", "short")):
        said = f'kind = "bar_link"\nlength_least = "{least}"\nlength_most = "{most}"'
        file.write_text(text.replace('kind = "bar_link"', said), encoding="utf-8")
        found = open_build(folder).examine().finding("ride.bar_link_length", "front.left")
        assert found.verdict == verdict
    # what is stated is no longer called unknown
    stated = [one.stands for one in asked_of(links, open_build(folder).build)]
    assert [s.partition(",")[0] for s in stated] == ["about 200 mm", "about 250 mm"]


def test_parts_of_an_earlier_try_are_taken_again(tmp_path: Path) -> None:
    folder = lowered(tmp_path)
    offer = offered(folder)["camber"]
    build = add_parts(open_build(folder).build, offer)
    text = (folder / ADDED).read_text(encoding="utf-8")
    assert add_parts(build, offered(folder)["camber"]).parts.keys() == build.parts.keys()
    assert (folder / ADDED).read_text(encoding="utf-8") == text
    assert text.count('kind = "control_arm"') == text.count('kind = "stub_shim"') == 1


def test_a_file_that_somebody_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    folder = lowered(tmp_path)
    offer = offered(folder)["bar-links"]
    old = open_build(folder).build
    (folder / "build.toml").write_text(old.files["build.toml"] + "\n# mine\n", encoding="utf-8")
    assert plan(old, offer) == "bar-links"  # adding the parts has read the folder anew
    assert "# mine" in (folder / "build.toml").read_text(encoding="utf-8")
    stale = open_build(folder).build
    with (folder / "build.toml").open("a", encoding="utf-8") as out:
        out.write("# mine too\n")
    with pytest.raises(EditRefused, match="was changed since"):
        plan(stale, offer)
    assert "# mine too" in (folder / "build.toml").read_text(encoding="utf-8")


def test_where_other_parts_are_planned_nothing_is_offered() -> None:
    """The example fits its own links and arms."""
    found = offered(ROOT / "examples" / "plover")
    assert not {"bar-links", "camber"} & set(found)


def test_what_measuring_may_settle_is_measured_before_it_is_changed(tmp_path: Path) -> None:
    """Room enough on guesses alone asks for a better word, not for another wheel."""
    examination = open_build(lowered(tmp_path)).examine()
    said = {h.check: h.do for use in examination.uses for h in use.holds}
    waits = {f.check: f.waits_for for f in examination.findings}
    assert waits["corners.tyre_arm_gap"] == "a better word"
    arm, upright = said["corners.tyre_arm_gap"], said["corners.tyre_upright_gap"]
    assert arm.startswith("measure tyre's side to arm, spring or body first; ")
    assert waits["corners.tyre_upright_gap"] == "narrowing"
    first = "measure tyre's side to hub carrier or damper first; if it stays open: less"
    assert upright.startswith(first)
    assert said["ride.camber_reach"].startswith("an arm or a shim with more range")


def test_a_camber_that_nobody_named_is_that_of_the_car_as_found(tmp_path: Path) -> None:
    folder = lowered(tmp_path)
    reach = ("ride.camber_reach", "rear.left")
    assert open_build(folder).examine().finding(*reach).when_short == (
        "camber is not as found, and what sets it does not bring it back"
    )
    goals = folder / "build.toml"
    copied = 'camber_rear = { same_as = "corner.rear.left.camber" }'
    text = goals.read_text(encoding="utf-8")
    assert copied in text
    goals.write_text(text.replace(copied, 'camber_rear = "2 deg"'), encoding="utf-8")
    assert open_build(folder).examine().finding(*reach).when_short == (
        "what sets camber does not reach that of the goal"
    )


@pytest.mark.parametrize("starter", ["front-turbo-hatch", "v8-saloon"])
def test_more_fuel_is_offered_a_map_and_what_the_way_back_wants(
    tmp_path: Path, starter: str
) -> None:
    folder = make_build(tmp_path / "car", nearest=starter, driving="yes", first_change="more fuel")
    for name in offered(folder):
        offer = offered(folder).get(name)
        if offer is None:
            continue  # what it is for waits for the part of one before it
        before = {f.check: f for f in offer.findings}
        plan(open_build(folder).build, offer)
        found = open_build(folder).examine()
        for check, finding in before.items():
            after = found.finding(check, finding.subject)
            assert after.verdict is Verdict.UNMEASURED, (name, check)
            assert after.waits_for == "measuring"
    jobs = [job.id for job in open_build(folder).build.jobs]
    assert {"map", "return-line"} <= set(jobs)
    parts = tomllib.loads((folder / ADDED).read_text(encoding="utf-8"))["part"]
    was = tomllib.loads((folder / "parts/standard.toml").read_text(encoding="utf-8"))["part"]
    assert parts["my_map"]["stage"] == "first"
    assert parts["my_map"]["throttle_bore"] == was["std_map"]["throttle_bore"]
    assert "injector_flow" not in parts["my_map"]
    assert parts["my_return_line"]["length"] == was["std_return_line"]["length"]


def test_a_part_for_two_findings_is_told_for_each_by_itself(tmp_path: Path) -> None:
    """15 mm of spacers for a caliper were told to whoever lacked 1 mm inside the tyre."""
    examination = open_build(lowered(tmp_path)).examine()
    tyre, caliper = (
        examination.finding(check, "front.left").but(margin=Interval(-lack, -lack, -lack))
        for check, lack in (
            ("corners.tyre_upright_gap", 0.001), ("corners.caliper_spoke_gap", 0.015)
        )
    )
    offer = offer_of(usual_cures()["spacers"], [tyre, caliper], examination.state)
    assert offer is not None
    said = {
        f.check: (wanted_of(for_check(offer, f.check), examination, "metric"),
                  others_want(offer, f.check, examination, "metric"))
        for f in (tyre, caliper)
    }  # fmt: skip
    one, fifteen = (f"thickness wanted, by what is short, front: {mm} mm" for mm in (1, 15))
    assert said[tyre.check] == ((one,), [f"{caliper.title} wants for itself {fifteen}"])
    assert said[caliper.check] == ((fifteen,), [f"{tyre.title} wants for itself {one}"])


@pytest.mark.parametrize("starter", STARTERS)
def test_who_fits_springs_25_mm_lower_alone_is_not_stopped_by_angles_or_links(
    tmp_path: Path, starter: str
) -> None:
    """A beam that nothing sets was a hundredth of a degree short of toe as found."""
    folder = make_build(tmp_path / "car", nearest=starter, driving="yes", first_change="lower it")
    first = folder / "parts" / "first.toml"
    said, count = re.subn(
        r"stated_drop = .*", 'stated_drop = "25 ± 5 mm"', first.read_text(encoding="utf-8")
    )
    assert count == 2
    first.write_text(said, encoding="utf-8")
    found = open_build(folder).examine().findings
    of = ("ride.camber_", "ride.toe_", "ride.bar_")
    assert {"ride.camber_reach", "ride.toe_reach"} <= {f.check for f in found}
    assert not [f for f in found if f.check.startswith(of) and f.stopping and "drive" in f.stops]


def test_a_lip_that_the_tyre_meets_is_offered_packers_with_their_height_and_the_rolling(
    tmp_path: Path,
) -> None:
    examination = open_build(lowered(tmp_path)).examine()
    gap = examination.finding("corners.arch_bump_gap", "rear.left")
    assert gap.do.startswith("the lip rolled by what is short")
    offer = offer_of(usual_cures()["packers"], [gap], examination.state)
    assert offer is not None
    assert set(offer.parts) == {"bump_stop.rear"}
    (need,) = needed(examination, offer)
    assert need.fact == "solid_height"
    assert need.more
    assert need.enough
    assert need.finding.chance is not None
    assert gap.chance is not None
    assert gap.chance < 0.99 <= need.finding.chance
    assert 0.020 < need.value < 0.080  # the stop that is there is squeezed to 20 mm
    assert "paint cracks" in offer.say
