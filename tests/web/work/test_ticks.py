"""Cards that are ticked: when, over what is open, and as of which day."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from forms import bar, named, on_the_table, post

from drybuild.examine import Owed
from drybuild.journal import Journal, WorkEntry
from drybuild.show.cards_words import short_day
from drybuild.show.work_list import open_before_text
from drybuild.web import workshop as workshop_module
from drybuild.web.pages import work_doing
from drybuild.web.pages.work_doing import _ended
from drybuild.web.workshop import Work
from drybuild.work.as_planned import SoFar
from drybuild.work.before import Before, open_before
from drybuild.work.cards import Card


def test_a_session_that_is_over_with_tasks_left_is_said(folder: Path) -> None:
    work = on_the_table(folder)
    first, at = work.sessions()[0], work.sheets.todo.problem.at
    assert work.overdue() == ()
    assert replace(work, now=at(first.end)).overdue() == (first,)
    done = {s: WorkEntry(1, "", "Ilse", "done") for s in work.planned.plan.of(first.id)}
    finished = replace(work, so_far=SoFar(done), now=at(first.end))
    assert finished.overdue() == ()


def test_a_task_is_dated_by_the_clock_and_in_an_example_as_planned_once_that_is_over(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = on_the_table(folder)
    step, at = work.planned.plan.steps[0], work.sheets.todo.problem.at
    for now, ended in (
        (at(step.end) + timedelta(days=400), at(step.end)),
        (at(step.end) - timedelta(days=6), at(step.end) - timedelta(days=6)),
    ):
        _clock(monkeypatch, now)
        assert _ended(work, step, "") == ended
    monkeypatch.undo()
    then = work.planned.hand.opened
    own = replace(then.build, work=then.build.work.model_copy(update={"as_of": ""}))
    hand = replace(work.planned.hand, opened=replace(then, build=own))
    real = replace(work, planned=replace(work.planned, hand=hand))
    before = datetime.now()
    assert before <= _ended(real, step, "") <= datetime.now()
    assert _ended(real, step, "2026-11-04") == datetime(2026, 11, 4, *at(step.end).timetuple()[3:5])


def test_a_tick_ahead_of_its_day_is_of_today_and_says_so(  # type: ignore[no-untyped-def]
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = on_the_table(folder)
    today = work.sheets.todo.problem.at(work.cards[0].tasks[0].step.start) - timedelta(days=6)
    _clock(monkeypatch, today)
    one = named(browser)
    assert post(one, "/work/cards/1/done", task="1").status_code == 303
    entries = Journal(folder).entries()
    assert {e.at[:10] for e in entries} == {f"{today:%Y-%m-%d}"}
    assert f"done <span class=\"soft\">{short_day(today)}, Ilse, entry 1" in one.get(
        "/work/cards/1"
    ).text
    tomorrow = f"{today + timedelta(days=1):%Y-%m-%d}"
    refused = post(one, "/work/cards/1/done", task="2", day=tomorrow)
    assert refused.status_code == 409
    assert f"ound {tomorrow}, expected the day it was done" in refused.text
    assert Journal(folder).entries() == entries


def _clock(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    """The clock by which the work is written down."""

    class Stopped(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return moment

    monkeypatch.setattr(work_doing, "datetime", Stopped)


def test_a_tick_over_open_cards_says_which_and_is_taken_back_in_one_press(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    work = on_the_table(folder)
    problem, plan = work.sheets.todo.problem, work.planned.plan
    late = next(
        c for c in work.cards
        if len(work.open_before(c)) >= 3 and len(open_before(problem, plan, c.steps[:1])) > 1
    )  # fmt: skip
    words = open_before_text(work.open_before(late))
    assert words.startswith("Cards 1")
    one = named(browser)
    where = f"/work/cards/{late.number}"
    page = one.get(where).text
    said = page[page.index("First, and not written down yet:") :].partition("</p>")[0]
    assert [words in page, "Before:" in page] == [False, False]  # one list
    rests = work.rests_on(late)
    for step in (step for one_card in rests for step in one_card.steps):
        assert next(t.title for c in work.cards for t in c.tasks if t.step == step) in said
    first = {c.number for c in work.open_before(late)}
    assert first == set(map(int, re.findall(r"\d+", re.sub(r"(\d+) to (\d+)", _span, said))))
    assert "Take it back" not in one.get(where).text
    asked = post(one, f"{where}/done", task="1")
    assert asked.status_code == 409
    assert Journal(folder).work() == ()
    box = asked.text[asked.text.index('id="ahead"') :].partition("</form>")[0]
    rests = open_before(problem, plan, late.steps[:1])
    assert f"It rests on {len(rests)} tasks that are not written down" in box
    number = next(c.number for c in work.cards if rests[-1] in c.steps)
    assert f"(card {number})" in box
    assert "today" not in box
    answer = post(one, f"{where}/done", **dict(re.findall(r'name="(\w+)" value="([^"]*)"', box)))
    assert answer.headers["location"].endswith("#early")
    page = one.get(answer.headers["location"]).text
    box = page[page.index('id="early"') :].partition("</form>")[0]
    assert (late.tasks[0].title in box, words in box) == (True, True)
    (entry,) = re.findall(r'name="entry" value="(\d+)"', box)
    assert post(one, f"{where}/undo", entry=entry).status_code == 303
    assert Journal(folder).work() == ()
    first = one.get("/work/cards/1").text
    assert "not written down" not in first
    assert post(one, "/work/cards/1/done", task="1").headers["location"].endswith("#task-2")


def _span(found: re.Match[str]) -> str:
    """``1 to 3`` as 1 2 3."""
    return " ".join(map(str, range(int(found[1]), int(found[2]) + 1)))


def test_what_others_have_in_hand_at_the_same_hour_stands_in_nobodys_way(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    """Only what a card rests on comes before it; what the plan merely has earlier does not."""
    work = on_the_table(folder)
    problem, plan = work.sheets.todo.problem, work.planned.plan
    for card in work.cards:
        rests = set(open_before(problem, plan, card.steps))
        assert {c.number for c in work.open_before(card)} == {
            c.number for c in work.cards if rests & set(c.steps)
        }
    free, earlier = next(
        (c, e) for c in work.cards for e in work.cards
        if e.end <= c.start and e not in work.open_before(c)
    )  # fmt: skip
    page = named(browser).get(f"/work/cards/{free.number}").text
    assert f"(card {earlier.number}" not in page.partition("id=\"care\"")[0]


def test_the_next_card_is_one_whose_turn_has_come(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    """Whoever ticks a late card first is led back, not on to what rests on open cards."""
    work = on_the_table(folder)
    problem, plan = work.sheets.todo.problem, work.planned.plan
    late = next(c for c in work.cards if len(c.steps) == 1 and open_before(problem, plan, c.steps))
    one = named(browser)
    post(one, f"/work/cards/{late.number}/done", task="1", ahead="true")
    work = on_the_table(folder)
    following = work.next_card(late.number)
    assert following is not None
    done = work.so_far.done.keys()
    assert open_before(problem, plan, work.left(following)[:1], done) == ()
    assert f"Card {following.number}: " in bar(one.get(f"/work/cards/{late.number}").text)


def test_the_first_tick_of_a_day_that_lies_ahead_is_asked_for_once(  # type: ignore[no-untyped-def]
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Work, "days_ahead", lambda work, card: 13)
    one = named(browser)
    assert "is 13 days ahead: what is written down here today" in one.get("/work/cards/1").text
    session = on_the_table(folder).cards[0].session
    assert "is 13 days ahead" in one.get(f"/work/session/{session}").text
    asked = post(one, "/work/cards/1/done", task="1", people="Marten")
    assert asked.status_code == 409
    assert Journal(folder).work() == ()
    box = asked.text[asked.text.index('id="ahead"') :].partition("</form>")[0]
    assert "Not written down yet" in box
    assert "autofocus" in box
    again = dict(re.findall(r'name="(\w+)" value="([^"]*)"', box))
    answer = post(one, "/work/cards/1/done", **again)
    assert answer.headers["location"].endswith("#early")
    assert Journal(folder).work()[0].people == ("Marten",)
    page = one.get(answer.headers["location"]).text
    early = page[page.index('id="early"') :].partition("</form>")[0]
    assert "as done today" in early
    assert "Take it back" in early
    assert post(one, "/work/cards/1/done", task="2").status_code == 303  # asked once a session


def test_days_ahead_are_counted_by_the_clock(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    work = on_the_table(folder)
    card = work.cards[0]
    for days, wanted in ((13, 13), (1, 1), (0, 0), (-3, 0)):
        moment = card.start - timedelta(days=days)

        class Stopped(datetime):
            @classmethod
            def now(cls, tz: object = None, *, at: datetime = moment) -> datetime:  # type: ignore[override]
                return at

        monkeypatch.setattr(workshop_module, "datetime", Stopped)
        assert work.days_ahead(card) == wanted


def _early_check(folder: Path) -> tuple[Card, Owed]:
    """A card with a hand check whose work rests on much, something of it taken off."""
    work = on_the_table(folder)
    before = Before(work.sheets.todo.problem, work.planned.plan)
    return next(
        (card, owed) for card in work.cards for owed in card.makes
        if any(one.kind == "take" for step in work.checked_on(owed.record, card)
               for one in before.all(step))
    )  # fmt: skip


def test_a_hand_check_of_work_that_is_still_to_be_done_is_asked_about(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    card, owed = _early_check(folder)
    resting = on_the_table(folder).open_for(owed.record, card)
    one, where = named(browser), f"/work/cards/{card.number}"
    full = {"record": owed.record, "value": "firm, so far", "tool": "gauge", "second": "Marten"}
    asked = post(one, f"{where}/seen", **full)
    assert asked.status_code == 409
    assert Journal(folder).lifts() == ()
    box = asked.text[asked.text.index('id="ahead"') :].partition("</form>")[0]
    assert f"It rests on {len(resting)} tasks that are not written down" in box
    assert f"Write it down: {owed.title}" in box
    again = dict(re.findall(r'name="(\w+)" value="([^"]*)"', box))
    assert post(one, f"{where}/seen", **again).status_code == 303
    (lift,) = Journal(folder).lifts()
    assert lift.evidence["value"] == "firm, so far"


def test_a_hand_check_that_later_work_undid_is_marked_on_its_card(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    card, owed = _early_check(folder)
    one, where = named(browser), f"/work/cards/{card.number}"
    full = {"record": owed.record, "value": "firm, so far", "tool": "gauge", "second": "Marten"}
    post(one, f"{where}/seen", ahead="true", **full)
    assert "written down before" not in one.get(where).text
    work = on_the_table(folder)
    for number in (c.number for c in work.cards if c.number <= card.number):
        post(one, f"/work/cards/{number}/done", task="0", ahead="true")
    page = one.get(where).text
    (said,) = re.findall(r'<p class="void">.*?</p>', page)
    assert "void: owed again" in said
    assert "firm, so far" in said
    assert f'<a href="#{owed.record}">' in page[page.index("hand checks are not:") :]
    assert post(one, f"{where}/seen", **{**full, "value": "firm"}).status_code == 303
    page = one.get(where).text
    assert "void: owed again" not in page
    assert len(re.findall(r'<p class="void">', page)) == 1


def test_the_records_ask_about_an_early_hand_check_as_its_card_does(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    card, owed = _early_check(folder)
    one = named(browser)
    one.get(f"/work/cards/{card.number}")  # the cards are made
    full = {"record": owed.record, "value": "firm", "tool": "gauge", "second": "Marten"}
    asked = post(one, "/records/verify", who="Ilse", **full)
    assert asked.status_code == 409
    assert "not written down" in asked.text
    assert Journal(folder).lifts() == ()
    assert post(one, "/records/verify", who="Ilse", ahead="true", **full).status_code == 303
