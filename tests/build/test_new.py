"""Starter cars and new build folders: they load, say that all is assumed, and check at once."""

from __future__ import annotations

import re
import tomllib
from itertools import product
from pathlib import Path

import pytest

from drybuild.build import BuildFaults, UnknownName, read_build
from drybuild.build.new import (
    ANSWERS,
    BLANK,
    DONT_KNOW,
    FIRST_CHANGES,
    NONE,
    STARTERS,
    WHOLE_LIST,
    first_changes,
    make_build,
    starter_folder,
)
from drybuild.build.state import State
from drybuild.examine import examine_state
from drybuild.findings import Verdict
from drybuild.systems import registry
from drybuild.values import HowKnown, Value

EVERY = tuple(product((*STARTERS, NONE, DONT_KNOW), ANSWERS, (*FIRST_CHANGES, DONT_KNOW)))


@pytest.mark.parametrize(("starter", "driving", "first"), EVERY)
def test_every_combination_of_answers_reads(
    tmp_path: Path, starter: str, driving: str, first: str
) -> None:
    folder = make_build(tmp_path / "b", nearest=starter, driving=driving, first_change=first)
    build = read_build(folder)
    assert build.head.driving is {"yes": True, "no": False, DONT_KNOW: None}[driving]
    jobs = {DONT_KNOW: 0, WHOLE_LIST: len(FIRST_CHANGES) - 1}.get(first, 1)
    assert len(build.jobs) == jobs


def test_all_answers_may_be_left_out(tmp_path: Path) -> None:
    assert read_build(make_build(tmp_path / "b")).jobs == ()


def test_the_inspection_is_kept_as_told_whatever_it_contains(tmp_path: Path) -> None:
    told = 'June, "two faults"\n[build]\nname = 1 \\ # é'
    build = read_build(make_build(tmp_path / "b", inspection=told))
    assert build.head.last_inspection == " ".join(told.split())
    assert build.head.name == "b"


def test_nothing_that_exists_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(UnknownName, match="in use"):
        make_build(tmp_path)
    with pytest.raises(UnknownName, match="in use"):
        make_build(tmp_path / "mine.txt")
    make_build(tmp_path / "b")
    with pytest.raises(UnknownName, match="in use"):
        make_build(tmp_path / "b")


@pytest.mark.parametrize("question", ["nearest", "driving", "first_change"])
def test_an_unknown_answer_lists_the_known_ones(tmp_path: Path, question: str) -> None:
    with pytest.raises(UnknownName, match="don't know"):
        make_build(tmp_path / "b", **{question: "light-roadstar"})
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("starter", STARTERS)
def test_a_starter_car_is_assumed_and_wide(tmp_path: Path, starter: str) -> None:
    build = read_build(make_build(tmp_path / "b", nearest=starter))
    assert all(known is HowKnown.ASSUMED for known in build.part_known.values())
    values = {a: s.value for a, s in build.stated.items() if isinstance(s.value, Value)}
    assert len(values) > 80
    assert all(v.how is HowKnown.ASSUMED for v in values.values())
    as_marked = ("cylinders", "injections", "octane_required", "seats", "seats_fitted")
    as_marked += ("rim_width", "spacer")
    sharp = {a for a, v in values.items() if v.exact and not v.same_as and v.kind != "goal"}
    wanted = {"goal.range_wanted", "goal.camber_window", "goal.toe_window"}
    assert {a for a in sharp if not a.endswith(as_marked)} <= wanted


@pytest.mark.parametrize("starter", STARTERS)
def test_every_line_of_a_starter_car_says_where_its_figure_comes_from(starter: str) -> None:
    for name in ("car.toml", "parts/standard.toml", "first_changes.toml"):
        text = starter_folder(starter).joinpath(name).read_text(encoding="utf-8")
        for line in text.splitlines():
            if re.match(r'^\w+ = (["{\[]?[^"]*\d)', line) and not line.startswith(
                ("format", "name", "kind", "outline", "fit =", "set =")
            ):
                assert "#" in line, (name, line)


def test_a_starter_car_is_of_an_invented_maker_and_unlike_the_others() -> None:
    names = set()
    for starter in STARTERS:
        text = starter_folder(starter).joinpath("car.toml").read_text(encoding="utf-8")
        names.add(tomllib.loads(text)["name"])
    assert len(names) == len(STARTERS)


@pytest.mark.parametrize("starter", [*STARTERS, BLANK])
def test_what_is_put_on_first_fits(starter: str) -> None:
    tables = first_changes(starter)
    fitted = {
        part for change in FIRST_CHANGES if change != WHOLE_LIST
        for part in tables[change]["fit"].values()
    }  # fmt: skip
    assert fitted == set(tables["part"])


@pytest.mark.parametrize("starter", [*STARTERS, NONE])
def test_as_found_nothing_stops_a_starter_car(tmp_path: Path, starter: str) -> None:
    build = read_build(make_build(tmp_path / "b", nearest=starter, driving="yes"))
    found = examine_state(build.base_state, registry(), draws=256, refine=False, unknowns=False)
    assert [f.check for f in found.findings if f.armed] == []
    assert [u.use for u in found.uses if not u.allowed] == []


@pytest.mark.parametrize("starter", STARTERS)
def test_a_starter_car_answers_nearly_all_at_once(tmp_path: Path, starter: str) -> None:
    build = read_build(make_build(tmp_path / "b", nearest=starter, driving="yes"))
    found = examine_state(build.base_state, registry(), draws=256, refine=False, unknowns=False)
    silent = sorted({f.check for f in found.findings if f.verdict is Verdict.UNMEASURED})
    assert len(silent) <= 0.1 * len({f.check for f in found.findings}), silent


@pytest.mark.parametrize(
    ("starter", "first"), tuple(product((*STARTERS, NONE), (*FIRST_CHANGES, DONT_KNOW)))
)
def test_with_its_first_job_a_new_folder_checks_at_once(
    tmp_path: Path, starter: str, first: str
) -> None:
    build = read_build(make_build(tmp_path / "b", nearest=starter, first_change=first))
    from drybuild.build import job_changes

    state: State = build.base_state.after([c for job in build.jobs for c in job_changes(job)])
    found = examine_state(state, registry(), draws=256, refine=False, unknowns=False)
    armed = [f for f in found.findings if f.armed]
    assert bool(armed) == (first != DONT_KNOW)
    for finding in armed:
        assert finding.verdict is not Verdict.ENOUGH or finding.consequence != "injury"


def test_a_faulty_folder_would_be_noticed(tmp_path: Path) -> None:
    folder = make_build(tmp_path / "b", nearest="light-roadster")
    car = folder / "car.toml"
    car.write_text(car.read_text(encoding="utf-8").replace("2.27", "2.27 furlongs"), "utf-8")
    with pytest.raises(BuildFaults):
        read_build(folder)


@pytest.mark.parametrize(
    "starter", [s for s in STARTERS if "map" in first_changes(s)["power"]["fit"]]
)
def test_a_list_with_injectors_and_a_map_leaves_open_what_is_to_be_written(
    tmp_path: Path, starter: str
) -> None:
    """As found it would be short of the very injectors that the same list fits."""
    folder = make_build(
        tmp_path / "b", nearest=starter, first_change="more fuel", then=["power", "more fuel"]
    )
    build = read_build(folder)
    assert [job.id for job in build.jobs] == ["more-fuel", "power"]
    planned = {place: part for job in build.jobs for place, part in job.fit.items()}
    written = build.parts[planned["map"]]
    assert getattr(written, "injector_flow", None) is None
    assert getattr(written, "throttle_bore", None) is not None
    text = (folder / "parts" / "first.toml").read_text(encoding="utf-8")
    assert "# injector_flow: not known yet, of the new injectors" in text
    alone = read_build(make_build(tmp_path / "c", nearest=starter, first_change="power"))
    assert getattr(alone.parts[planned["map"]], "injector_flow", None) is not None


@pytest.mark.parametrize("starter", STARTERS)
def test_a_remap_keeps_the_standard_map_and_asks_for_no_boost_of_its_own(
    tmp_path: Path, starter: str
) -> None:
    build = read_build(make_build(tmp_path / "b", nearest=starter, first_change="remap"))
    from drybuild.build import job_changes

    (job,) = build.jobs
    (new,) = job.fit.values()
    standard, written = build.parts["std_map"], build.parts[new]
    for fact in ("injector_flow", "air_meter_span", "throttle_bore", "rev_limit"):
        said, was = getattr(written, fact), getattr(standard, fact)
        assert (said.centre, said.low, said.how) == (was.centre, was.low, HowKnown.ASSUMED)
    for fact in ("boost_target", "boost_ceiling", "final_boost", "advance_ceiling"):
        assert getattr(written, fact) is None, fact
    after = build.base_state.after(list(job_changes(job)))
    found = examine_state(after, registry(), draws=256, refine=False, unknowns=False)
    run = [f for f in found.findings if f.armed and "run" in f.stops and f.check[:4] == "cali"]
    assert run, "a new map is checked"
    assert [f.check for f in run if f.verdict is Verdict.UNMEASURED] == []


def test_with_power_and_a_remap_one_map_is_written(tmp_path: Path) -> None:
    folder = make_build(
        tmp_path / "b", nearest="front-turbo-hatch", first_change="remap", then=["power"]
    )
    build = read_build(folder)
    fitted = [(job.id, part) for job in build.jobs for place, part in job.fit.items()
              if place == "map"]  # fmt: skip
    assert fitted == [("remap", "my_map")]


def test_what_is_named_twice_is_one_job(tmp_path: Path) -> None:
    build = read_build(make_build(tmp_path / "b", first_change="brakes", then=[WHOLE_LIST]))
    ids = [job.id for job in build.jobs]
    assert ids[0] == "brakes"
    assert len(ids) == len(set(ids)) == len(FIRST_CHANGES) - 1
    with pytest.raises(UnknownName, match="then"):
        make_build(tmp_path / "c", first_change="brakes", then=["paint"])
