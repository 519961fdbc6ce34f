"""The first visit: few questions, a useful answer whatever one knows, a folder that checks."""

from __future__ import annotations

import re
import tomllib
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

import pytest
from forms import SPRINGS, WHEELS, token_in
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.asking.beginning import begin
from drybuild.asking.questions import (
    ALSO,
    FIRST,
    MEASURED,
    MOST,
    NEW,
    WHO_ASKED,
    AnswerRefused,
    asked_along,
    questions,
)
from drybuild.asking.told import SHANK, Asked, Tells, read_measured
from drybuild.cli import main
from drybuild.examine.opened import open_build
from drybuild.findings import Verdict
from drybuild.web.app import make_app


def test_every_page_of_a_folder_without_a_build_leads_to_the_questions(
    visitor: TestClient, empty: Path
) -> None:
    for path in ("/", "/measure", "/records", "/corner/front/left", "/devices", "/book"):
        answer = visitor.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/start"), path
    page = visitor.get("/start")
    assert page.status_code == 200
    assert "What are you changing first?" in page.text
    for words in ("Wheels and tyres", "Springs", "Brakes", "Breathing", "Fuel", "The map: a remap",
                  "bigger ones too", "a bigger turbo too", "Don&#39;t know"):  # fmt: skip
        assert words.replace("&#39;", "'") in page.text.replace("&#39;", "'")
    assert not empty.exists()


def test_a_bigger_turbo_and_bigger_brakes_have_their_place_said(visitor: TestClient) -> None:
    for answers in ({}, {**WHEELS, "measured": ""}):  # at the first question, and at all else
        page = visitor.get("/start?" + urlencode(answers)).text
        assert "A bigger turbo goes with Breathing, bigger brakes with Brakes." in page


@pytest.mark.parametrize("name", ["tyre", "wheel", "new-wheel", "new-tyre", "front-drop"])
def test_an_example_stands_outside_the_box_and_is_the_one_drawn(
    visitor: TestClient, name: str
) -> None:
    way = WHEELS if name in WHEELS else SPRINGS
    before = dict(list(way.items())[: list(way).index(name)]) if name in way else way
    page = visitor.get("/start?" + urlencode(before)).text
    example = next(q.example for q in questions(way) if q.name == name)
    assert f"For instance: {example}</p>" in page
    assert "placeholder" not in page
    if name != "front-drop":
        drawn = re.findall(r'font-weight="700" textLength[^>]*>([^<]*)<', page)
        assert "".join(drawn) == example.replace(" ", "")


def test_with_a_build_there_is_no_first_visit(folder: Path) -> None:
    client = TestClient(
        make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
        client=("127.0.0.1", 1), follow_redirects=False,
    )  # fmt: skip
    assert client.get("/start").headers["location"] == "/"


@pytest.mark.parametrize("first", [*NEW, ""])
def test_no_way_has_more_than_twelve_questions(first: str) -> None:
    measured, who, also, along = 1, 1, 1, len(asked_along({"first": first}))
    assert len(questions({"first": first})) + measured + who + also + along <= MOST == 12


@pytest.mark.parametrize("first", list(FIRST.choices))
def test_the_screen_counts_as_many_questions_as_the_readme_says(
    visitor: TestClient, first: str
) -> None:
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    assert "at most twelve things: six to eight questions" in readme
    found = re.search(r"Question 2 of (\d+)", visitor.get(f"/start?first={first}").text)
    assert found is not None
    assert 6 <= int(found[1]) <= 8


@pytest.mark.parametrize("first", ["wheels", "breathing"])
def test_at_most_twelve_inputs_are_asked(visitor: TestClient, first: str) -> None:
    """Counted on the pages themselves: every answer is don't know, and the way still ends."""
    answers, asked = {"first": first}, 1
    for _ in range(MOST + 2):
        page = visitor.get("/start?" + urlencode(answers)).text
        visible = {
            name
            for name in re.findall(r'<(?:input|button)(?![^>]*type="hidden")[^>]*name="([^"]+)"',
                                   page)
        }  # fmt: skip
        if "What is known</h1>" in page:
            assert visible <= {ALSO, *(q.name for q in asked_along(answers))}
            asked += len(visible)
            break
        asked += len(visible)
        answers |= dict.fromkeys(visible, "")
    else:
        pytest.fail("the questions do not end")
    assert asked <= MOST


def test_dont_know_everywhere_ends_in_a_useful_answer_and_a_build(
    visitor: TestClient, empty: Path
) -> None:
    answers = {q.name: "" for q in questions({})} | {"measured": "", "who": ""}
    page = visitor.get("/start?" + urlencode(answers))
    assert page.status_code == 200
    told = re.sub(r"<[^>]+>", " ", page.text)
    assert re.search(r"\d+(\.\d+)? mm, [-−]?\d[\d.]* to \d", told)  # a figure with its doubt
    assert "Full lock and full bump are not covered yet" in told
    assert "since you do not know which is nearest" in told
    _made(visitor, answers)
    assert main(["check", str(empty)]) == 0


def _made(visitor: TestClient, answers: dict[str, str]) -> None:
    token = token_in(visitor.get("/start").text)
    answer = visitor.post("/start", data={"token": token, **answers})
    assert (answer.status_code, answer.headers.get("location")) == (303, "/"), answer.text
    assert visitor.get("/").status_code == 200


@pytest.mark.parametrize("car", ["front-turbo-hatch", "none"])
def test_a_remap_is_a_first_change_and_one_that_comes_along(
    visitor: TestClient, empty: Path, car: str
) -> None:
    way = {"first": "map", "car": car, "driving": "yes", "tyre": "", "wheel": "", "octane": "98"}
    page = visitor.get("/start?" + urlencode({**way, "measured": ""}))
    assert page.status_code == 200
    assert 'value="lower it"' in page.text
    _made(visitor, {**way, "measured": "", "also": "lower it"})
    assert 'fit = {map = "my_remap"}' in (empty / "build.toml").read_text(encoding="utf-8")
    assert "whoever calibrates says" in (empty / "parts/first.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("first", ["wheels", "brakes", "map"])
def test_what_was_asked_stands_first_in_the_build_on_every_face(
    visitor: TestClient, empty: Path, first: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The heaviest finding may be of something else that goes with the change."""
    way = {"first": first, "car": "front-turbo-hatch", "driving": "yes", "tyre": "", "wheel": ""}
    focus = Tells().told(way).focus
    assert focus is not None
    _made(visitor, {**way, "measured": ""})
    done = open_build(empty).examine()
    finding = done.finding(*focus)
    assert finding.verdict is not Verdict.ENOUGH
    page = visitor.get("/").text
    three = page[page.index("Three things first") :]
    assert three.index("What you asked") < three.index(f"/workings/{finding.check}/")
    assert three.index(f"/workings/{finding.check}/") < three.index("</li>")
    assert main(["check", str(empty)]) == 0
    said = " ".join(capsys.readouterr().out.partition("First\n")[2].split())
    assert finding.title in said[: said.index(" 2 ")]


@pytest.mark.parametrize(
    ("name", "typed", "where"),
    [
        ("new-wheel", "8x18 ET38 front, 8.5x18 ET42 rear", "under Parts"),
        ("new-wheel", "8Jx18 / 8.5Jx18 5x112", "under Parts"),
        ("tyre", "205/55 R16 and 225/50 R16", "in car.toml, under [fitted]"),
    ],
)  # fmt: skip
def test_what_is_of_both_ends_is_told_where_the_other_goes(
    visitor: TestClient, name: str, typed: str, where: str
) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, name: typed}))
    assert page.status_code == 422
    assert f"is of both ends. Where front and rear differ: the front one here, the rear one " \
        f"afterwards {where}." in unescape(page.text)
    for plain in ("8.5Jx18 5x112 ET40", "8x18 5x98 ET40"):
        kept = visitor.get("/start?" + urlencode({**WHEELS, "new-tyre": "", "new-wheel": plain}))
        assert kept.status_code == 200


def test_a_new_tyre_that_cannot_go_on_the_new_wheel_is_refused_in_words(
    visitor: TestClient,
) -> None:
    asked = {**WHEELS, "new-tyre": "225/40 R18"}
    page = visitor.get("/start?" + urlencode(asked))
    assert page.status_code == 422
    assert "goes on a rim of 18" in page.text
    assert 'value="225/40 R18"' in page.text  # what was typed is not lost


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("tyre", "205 55 16", "205/55 R16"), ("wheel", "seventeen", "rim width, x, diameter code"),
        ("first", "paint", "expected one of wheels"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_asked_again(
    visitor: TestClient, name: str, typed: str, said: str
) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, name: typed}))
    assert page.status_code == 422
    assert said in page.text


def test_what_is_named_of_a_wheel_that_is_only_wanted_is_its_makers_word(tmp_path: Path) -> None:
    """Nobody has it in hand; what stands on the wheel that is on the car was read there."""
    begin(tmp_path / "car", {**WHEELS, "wheel": "6.5Jx16 5x112 ET46", "new-wheel": "8Jx17 5x112"})
    parts = {}
    for file in ("first", "standard"):
        parts |= tomllib.loads((tmp_path / "car/parts" / f"{file}.toml").read_text("utf-8"))["part"]
    wanted = parts["my_wheel"]
    named = ("diameter_code", "bolt_count", "bolt_circle")
    assert {wanted[key]["by"] for key in named} == {"maker"}
    assert parts["std_wheel"]["diameter_code"]["by"] == "eye"


def test_the_folder_holds_what_was_answered_and_the_journal_the_reading(
    visitor: TestClient, empty: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _made(visitor, {**WHEELS, "measured": "14", "who": "Ilse"})
    new = tomllib.loads((empty / "parts" / "first.toml").read_text(encoding="utf-8"))["part"]
    assert new["my_wheel"]["offset"] == {"is": "40 mm", "by": "maker"}
    assert new["my_tyre"]["marking"]["is"] == "225/45 R17 91W"
    old = tomllib.loads((empty / "parts" / "standard.toml").read_text(encoding="utf-8"))["part"]
    assert old["std_wheel"]["rim_width"]["is"] == "6.5 in"
    assert main(["check", str(empty)]) == 0
    assert main(["journal", str(empty)]) == 0
    said = capsys.readouterr().out
    assert "Ilse" in said
    assert "14 mm, drill shank" in said
    assert (empty / "schema" / "car.json").is_file()
    assert not list(empty.parent.glob(".drybuild-*"))


@pytest.mark.parametrize(
    ("car", "first"), [("none", "wheels"), ("none", ""), *(("utility-4x4", f) for f in NEW)]
)
def test_every_way_makes_a_folder_that_checks(
    visitor: TestClient, empty: Path, car: str, first: str
) -> None:
    example = {q.name: q.example for q in questions({"first": first}) if q.example}
    _made(visitor, {"first": first, "car": car, "driving": "no", **example,
                    "tyre": "235/65 R17", "wheel": "7Jx17 ET35"})  # fmt: skip
    assert main(["check", str(empty)]) == 0


@pytest.mark.parametrize(("new", "fits"), [("8Jx17 ET40 4x100", True), ("8Jx17 ET40 5x112", False)])
@pytest.mark.parametrize("car", ["front-turbo-hatch", "none"])
def test_the_hub_has_the_bolt_holes_of_the_wheel_that_is_on_it(
    visitor: TestClient, empty: Path, car: str, new: str, fits: bool
) -> None:
    """Whatever the starter car has: here five on 112 mm."""
    _made(visitor, {**WHEELS, "car": car, "wheel": "6Jx16 ET46 4x100", "new-wheel": new})
    hub = tomllib.loads((empty / "car.toml").read_text(encoding="utf-8"))["corner"]
    for axle in ("front", "rear"):
        assert hub[axle]["bolt_count"] == {"is": 4, "by": "eye"}
        assert hub[axle]["bolt_circle"] == {"is": "100 mm", "by": "maker"}
    found = open_build(empty).examine("finished").finding("corners.bolt_count", "front.left")
    assert (found.verdict is Verdict.SHORT) is not fits
    assert not found.guessed_match


def test_holes_that_do_not_match_a_guessed_hub_are_looked_at_first(
    visitor: TestClient, empty: Path
) -> None:
    _made(visitor, {**WHEELS, "new-wheel": "8Jx17 ET40 4x100"})
    opened = open_build(empty)
    found = opened.examine("finished").finding("corners.bolt_count", "front.left")
    assert (found.verdict, found.guessed_match) == (Verdict.SHORT, True)
    assert main(["check", str(empty), "--all"]) == 0


def test_only_the_tyre_is_known_and_the_wheel_follows(visitor: TestClient, empty: Path) -> None:
    _made(visitor, {**WHEELS, "wheel": "", "tyre": "195/65 R15 91H", "new-wheel": ""})
    new = tomllib.loads((empty / "parts" / "first.toml").read_text(encoding="utf-8"))["part"]
    old = tomllib.loads((empty / "parts" / "standard.toml").read_text(encoding="utf-8"))["part"]
    assert old["std_wheel"]["diameter_code"]["is"] == 15
    assert new["my_wheel"]["diameter_code"] == 17  # taken for now: it stays a guess
    assert new["my_wheel"]["rim_width"] == "7.5 in"  # ISO 4000-1: 0.85 of 225 mm, half inches


def test_a_folder_that_came_to_be_meanwhile_is_not_written_over(
    visitor: TestClient, empty: Path
) -> None:
    token = token_in(visitor.get("/start").text)
    empty.mkdir()
    (empty / "notes.txt").write_text("mine", encoding="utf-8")
    answer = visitor.post("/start", data={"token": token, **WHEELS})
    assert answer.status_code == 409
    assert "is in use" in answer.text
    assert [p.name for p in empty.iterdir()] == ["notes.txt"]


def test_without_the_forms_token_nothing_is_made(visitor: TestClient, empty: Path) -> None:
    assert visitor.post("/start", data=WHEELS).status_code == 403
    assert not empty.exists()


def test_the_first_page_leads_to_where_somebody_stopped(visitor: TestClient) -> None:
    assert "where you stopped" not in visitor.get("/start").text
    visitor.get("/start?first=wheels&car=front-turbo-hatch")
    page = visitor.get("/start").text
    assert 'href="/start?first=wheels&amp;car=front-turbo-hatch"' in page


def test_a_decimal_comma_is_read_and_a_shank_is_never_less_than_nothing() -> None:
    asked = Asked("corner.front.left.upright_point.gap", "", "", "", SHANK, "length",
                  ("check", "front.left"), 0.9)  # fmt: skip
    assert read_measured(asked, "9,5 mm") == "9.5 mm"
    with pytest.raises(AnswerRefused, match="part thousands or be decimal"):
        read_measured(asked, "1,250 mm")
    with pytest.raises(AnswerRefused, match="thickness of a drill shank"):
        read_measured(asked, "-3")


def test_every_question_can_be_answered_by_the_address_and_by_the_form(
    visitor: TestClient,
) -> None:
    """One list serves both; the description of the app has the names of the questions."""
    paths = visitor.get("/openapi.json").json()
    asked = {p["name"] for p in paths["paths"]["/start"]["get"]["parameters"]}
    body = paths["paths"]["/start"]["post"]["requestBody"]["content"]
    (kind,) = body.values()
    model = kind["schema"]["$ref"].rpartition("/")[2]
    form = set(paths["components"]["schemas"][model]["properties"])
    known = {MEASURED, WHO_ASKED, ALSO}
    for first in FIRST.choices:
        known |= {question.name for question in questions({"first": first})}
    assert asked == form
    assert known <= asked


def _jobs(folder: Path) -> list[str]:
    build = tomllib.loads((folder / "build.toml").read_text(encoding="utf-8"))
    return [job["id"] for job in build.get("job", [])]


def test_at_the_end_one_may_name_all_else_that_one_means_to_change(
    visitor: TestClient, empty: Path
) -> None:
    """By ticks, or as drybuild new reads a list; the first change stays the first job."""
    page = visitor.get("/start?" + urlencode({**WHEELS, "measured": "", "who": ""})).text
    ticks = re.findall(r'type="checkbox" name="also" value="([^"]+)"', page)
    assert ticks == ["lower it", "brakes", "power", "more fuel", "remap"]  # not the first once more
    token = token_in(page)
    typed = {"token": token, **WHEELS, "also": ["brakes", "lower it"]}
    assert visitor.post("/start", data=typed).status_code == 303
    assert _jobs(empty) == ["wheels-and-tyres", "brakes", "lower-it"]
    parts = tomllib.loads((empty / "parts" / "first.toml").read_text(encoding="utf-8"))["part"]
    assert {"my_wheel", "my_pads_front", "my_spring_rear"} <= set(parts)
    assert parts["my_wheel"]["offset"] == {"is": "40 mm", "by": "maker"}  # the answers, as before
    assert main(["check", str(empty)]) == 0


@pytest.mark.parametrize("ticked", [True, False])
def test_who_lowers_it_too_is_asked_by_how_much(
    visitor: TestClient, empty: Path, ticked: bool
) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, "measured": "", "who": ""})).text
    assert 'name="front-drop"' in page
    assert 'name="front-drop"' not in visitor.get("/start?" + urlencode(
        {**SPRINGS, "front-drop": "", "rear-drop": "", "measured": ""})).text.partition(
        'method="post"')[2].replace('type="hidden" name="front-drop"', "")  # asked already
    said = {**WHEELS, "measured": "14", "who": "Ilse", "front-drop": "25", "rear-drop": ""}
    _made(visitor, said | ({"also": "lower it"} if ticked else {}))
    assert _jobs(empty) == ["wheels-and-tyres", "lower-it"]
    parts = tomllib.loads((empty / "parts" / "first.toml").read_text(encoding="utf-8"))["part"]
    assert parts["my_spring_front"]["stated_drop"] == {"is": "25 mm", "by": "maker"}
    assert parts["my_spring_rear"]["stated_drop"] == "25 ± 12 mm"  # not known: the guess stays
    assert main(["check", str(empty)]) == 0


def test_a_drop_that_cannot_be_read_is_asked_again(visitor: TestClient, empty: Path) -> None:
    token = token_in(visitor.get("/start").text)
    typed = {"token": token, **WHEELS, "measured": "", "front-drop": "25", "rear-drop": "two"}
    answer = visitor.post("/start", data={**typed, "also": "lower it"})
    assert answer.status_code in (409, 422)
    assert "And behind? found" in answer.text
    assert answer.text.count('name="front-drop"') == 1
    assert 'value="two"' in answer.text
    assert not empty.exists()


def test_a_list_is_read_as_drybuild_new_reads_it(visitor: TestClient, empty: Path) -> None:
    _made(visitor, {**WHEELS, "also": "4, lower, a whole list"})
    jobs = ["wheels-and-tyres", "brakes", "lower-it", "more-fuel", "power", "remap"]
    assert _jobs(empty) == jobs


def test_a_change_that_is_none_is_refused_in_words(visitor: TestClient, empty: Path) -> None:
    token = token_in(visitor.get("/start").text)
    answer = visitor.post("/start", data={"token": token, **WHEELS, "also": "paint"})
    assert answer.status_code == 422
    assert "expected one of wheels and tyres" in answer.text
    assert not empty.exists()


def test_who_names_nothing_more_gets_one_job(visitor: TestClient, empty: Path) -> None:
    _made(visitor, WHEELS)
    assert _jobs(empty) == ["wheels-and-tyres"]


def test_one_is_asked_of_a_part_by_its_name_and_no_fuel_is_called_pump(
    visitor: TestClient,
) -> None:
    answers = {"first": "brakes", "car": "rear-turbo-coupe", "driving": "yes"}
    answers |= {q.name: "" for q in questions(answers) if q.name not in answers}
    page = visitor.get("/start?" + urlencode(answers)).text
    named = "front pads to be chosen, pad thickness"
    assert f"Look up one figure, once the part is chosen: {named}" in page
    fuel = {"first": "fuel", "car": "rear-turbo-coupe", "driving": "yes"}
    fuel |= {q.name: "" for q in questions(fuel) if q.name not in fuel}
    page = visitor.get("/start?" + urlencode(fuel)).text
    assert "Petrol: pressure at the pump" in page  # of which fuel; not of the pump
    assert "Pump: " not in page


@pytest.mark.parametrize("first", ["brakes", "breathing", "fuel", "map"])
def test_of_a_part_that_is_not_on_the_car_a_figure_is_looked_up(
    visitor: TestClient, first: str
) -> None:
    answers = {"first": first, "car": "front-turbo-hatch", "driving": "yes"}
    answers |= {q.name: "" for q in questions(answers) if q.name not in answers}
    asks = Tells().asks(answers)
    assert asks is not None
    page = unescape(visitor.get("/start?" + urlencode(answers)).text)
    assert asks.to_come == asks.address.startswith("part.my_")
    if not asks.to_come:
        assert f"Measure one thing: {asks.named}" in page
        return
    assert asks.tool == "maker"
    assert "full load" not in asks.how
    assert f"Look up one figure, once the part is chosen: {asks.named}" in page
    assert "Measure one thing" not in page
    assert "With: " not in page
