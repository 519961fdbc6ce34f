"""Turbochargers on screen: their map, how large it is, and the power that they carry."""

from __future__ import annotations

import re
import tomllib
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from forms import token_in, token_of, visit
from starlette.testclient import TestClient

from drybuild.build import Change
from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.show.compare import with_part
from drybuild.values import HowKnown
from drybuild.web.draft_kept import kept_words, write_into_build
from drybuild.web.drafts import Draft

POINTS = """speed rpm; flow lb/min; pressure ratio; efficiency %
60000; 3; 1.2; 70
60000; 11; 1.1; 62
100000; 8; 1.7; 73
100000; 22; 1.45; 64
140000; 15; 2.6; 74
140000; 34; 2.0; 65
"""


def _sold(here: TestClient, folder: Path, **form: str) -> dict[str, Any]:
    data = {"token": token_of(here), "kind": "turbo", "by": "maker", "fact": ["name"],
            "value": ["Bigger"], **form}  # fmt: skip
    for fact in ("largest_flow", "as_sold"):
        if fact in form:
            data["fact"] = [*data["fact"], fact]
            data["value"] = [*data["value"], data.pop(fact)]
    answer = here.post("/parts/add", data=data)
    assert answer.status_code == 303, answer.text
    part = answer.headers["location"][7:]
    file = folder / open_build(folder).build.part_files[part]
    made: dict[str, Any] = tomllib.loads(file.read_text(encoding="utf-8"))["part"][part]
    return made


def _after(folder: Path, part: str) -> Any:
    opened = open_build(folder)
    state = opened.state("finished")
    return opened.examine(state.after(with_part(state, "turbo", part), "draft:tried"))


def test_a_part_that_begins_as_a_guess_leaves_no_check_without_an_answer(hatch: Path) -> None:
    here = visit(hatch)
    form = here.get("/parts/add?kind=turbo").text
    assert '<option value="std_turbo">begins as a guess, as standard turbocharger' in form
    unknown = {}
    for like in ("", "std_turbo"):
        _sold(here, hatch, like=like)
        part = "bigger" if not like else "bigger_2"
        unknown[like] = sum(f.verdict == "unmeasured" for f in _after(hatch, part).findings)
    before = open_build(hatch).examine("finished")
    assert unknown["std_turbo"] == sum(f.verdict == "unmeasured" for f in before.findings)
    assert unknown[""] > unknown["std_turbo"] + 20
    text = (hatch / "parts" / "added.toml").read_text(encoding="utf-8")
    assert "a guess, as standard turbocharger: to be replaced" in text
    parts = open_build(hatch).build.parts
    for name in ("speed_limit", "mass", "turbine_temperature_limit", "flow_scale"):
        guess, was = getattr(parts["bigger_2"], name), getattr(parts["std_turbo"], name)
        assert guess.how.words == "assumed"
        assert guess.half_width >= 1.9 * was.half_width, name


def test_what_is_typed_wins_over_the_guess(hatch: Path) -> None:
    here = visit(hatch)
    made = _sold(here, hatch, like="std_turbo", fact=["name", "mass"], value=["Bigger", "7.1"])
    assert made["mass"] == {"is": "7.1 kg", "by": "maker"}


def test_a_compressor_s_largest_flow_sets_its_size_and_the_rest_is_kept(hatch: Path) -> None:
    made = _sold(visit(hatch), hatch, like="std_turbo", largest_flow="40 lb/min",
                 as_sold="54 mm in, 71 mm out, pressure ratio 2.8")  # fmt: skip
    assert made["flow_scale"]["by"] == "assumed"  # the seller's flow, over another one's map
    largest = max(float(f.split()[0]) for line in made["map"]["lines"] for f in line["flow"])
    assert largest == pytest.approx(40 * 453.59237 / 60, rel=0.001)  # g/s
    assert "54 mm in" in made["note"]
    page = visit(hatch).get("/parts/bigger").text
    assert "largest flow 40 lb/min" in page  # as it was typed
    assert re.search("Largest flow: <strong>about 30[0-9] g/s, 2[67][0-9] to 3[34][0-9]<", page)
    assert {line["speed"]["by"] for line in made["map"]["lines"]} == {"assumed"}
    assert _map_known(hatch) is HowKnown.ASSUMED  # another one's map is a guess, in any file


def _map_known(hatch: Path) -> HowKnown:
    build = open_build(hatch).build
    name, part = next((n, p) for n, p in build.parts.items()
                      if getattr(p, "kind", "") == "turbo" and not p.standard)  # fmt: skip
    return part.how_known("map", build.part_known[name])


def test_a_map_is_typed_point_by_point(hatch: Path) -> None:
    here = visit(hatch)
    made = _sold(here, hatch, like="std_turbo", points=POINTS)
    first, *_, last = made["map"]["lines"]
    assert [line["speed"]["is"] for line in made["map"]["lines"]] == [
        "60000 rpm", "100000 rpm", "140000 rpm"]  # fmt: skip
    assert float(first["flow"][0].split()[0]) == pytest.approx(3 * 453.59237 / 60, rel=1e-4)
    assert last["efficiency"] == [0.74, 0.65]
    assert "flow_scale" not in made  # its own map, not another's made larger
    assert _map_known(hatch) > HowKnown.ASSUMED
    checks = {f.check: f for f in _after(hatch, "bigger").findings}
    assert checks["breathing.surge"].verdict != "unmeasured"


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ("60000; 3; 1.2", "at least 3 are wanted"), ("60000; three; 1.2", "row 1, flow"),
        (POINTS.replace("lb/min", "parsec"), "parsec"), ("speed, flow\n1,2", "pressure ratio"),
    ],
)  # fmt: skip
def test_points_that_are_no_map_are_refused_with_what_is_wrong(
    hatch: Path, points: str, said: str
) -> None:
    here = visit(hatch)
    data = {"token": token_of(here), "kind": "turbo", "fact": ["name"], "value": ["Bigger"],
            "points": points}  # fmt: skip
    answer = here.post("/parts/add", data=data)
    assert answer.status_code == 409
    assert said in unescape(answer.text)
    assert points.split("\n")[0] in unescape(answer.text)  # what was typed is not lost
    assert not (hatch / "parts" / "added.toml").exists()


def test_a_turbocharger_that_is_there_takes_its_map_on_its_own_page(hatch: Path) -> None:
    here = visit(hatch)
    _sold(here, hatch)
    assert 'action="/parts/map"' in here.get("/parts/bigger").text
    sent = {"token": token_of(here), "part": "bigger"}
    assert here.post("/parts/map", data={**sent, "points": "1; 2; 3"}).status_code == 409
    assert here.post("/parts/map", data={**sent, "points": POINTS}).status_code == 303
    turbo = open_build(hatch).build.parts["bigger"]
    assert len(turbo.map.lines) == 3
    page = here.get("/parts/bigger").text
    assert 'action="/parts/map"' not in page
    again = here.post("/parts/map", data={**sent, "points": POINTS})
    assert again.status_code == 409
    assert "has a map already" in again.text


def test_a_kept_turbo_goes_with_breathing_and_not_with_the_injectors(tmp_path: Path) -> None:
    made = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes",
        first_change="a whole list",
    )  # fmt: skip
    opened = open_build(made)
    tried = (
        Change("fit", "turbo", "std_turbo"), Change("fit", "injectors", "std_injectors"),
    )  # fmt: skip
    said = kept_words(opened, tried)
    assert said.startswith("Kept: ")
    assert "into the job \u201clarger injectors and pump\u201d, in place of injectors to be" in said
    assert re.search("turbocharger into the job \u201cintake and exhaust[^;]*\u201d[.]$", said)
    write_into_build(made, opened, Draft("larger", "larger", tried))
    jobs = {job.id: job.fit for job in open_build(made).build.jobs}
    assert jobs["power"]["turbo"] == "std_turbo"
    assert "turbo" not in jobs["more-fuel"]
    assert "larger" not in jobs


def test_of_a_turbocharger_it_is_said_whether_it_carries_the_aim(hatch: Path) -> None:
    here = visit(hatch)
    asks = "Does it carry the power aimed at"
    _sold(here, hatch, like="std_turbo", largest_flow="360")
    compare = "/parts/compare?place=turbo&part=bigger"
    file = hatch / "build.toml"
    text = file.read_text(encoding="utf-8")
    (aim,) = re.findall(r"(?m)^power = .*$", text)
    file.write_text(text.replace(aim, ""), encoding="utf-8")
    assert asks not in here.get(compare).text  # nobody aims at a power
    file.write_text(text.replace(aim, 'power = "240 kW"'), encoding="utf-8")
    page = here.get(compare).text
    assert asks in page
    assert re.search("240 kW with petrol takes about [0-9]+ g/s, .* at a pressure ratio of", page)
    flow = "its largest flow is about [0-9]+ g/s, [^,]*, enough (?:more than )?([0-9]+) in"
    (bigger,) = re.findall(f"<p>Bigger: {flow}", page)
    (was,) = re.findall(f"<p>Standard turbocharger: {flow}", page)
    assert int(bigger) > int(was) + 50
    assert "what boost may be is the calibrator's to decide" in unescape(page)
    kept = {"token": token_of(here), "place": "turbo", "part": "bigger", "title": "bigger"}
    made = here.post("/parts/draft", data=kept)
    draft = here.get(made.headers["location"]).text
    assert asks in draft
    assert "<p>With it: its largest flow is about 360 g/s" in draft


def test_of_an_aim_that_nobody_said_it_is_said_and_where_to_say_one(hatch: Path) -> None:
    here = visit(hatch)
    _sold(here, hatch, like="std_turbo", largest_flow="200")
    compare = "/parts/compare?place=turbo&part=bigger"
    page = here.get(compare).text
    assert "<p>Nobody has said which power is aimed at: 119 kW, a little less than" in page
    assert '<a href="/set?address=goal.power">Say which power you aim at</a>' in page
    form = here.get("/set?address=goal.power").text
    (seen,) = re.findall(r'name="seen" value="([^"]*)"', form)
    said = {"token": token_in(form), "address": "goal.power", "seen": seen, "value": "150 kW"}
    assert here.post("/set", data=said).status_code == 303
    assert re.search('(?m)^power = "150 kW" +# as its owner says$',
                     (hatch / "build.toml").read_text(encoding="utf-8"))  # fmt: skip
    page = here.get(compare).text
    assert "150 kW with petrol takes" in page
    assert "Nobody has said" not in page


def test_a_largest_flow_counts_though_nothing_else_is_chosen_to_begin_as(hatch: Path) -> None:
    """As one point of a pump's curve does: the map of one of its kind is made as large."""
    made = _sold(visit(hatch), hatch, like="", largest_flow="250 ± 10 g/s")
    flows = [flow for line in made["map"]["lines"] for flow in line["flow"]]
    assert max(float(flow.split()[0]) for flow in flows) == pytest.approx(250.0, abs=0.1)
    assert made["flow_scale"]["is"] == "1 ± 0.04"  # as it was typed
    assert made["flow_scale"]["by"] == "assumed"
    assert _map_known(hatch) is HowKnown.ASSUMED
    assert set(made) <= {"kind", "name", "note", "map", "flow_scale"}


def test_a_flow_scale_beside_a_largest_flow_is_not_passed_over(hatch: Path) -> None:
    here = visit(hatch)
    data = {
        "token": token_of(here), "kind": "turbo", "by": "maker", "like": "std_turbo",
        "fact": ["name", "largest_flow", "flow_scale"], "value": ["Bigger", "250", "1.2"],
    }  # fmt: skip
    answer = here.post("/parts/add", data=data)
    assert answer.status_code == 409
    assert "nothing beside the largest flow, 250, which sets it" in unescape(answer.text)
