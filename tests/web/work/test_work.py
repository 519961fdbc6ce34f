"""The work on screen: a plan kept, a session, cards done and taken back, the journal whole."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from forms import bar, named, on_the_table, post, token_in
from starlette.testclient import TestClient
from starlette.types import ASGIApp

import drybuild
from drybuild.build import Change
from drybuild.journal import Journal
from drybuild.show.cards_words import short_day
from drybuild.show.work_list import open_before_text
from drybuild.web.before_next import before_next
from drybuild.web.workshop import Workshop
from drybuild.work.as_planned import mark_of

JOBS = {"bar-links", "intake", "springs-front"}
NEVER = re.compile(r"\bsafe\b|\bpassed\b|OK to drive|\bTraceback\b|\bnan\b", re.IGNORECASE)


# ---- what is shown


def test_the_work_begins_with_how_the_car_stands_and_lists_the_sessions(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    page = browser().get("/work").text
    sessions = on_the_table(folder).sessions()
    hrefs = [f'href="/work/session/{s.id}"' for s in sessions]
    words = ("<dt>now</dt>", ", as planned</dt>", *hrefs, 'id="planning"')
    places = [page.index(w) for w in words]
    assert places == sorted(places)
    assert re.search(r"wanted by Mon \d+ Dec 07:00: drive", page)
    assert "ront springs, dampers and bump stops" in page
    assert not NEVER.search(page)


def test_a_session_has_a_row_a_person_the_opened_car_and_its_cards(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    first = on_the_table(folder).sessions()[0]
    page = here.get(f"/work/session/{first.id}").text
    assert "who does what when (Ilse, Marten)" in page
    assert f"Off at the end of {first.title}" in page
    numbers = re.findall(r'<li value="(\d+)"', page)
    assert numbers[0] == "1"
    assert [int(n) for n in numbers] == list(range(1, len(numbers) + 1))
    assert 'style="' not in page
    assert here.get("/work/session/sat-9").status_code == 404
    assert first.id in here.get("/work/session/sat-9").text


def test_a_card_has_cautions_first_then_what_to_have_and_do(browser) -> None:  # type: ignore[no-untyped-def]
    here = named(browser)
    count = int(re.findall(r"Card 1 of (\d+)", here.get("/work/cards/1").text)[0])
    pages = [here.get(f"/work/cards/{n}").text for n in range(1, count + 1)]
    assert all(p.index(">Care<") < p.index("<h2>Do</h2>") for p in pages)
    assert any("LOOK UP" in p for p in pages)
    assert any('name="joint"' in p for p in pages)
    assert not any(NEVER.search(p) for p in pages)
    assert here.get(f"/work/cards/{count + 1}").status_code == 404
    listed = here.get("/work/cards").text
    assert [int(n) for n in re.findall(r'<li value="(\d+)"', listed)] == list(range(1, count + 1))
    mine = here.get("/work/cards?hands=Marten").text
    assert 0 < mine.count("<li value=") < count


def test_what_else_lies_open_and_what_it_costs_are_counted_when_asked(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    apart, cost = here.get("/work/apart").text, here.get("/work/quote").text
    assert "the next 5 years" in apart.lower()
    assert "Total" in cost
    assert "person-hours, half of such jobs take no longer" in cost
    assert not NEVER.search(apart + cost)


def test_without_a_plan_the_work_offers_to_make_one(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "plan.json").unlink()
    here = browser()
    page = here.get("/work").text
    assert "No plan is made yet" in page
    assert 'value="anew"' in page
    for where in ("/work/cards", "/work/cards/1", "/work/session/sat-2", "/work/quote"):
        for accept in ("application/json", "text/html,*/*"):  # a program, and a browser
            answer = here.get(where, headers={"accept": accept})
            assert (answer.status_code, answer.headers["location"]) == (303, "/work")


def test_a_plan_that_cannot_be_read_is_said_to_be(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "plan.json").write_text('{"format": 99, "made": "2026-11-28T10:00:00"}', "utf-8")
    page = browser().get("/work").text
    assert "format 99" in page
    assert 'value="anew"' in page


def test_a_changed_build_is_said_beside_the_plan_and_planned_again(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert "files have changed" not in here.get("/work").text
    with (folder / "car.toml").open("a", encoding="utf-8") as file:
        file.write("\n# a remark\n")
    page = here.get("/work").text
    assert "files have changed since it was made" in page
    assert "Plan again" in page
    assert "files have changed" in here.get("/work/cards/1").text


def test_a_job_that_is_gone_makes_the_plan_unfit_and_says_so(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    start = text.index('id = "intake"')
    begin = text.rindex("[[job]]", 0, start)
    end = text.find("[[", start)
    head.write_text(text[:begin] + (text[end:] if end > 0 else ""), encoding="utf-8")
    page = browser().get("/work").text
    assert "does not suit the build any more" in page


# ---- the story: done, seen by the other phone, undone, all in the journal


def test_the_story_of_a_card(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one, two = named(browser), named(browser, "Marten")
    first = one.get("/work/cards/1").text
    titles = re.findall(r'<li id="task-\d+"[^>]*>\s*<h3>([^<]+)', first)
    assert f"Done: {titles[0]}" in bar(first)
    assert "Undo" not in bar(first)

    answer = post(one, "/work/cards/1/done", task="1", hours="0:30")
    assert answer.status_code == 303
    assert re.fullmatch(r"/work/cards/1\?written=\d+#task-2", answer.headers["location"])
    work = Journal(folder).work()[-1]
    assert (work.who, work.what, work.hours) == ("Ilse", "done", 0.5)

    seen = two.get("/work/cards/1").text
    assert "Ilse, entry 1" in seen
    assert f"Done: {titles[1]}" in bar(seen)
    assert f"Undo: {titles[0]}" in bar(seen)
    again = post(two, "/work/cards/1/done", task="1")
    assert again.status_code == 409
    assert "written down already: Ilse" in again.text

    entries = len(Journal(folder).entries())
    assert post(two, "/work/cards/1/undo", entry="1").status_code == 303
    journal = Journal(folder)
    assert journal.work() == ()
    assert journal.deeds() == ()
    undos = journal.entries()[entries:]
    assert {e.kind for e in undos} == {"undo"}
    assert {e.who for e in undos} == {"Marten"}
    assert journal.verify().fault is None
    assert f"Done: {titles[0]}" in bar(one.get("/work/cards/1").text)
    assert post(one, "/work/cards/1/undo", entry="1").status_code == 409


def test_work_that_goes_as_planned_makes_no_plan_stale(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    """Two people work side by side, and no card waits for one with a higher number. What runs or
    moves the car asks first about the hand checks that stop it; nothing is written for the asking.
    """
    one = named(browser)
    count = int(re.findall(r"Card 1 of (\d+)", one.get("/work/cards/1").text)[0])
    asked = []
    for number in range(1, count + 1):
        before = len(Journal(folder).work())
        answer = post(one, f"/work/cards/{number}/done", task="0")
        if answer.status_code == 409:
            asked.append(answer.text)
            assert len(Journal(folder).work()) == before
            answer = post(one, f"/work/cards/{number}/done", task="0", ahead="true")
        assert answer.status_code == 303
    assert asked
    assert all("not written down: " in page and "hand check" in page for page in asked)
    page = one.get("/work").text
    assert "Everything of the plan is done" in page
    assert "<dt>now</dt>" in page
    assert "does not know of" not in page
    assert "changed" not in page
    journal = Journal(folder)
    assert journal.verify().fault is None
    opened = drybuild.open_build(folder)
    assert opened.present.done >= JOBS
    assert opened.present.state.open == ()
    assert "All is written down" in bar(one.get(f"/work/cards/{count}").text)


def test_a_deed_from_elsewhere_and_a_reading_are_said_beside_the_plan(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    journal = Journal(folder)
    journal.did([Change("fit", "pads.front", "quern_pads_t40")], who="Ann")
    journal.note("corner.rear.left.tyre_pressure", "29 psi gauge", who="Ann")
    journal.remark("left nipple is tight", who="Ann")
    page = browser().get("/work").text
    assert "1 deed since that it does not know of" in page
    assert "1 reading taken since" in page


def test_a_card_shown_before_a_new_plan_writes_nothing(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    token = token_in(one.get("/devices").text)
    answer = one.post("/work/cards/1/done", data={"token": token, "mark": "0" * 12, "task": "1"})
    assert answer.status_code == 409
    assert "planned again meanwhile" in answer.text
    assert Journal(folder).entries() == ()


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"task": "99"}, "has no task 99"),
        ({"task": "1", "hours": "soon"}, "expected hours"),
        ({"task": "1", "hours": "-1"}, "expected hours"),
        ({"task": "1", "day": "Monday"}, "yyyy-mm-dd"),
        ({"task": "0", "hours": "2"}, "by itself"),
    ],
)
def test_what_is_typed_wrongly_is_refused_and_nothing_is_written(  # type: ignore[no-untyped-def]
    browser, folder: Path, fields: dict[str, str], said: str
) -> None:
    answer = post(named(browser), "/work/cards/1/done", **fields)
    assert answer.status_code == 409
    assert said in answer.text
    assert Journal(folder).entries() == ()


def test_a_refused_form_of_a_card_holds_all_that_was_typed(browser) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    wrong = {"task": "1", "hours": "x", "people": "Ilse, Odile", "day": "2026-12-05"}
    said = post(one, "/work/cards/1/done", **wrong)
    assert said.status_code == 409
    for typed in ('value="x"', 'value="Ilse, Odile"', 'value="2026-12-05"'):
        assert typed in said.text
    left = post(one, "/work/cards/1/done", task="1", left="soon")
    assert 'name="left"' in left.text
    assert 'value="soon"' in left.text


def test_what_was_stopped_is_written_and_stays_to_be_done(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    assert post(one, "/work/cards/1/done", task="1", left="1.5").status_code == 303
    (stopped,) = Journal(folder).work()
    assert (stopped.what, stopped.left) == ("stopped", 1.5)
    assert Journal(folder).deeds() == ()
    page = one.get("/work/cards/1").text
    assert "1 h 30 left, Ilse, entry 1" in page
    assert "Done:" in bar(page)
    assert "1 thing that happened since" in one.get("/work").text


def test_nobody_writes_without_a_name(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one = browser()
    page = one.get("/work/cards/1").text
    assert "Who is at the car" in page
    assert "/done" not in page
    mark = plan_mark(folder)
    data = {"token": token_in(page), "mark": mark, "task": "1"}
    answer = one.post("/work/cards/1/done", data=data)
    assert answer.status_code == 409
    assert "Say who you are first" in answer.text
    assert Journal(folder).entries() == ()


def plan_mark(folder: Path) -> str:
    return mark_of(drybuild.open_build(folder))


# ---- figures and hand checks at the car


def with_a(client: TestClient, what: str) -> tuple[int, str]:
    """A card that has such a form."""
    count = int(re.findall(r"Card 1 of (\d+)", client.get("/work/cards/1").text)[0])
    for number in range(1, count + 1):
        page = client.get(f"/work/cards/{number}").text
        if what in page:
            return number, page
    raise AssertionError(f"no card has {what}")


def test_a_figure_is_written_with_tool_and_name_and_a_tick_is_none(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    number, page = with_a(one, 'name="joint"')
    assert "LOOK UP" in page
    refused = post(one, f"/work/cards/{number}/tight", joint="1", value="done", tool="wrench")
    assert refused.status_code == 409
    assert "a tick is no figure" in refused.text
    bare = post(one, f"/work/cards/{number}/tight", joint="1", value="85", tool="wrench")
    assert bare.status_code == 409
    assert bare.text.count('id="refused"') == 1
    form = bare.text[bare.text.index('id="joint-1"') :].partition("</form>")[0]
    assert "a number without a unit" in form, "it is said where it was typed"
    assert Journal(folder).torques() == ()
    answer = post(
        one, f"/work/cards/{number}/tight", joint="1", value="110 N·m", tool="torque wrench",
        document="workshop manual 44-2", condition="dry",
    )  # fmt: skip
    assert answer.status_code == 303
    (torque,) = Journal(folder).torques()
    assert (torque.figure, torque.who) == ("110 N·m", "Ilse")
    assert (torque.document, torque.condition) == ("workshop manual 44-2", "dry")
    page = one.get(f"/work/cards/{number}").text
    assert f"110 N·m, torque wrench, Ilse, entry {torque.id}" in page
    assert "does not know of" not in one.get("/work").text


def test_a_hand_check_wants_its_evidence(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    number, page = with_a(one, 'name="record"')
    (record, *_) = re.findall(r'name="record" value="([a-z_.]+)"', page)
    where = f"/work/cards/{number}/seen"
    refused = post(one, where, record=record, value="")
    assert refused.status_code == 409
    assert "A tick does not lift this" in refused.text
    full = {"record": record, "value": "as the plate says", "tool": "wall", "second": "Marten"}
    assert post(one, where, **full).status_code == 303
    assert [lift.record for lift in Journal(folder).lifts()] == [record]
    other = post(one, where, record="brakes.no_such", value="x", tool="y", second="Marten")
    assert other.status_code == 409


def test_a_card_whose_tasks_are_done_names_the_hand_checks_that_are_not(browser) -> None:  # type: ignore[no-untyped-def]
    one = named(browser)
    number, page = with_a(one, 'name="record"')
    words, where = "its hand checks are not: ", f"/work/cards/{number}"
    assert words not in page
    for before in range(1, number + 1):
        post(one, f"/work/cards/{before}/done", task="0")
    page = one.get(where).text
    said = page[page.index(words) :].partition("</p>")[0]
    records = re.findall(r'name="record" value="([a-z_.]+)"', page)
    assert re.findall(r'href="#([a-z_.]+)"', said) == records
    for record in records:
        full = {"record": record, "value": "as it must be", "tool": "wall", "second": "Marten"}
        assert post(one, f"{where}/seen", **full).status_code == 303
    assert words not in one.get(where).text


def test_the_numbers_of_open_cards_are_put_together() -> None:
    def said(*numbers: int) -> str:
        return open_before_text([SimpleNamespace(number=n) for n in numbers])  # type: ignore[misc]

    assert said() == ""
    assert said(4) == "Card 4 comes before this one and is not written down"
    assert said(1, 2, 3, 5, 6, 9) == (
        "Cards 1 to 3, 5, 6, 9 come before this one and are not written down"
    )


def test_the_cards_can_be_taken_as_paper(browser) -> None:  # type: ignore[no-untyped-def]
    pytest.importorskip("typst")
    client = browser()
    page = client.get("/book").text
    assert re.search(r"\d+ cards in \d work sessions", page)
    for where in ("/book/cards.pdf", "/book/cards.pdf?tags=true"):
        assert where in page
        answer = client.get(where)
        assert answer.status_code == 200, answer.text[:200]
        assert answer.content.startswith(b"%PDF-")


def test_home_leads_to_the_next_card_once_the_cards_are_made(
    app: ASGIApp, table: Workshop, folder: Path
) -> None:
    mine = TestClient(app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1))
    opened = drybuild.open_build(folder)
    made = table.work(opened)
    assert made is not None
    card = made.next_card()
    assert card is not None
    Journal(folder).did([Change("open", "raised_front")], who="Ilse")
    page = mine.get("/").text
    assert f'href="/work/cards/{card.number}">Card {card.number}</a>' in page
    assert "the car stands raised: front" in page
    assert "let it down onto its wheels" not in page  # the plan says when
    # of a car that is apart that comes first, and what nothing recorded stops is no leave
    apart = "The car is apart (the car stands raised: front)"
    stopped = 'class="stop">the car stands raised'
    free = "Apart as it is, nothing recorded stops it from: <strong>turn over · run"
    assert page.index(apart) < page.index(stopped) < page.index(free)
    assert ">Nothing recorded stops it from: <strong>turn over" not in page
    table._sheets = None
    waiting = mine.get("/").text
    assert "Go on by the plan." in waiting
    assert "/work/cards/" not in waiting


def test_what_the_car_may_do_after_a_day_stands_on_lines_of_its_own(
    app: ASGIApp, table: Workshop, folder: Path
) -> None:
    """Whichever of stopped and not stopped comes first."""
    mine = TestClient(app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1))
    page = mine.get("/work").text
    ends = re.findall(r'<p class="ends"><span class="soft">At its end:</span> (.*?)</p>', page)
    several = [end for end in ends if len(re.findall(r"<strong>", end)) > 1]
    assert several
    for end in several:
        said = re.split(r"<br>", end)
        assert all(len(re.findall(r"<strong>", one)) == 1 for one in said), end


def test_what_is_done_before_a_day_stands_before_it(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    """On the work's page and at home of the next session, on a session's page of its own."""
    here, work = browser(), on_the_table(folder)
    soaked = next(d for d in work.sheets.duties if "bar links soaked" in d.words)
    page = here.get(f"/work/session/{soaked.session}").text
    assert "<h2>Before the day</h2>" in page
    assert soaked.words.removeprefix("nuts") in page
    first = work.sessions()[0].id
    mine = [d.words for d in work.sheets.duties if d.session == first]
    listed = here.get("/work").text
    assert ("<h2>Before " in listed) == bool(mine)
    assert all(words[1:] in listed for words in mine)
    home = here.get("/").text
    assert all(words[1:] in home for words in mine)
    step = work.cards[0].steps[0]
    begun = replace(work, so_far=replace(work.so_far, done={step: None}))
    second = work.sessions()[1]
    day, said = before_next(begun)  # a session that has begun is read on its cards
    assert day == short_day(work.sheets.todo.problem.at(second.start))
    assert len(said) == sum(d.session == second.id for d in work.sheets.duties)
    over = replace(work, now=work.sheets.todo.problem.at(work.sessions()[-1].end))
    assert before_next(over) == ("", [])


def test_several_tasks_written_down_at_once_are_all_named(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = named(browser)
    card = next(c for c in on_the_table(folder).cards if len(c.tasks) > 1)
    answer = post(here, f"/work/cards/{card.number}/done", task="0", ahead="true")
    where = answer.headers["location"]
    assert re.search(r"\?written=\d+&first=\d+", where)
    page = here.get(where.partition("#")[0]).text
    titles = "; ".join(task.title for task in card.tasks)
    said = f"{len(card.tasks)} tasks of card {card.number}: {titles}"
    assert f"Written down: {said}" in page[: page.index("Next")]
    if 'id="early"' in page:
        early = page[page.index('id="early"') :]
        assert said in early[: early.index("</form>")]
        assert f"Take the last of them back: {card.tasks[-1].title}" in early
