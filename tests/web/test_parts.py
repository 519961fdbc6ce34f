"""Parts on screen: adding with all faults shown, comparing in sentences, keeping as a draft."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from forms import add, token_of, visit
from starlette.testclient import TestClient

from drybuild.build import Change, read_build
from drybuild.build.kinds import part_kinds
from drybuild.examine.opened import open_build
from drybuild.journal import Journal
from drybuild.show.sentences import HOLDS_DOWN, JOINT_MEANS
from drybuild.values import parse_value
from drybuild.web import desk
from drybuild.web.drafts import drafts
from drybuild.work.reading import to_do


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
    page = visit(hatch).get("/parts").text
    for place in ("dump_pipe", "exhaust"):
        other = fitted["exhaust" if place == "dump_pipe" else "dump_pipe"]
        assert other is not None
        assert f"/parts/compare?place={place}&amp;part={other}" not in page, names[other]
    loose = add(visit(hatch), "exhaust", name="Wide pipe").headers["location"].rpartition("/")[2]
    page = visit(hatch).get("/parts").text
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
