"""Measuring on screen: what is typed is written as ``note`` writes it, and can be taken back."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from forms import token_in, visit
from starlette.testclient import TestClient

import drybuild
from drybuild.build import Change
from drybuild.build.declared import declaration
from drybuild.build.new import make_build
from drybuild.journal import Journal
from drybuild.show.where_measured import picture
from drybuild.web.app import make_app
from drybuild.web.pages.measure import OFTEN, readings

PRESSURE = "/measure/at/corner.rear.left.tyre_pressure"


def token_of(client: TestClient, where: str = "/measure") -> str:
    return token_in(client.get(where).text)


def typed(client: TestClient, where: str = PRESSURE, **fields: Any):  # type: ignore[no-untyped-def]
    said = {"reading": "27", "unit": "psi gauge", "tool": "tyre gauge", "who": "Ann", **fields}
    return client.post(where, data={"token": token_of(client), **said})


def test_what_to_measure_next_says_how_and_leads_to_the_keys(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/measure").text
    first = re.search(r'class="button" href="(/measure/at/[^"]+)"', page)
    assert first is not None
    assert "May settle" in page
    keys = here.get(first[1]).text
    assert '<button type="button" data-key="7"' in keys
    assert 'inputmode="decimal"' in keys


def test_a_reading_is_written_with_its_unit_tool_and_name(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    answer = typed(here)
    assert answer.status_code == 303
    (reading,) = Journal(folder).readings()
    assert reading.raw == {"is": "27 psi gauge", "by": "tyre gauge"}
    assert (reading.address, reading.who) == ("corner.rear.left.tyre_pressure", "Ann")


def test_the_doubt_is_shown_before_and_after_and_the_reading_can_be_taken_back(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    after = here.get(typed(here).headers["location"]).text
    assert "Written down: 27 psi gauge" in after
    told = re.search(r'aria-label="before ([^"]+); after ([^"]+)"', after)
    assert told is not None
    assert told[1] != told[2]
    assert "1.86 bar gauge" in told[2]
    entry = re.search(r'name="entry" value="(\d+)"', after)
    assert entry is not None
    to = re.search(r'name="back" value="([^"]+)"', after)
    assert to is not None
    back = here.post(
        "/records/undo",
        data={"token": token_of(here), "entry": entry[1], "who": "Ann", "back": to[1]},
    )
    assert back.headers["location"] == to[1]
    assert Journal(folder).readings() == ()
    gone = " ".join(here.get(to[1]).text.split())
    assert "Taken back: 27 psi gauge" in gone
    assert f"Entry {entry[1]} is taken back. It stands at" in gone
    assert "now <strong>" not in gone


def test_the_name_is_remembered_for_the_next_form(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    typed(here, who="Ann Örn")
    assert 'name="who" value="Ann Örn"' in here.get("/measure/at/axle.front.load_kerb").text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"reading": ""}, "Type what you read"),
        ({"who": " "}, "Say who took the reading"),
        ({"reading": "twenty"}, "found"),
        ({"reading": "27", "unit": "furlong"}, "found"),
        ({"day": "yesterday"}, "expected yyyy-mm-dd"),
    ],
)
def test_what_does_not_hold_is_written_nowhere_and_stays_typed(  # type: ignore[no-untyped-def]
    browser, folder: Path, fields: dict[str, str], said: str
) -> None:
    answer = typed(browser(), **fields)
    assert answer.status_code == 409
    assert said in answer.text
    assert 'value="tyre gauge"' in answer.text or ">tyre gauge<" in answer.text
    assert Journal(folder).entries() == ()


def test_several_readings_of_one_thing_are_one_reading(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert typed(browser(), reading="27; 27.4; 26.9").status_code == 303
    (reading,) = Journal(folder).readings()
    assert reading.raw["is"] == ["27 psi gauge", "27.4 psi gauge", "26.9 psi gauge"]


def test_a_part_in_hand_is_written_into_its_own_file_with_comments_kept(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    file = folder / "parts" / "wheels.toml"
    before = file.read_text(encoding="utf-8")
    here = browser()
    where = "/measure/at/part.loft_17x8.spoke_depth"
    answer = typed(here, where, reading="51.3", unit="mm", tool="depth gauge")
    assert answer.status_code == 303
    after = file.read_text(encoding="utf-8")
    assert 'spoke_depth = {is = "51.3 mm", by = "depth gauge"}' in after
    assert [row for row in before.splitlines() if row.startswith("#")] == [
        row for row in after.splitlines() if row.startswith("#")
    ]
    said = here.get(answer.headers["location"]).text
    assert "caliper to the spokes: was unmeasured, now enough" in said


def test_how_far_a_finding_went_is_said_where_its_verdict_stays(  # type: ignore[no-untyped-def]
    tmp_path: Path, browser
) -> None:
    folder = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="lower it"
    )
    here = browser(serving=make_app(folder, hosts=frozenset({"127.0.0.1:8000"})))
    answer = typed(
        here, "/measure/at/corner.front.left.bump_travel", reading="60", unit="mm", tool="tape"
    )
    said = " ".join(here.get(answer.headers["location"]).text.split())
    assert re.search(r"(unsure|enough) as before; before [^;]*\d mm[^;]*; [^;]*; now ", said)


OFFSET = "/measure/at/part.loft_17x8.offset"


@pytest.mark.parametrize("reading", ["ET42", "42 mm"])
def test_what_is_stamped_and_read_by_eye_is_no_guess(  # type: ignore[no-untyped-def]
    browser, folder: Path, reading: str
) -> None:
    here = browser()
    assert "<option>stamp</option>" in here.get(OFFSET).text
    answer = typed(here, OFFSET, reading=reading, unit="mm", tool="eye")
    said = " ".join(here.get(answer.headers["location"]).text.split())
    assert "now <strong>about 42 mm, 41 to 43, maker" in said
    assert 'by = "stamp"' in (folder / "parts" / "wheels.toml").read_text(encoding="utf-8")


def test_what_nobody_has_stated_stands_at_nothing(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/measure/at/part.loft_17x8.spoke_depth").text
    assert "Nobody has stated it yet." in page
    assert "It stands at" not in page
    assert "Where that is from" not in page


def test_a_figure_of_a_part_in_hand_is_taken_back_on_the_page(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here, file = browser(), folder / "parts" / "wheels.toml"
    before = file.read_text(encoding="utf-8")
    answer = typed(here, OFFSET, reading="43", unit="mm", tool="stamp")
    assert file.read_text(encoding="utf-8") != before
    page = here.get(answer.headers["location"]).text
    receipt = re.search(r'name="receipt" value="([^"]+)"', page)
    assert receipt is not None
    form = {"token": token_of(here), "receipt": receipt[1], "who": "Ann"}
    back = here.post("/measure/back", data=form)
    assert back.status_code == 303
    assert "Taken back: 43 mm" in here.get(back.headers["location"]).text
    assert tomllib.loads(file.read_text(encoding="utf-8")) == tomllib.loads(before)
    assert here.post("/measure/back", data=form).status_code == 409  # it says another thing now
    assert here.post("/measure/back", data={**form, "receipt": "x"}).status_code == 404


@pytest.mark.parametrize(
    ("where", "reading", "unit", "expected"),
    [("/measure/at/corner.front.left.camber", "-95", "deg",
      "found −95 deg, expected −15 to 15 deg"),
     (OFFSET, "420", "mm", "found 420 mm, expected −100 to 120 mm. Usual is 20 to 50 mm")],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_is_usual(  # type: ignore[no-untyped-def]
    browser, folder: Path, where: str, reading: str, unit: str, expected: str
) -> None:
    here, tool = browser(), "camber gauge" if unit == "deg" else "stamp"
    file = folder / "parts" / "wheels.toml"
    before = file.read_text(encoding="utf-8")
    answer = typed(here, where, reading=reading, unit=unit, tool=tool)
    assert answer.status_code == 409
    assert expected in " ".join(answer.text.split())
    assert Journal(folder).readings() == ()
    assert file.read_text(encoding="utf-8") == before


def test_a_device_that_may_look_writes_nothing(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    made = here.post("/devices/code", data={"token": token_of(here), "role": "look"}).text
    code = re.search(r"Code (\d{4}) (\d{4})", made)
    assert code is not None
    away.post("/pair", data={"code": code[1] + code[2], "name": "phone"})
    assert "This device may look" in away.get(PRESSURE).text
    assert typed(away).status_code == 403
    assert Journal(folder).entries() == ()


def test_what_is_looked_up_in_plain_words_is_found(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/measure", params={"words": "rear left tyre pressure"}).text
    assert PRESSURE in page
    assert "Nothing is called" in browser().get("/measure", params={"words": "banana"}).text


@pytest.mark.parametrize("address", ["car.nothing", "part.nobody.mass", "turbo.map", "x"])
def test_what_is_no_fact_is_not_there(browser, address: str) -> None:  # type: ignore[no-untyped-def]
    assert browser().get(f"/measure/at/{address}").status_code in (404, 422)


@pytest.mark.parametrize(
    ("text", "unit", "read"),
    [
        ("62", "mm", ("62 mm",)),
        ("62 ± 2", "mm", ("62 ± 2 mm",)),
        ("−0.5", "deg", ("-0.5 deg",)),
        ("11/16 in", "mm", ("11/16 in",)),
        ("52.1; 52.4;", "mm", ("52.1 mm", "52.4 mm")),
        (" ; ", "mm", ()),
        ("clamp-in", "", ("clamp-in",)),
    ],
)
def test_a_unit_is_added_where_none_was_typed(text: str, unit: str, read: tuple[str, ...]) -> None:
    assert readings(text, unit) == read


def test_a_part_in_hand_that_two_read_is_not_written_over_unseen(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    where = "/measure/at/part.tolland_disc_310.outer_diameter"
    one, other = browser(), browser()

    def fields(client: TestClient) -> dict[str, str]:
        return dict(re.findall(r'name="(token|seen)" value="([^"]+)"', client.get(where).text))

    mine, theirs = fields(one), fields(other)
    assert one.post(where, data={**mine, "reading": "309.8 mm", "who": "Ines"}).status_code == 303
    refused = other.post(where, data={**theirs, "reading": "310.1 mm", "who": "Marten"})
    assert refused.status_code == 409
    assert "changed meanwhile" in refused.text
    assert "309.8 mm" in refused.text
    assert "310.1 mm" in refused.text
    file = (folder / "parts" / "brakes.toml").read_text(encoding="utf-8")
    assert "309.8 mm" in file
    assert "310.1 mm" not in file
    again = dict(re.findall(r'name="(token|seen)" value="([^"]+)"', refused.text))
    seen = {**again, "reading": "310.1 mm", "who": "Marten"}
    assert other.post(where, data=seen).status_code == 303


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("52,5", ("52.5 mm",)), ("52,5; 53", ("52.5 mm", "53 mm")), ("5,25 cm", ("5.25 cm",)),
        ("1,250", ("1,250 mm",)), ("−2,5 ± 0,5", ("-2.5 ± 0.5 mm",)),
    ],
)  # fmt: skip
def test_a_decimal_comma_is_read_and_thousands_are_not(typed: str, read: tuple[str, ...]) -> None:
    assert readings(typed, "mm") == read


def test_who_has_no_words_yet_is_offered_some_and_each_leads_somewhere(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/measure").text
    for words in OFTEN:
        assert f">{words}</a>" in page
        assert "/measure/at/" in here.get("/measure", params={"words": words}).text, words


DISCS = "/measure/at/disc.thickness"


def test_an_address_of_several_places_asks_at_which_and_one_of_one_does_not(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get(DISCS).text
    for where in ("front.left", "front.right", "rear.left", "rear.right"):
        assert f'type="checkbox" name="place" value="disc.{where}.thickness">' in page
    for one in ("/measure/at/disc.rear.left.thickness", "/measure/at/identity.plate"):
        assert 'name="place"' not in here.get(one).text


def test_a_reading_of_several_places_is_written_where_it_was_taken_and_nowhere_else(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    disc = {"reading": "22.1", "unit": "mm", "tool": "micrometer"}
    refused = typed(here, DISCS, **disc)
    assert refused.status_code == 409
    assert "Choose where you took the reading" in refused.text
    assert 'value="22.1"' in refused.text
    assert Journal(folder).entries() == ()
    assert typed(here, DISCS, **disc, place="disc.front.left.thickness").status_code == 303
    assert [r.address for r in Journal(folder).readings()] == ["disc.front.left.thickness"]
    assert typed(here, DISCS, **disc, place="wheel.front.left.offset").status_code == 409


def test_what_one_typing_wrote_is_judged_and_drawn_at_each_and_taken_back_by_one_press(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    every = [f"disc.{axle}.{side}.thickness" for axle in ("front", "rear")
             for side in ("left", "right")]  # fmt: skip
    disc: dict[str, Any] = {"reading": "22.1", "unit": "mm", "tool": "micrometer", "place": every}
    page = here.get(typed(here, DISCS, **disc).headers["location"]).text
    assert page.count("do not agree beyond their doubt") == 4
    assert len(re.findall(r'aria-label="before about (?:21\.4|9\.5)\d* mm', page)) == 4
    assert page.count('action="/records/undo"') == 1
    form = re.search(r'<form[^>]*action="/records/undo".*?</form>', page, re.S)
    assert form is not None
    entries = re.findall(r'name="entry" value="(\d+)"', form[0])
    assert len(entries) == 4
    assert "Take all of it back (entries" in form[0]
    back = {"token": token_of(here), "entry": entries, "who": "Ann", "back": DISCS}
    assert here.post("/records/undo", data=back).status_code == 303
    assert Journal(folder).readings() == ()
    assert here.post("/records/undo", data=back).status_code == 409


def test_what_the_file_says_of_several_places_is_asked_of_one_and_written_to_none(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    file = folder / "parts" / "brakes.toml"
    before = file.read_text(encoding="utf-8")
    assert "Where that is from" not in here.get(DISCS).text
    page = here.get("/set?address=disc.thickness").text
    for where in ("front.left", "rear.right"):
        assert f'href="/set?address=disc.{where}.thickness&amp;state=now"' in page
    assert "<form" not in page.split("<h1>")[1]
    sent = {"token": token_of(here), "address": "disc.thickness", "value": "22.1 mm"}
    assert here.post("/set", data=sent).status_code == 409
    assert file.read_text(encoding="utf-8") == before
    assert "in the file" in here.get("/set?address=disc.rear.left.thickness").text


@pytest.mark.parametrize(
    ("fact", "drawn"),
    [("corner.rear.left.tyre_pressure", False), ("corner.rear.left.load_kerb", False),
     ("tyre.rear.left.date_code", False), ("wheel.rear.left.offset", True),
     ("corner.rear.left.arch_point.gap", True), ("caliper.front.left.face_offset", True)],
)  # fmt: skip
def test_gaps_are_drawn_beside_what_they_show_and_nothing_else(
    fact: str, drawn: bool, folder: Path
) -> None:
    examination = drybuild.open_build(folder).examine(draws=64)
    declared = declaration(fact)
    assert declared is not None
    assert ('class="section"' in picture(examination, declared)[1]) is drawn


def test_letters_of_the_gaps_are_told_and_why_they_are_less_than_one_reads(browser) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/measure/at/corner.front.left.arch_point.gap").text
    assert "<strong>a</strong> arch lip, standing" in page
    assert "% larger than new, as tyres grow in use" in page


@pytest.mark.parametrize(
    ("fact", "marked"), [("spoke_depth", "spoke depth"), ("rim_width", "rim width")]
)
def test_of_a_wheel_the_length_that_is_asked_for_is_marked_and_no_gap(  # type: ignore[no-untyped-def]
    browser, fact: str, marked: str
) -> None:
    page = browser().get(f"/measure/at/part.loft_17x8.{fact}").text
    assert f'class="label heavy">{marked}</text>' in page
    assert page.count('class="asked"') == 3
    assert 'class="gap ' not in page
    assert "<strong>a</strong>" not in page


def test_a_refusal_names_the_fact_by_its_words(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    where = "/measure/at/car.wheelbase"
    answer = typed(here, where, reading="2600 kg", unit="", tool="tape")
    assert answer.status_code == 409
    said = re.search(r'role="alert"[^>]*>(.*?)</', answer.text, re.S)
    assert said is not None
    assert "wheelbase: found" in said[1].lower()
    assert "car.wheelbase" not in said[1]


@pytest.mark.parametrize(("fact", "ends"), [("car.wheelbase", 2), ("site.temperature", 0)])
def test_what_is_measured_from_axle_to_axle_is_drawn_from_axle_to_axle(
    fact: str, ends: int, folder: Path
) -> None:
    examination = drybuild.open_build(folder).examine(draws=64)
    declared = declaration(fact)
    assert declared is not None
    _, svg = picture(examination, declared)
    boxes = re.findall(r'd="M([\d.]+) ([\d.]+) L[^"]*Z"[^>]*stroke-width="2.4"', svg)
    assert len(boxes) == ends


def test_units_are_offered_for_the_size_and_any_is_read_when_typed(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    gap = "/measure/at/corner.rear.left.upright_point.gap"
    assert re.findall(r'name="unit" value="([^"]+)"', here.get(gap).text) == ["mm", "cm", "in"]
    far = re.findall(r'name="unit" value="([^"]+)"', here.get("/measure/at/car.wheelbase").text)
    assert {"mm", "m", "in"} <= set(far)
    assert "km" not in far
    answer = typed(here, gap, reading="0.07 ft", unit="mm", tool="coins")
    assert "Written down: 0.07 ft" in here.get(answer.headers["location"]).text


def test_what_cannot_be_read_while_the_wheels_are_off_says_so_and_asks_once(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    at = "/measure/at/corner.front.left.upright_point.gap"
    here = browser()
    assert "Not now:" not in here.get(at).text
    apart = [Change("open", "raised_front"), Change("open", "wheels_front")]
    Journal(folder).did(apart, who="Ann")
    page = here.get(at).text
    assert "<strong>Not now:</strong> the front wheels are off" in page
    typed = {"token": token_in(page), "reading": "13 mm", "who": "Ann", "tool": "coins"}
    asked = here.post(at, data=typed)
    assert asked.status_code == 409
    assert "As the car stands it cannot be read: the front wheels are off." in asked.text
    assert 'name="apart"' in asked.text
    assert not [r for r in Journal(folder).readings() if r.raw == {"is": "13 mm", "by": "coins"}]
    assert here.post(at, data={**typed, "apart": "true"}).status_code == 303
    other = "/measure/at/disc.front.left.thickness"  # that is read with the wheel off
    assert "Not now:" not in here.get(other).text


def test_a_reading_far_off_all_that_was_guessed_is_asked_about_once(tmp_path: Path) -> None:
    here = visit(make_build(tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes"))
    gap = "/measure/at/corner.front.left.upright_point.gap"
    said = {"reading": "11.5", "unit": "cm", "tool": "coins", "who": "Ann"}
    asked = typed(here, gap, **said)
    assert asked.status_code == 409
    assert re.search(r"115 mm, where −?[\d.]+ to \d+ mm was expected: is it so\?", asked.text)
    assert 'name="reading" class="reading" value="11.5"' in asked.text
    sure = re.search(r'name="sure" value="([^"]+)"', asked.text)
    assert sure is not None
    assert typed(here, gap, **{**said, "reading": "23"}, sure=sure[1]).status_code == 409
    assert typed(here, gap, **said, sure=sure[1]).status_code == 303
    assert typed(here, gap, **{**said, "unit": "mm"}).status_code == 303
