"""The demo of the work (invented): six Saturdays, and a car that is needed on Mondays."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

import drybuild
from drybuild.examine.schemas import schemas

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
