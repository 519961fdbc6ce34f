"""Records on screen: hand checks with their evidence, undo, corrections, the export."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from forms import token_in
from starlette.testclient import TestClient

from drybuild.build import Change
from drybuild.journal import Journal
from drybuild.systems import registry


def token_of(client: TestClient) -> str:
    return token_in(client.get("/drafts").text)


def post(client: TestClient, where: str, **fields: str):  # type: ignore[no-untyped-def]
    return client.post(where, data={"token": token_of(client), **fields})


def specs_of_all():  # type: ignore[no-untyped-def]
    return registry().records


@pytest.fixture
def opened_up(folder: Path) -> Path:
    """The front brakes were changed, so that hand checks are owed."""
    Journal(folder).did([Change("fit", "pads.front", "quern_pads_t40")], who="Ann")
    return folder


def test_what_is_owed_is_listed_with_what_it_wants(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    page = browser().get("/records").text
    owed = re.findall(r'name="record" value="([a-z_.]+)"', page)
    assert "brakes.bedded" in owed
    assert all(f'id="{record}"' in page for record in owed)
    assert "a second person" in page
    assert "has anyone touched it since?" in page


def test_a_hand_check_with_all_its_evidence_lifts_what_waited(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    (first, *_) = re.findall(r'name="record" value="([a-z_.]+)"', here.get("/records").text)
    answer = post(
        here, "/records/verify", record=first, value="free all round", tool="eye", who="Ann",
        second="Marten",
    )  # fmt: skip
    assert answer.status_code == 303
    assert answer.headers["location"] == "/records?written=2#written"
    page = here.get("/records?written=2").text
    assert f'name="record" value="{first}"' not in page
    receipt = re.search(r'id="written".*?</p>', page, re.S)[0]  # type: ignore[index]
    assert "Written down, entry 2:" in receipt
    assert "seen by Marten" in receipt
    for use in specs_of_all()[first].stops:
        assert use in receipt.partition("It holds back ")[2].partition(" no more")[0]
    said = f"{specs_of_all()[first].title}: free all round, eye, seen by Marten<"
    assert said in unescape(page)
    assert 'id="written"' not in here.get("/records").text
    assert 'id="written"' not in here.get("/records?written=99").text
    (lift,) = Journal(opened_up).lifts()
    assert lift.record == first
    assert lift.evidence["second"] == "Marten"


@pytest.mark.parametrize(
    "fields",
    [
        {"value": "", "tool": "eye", "who": "Ann", "second": "Marten"},
        {"value": "free", "tool": "", "who": "", "second": "Marten"},
        {"value": "free", "tool": "eye", "who": "Ann", "second": "Ann"},
        {"value": "free", "tool": "eye", "who": "Ann", "second": ""},
    ],
)
def test_a_tick_lifts_nothing(browser, opened_up: Path, fields: dict[str, str]) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/records").text
    second = re.search(
        r'name="record" value="([a-z_.]+)"(?:(?!</form>).)*name="second"', page, re.S
    )
    assert second is not None
    answer = post(here, "/records/verify", record=second[1], **fields)
    assert answer.status_code == 409
    form = re.search(
        rf'<form [^>]*action="/records/verify"(?:(?!</form>).)*value="{second[1]}".*?</form>',
        answer.text, re.S,
    )  # fmt: skip
    assert form is not None
    assert "a tick does not lift this" in form[0].casefold()
    assert f"{second[1]}:" not in answer.text
    assert answer.text.count('id="refused"') == 1
    assert Journal(opened_up).lifts() == ()


def test_an_entry_is_taken_back_once_and_stays_readable(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert post(here, "/records/undo", entry="1", who="Ann", why="wrong car").status_code == 303
    page = here.get("/records").text
    assert "(undone)" in page
    assert "wrong car" in page
    again = post(here, "/records/undo", entry="1", who="Ann")
    assert again.status_code == 409
    assert "undone already" in again.text
    assert len(Journal(opened_up).entries()) == 2


def test_nobody_takes_back_what_is_not_there_or_without_a_name(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert post(here, "/records/undo", entry="9", who="Ann").status_code == 409
    assert post(here, "/records/undo", entry="1", who=" ").status_code == 409
    assert len(Journal(opened_up).entries()) == 1


def test_a_reading_is_corrected_with_the_tool_it_had(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    raw = {"is": "27 psi gauge", "by": "tyre gauge"}
    Journal(folder).note("corner.rear.left.tyre_pressure", raw, who="Ann")
    here = browser()
    answer = post(
        here, "/records/correct", entry="1", who="Marten", reading="29 psi gauge", day="2026-03-01"
    )
    assert answer.status_code == 303
    (reading,) = Journal(folder).readings()
    assert reading.raw == {"is": "29 psi gauge", "by": "tyre gauge"}
    assert reading.at == "2026-03-01"
    refused = post(here, "/records/correct", entry="1", who="Marten", reading="29 parsec")
    assert refused.status_code == 409
    assert "found" in refused.text


def test_the_whole_journal_goes_out_and_comes_in_elsewhere(  # type: ignore[no-untyped-def]
    browser, opened_up: Path, tmp_path: Path
) -> None:
    here = browser()
    post(here, "/records/remark", words="left nipple is tight", who="Marten")
    text = here.get("/records/journal.txt")
    assert text.headers["content-disposition"].startswith("attachment")
    other = tmp_path / "elsewhere"
    other.mkdir()
    assert Journal(other).take_in(text.text) == 2
    assert Journal(other).head() == Journal(opened_up).head()


def test_a_journal_that_was_tampered_with_is_said_to_be(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    import sqlite3

    page = browser().get("/records").text
    proof = page.split("Proof that nothing was altered</summary>")[1].split("</details>")[0]
    assert "altered since it was written" in proof
    assert "note it on paper" in proof
    with sqlite3.connect(opened_up / "journal.db") as db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE entry SET who = 'Eve' WHERE id = 1")
    assert "not as it was written" in browser().get("/records").text


def test_going_back_leads_to_pages_of_the_app_only(browser, opened_up: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    for back in ("//evil.example/x", "https://evil.example", "/records/../x", "/measure/at/a b"):
        assert post(here, "/records/undo", entry="1", who="Ann", back=back).status_code == 422


def test_words_of_others_are_shown_as_words(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    post(here, "/records/remark", words="<script>alert(1)</script>", who="<b>Ann</b>")
    page = here.get("/records").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    assert "<b>Ann" not in page


def test_a_check_whose_task_was_ticked_says_so_and_wants_only_what_is_not_known(  # type: ignore[no-untyped-def]
    browser, opened_up: Path
) -> None:
    journal = Journal(opened_up)
    journal.worked("clear:road_check", who="Cle", people=("Ann", "Ben"), at="2026-12-05")
    journal.tightened(
        "caliper bolts", figure="31 N·m", tool="wrench 3", who="Ann", task="clear:road_check"
    )
    here = browser()
    page = unescape(here.get("/records").text)
    said = "done as “first stops on private ground, road check” on Sat 5 Dec, entry 2; "
    (form,) = re.findall(r'<li id="brakes.fastened">.*?</form>', page, re.S)
    assert f"{said}value, tool, name and second person are still to be written" in form
    for field, known in (
        ("value", "caliper bolts 31 N·m"), ("tool", "wrench 3"), ("who", "Ann"), ("second", "Ben")
    ):  # fmt: skip
        assert f'name="{field}" value="{known}"' in form
    (other,) = re.findall(r'<li id="brakes.bedded">.*?</form>', page, re.S)
    assert "still to be written" not in other
    journal.did([Change("fit", "pads.front", "plover_pads_front")], who="Ann")
    assert said not in unescape(here.get("/records").text)
