"""The demo of the work (invented): six Saturdays, and a car that is needed on Mondays."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

import drybuild
from drybuild.examine.schemas import schemas
from drybuild.work.lessons import Lessons
from drybuild.work.reading import to_do

SATURDAYS = Path(__file__).parents[1] / "examples" / "plover_saturdays"
SCHEMAS = schemas()


@pytest.fixture(scope="module")
def car():
    return drybuild.open_build(SATURDAYS)


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_it_keeps_the_present_schemas_beside_it(name):
    kept = json.loads((SATURDAYS / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    assert kept == SCHEMAS[name], "run: drybuild schema --write examples/plover_saturdays/schema"


@pytest.mark.parametrize(
    "path", sorted(p.relative_to(SATURDAYS) for p in SATURDAYS.rglob("*.toml")), ids=str
)
def test_its_files_suit_their_schema(path):
    text = (SATURDAYS / path).read_text(encoding="utf-8")
    name = "parts" if path.parent.name == "parts" else path.stem
    data = json.loads(json.dumps(tomllib.loads(text), default=str))
    assert jsonschema.Draft202012Validator(SCHEMAS[name]).is_valid(data)
    assert text.startswith(f"#:schema {'../' if name == 'parts' else ''}schema/{name}.json\n")


def test_nothing_calculated_stops_the_finished_car(car):
    finished = car.examine("finished")
    assert {use.use for use in finished.uses if not use.allowed} == set()
    assert finished.use("drive").records_owed, "hand checks are still for people to make"


def test_as_driven_in_nothing_recorded_stops_it(car):
    assert all(use.allowed for use in car.examine("now").uses)


# ---- what fits together only together

TOGETHER = [
    # done, what it lacks, the check that stops drive until then
    ({"springs-front"}, {"bar-links"}, "ride.bar_link_length"),
    ({"springs-rear"}, {"bar-links"}, "ride.bar_link_length"),
    ({"front-brakes"}, {"wheels", "rear-arms", "speed-reading"}, "corners.caliper_barrel_gap"),
    ({"wheels", "rear-arms"}, {"speed-reading"}, "law.speedometer_low"),
    ({"wheels", "speed-reading"}, {"rear-arms"}, "corners.arch_bump_gap"),
    ({"pump", "pump-wiring", "feed-line"}, {"return-line"}, "fuel.return_flow"),
    ({"pump", "return-line"}, {"feed-line", "pump-wiring"}, "electrics.wire_current"),
    ({"injectors", "ethanol-sensor"}, {"first-map"}, "calibration.injector_flow"),
    ({"injectors", "first-map"}, {"ethanol-sensor"}, "calibration.ethanol_sensor"),
]


@pytest.fixture(scope="module")
def todo(car):
    return to_do(car)


@pytest.fixture(scope="module")
def lessons(car, todo):
    return Lessons(car.state("now"), car.registry, todo.problem.jobs)


@pytest.mark.parametrize(("done", "lacks", "check"), TOGETHER)
def test_half_of_it_stops_drive_and_all_of_it_does_not(lessons, done, lacks, check):
    assert check in {hold.check for hold in lessons.stopped("drive", done)}
    assert lessons.stopped("drive", done | lacks) == ()


def test_a_lesson_names_what_is_done_and_what_would_lift_it(lessons):
    found = [c for c in lessons.clauses("drive", {"front-brakes"}) if "barrel" in c.check]
    assert found
    for clause in found:
        assert clause.done == {"front-brakes"}
        assert clause.not_done == {"wheels"}


def test_about_25_jobs_and_the_parts_come_when_their_makers_say(todo):
    problem = todo.problem
    assert len(problem.jobs) == 25
    assert problem.at(problem.jobs["turbo"].earliest).date().isoformat() == "2026-12-30"
    assert problem.jobs["rack"].sessions == ("shop",)
    assert todo.unpriced == {}
    assert "undertray" not in problem.components, "as work.toml says"
    assert {need.use for need in problem.needs} == {"drive"}
    assert all(problem.at(need.until).weekday() == 0 for need in problem.needs)
    assert sum(len(s.people) for s in problem.sessions if s.id == "sat-3") == 3
