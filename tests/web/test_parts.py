"""Parts on screen: adding with all faults shown, comparing in sentences, keeping as a draft."""

from __future__ import annotations

import re
import tomllib
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from forms import token_in
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.build import Change, read_build
from drybuild.build.kinds import part_kinds
from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.journal import Journal
from drybuild.show.compare import with_part
from drybuild.show.sentences import HOLDS_DOWN, JOINT_MEANS
from drybuild.values import HowKnown, parse_value
from drybuild.web import desk
from drybuild.web.app import make_app
from drybuild.web.draft_kept import kept_words, write_into_build
from drybuild.web.drafts import Draft, drafts
from drybuild.work.reading import to_do


def token_of(client: TestClient) -> str:
    return token_in(client.get("/drafts").text)


def add(client: TestClient, kind: str, by: str = "maker", **facts: str):  # type: ignore[no-untyped-def]
    data = {
        "token": token_of(client), "kind": kind, "by": by, "fact": list(facts),
        "value": list(facts.values()),
    }  # fmt: skip
    return client.post("/parts/add", data=data)


def test_every_place_says_what_is_there_and_what_is_planned(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts").text
    assert "Plover front disc 270 x 22, vented" in page
    assert "planned" in page
    assert "/parts/compare?place=wheel.rear" in page


def test_places_are_folded_by_what_they_belong_to(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts").text
    changed, rest = page.split("<h2>To be changed</h2>")[1].split("<h2>What no job changes</h2>")
    groups = re.findall(r"<summary>([^<]+) <span class=\"soft\">(\d+)</span></summary>", changed)
    assert ("Wheels and tyres", "8") in groups
    assert changed.count('<details class="wide-open">') == len(groups)  # folded on a phone
    assert "/static/folds.js" in rest  # and open where there is room
    assert sum(int(many) for _, many in groups) == changed.count("<li><strong>")
    assert 'class="wide-open"' not in rest


def test_a_place_has_one_name(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts").text
    names = re.findall(r"<li><strong>([^<]*)</strong>\s*(.*)", page)
    assert all(behind.startswith("<br>") for _, behind in names)  # no second name beside the first
    assert {"fuel pump", "turbocharger", "map in the control unit", "spring, front"} <= {
        name for name, _ in names
    }


def test_what_was_changed_is_not_among_what_no_job_changes(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert "<h2>Changed already</h2>" not in browser().get("/parts").text
    Journal(folder).did([Change("fit", "pads.front", "quern_pads_t40")], who="Ann")
    page = browser().get("/parts").text
    done, rest = page.split("<h2>Changed already</h2>")[1].split("<h2>What no job changes</h2>")
    assert re.findall(r"<li><strong>([^<]*)", done) == ["pads, front"]
    assert "<br>before: <a" in done
    assert "<strong>pads, front<" not in rest


def test_a_part_shows_doubt_and_how_known_and_leads_to_the_file(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts/tolland_disc_310").text
    assert "about 310.0 mm, 309.7 to 310.3" in page
    assert "/set?address=part.tolland_disc_310.outer_diameter" in page
    assert "/parts/add?kind=" not in page  # it is not on the car, it goes on
    there = re.findall(r'href="/parts/([a-z0-9_]+disc[a-z0-9_]*)"', browser().get("/parts").text)
    pages = [browser().get(f"/parts/{part}").text for part in dict.fromkeys(there)]
    assert any("On the car now" in p and "/parts/add?kind=disc" in p for p in pages)
    assert browser().get("/parts/nobody").status_code == 404


def test_a_bare_price_stands_in_the_currency_that_it_is_counted_in(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    file = folder / "parts" / "brakes.toml"
    text = file.read_text(encoding="utf-8")
    assert 'price = "310 AUD"' in text
    file.write_text(text.replace('price = "310 AUD"', 'price = "310"'), encoding="utf-8")
    currency = to_do(open_build(folder)).currency
    assert len(currency) == 3
    assert f", 310 {currency}." in browser().get("/parts/tolland_disc_310").text


def test_a_new_part_goes_after_those_of_its_kind_with_comments_kept(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    file = folder / "parts" / "wheels.toml"
    before = file.read_text(encoding="utf-8")
    here = browser()
    answer = add(
        here, "wheel", name="Alder Six 17x7.5", maker="Alder", diameter_code="17",
        rim_width="7.5 in", offset="40 ± 0.5 mm", hub_bore="", valve="clamp-in",
    )  # fmt: skip
    assert answer.status_code == 303
    assert answer.headers["location"] == "/parts/alder_six_17x7_5"
    after = file.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip())
    made = tomllib.loads(after)["part"]["alder_six_17x7_5"]
    assert made["rim_width"] == {"is": "7.5 in", "by": "maker"}
    assert made["diameter_code"] == {"is": 17, "by": "maker"}
    assert made["valve"] == {"is": "clamp-in", "by": "maker"}  # a word is known the same way
    assert "hub_bore" not in made
    assert "alder_six_17x7_5" in read_build(folder).parts
    assert "Alder Six 17x7.5" in here.get("/parts").text


def test_all_that_is_amiss_is_said_together_and_nothing_is_written(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    files = {p: p.read_bytes() for p in (folder / "parts").glob("*.toml")}
    refused = add(
        browser(), "wheel", name="", maker="Alder", diameter_code="99", rim_width="wide",
        offset="40 parsec", valve="clamp-in",
    )  # fmt: skip
    assert refused.status_code == 409
    assert "4 things amiss" in refused.text
    for word in ("name", "diameter code", "rim width", "offset"):
        assert f"<strong>{word}</strong>: found" in refused.text
    assert 'value="Alder"' in refused.text
    assert {p: p.read_bytes() for p in (folder / "parts").glob("*.toml")} == files


def test_what_fuel_wets_is_a_list_in_the_form_of_a_part(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    form = here.get("/parts/add?kind=pump").text
    assert "; for instance stainless steel; unplated steel<" in form
    made = add(here, "pump", name="Wet", wetted="brass; FKM").headers["location"][7:]
    assert read_build(folder).parts[made].wetted == ("brass", "FKM")
    refused = add(here, "pump", name="Wetter", wetted="cheese")
    assert refused.status_code == 409
    assert "<strong>wetted</strong>: found" in refused.text


def test_a_form_begins_with_a_guess_and_shows_what_is_usual_of_each_figure(browser) -> None:  # type: ignore[no-untyped-def]
    disc = browser().get("/parts/add?kind=disc").text
    assert '<option value="assumed" selected>a guess</option>' in disc
    assert re.search(r'for="f-thickness">Thickness, mm <[^>]*>[^<]*; usual: 8 to 32 mm<', disc)
    (least,) = re.findall(r'for="f-thickness_min">Thickness min, mm <[^>]*>([^<]*)<', disc)
    assert "usual" not in least  # nothing is usual of it
    assert "placeholder" not in disc  # nothing in a box but what was typed
    assert "nothing takes it" in disc
    chart = browser().get("/parts/add?kind=map").text
    assert re.search(r'for="f-advance_ceiling">Advance ceiling, deg <', chart)
    assert 'id="f-mass"' not in chart
    assert 'id="f-mass"' in disc


@pytest.mark.parametrize(
    "where",
    ["/parts/compare?place=spring.front&part=tolland_spring_36",
     "/corner/front/left/moves?offset=30"],
)  # fmt: skip
def test_what_moves_is_counted_in_the_draws_that_every_page_counts_in(  # type: ignore[no-untyped-def]
    browser, where: str, monkeypatch
) -> None:
    counted: list[int] = []
    examine = desk.examine_state

    def noted(*given: Any, **named: Any) -> Any:
        counted.append(named["draws"])
        return examine(*given, **named)

    here = browser()
    here.get("/")
    monkeypatch.setattr(desk, "examine_state", noted)
    assert here.get(where).status_code == 200
    assert counted
    assert set(counted) == {desk.DRAWS}


def test_words_of_two_parts_stand_beside_each_other_under_their_names(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts/compare?place=map&part=map_first").text
    assert re.search(r">Ethanol sensor</th><td>yes[^<]*</td><td>no", page)
    heads = re.findall(r'<th scope="col">([^<]+)</th>', page)
    assert len(heads) == 2
    assert heads[0] == re.search(r"<h1>([^<]+)</h1>", page)[1]  # type: ignore[index]
    assert "the other" not in page.partition("<h1>")[2]


@pytest.mark.parametrize(
    ("typed", "stands"),
    [("330", "330 mm"), ("330 ± 1", "330 ± 1 mm"), ("13 in", "13 in"), ("33 cm", "33 cm"),
     ("330,5", "330,5 mm")],
)  # fmt: skip
def test_a_bare_number_is_taken_in_the_unit_on_the_label(  # type: ignore[no-untyped-def]
    browser, folder: Path, typed: str, stands: str
) -> None:
    here = browser()
    assert "Outer diameter, mm" in here.get("/parts/add?kind=disc").text
    part = add(here, "disc", name="Large", outer_diameter=typed).headers["location"][7:]
    opened = open_build(folder)
    said = opened.build.parts[part].outer_diameter
    assert said.unit == stands.split()[-1]
    assert said.centre == pytest.approx(parse_value(stands, "length").centre)
    receipt = here.get(f"/parts/{part}").text
    assert re.search(r">(about )?33\d(\.\d+)? mm", receipt)


def test_a_share_without_its_sign_is_not_taken_for_one(browser) -> None:  # type: ignore[no-untyped-def]
    """85 is neither 0.85 nor surely 85 %."""
    assert add(browser(), "turbo", name="T", efficiency="85").status_code == 409


def test_one_refusal_of_several_boxes_is_said_once(browser) -> None:  # type: ignore[no-untyped-def]
    wrong = {"outer_diameter": "330 parsec", "thickness": "3 parsec"}
    refused = add(browser(), "disc", name="Large", **wrong)
    told = refused.text[refused.text.index("Not written") : refused.text.index("</ul></div>")]
    assert told.count("<li>") == 1
    assert "outer diameter</strong>: found" in told
    assert "<strong>thickness</strong>: found" in told


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


@pytest.fixture
def hatch(tmp_path: Path) -> Path:
    return make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="power"
    )


def _visit(folder: Path) -> TestClient:
    return TestClient(make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
                      client=("127.0.0.1", 1), follow_redirects=False)  # fmt: skip


def _after(folder: Path, part: str) -> Any:
    opened = open_build(folder)
    state = opened.state("finished")
    return opened.examine(state.after(with_part(state, "turbo", part), "draft:tried"))


def test_a_part_that_begins_as_a_guess_leaves_no_check_without_an_answer(hatch: Path) -> None:
    here = _visit(hatch)
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
    here = _visit(hatch)
    made = _sold(here, hatch, like="std_turbo", fact=["name", "mass"], value=["Bigger", "7.1"])
    assert made["mass"] == {"is": "7.1 kg", "by": "maker"}


def test_a_compressor_s_largest_flow_sets_its_size_and_the_rest_is_kept(hatch: Path) -> None:
    made = _sold(_visit(hatch), hatch, like="std_turbo", largest_flow="40 lb/min",
                 as_sold="54 mm in, 71 mm out, pressure ratio 2.8")  # fmt: skip
    assert made["flow_scale"]["by"] == "assumed"  # the seller's flow, over another one's map
    largest = max(float(f.split()[0]) for line in made["map"]["lines"] for f in line["flow"])
    assert largest == pytest.approx(40 * 453.59237 / 60, rel=0.001)  # g/s
    assert "54 mm in" in made["note"]
    page = _visit(hatch).get("/parts/bigger").text
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
    here = _visit(hatch)
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
    here = _visit(hatch)
    data = {"token": token_of(here), "kind": "turbo", "fact": ["name"], "value": ["Bigger"],
            "points": points}  # fmt: skip
    answer = here.post("/parts/add", data=data)
    assert answer.status_code == 409
    assert said in unescape(answer.text)
    assert points.split("\n")[0] in unescape(answer.text)  # what was typed is not lost
    assert not (hatch / "parts" / "added.toml").exists()


def test_a_turbocharger_that_is_there_takes_its_map_on_its_own_page(hatch: Path) -> None:
    here = _visit(hatch)
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


def test_two_of_one_name_get_ids_of_their_own(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    first = add(here, "wheel", name="Alder Six").headers["location"]
    second = add(here, "wheel", name="Alder Six").headers["location"]
    assert (first, second) == ("/parts/alder_six", "/parts/alder_six_2")
    assert {"alder_six", "alder_six_2"} <= set(read_build(folder).parts)


def test_two_parts_are_compared_in_sentences(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts/compare?place=wheel.rear&part=loft_17x8").text
    assert re.search(r">Offset</th><td>[^<]+</td><td>[^<]+</td>", page)
    assert re.search(r"Track between wheel centres [−+]\d", page)
    assert "All of it enough at once" in page
    assert JOINT_MEANS in page
    held = r"((\d+ short, )?\d+ unsure|\d+ short)"
    other = re.findall(r'<th scope="col">([^<]+)</th>', page)[1]
    one = "with Loft[^<;:]*"
    told = rf"{JOINT_MEANS}; {HOLDS_DOWN}: {one}: {held}; with {re.escape(other)}: {held}\."
    assert re.search(told, page)


def test_a_comparison_becomes_a_draft_beside_the_real_build(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    before = read_build(folder).inputs_hash
    answer = here.post(
        "/parts/draft",
        data={"token": token_of(here), "place": "wheel.rear", "part": "loft_17x8", "title": ""},
    )
    assert answer.status_code == 303
    (made,) = drafts(folder)
    assert [(c.kind, c.target, c.value) for c in made.changes] == [
        ("fit", "wheel.rear", "loft_17x8")
    ]
    assert here.get(answer.headers["location"]).status_code == 200
    assert read_build(folder).inputs_hash == before


def tried(client: TestClient, place: str, part: str, **more: str):  # type: ignore[no-untyped-def]
    data = {"token": token_of(client), "place": place, "part": part, **more}
    return client.post("/parts/draft", data=data)


def test_parts_that_belong_together_are_tried_and_planned_together(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    disc = add(here, "disc", name="Big", outer_diameter="330 mm").headers["location"][7:]
    caliper = add(here, "caliper", name="Six").headers["location"][7:]
    assert "in the draft:" not in here.get(
        f"/parts/compare?place=disc.front&part={disc}"
    ).text  # there is none yet
    tried(here, "disc.front", disc, title="Bigger")
    page = here.get(f"/parts/compare?place=caliper.front&part={caliper}&state=draft:bigger").text
    assert '<option value="bigger" selected>in the draft: Bigger</option>' in page
    answer = tried(here, "caliper.front", caliper, into="bigger")
    assert answer.headers["location"] == "/drafts/bigger"
    (made,) = drafts(folder)
    assert [c.target for c in made.changes] == ["disc.front", "caliper.front"]
    assert tried(here, "disc.front", disc, into="bigger").status_code == 409  # it is in it
    assert tried(here, "disc.front", disc, into="never").status_code == 409
    page = here.get("/drafts/bigger").text
    planned = read_build(folder).job("front-brakes")
    known = read_build(folder).parts
    assert f"goes into the job “{planned.title}”" in page
    assert known[planned.fit["disc.front"]].name in page
    jobs = len(read_build(folder).jobs)
    kept = here.post("/drafts/bigger/keep", data={"token": token_of(here)})
    assert kept.status_code == 303
    said = " ".join(here.get(kept.headers["location"]).text.split())
    assert "<strong>Kept.</strong>" in said
    assert "<h1>Job: " in said
    after = read_build(folder)
    assert len(after.jobs) == jobs
    changed = after.job("front-brakes").fit
    assert {k for k in planned.fit if changed.get(k) != planned.fit[k]} == {
        "disc.front", "caliper.front",
    }  # fmt: skip
    assert (changed["disc.front"], changed["caliper.front"]) == (disc, caliper)
    assert drafts(folder) == ()


def test_a_part_is_taken_out_of_a_draft_once(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    tried(here, "wheel.rear", "loft_17x8", title="Two")
    tried(here, "wheel.front", "loft_17x85", into="two")
    gone = {"token": token_of(here), "number": "0", "target": "wheel.rear"}
    assert "/drafts/two/take-out" in here.get("/drafts/two").text
    assert here.post("/drafts/two/take-out", data=gone).status_code == 303
    assert [c.target for c in drafts(folder)[0].changes] == ["wheel.front"]
    assert here.post("/drafts/two/take-out", data=gone).status_code == 409  # by another, meanwhile
    assert "/drafts/two/take-out" not in here.get("/drafts/two").text  # the last: drop it


def test_what_does_not_go_there_is_refused(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    for query in (
        "place=wheel.rear&part=tolland_disc_310", "place=wheel.rear&part=nobody",
        "place=nowhere&part=loft_17x8", "place=wheel.rear&part=loft_17x8&state=never",
    ):  # fmt: skip
        assert here.get(f"/parts/compare?{query}").status_code == 404, query
    assert here.get("/parts/add?kind=banana").status_code == 404
    assert add(here, "banana", name="x").status_code == 404


def test_two_wheels_are_compared_in_the_inches_that_the_trade_speaks_of(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts/compare?place=wheel.rear&part=plover_16x6").text
    assert re.search(r">Rim width</th><td>6\.5 in[^<]*</td><td>8\.5 in", page)
    assert not re.search(r"rim width is [^;<]*mm", page)


def test_kinds_to_add_stand_under_what_they_belong_to_each_once(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/parts/add").text
    brakes = re.search(r"<summary>Brakes.*?</details>", page, re.DOTALL)
    assert brakes is not None
    assert 'href="/parts/add?kind=disc"' in brakes[0]
    assert sorted(re.findall(r'\?kind=(\w+)"', page)) == sorted(part_kinds())


def test_a_part_made_for_the_rear_is_not_offered_for_the_front(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/parts").text
    offered = re.findall(r"/parts/compare\?place=([a-z_.]+)&amp;part=(\w+)", page)
    assert ("damper.rear", "tolland_damper_rear_short") in offered
    assert not [part for place, part in offered if place == "damper.front" and "rear" in part]
    rear = here.get("/parts/compare?place=damper.front&part=tolland_damper_rear").text
    assert "Meant for the rear." in rear
    assert "Eye, pin and mounting are not compared" in rear
    assert "Meant for" not in here.get("/parts/compare?place=wheel.rear&part=loft_17x8").text


def test_many_checks_that_turn_are_folded_and_counted(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert add(here, "turbo", name="Bare turbo").status_code == 303
    page = here.get("/parts/compare?place=turbo&part=bare_turbo").text
    found = re.search(
        r"<summary>Now unmeasured: (\d+) checks</summary><ul>(.*?)</ul>", page, re.DOTALL
    )
    assert found is not None
    assert int(found[1]) == found[2].count("<li>") > 6
    assert "<li>Turbocharger speed</li>" in found[2]


def test_a_part_is_called_by_its_figures_where_its_name_says_another_size(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    path = folder / "parts" / "wheels.toml"
    text = path.read_text(encoding="utf-8")
    named = 'name = "wheel, 7Jx16 ET38"'
    path.write_text(text.replace('name = "Plover standard wheel 6.5Jx16x45"', named), "utf-8")
    here = browser()
    page = here.get("/parts/plover_16x6").text
    assert "<h1>wheel, 6.5Jx16 ET45 4x100</h1>" in page
    assert "Its own name says 7Jx16 ET38" in page
    assert "wheel, 6.5Jx16 ET45 4x100" in here.get("/parts").text
    assert "7Jx16" not in here.get("/parts").text


def test_a_part_of_another_place_is_not_offered_here(hatch: Path) -> None:
    """A dump pipe and an exhaust behind the catalyst are of one kind and at two places."""
    fitted = open_build(hatch).state("finished").fitted
    names = open_build(hatch).build.part_names
    page = _visit(hatch).get("/parts").text
    for place in ("dump_pipe", "exhaust"):
        other = fitted["exhaust" if place == "dump_pipe" else "dump_pipe"]
        assert other is not None
        assert f"/parts/compare?place={place}&amp;part={other}" not in page, names[other]
    loose = add(_visit(hatch), "exhaust", name="Wide pipe").headers["location"].rpartition("/")[2]
    page = _visit(hatch).get("/parts").text
    for place in ("dump_pipe", "exhaust"):  # nobody has said yet where it goes
        assert f"/parts/compare?place={place}&amp;part={loose}" in page


def test_injectors_are_taken_as_they_are_sold_and_a_wrong_unit_is_remarked(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    form = here.get("/parts/add?kind=injectors").text
    assert re.search(
        r'for="f-static_flow">Static flow, cc/min <[^>]*>[^<]*; usual: 150 to 2000 cc/min<', form
    )
    right = add(here, "injectors", name="Right", static_flow="630").headers["location"]
    page = here.get(right).text
    assert "about 630 cc/min" in page
    assert "look at its unit" not in page
    wrong = add(here, "injectors", name="Wrong", static_flow="630 L/h").headers["location"]
    remark = "Static flow, 10500 cc/min, is more than 10 times what is usual, 150 to 2000 cc/min"
    assert remark in here.get(wrong).text
    compare = f"/parts/compare?place=injectors&part={wrong.rpartition('/')[2]}"
    both = here.get(compare).text
    assert remark in both
    (row,) = re.findall(r'<th scope="row">Static flow</th>(.*)</tr>', both)
    assert len(re.findall("L/h|cc/min", row)) == 2
    assert len(set(re.findall("L/h|cc/min", row))) == 1  # one unit for both


def test_without_a_usual_range_a_figure_is_held_to_the_standard_parts(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    plain = add(here, "regulator", name="Plain", base_pressure="3 bar gauge").headers["location"]
    assert "look at its unit" not in here.get(plain).text
    psi = add(here, "regulator", name="Psi", base_pressure="43 bar gauge").headers["location"]
    remark = "Base pressure, 43 bar gauge, is more than 10 times what is standard here, "
    assert remark in here.get(psi).text


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
    here = _visit(hatch)
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
    here = _visit(hatch)
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
