"""Usual cures on screen: one press tries one beside the plan; kept, it is a job of the build."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from forms import token_in
from lowered_car import lowered_car
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.build import read_build
from drybuild.examine import open_build
from drybuild.web.app import make_app
from drybuild.web.drafts import drafts
from drybuild.web.planning_process import _where
from drybuild.work.model import Clause, Relaxation
from drybuild.work.solve.strict import clause_name


@pytest.fixture
def car(tmp_path: Path) -> Path:
    return lowered_car(tmp_path / "car")


@pytest.fixture
def here(car: Path) -> Iterator[TestClient]:
    with TestClient(
        make_app(car, hosts=HOSTS, share=True, away="http://192.0.2.7:8000"),
        base_url="http://127.0.0.1:8000", client=("127.0.0.1", 50000), follow_redirects=False,
    ) as one:  # fmt: skip
        yield one


def _words(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def _press(client: TestClient, name: str) -> tuple[int, str]:
    answer = client.post(f"/usual/{name}", data={"token": token_in(client.get("/").text)})
    return answer.status_code, answer.headers.get("location", answer.text)


def test_the_page_of_cures_says_what_a_part_has_to_be_so_that_it_is_enough(
    here: TestClient,
) -> None:
    page = here.get("/cures/ride.camber_reach/rear.left").text
    assert re.search(r"Camber range, rear: [\d.]+ deg or more makes it enough", page)
    assert 'action="/usual/camber"' in page


def test_the_first_page_offers_what_is_usual_where_a_finding_stops(here: TestClient) -> None:
    page = here.get("/").text
    assert page.count('action="/usual/camber"') == 1
    assert page.count('action="/usual/bar-links"') == 1
    assert re.search(r"Length wanted, joint centre to joint centre, front: about \d+ mm", page)
    assert "known once you know the part's shortest setting and longest setting" in (
        page.replace("&#39;", "'")
    )
    workings = here.get("/workings/ride.camber_reach/rear.left").text
    assert "known once" not in workings
    assert 'action="/usual/camber"' in workings
    assert 'action="/usual/' not in here.get("/workings/corners.tyre_upright_gap/rear.left").text
    assert 'action="/usual/' not in here.get("/?state=now").text  # it is of the plan's end


def test_one_press_tries_it_and_the_draft_says_what_becomes_of_the_finding(
    here: TestClient, car: Path
) -> None:
    before = (car / "build.toml").read_bytes()
    assert _press(here, "bar-links") == (303, "/drafts/bar-links")
    assert (car / "build.toml").read_bytes() == before  # beside the plan, until it is kept
    said = _words(here.get("/drafts/bar-links").text)
    assert "As planned: short" in said
    assert "With it: nobody has measured bar link shortest setting or length" in said
    assert "Front adjustable bar links to be chosen: shortest setting" in said
    page = here.get("/drafts/bar-links").text
    for at in re.findall(r'href="(/measure/at/part\.my_bar_links_front\.[a-z_]+)"', page):
        assert here.get(at).status_code == 200
    assert _press(here, "bar-links") == (303, "/drafts/bar-links")  # the same one, not another
    assert len(drafts(car)) == 1


def test_a_guess_is_called_one_and_is_recomputed(here: TestClient) -> None:
    _press(here, "camber")
    said = _words(here.get("/drafts/camber").text)
    assert "With it, on the guess below: enough: room to spare" in said
    assert "until then 0.7 to 2 deg, a guess" in said


def test_kept_it_is_a_job_and_is_offered_no_more(here: TestClient, car: Path) -> None:
    _press(here, "camber")
    token = token_in(here.get("/drafts/camber").text)
    assert here.post("/drafts/camber/keep", data={"token": token}).status_code == 303
    assert [job.id for job in read_build(car).jobs] == ["lower-it", "camber"]
    assert 'action="/usual/camber"' not in here.get("/").text
    status, why = _press(here, "camber")
    assert status == 409
    assert "nothing that stops the car as planned asks for it now" in why


def test_what_is_no_cure_and_what_no_page_sent_write_nothing(here: TestClient, car: Path) -> None:
    assert _press(here, "paint")[0] == 404
    assert here.post("/usual/camber").status_code == 403  # without the form's token
    assert not (car / "parts" / "added.toml").exists()


def test_who_may_only_look_is_told_what_is_usual_and_has_nothing_to_press(
    here: TestClient, car: Path
) -> None:
    token = token_in(here.get("/devices").text)
    page = here.post("/devices/code", data={"token": token, "role": "look"}).text
    code = "".join(re.findall(r"Code (\d{4}) (\d{4})", page)[0])
    away = TestClient(
        here.app, base_url="http://192.0.2.7:8000", client=("192.0.2.50", 50000),
        follow_redirects=False,
    )  # fmt: skip
    assert away.post("/pair", data={"code": code, "name": "phone"}).status_code == 303
    seen = away.get("/").text
    assert "Usual cure: adjustable camber" in seen
    assert "Try it beside the plan" not in seen
    assert away.post("/usual/camber", data={"token": token_in(seen)}).status_code == 403
    assert not (car / "parts" / "added.toml").exists()


def test_what_stops_although_there_is_room_says_why(here: TestClient) -> None:
    """A newcomer read 'enough nearly every time' beside 'stops creep', and what to buy."""
    page = _words(here.get("/").text.split("all uses together")[1])
    row = page.split("inner side of the tyre to arm, spring and body stops creep")[1]
    assert "a guess is in it, and someone can be hurt" in row[:200]
    assert re.search(r"Do: measure .+ first; \d+ more are guessed", row[:300])


def test_what_nobody_has_measured_leads_to_where_it_is_typed_in(here: TestClient) -> None:
    _press(here, "bar-links")
    token = token_in(here.get("/drafts/bar-links").text)
    here.post("/drafts/bar-links/keep", data={"token": token})
    text = here.get("/workings/ride.bar_link_length/front.left").text
    for fact in ("length_least", "length_most"):
        assert f'href="/measure/at/part.my_bar_links_front.{fact}"' in text
    for fact, reading in (("length_least", "40 mm"), ("length_most", "260 mm")):
        at = f"/measure/at/part.my_bar_links_front.{fact}"
        form = here.get(at).text
        seen = re.findall(r'name="seen" value="([^"]*)"', form)[:1]
        said = {"token": token_in(form), "reading": reading, "tool": "tape", "who": "Ann",
                "seen": "".join(seen)}  # fmt: skip
        assert here.post(at, data=said).status_code == 303
    assert "nobody has measured" not in here.get("/workings/ride.bar_link_length/front.left").text


def test_before_a_plan_is_made_the_work_names_its_jobs(here: TestClient) -> None:
    page = here.get("/work").text
    assert "1 job to do" in page
    assert re.search(r"<li><a [^>]+>lower springs all round</a></li>", page)


def test_a_planning_that_wants_a_cure_leads_to_the_page_that_offers_it(
    here: TestClient, car: Path
) -> None:
    after = frozenset({"lower-it"})
    check = ("ride.bar_link_length", "front.left")
    clauses = (Clause("drive", after, frozenset(), "the link cannot be set", *check),
               Clause("creep", after, frozenset({"x"}), "in that order alone", *check))  # fmt: skip
    led = [
        _where(Relaxation("fix", clause_name(one), "cure this"), open_build(car), clauses)
        for one in clauses
    ]
    assert led[1] == "/findings"
    assert here.get(led[1]).status_code == 200
    assert 'action="/usual/bar-links"' in here.get(led[0]).text
    assert not _where(Relaxation("fix", "another", "cure this"), open_build(car), clauses)


def test_an_aim_that_is_a_copy_is_found_from_the_finding_and_changed_on_its_page(
    here: TestClient, car: Path
) -> None:
    at = "/set?address=goal.camber_rear"
    assert f'href="{at}"' in here.get("/workings/ride.camber_reach/rear.left").text
    page = here.get(at).text
    assert "Measure it" not in page
    assert "curve or a table" not in page
    assert "It is taken from another figure: rear left camber" in page
    fields = dict(re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)">', page))
    assert here.post("/set", data={**fields, "value": "-1.5 deg"}).status_code == 303
    line = next(
        line for line in (car / "build.toml").read_text(encoding="utf-8").splitlines()
        if line.startswith("camber_rear")
    )  # fmt: skip
    assert line.startswith('camber_rear = "-1.5 deg"')
    assert "was the same as corner.rear.left.camber" in line
    assert "It is what you want" in here.get(at).text
