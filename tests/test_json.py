"""The JSON of ``check``: stable for other programs, whatever the display, the order or the day."""

from __future__ import annotations

import json
import shutil
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import drybuild
from drybuild.examine.as_json import check_json
from drybuild.systems import registry
from drybuild.values import KINDS

DEMO = Path(__file__).parents[1] / "examples" / "plover"
IDS = Path(__file__).parent / "data" / "check_ids.txt"
SCHEMA = files("drybuild.examine").joinpath("check.schema.json")


def answer(folder: Path, state: str = "finished", **how: Any) -> dict[str, Any]:
    opened = drybuild.open_build(folder)
    done = opened.examine(state, **({"draws": 256} | how))
    data = check_json(
        done, opened.measure_next(done), version=drybuild.__version__, rule_sets=opened.rule_sets()
    )
    return json.loads(json.dumps(data, allow_nan=False))


@pytest.fixture(scope="module")
def finished() -> dict[str, Any]:
    return answer(DEMO)


@pytest.fixture
def build(tmp_path: Path) -> Path:
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    return folder


def test_it_keeps_to_its_schema_with_little_and_with_much(finished):
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(finished, schema)
    jsonschema.validate(answer(DEMO, "as found"), schema)


def test_the_schema_would_notice(finished):
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    first = finished["findings"][0]
    for spoiled in (
        finished | {"format": 2},
        finished | {"findings": [first | {"verdict": "passed"}]},
        finished | {"findings": [{k: v for k, v in first.items() if k != "subject"}]},
        finished | {"more": 1},
    ):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoiled, schema)


def test_check_and_subject_are_unique(finished):
    keys = [(f["check"], f["subject"]) for f in finished["findings"]]
    assert len(keys) == len(set(keys)) > 100


def test_no_check_or_record_id_ever_vanishes():
    """An id once printed stays: other programs, records and notes rest on it."""
    kept = set(IDS.read_text(encoding="utf-8").split())
    known = {*registry().checks, *registry().records}
    assert kept - known == set(), "an id may not vanish or be renamed"
    assert known - kept == set(), "new ids: run python tests/test_json.py to list them"
    assert IDS.read_text(encoding="utf-8").split() == sorted(kept)


def test_units_are_those_of_si_and_one_a_check(finished):
    si = {kind.si for kind in KINDS.values()} | {""}
    checks = registry().checks
    for f in finished["findings"]:
        if f["margin"] is None:
            assert f["verdict"] == "unmeasured"
            continue
        assert f["margin"]["unit"] in si
        assert f["margin"]["unit"] == KINDS[checks[f["check"]].kind].si
        assert f["slack"]["unit"] == f["margin"]["unit"]


def test_the_display_changes_no_figure(build, finished):
    head = build / "build.toml"
    text = head.read_text(encoding="utf-8")
    assert 'units = "metric"' in text
    head.write_text(text.replace('units = "metric"', 'units = "us"'), encoding="utf-8")
    there = answer(build)
    assert there["inputs_hash"] != finished["inputs_hash"]
    assert there["findings"] == finished["findings"]


def test_the_same_seed_gives_the_same_answer(finished):
    assert answer(DEMO) == finished
    other = answer(DEMO, seed=7)
    assert other["seed"] == 7
    assert other["inputs_hash"] == finished["inputs_hash"]
    medians = [
        (a["margin"]["median"], b["margin"]["median"])
        for a, b in zip(other["findings"], finished["findings"], strict=True)
        if a["margin"] is not None and b["margin"] is not None
    ]
    assert any(a != b for a, b in medians)


def test_the_order_and_names_of_part_files_do_not_matter(build, finished):
    parts = sorted((build / "parts").glob("*.toml"))
    parts[0].rename(build / "parts" / "zz_last.toml")
    parts[-1].rename(build / "parts" / "aa_first.toml")
    assert answer(build)["findings"] == finished["findings"]


def test_the_hash_follows_every_file(build, finished):
    assert answer(build)["inputs_hash"] == finished["inputs_hash"]
    part = next((build / "parts").glob("*.toml"))
    part.write_text(part.read_text(encoding="utf-8") + "\n# a remark\n", encoding="utf-8")
    changed = answer(build)
    assert changed["inputs_hash"] != finished["inputs_hash"]
    assert changed["findings"] == finished["findings"]


def test_intervals_hold_their_median_and_the_margin_is_slack_less_gap(finished):
    for f in finished["findings"]:
        m = f["margin"]
        if m is None or None in m.values():
            continue
        assert m["low"] <= m["median"] <= m["high"], f["check"]
        assert 0 <= f["chance"] <= 1
        # to the last of nine figures; where the gap itself has doubt the medians do not subtract
        if f["slack"]["low"] - m["low"] == pytest.approx(f["gap_wanted"], rel=1e-6, abs=1e-9):
            size = max(abs(f["slack"]["median"]), abs(f["gap_wanted"]), 1e-12)
            away = f["slack"]["median"] - f["gap_wanted"] - m["median"]
            assert abs(away) <= 1e-6 * size, f["check"]


def test_uses_name_the_findings_that_hold_them(finished):
    keys = {(f["check"], f["subject"]): f for f in finished["findings"]}
    held = [h for u in finished["uses"] for h in u["holds"]]
    assert held
    for use in finished["uses"]:
        assert use["allowed"] == (not use["holds"])
        for hold in use["holds"]:
            finding = keys[hold["check"], hold["subject"]]
            assert finding["armed"]
            assert finding["verdict"] != "enough"
            assert hold["why"]
            assert hold["do"]


def test_a_use_names_the_rules_that_the_car_is_outside_of_as_found():
    data = answer(DEMO.parent / "plover_saturdays", "now")
    jsonschema.validate(data, json.loads(SCHEMA.read_text(encoding="utf-8")))
    outside = {use["use"]: use["outside_as_found"] for use in data["uses"]}
    assert outside["compete"] == [{"check": "law.club_catch_tank", "subject": "car"}]
    assert outside["move"] == []
    short = {(f["check"], f["subject"]) for f in data["findings"] if f["verdict"] == "short"}
    assert all((one["check"], one["subject"]) in short for rows in outside.values() for one in rows)


def test_what_is_unmeasured_says_what_is_missing(finished):
    for f in finished["findings"]:
        assert bool(f["missing"]) == (f["verdict"] == "unmeasured"), f["check"]


def test_a_recalled_limit_wants_reading_and_no_measurement(finished):
    recalled = [f for f in finished["findings"] if f["why"].startswith("the limit is recalled")]
    assert recalled
    assert {f["settles_by"] for f in recalled} == {"reading the rule"}
    holds = [h for u in finished["uses"] for h in u["holds"] if "recalled" in h["why"]]
    assert all("rules_read" in h["do"] for h in holds)


def test_measure_next_names_inputs_with_tool_and_minutes(finished):
    assert finished["measure_next"]
    for m in finished["measure_next"]:
        assert m["with"]
        assert m["how"]
        assert m["minutes"] > 0
        assert m["settles"] > 0


if __name__ == "__main__":
    IDS.write_text("\n".join(sorted({*registry().checks, *registry().records})) + "\n", "utf-8")
