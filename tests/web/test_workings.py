"""Findings, workings, the engine's page and its charts."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace
from typing import cast
from xml.etree import ElementTree

import pytest
from forms import token_in, visit
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.build.new import make_build
from drybuild.examine import open_build
from drybuild.examine.measuring import measure_next
from drybuild.examine.naming import plain_name
from drybuild.examine.noting import Said, each_place, note
from drybuild.web.app import make_app
from drybuild.web.frame import Frame
from drybuild.web.pages.workings import _measured_at


def test_every_finding_is_there_once_and_leads_to_its_workings(browser, folder) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/findings").text
    links = re.findall(r'href="/workings/([a-z0-9_.]+)/([A-Za-z0-9_.]+)\?', page)
    examination = open_build(folder).examine("finished")
    assert sorted(links) == sorted((f.check, f.subject) for f in examination.findings)


def test_what_stands_in_brackets_behind_a_rule_is_said_once_where_rules_are(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/findings").text
    assert re.search(r"\[[\w.-]+:[\w.-]+\]", page)
    assert page.count("In brackets behind a rule") == 1
    assert "In brackets" not in browser().get("/findings?of=fuel").text


def test_the_slider_says_why_a_tyre_is_wider_than_it_is_marked(folder) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine import open_build
    from drybuild.web.tried import sliders

    examination = open_build(folder).examine("finished", draws=64)
    notes = {
        axle: next(s.note for s in sliders(examination, f"{axle}.left") if s.name == "tyre")
        for axle in ("front", "rear")
    }
    assert notes["front"] == ""
    assert notes["rear"].startswith("marked 245; over its sidewalls, on a rim of ")
    assert notes["rear"].endswith("248 mm is stated")


@pytest.mark.parametrize("name", ["offset", "rim", "tyre", "camber", "drop"])
def test_every_slider_of_a_corner_moves_gaps_and_says_what_else(browser, folder, name: str) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine import open_build
    from drybuild.web.tried import sliders

    examination = open_build(folder).examine("finished", draws=64)
    slider = next(s for s in sliders(examination, "front.left") if s.name == name)
    asked = {name: f"{slider.at + 10 * slider.step:g}"}
    if name == "rim":
        asked = {name: f"{slider.at + 2 * slider.step:g}"}
    here = browser()
    assert '<span class="soft">was ' in here.get("/corner/front/left/tried", params=asked).text
    said = here.get("/corner/front/left/moves", params=asked).text
    assert "nothing" not in said
    assert " mm" in said


def test_a_short_finding_is_one_step_from_the_cures_that_fix_knows(browser, folder) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine import open_build
    from drybuild.show.sentences import fix_text

    opened = open_build(folder)
    examination = opened.examine("finished")
    finding = examination.finding("ride.spring_captive", "rear.left")
    known = [fix_text(fix) for fix in opened.fixes(examination, finding)]
    assert len(known) > 1
    here, where = browser(), "/cures/ride.spring_captive/rear.left"
    assert f'href="{where}"' in here.get("/workings/ride.spring_captive/rear.left").text
    assert f'href="{where}"' in here.get("/").text
    assert where not in here.get("/workings/ride.spring_captive/rear.left?state=now").text
    page = here.get(where).text
    assert re.findall(r'name="cure" value="([^"]+)"', page) == known
    form = {"token": token_in(page), "cure": known[0]}
    assert here.post(where, data=form | {"cure": "gone"}).status_code == 409
    tried = here.post(where, data=form)
    assert tried.status_code == 303
    assert "enough" in here.get(tried.headers["location"]).text
    assert here.get("/cures/fuel.never/car").status_code == 404


def test_where_no_cure_is_enough_the_page_says_what_comes_nearest_and_what_the_rest_hangs_on(  # type: ignore[no-untyped-def]
    browser, folder
) -> None:
    from drybuild.show.answers import NEAREST

    file = folder / "build.toml"
    text = file.read_text(encoding="utf-8")
    perch = 'address = "damper.rear.perch_raise"'
    head, *blocks = text.split("[[adjuster]]\n")
    kept = next(block for block in blocks if block.startswith(perch)).replace('"15 mm"', '"10 mm"')
    # what follows an adjuster up to the next one holds jobs and tables too
    rest = "".join(block.partition("\n\n")[2] for block in blocks if not block.startswith(perch))
    file.write_text(f"{head}{rest}\n[[adjuster]]\n{kept}", encoding="utf-8")
    here, where = browser(), "/cures/ride.spring_captive/rear.left"
    page = here.get(where).text
    assert NEAREST in page
    assert "rear spring perch up: 10 mm" in page
    assert "for the rest: measure" in page
    tried = here.post(where, data={"token": token_in(page), "cure": "rear spring perch up: 10 mm"})
    assert tried.status_code == 303


def test_workings_say_formula_numbers_doubt_how_known_and_source(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/workings/fuel.pump_flow/blend70").text
    assert "Source: " in page
    assert 'href="#step-' in page
    assert re.search(r'href="/set\?address=[a-z_.0-9]+&amp;state=finished">[^<]*measured', page)
    assert re.search(r"about [\d.]+ [^<]+, [\d.]+ to [\d.]+", page)


@pytest.mark.parametrize(
    "where",
    ["/workings/fuel.pump_flow/nobody", "/workings/no.check/car", "/findings?state=never",
     "/engine?state=never", "/chart/nothing.svg", "/workings/fuel.pump_flow/e10?state=draft:none"],
)  # fmt: skip
def test_what_is_not_there_is_said(browser, where: str) -> None:  # type: ignore[no-untyped-def]
    assert browser().get(where).status_code == 404


def test_every_finding_that_is_open_opens(browser, folder) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    findings = open_build(folder).examine("finished").findings
    for f in [f for f in findings if str(f.verdict) != "enough"]:
        page = here.get(f"/workings/{f.check}/{f.subject}")
        assert page.status_code == 200
        assert str(f.verdict) in page.text


def test_the_engine_s_page_says_what_gives_out_first(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/engine").text
    assert page.count("This link gives out first.") == 1
    assert "The way of the fuel" in page
    assert "Which fuel" in page


def test_the_link_that_gives_out_first_is_the_one_with_the_least_chance(folder) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine import open_build
    from drybuild.examine.chain import STOPPED, chain

    examination = open_build(folder).examine("finished")
    links = chain(examination)
    (first,) = [link for link in links if link.first]
    systems = {link.finding.system for link in links}
    chances = [
        f.chance for f in examination.findings
        if f.armed and f.chance is not None and f.system in systems and set(f.stops) & set(STOPPED)
    ]  # fmt: skip
    assert first.finding.chance == min(chances)


def test_what_nobody_knows_is_not_named_as_what_gives_out_first(tmp_path) -> None:  # type: ignore[no-untyped-def]
    folder = make_build(
        tmp_path / "car", nearest="front-turbo-hatch", driving="yes", first_change="power"
    )
    first = folder / "parts" / "first.toml"
    first.write_text(
        first.read_text(encoding="utf-8") + '\n[part.bare]\nkind = "turbo"\nname = "bare turbo"\n',
        encoding="utf-8",
    )
    plan = folder / "build.toml"
    said = plan.read_text(encoding="utf-8")
    said = said.replace("fit = {intake", 'fit = {turbo = "bare", intake')
    assert 'turbo = "bare"' in said
    plan.write_text(said, encoding="utf-8")
    with TestClient(make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
                    client=("127.0.0.1", 1)) as here:  # fmt: skip
        page = here.get("/engine").text
    lead = re.findall(r'<p class="lead"><strong>[^<]*</strong>: (.*)</p>', page)
    assert len(lead) == 1
    assert "nobody has" not in lead[0]
    assert re.search(r"\d", lead[0])  # by a figure
    unknown = page[page.index("Not known yet") : page.index("Each link")]
    assert ", and may give out before that" in unknown
    assert 'nobody has looked up turbo map. Type it in: <a href="/parts/bare">' in unknown


def test_a_link_with_something_short_that_stops_a_use_does_not_say_enough(folder) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine import open_build
    from drybuild.examine.chain import CHAIN, chain

    examination = open_build(folder).examine("finished")
    said = {link.words: link.finding for link in chain(examination)}
    short = {
        words for words, systems in CHAIN for f in examination.findings
        if f.system in systems and f.armed and f.stops and f.verdict == "short"
    }  # fmt: skip
    assert {"fuel", "map"} <= short
    assert all(said[words].verdict == "short" for words in short)
    assert said["map"].check == "calibration.injector_flow"


def test_a_wheel_bearing_is_no_link_of_the_engine_s_chain(folder) -> None:  # type: ignore[no-untyped-def]
    from dataclasses import replace

    from drybuild.examine import open_build
    from drybuild.examine.chain import chain

    examination = open_build(folder).examine("finished")
    bearing = next(f for f in examination.findings if f.check == "driveline.bearing_moment")
    hopeless = bearing.but(armed=True, chance=0.0)
    others = [f for f in examination.findings if f.check != "driveline.bearing_moment"]
    links = chain(replace(examination, findings=(*others, hopeless)))
    assert all(one.finding.check != "driveline.bearing_moment" for one in links)


def test_charts_are_pictures_of_their_own_that_run_and_load_nothing(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/engine").text
    sources = [s.replace("&amp;", "&") for s in re.findall(r'<img src="(/chart/[^"]+)"', page)]
    assert len(sources) >= 3
    for source in sources:
        answer = here.get(source)
        assert answer.headers["content-type"].startswith("image/svg+xml")
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script" not in policy
        root = ElementTree.fromstring(answer.content)
        assert root.tag.endswith("svg")
        assert not [e for e in root.iter() if e.tag.endswith(("script", "image", "foreignObject"))]



def test_doubt_of_a_tyre_against_its_marking_leads_to_its_diameter(tmp_path: Path) -> None:
    """Nobody reads a ratio of diameters; the diameter, read, takes its place."""
    opened = open_build(make_build(tmp_path / "car", nearest="front-turbo-hatch", driving="yes"))
    desk = SimpleNamespace(state=lambda _: opened.present.state)
    frame = cast("Frame", SimpleNamespace(opened=opened, state="now", desk=desk))
    at = "tyre.front.left.design_match"
    assert plain_name(at) == "front left tyre diameter against its marking"
    assert _measured_at(frame, at) == "tyre.front.left.overall_diameter"


def test_many_unsure_findings_are_folded_by_what_settles_them(tmp_path) -> None:  # type: ignore[no-untyped-def]
    folder = tmp_path / "car"
    make_build(folder, nearest="front-turbo-hatch", driving="yes", first_change="wheels and tyres")
    with TestClient(make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
                    client=("127.0.0.1", 50000)) as client:  # fmt: skip
        page = client.get("/findings").text
    links = re.findall(r'href="/workings/([a-z0-9_.]+)/([A-Za-z0-9_.]+)\?', page)
    findings = open_build(folder).examine("finished").findings
    assert sorted(links) == sorted((f.check, f.subject) for f in findings)
    assert "The first 3 measurements bear on" in page
    first = page[page.index("The first 3 measurements") :]
    assert re.search(r"<summary>[^<]+, 1 min.*each stops a use\)", first)
    assert 'href="/measure/at/' in first


@pytest.fixture
def bolted(tmp_path: Path) -> Path:
    """A folder whose car has wheel bolts, of which nobody has stated how long they are."""
    made = make_build(
        tmp_path / "saloon", nearest="rear-turbo-coupe", driving="yes",
        first_change="wheels and tyres",
    )  # fmt: skip
    file = made / "parts" / "standard.toml"
    file.write_text(file.read_text("utf-8").replace('form = "nut"', 'form = "bolt"'), "utf-8")
    return made


BOLT, HUB = "wheel_nuts.shank_length", "corner.hub_thread_depth"


def test_what_stops_a_use_for_want_of_a_figure_is_one_press_from_where_that_is_said(
    bolted: Path,
) -> None:
    here = visit(bolted)
    page = here.get("/workings/corners.thread_turns/front.left").text
    assert '<a href="/measure/at/wheel_nuts.front.left.shank_length">' in page
    assert '<a href="/measure/at/corner.front.left.hub_thread_depth">' in page
    assert "Do: measure hub thread depth" in page
    assert "thinner spacer" not in page  # nobody knows yet whether it is short
    listed = here.get("/measure").text
    for one in ("wheel_nuts.front.left.shank_length", "corner.rear.left.hub_thread_depth"):
        assert f'href="/measure/at/{one}"' in listed
    rests = here.get("/set?address=part.std_wheel_nuts.shank_length").text
    assert "/workings/corners.thread_turns/front.left?state=finished" in rests
    assert "No check of this car asks for it" not in rests


def test_after_one_of_two_figures_the_other_is_still_wanted_and_the_part_says_it_was_read(
    bolted: Path,
) -> None:
    here = visit(bolted)
    page = here.get(f"/measure/at/{BOLT}").text
    places = re.findall(r'name="place" value="([^"]+)"', page)
    assert len(places) == 4
    data = {"token": token_in(page), "reading": "27", "unit": "mm", "tool": "vernier",
            "who": "Ann", "place": places}  # fmt: skip
    written = here.get(here.post(f"/measure/at/{BOLT}", data=data).headers["location"]).text
    still = re.search(r"<p>Still wanted for ([^:]+): (.*?)</p>", written)
    assert still is not None
    assert "turns that bolts go on" in still[1]
    assert f'href="/measure/at/{HUB}"' in still[2]
    assert BOLT not in still[2]
    part = here.get("/set?address=part.std_wheel_nuts.shank_length").text
    assert "Read on the car: front left, front right, rear left, rear right about 27.00 mm" in part
    assert "/workings/corners.thread_turns/front.left?state=finished" in part


def test_a_guess_of_studs_and_nuts_holds_back_no_car_with_wheel_bolts(bolted: Path) -> None:
    """What a bolt does not have is no input of its checks, and is not asked for."""
    here = open_build(bolted)
    for address, text in ((BOLT, "29 mm"), (HUB, "22 mm")):
        places = [one for one, _ in each_place(here, address)]
        note(here, address, Said((text,), "Ann", "vernier"), places)
    note(open_build(bolted), "part.my_wheel.seat_depth", Said(("11 mm",), "Ann", "vernier"))
    examination = open_build(bolted).examine("finished")
    guesses = {"wheel_nuts.front.left.thread_length", "wheel_studs.front.left.length",
               "wheel_studs.front.left.thread"}  # fmt: skip
    for check in ("corners.thread_turns", "corners.thread_engagement", "corners.stud_thread"):
        assert not guesses & examination.finding(check, "front.left").facts, check
    found = examination.finding("corners.thread_engagement", "front.left")
    assert found.margin is not None
    assert found.margin.median == pytest.approx((29 - 11 - 12) / 1000, abs=1e-3)
    assert not guesses & {m.input for m in measure_next(examination)}


def test_guesses_that_a_finding_waits_for_are_listed_and_each_is_typed_in(bolted: Path) -> None:
    examination = open_build(bolted).examine("finished")
    waiting = max((f for f in examination.findings if f.guesses), key=lambda f: len(f.guesses))
    page = visit(bolted).get(f"/workings/{waiting.check}/{waiting.subject}").text
    listed = page[page.index('<h2 id="guesses">') :]
    listed = listed[listed.index("<ul>") : listed.index("</ul>")]
    assert listed.count("<li>") == len(waiting.guesses)
    assert "/measure/at/" in listed
    shares = {u.input: u.share for u in waiting.unknowns}
    told = [shares.get(one, 0.0) for one in waiting.guesses if one.partition(".")[0] != "goal"]
    assert told == sorted(told, reverse=True)
