"""The published schemas describe what is read."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from drybuild.examine.schemas import schemas

DEMO = Path(__file__).parents[2] / "examples" / "plover"
SCHEMAS = schemas()


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_each_is_a_schema(name):
    jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_the_demo_keeps_the_present_ones_beside_it(name):
    kept = json.loads((DEMO / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    assert kept == SCHEMAS[name], "run: drybuild schema --write examples/plover/schema"


@pytest.mark.parametrize(
    "path", sorted(p.relative_to(DEMO) for p in DEMO.rglob("*.toml")), ids=str
)
def test_the_demo_files_name_their_schema_and_suit_it(path):
    text = (DEMO / path).read_text(encoding="utf-8")
    name = "parts" if path.parent.name == "parts" else path.stem
    where = f"#:schema {'../' if path.parent.name == 'parts' else ''}schema/{name}.json"
    assert text.startswith(where + "\n")
    data = json.loads(json.dumps(tomllib.loads(text), default=str))
    errors = list(jsonschema.Draft202012Validator(SCHEMAS[name]).iter_errors(data))
    assert [f"{list(e.absolute_path)}: {e.message[:100]}" for e in errors] == []


def test_a_misspelt_key_does_not_suit():
    data = {"format": 1, "part": {"x": {"kind": "wheel", "ofset": "45 mm"}}}
    assert not jsonschema.Draft202012Validator(SCHEMAS["parts"]).is_valid(data)


def test_each_kind_of_value_stands_once():
    size = {name: len(json.dumps(s)) for name, s in SCHEMAS.items()}
    assert max(size.values()) < 350_000, size
