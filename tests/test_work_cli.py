"""The commands of the work as they are typed, on the demo of the work cut down to five jobs."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from datetime import date, datetime, timedelta
from pathlib import Path

import jsonschema
import pytest

from drybuild.cli import main, working
from drybuild.examine import open_build
from drybuild.journal import Journal
from drybuild.show.cards_paper import contents
from drybuild.show.since import marked
from drybuild.systems import registry
from drybuild.work import plan_file
from drybuild.work.at_hand import at_hand
from drybuild.work.schemas import answers_schema
from drybuild.work.sheets import sheets

DEMO = Path(__file__).parents[1] / "examples" / "plover_saturdays"
JOBS = ("springs-front", "bar-links", "intake", "relief-valve", "catch-tank")
SCHEMA = answers_schema()


def few(folder: Path) -> Path:
    """A copy of the demo with these jobs alone."""
    shutil.copytree(DEMO, folder)
    head = folder / "build.toml"
    tables = re.split(r"(?m)^(?=\[)", head.read_text(encoding="utf-8"))
    kept = [t for t in tables if not (job := _job(t)) or job in JOBS]
    head.write_text("".join(kept), encoding="utf-8")
    return folder


def _job(table: str) -> str:
    found = re.match(r'\[\[job\]\]\nid = "([\w-]+)"', table)
    return found[1] if found else ""


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A folder with a kept plan: planned once."""
    folder = few(tmp_path_factory.mktemp("work") / "car")
    assert main(["plan", str(folder)]) == 0
    return folder


@pytest.fixture
def folder(planned, tmp_path):
    shutil.copytree(planned, tmp_path / "car")
    return tmp_path / "car"


# ---- plan


def test_plan_is_kept_and_shown_again_as_it_was(run, folder):
    first, second = run("plan", folder), run("plan", folder)
    assert first.code == 0
    assert first.out == second.out
    assert "as planned on" in first.out
    assert "planned again" not in first.out


def test_plan_begins_with_the_days_of_need_and_ends_with_the_way_back(run, folder):
    said = run("plan", folder)
    places = [
        said.out.index(words)
        for words in (
            "What the car may do when it is needed", "Mon 7 Dec, 07:00", "[sat-1]",
            "How good it is", "What is opened", "The way back", "next: drybuild cards",
            "when it is done: drybuild done",
            "A plan is a proposal",
        )
    ]  # fmt: skip
    assert places == sorted(places)
    assert "drive: nothing in the plan and nothing calculated stops it" in said.words
    assert "in time: if people stay 1 h beyond the end of a session at the most" in said.words


def test_plan_says_when_the_files_have_changed_and_keeps_near(run, folder):
    with (folder / "car.toml").open("a", encoding="utf-8") as file:
        file.write("\n# a remark\n")
    said = run("plan", folder)
    assert "planned again: the build's files have changed" in said.out


def test_what_a_plan_near_another_moves_is_said_with_the_way_back_to_the_one_before(run, folder):
    kept = (folder / "plan.json").read_bytes()
    assert run("plan", folder, "--former").code == 2
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    first, second = (text.index(f"date = \"{d}\"") for d in ("2026-12-05", "2026-12-12"))
    a, b = text[:first].rindex("[[session]]"), text[:second].rindex("[[session]]")
    assert a < b
    head.write_text(text[:a] + text[b:], encoding="utf-8")
    said = run("plan", folder)
    assert "tasks keep their day" in said.words
    assert "the plan before, as it was: drybuild plan" in said.words
    assert (folder / "plan.json").read_bytes() != kept
    back = run("plan", folder, "--former")
    assert back.code == 0
    assert "is the plan again" in back.out
    assert (folder / "plan.json").read_bytes() == kept


def test_plan_tries_without_keeping(run, folder):
    kept = (folder / "plan.json").read_bytes()
    said = run("plan", folder, "--percentile", "90")
    assert "enough 90 in 100" in " ".join(said.out.split())
    assert "only tried" in said.out
    assert (folder / "plan.json").read_bytes() == kept


def test_what_cannot_be_says_so_and_the_kept_plan_stays(run, folder):
    kept = (folder / "plan.json").read_bytes()
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    assert 'most = "12500 AUD"' in text
    head.write_text(text.replace('most = "12500 AUD"', 'most = "1200 AUD"'), encoding="utf-8")
    said = run("plan", folder, "--json")
    assert said.code == 1
    data = json.loads(said.out)
    jsonschema.validate(data, SCHEMA)
    assert data["answer"] == "no plan"
    assert (folder / "plan.json").read_bytes() == kept


def test_without_the_solver_it_says_what_to_install(run, folder, monkeypatch):
    monkeypatch.setattr(working, "find_spec", lambda name: None)
    said = run("plan", folder, "--anew")
    assert said.code == 2
    assert "pip install 'drybuild[plan]'" in said.err


def test_faults_of_the_work_are_told_with_their_line(run, folder):
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    head.write_text(text.replace('outline = "in-line', 'outline = "on-line'), encoding="utf-8")
    said = run("plan", folder)
    assert said.code == 2
    assert "work.outline" in said.err


@pytest.mark.parametrize(
    ("option", "value"),
    [("--as-of", "soon"), ("--percentile", "12"), ("--seconds", "0")],
)
def test_what_is_asked_wrongly_is_refused(run, folder, option, value):
    assert run("plan", folder, option, value).code == 2


# ---- what follows from a plan


@pytest.mark.parametrize("command", ["cards", "while-apart", "quote"])
def test_without_a_plan_they_say_how_to_make_one(run, folder, command):
    (folder / "plan.json").unlink()
    said = run(command, folder)
    assert said.code == 2
    assert "drybuild plan" in said.err


@pytest.mark.parametrize("command", ["plan", "cards", "while-apart", "quote"])
def test_json_keeps_to_its_schema(run, folder, command):
    data = json.loads(run(command, folder, "--json").out)
    jsonschema.validate(data, SCHEMA)
    assert data["answer"] == command.replace("-", " ")


def test_cards_of_one_session_on_screen_and_as_calendar(run, folder, tmp_path):
    whole = run("cards", folder).out
    said = run("cards", folder, "--session", "sat-3", "--calendar", tmp_path / "work.ics")
    assert "LOOK UP" in whole
    assert 0 < said.out.count("CARD ") < whole.count("CARD ")
    assert "Sat 19 Dec" in said.out
    assert (tmp_path / "work.ics").read_text(encoding="utf-8").startswith("BEGIN:VCALENDAR")
    written = run("cards", folder, "--calendar", tmp_path / "all.ics").out
    assert "CARD " not in written
    first = re.search(r"CARD (\d+) of", said.out)[1]
    assert f"when it is done: drybuild done {folder} card {first} --who NAME" in said.out
    assert f"written: {tmp_path / 'all.ics'}" in written


@pytest.mark.parametrize(
    ("option", "words"),
    [("--shopping", "Merrin"), ("--tags", "Hang at the end of"), ("--sheet", "Ilse")],
)
def test_cards_show_list_tags_and_day_sheet(run, folder, option, words):
    assert words in run("cards", folder, option).out


@pytest.mark.parametrize(
    ("options", "only"),
    [((), None), (("--tags",), ("tags",)), (("--sheet",), ("day",)), (("--shopping",), ("list",))],
)
def test_the_paper_holds_what_was_asked_for(run, folder, tmp_path, monkeypatch, options, only):
    from drybuild.show import cards_paper

    asked = []
    monkeypatch.setattr(cards_paper, "write", lambda *_, only, **more: asked.append(only) or "")
    run("cards", folder, *options, "--paper", tmp_path / "paper.pdf")
    assert asked == [only or cards_paper.KINDS_OF_PAGE]


def test_a_card_or_session_that_is_not_there_is_refused(run, folder):
    assert "sat-9" in run("cards", folder, "--session", "sat-9").err
    assert "no card 99" in run("cards", folder, "--card", "99").err


def test_quote_says_hours_total_and_chances(run, folder):
    said = run("quote", folder, "--confidence", "90")
    assert "Total of what has a price" in said.out
    assert "90 in 100 such jobs take no longer" in said.out
    assert "drive" in said.out


# ---- as it goes


def test_what_is_taken_back_leads_to_the_plan_that_has_it(run, folder):
    """No card is left for it, and the rest of the cards rest on it: nothing goes on from there."""
    whole = (folder / "plan.json").read_bytes()
    assert run("done", folder, "card", "1", "--and-before", "--who", "Ilse").code == 0
    written = len(Journal(folder).entries())
    assert "drybuild plan" not in run("cards", folder, "--session", "sat-1").words[:300]
    said = run("undo", folder, f"1-{written}", "--who", "Ilse").words
    assert "The plan counts them as done: taken back since it was made, and on no card: " in said
    assert said.endswith(f"next: drybuild plan {folder}")
    assert f"the plan before holds again: drybuild plan {folder} --former" in said
    refused = run("done", folder, "card", "1", "--who", "Ilse")
    assert refused.code == 2
    error = " ".join(refused.err.split())
    assert "card 1 was done when the plan was made, and is taken back since" in error
    assert f"Plan again first: drybuild plan {folder}" in error
    assert f"Plan again: drybuild plan {folder}." in run("cards", folder).words[:600]
    assert run("plan", folder, "--former").code == 0
    assert (folder / "plan.json").read_bytes() == whole
    assert "as planned on" in run("plan", folder).out


def test_done_writes_down_and_plans_the_rest(run, folder):
    said = run("done", folder, "take:airbox", "intake", "--who", "Ilse")
    assert said.code == 0
    assert "[take:airbox]; " in said.words
    assert "[job:intake] to take it back: drybuild undo" in said.words
    assert "The way back" in said.out
    data = json.loads(run("plan", folder, "--json").out)
    keys = [step["key"] for session in data["sessions"] for step in session["steps"]]
    assert "job:intake" not in keys
    assert "refit:airbox" in keys
    assert "off: air box and intake duct" in run("check", folder, "--state", "now").words
    listed = run("journal", folder).words
    assert "[take:airbox], by " in listed
    assert "intake: Tolland air box and 76 mm duct fitted" in listed


def test_done_writes_the_day_it_was_done_never_one_that_has_not_come(run, folder):
    """The demo's sessions lie ahead of one clock and behind another; the record never does."""
    plan = json.loads(run("plan", folder, "--json").out)
    planned = plan["sessions"][0]["steps"][0]["end"][:10]
    tomorrow = f"{date.today() + timedelta(days=1):%Y-%m-%d}"
    refused = run("done", folder, "take:airbox", "--who", "Ilse", "--at", tomorrow)
    assert refused.code == 2
    assert f"--at: found {tomorrow}, expected the day it was done" in refused.err
    assert f"to write it down as on that day: --as-of {tomorrow}" in refused.err
    run("done", folder, "take:airbox", "--who", "Ilse")
    entries = Journal(folder).entries()
    day = min(planned, f"{date.today():%Y-%m-%d}")
    assert {e.at[:10] for e in entries if e.kind in ("work", "deed")} == {day}
    (work,) = Journal(folder).work()
    assert work.ended[:10] == day


def before_all_of_it(monkeypatch):
    """The clock stands before the days of the demo."""

    class Early(datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2026, 11, 30, 12, tzinfo=tz)

    class EarlyDay(date):
        @classmethod
        def today(cls):
            return cls(2026, 11, 30)

    monkeypatch.setattr("drybuild.cli.doing.datetime", Early)
    monkeypatch.setattr("drybuild.cli.doing.date", EarlyDay)
    monkeypatch.setattr("drybuild.cli.hand_checks.date", EarlyDay)


def test_the_readme_plays_a_card_through_on_the_day_that_the_plan_has(run, folder, monkeypatch):
    readme = (DEMO.parents[1] / "README.md").read_text(encoding="utf-8")
    (line,) = re.findall(r"^    drybuild (done saturdays .+)$", readme, re.M)
    before_all_of_it(monkeypatch)
    words = [folder if w == "saturdays" else w for w in shlex.split(line, comments=True)]
    was = json.loads(run("plan", folder, "--json").out)
    first = was["sessions"][0]
    said = json.loads(run(*words, "--json").out)
    done = Journal(folder).work()
    assert {entry.ended[:10] for entry in done} == {first["start"][:10]}
    assert said["written"]
    assert (said["moved"], said["tasks_moved"]) == ([], [])


def test_a_day_that_lies_ahead_says_how_it_is_had_as_on_its_own(run, folder, monkeypatch):
    before_all_of_it(monkeypatch)
    run("plan", folder)
    said = run("done", folder, "intake", "--who", "Ilse", "--and-before")
    assert "written down as done on Mon 30 Nov. To have it as on its own day" in said.words
    assert "--as-of planned" in said.words


def test_a_hand_check_is_not_older_than_the_work_that_it_looks_at(run, folder, monkeypatch):
    before_all_of_it(monkeypatch)
    run("plan", folder)
    told = run("done", folder, "intake", "--who", "Ilse", "--and-before", "--as-of", "planned")
    (day,) = {e.ended[:10] for e in Journal(folder).work() if e.task == "job:intake"}
    assert day > "2026-11-30"
    hints = re.findall(r"drybuild (did .+?--who NAME(?: --at \S+)?)", told.words)
    assert hints
    assert all(hint.endswith(f"--at {day}") for hint in hints)
    verify = ["did", folder, "--verify", "breathing.intake_clamps", "--value", "clean"]
    refused = run(*verify, "--who", "Ilse")
    assert refused.code == 2
    assert f"is written down as of {day}" in refused.err
    assert run(*verify, "--who", "Ilse", "--at", day).code == 0


def test_a_hand_check_of_work_that_is_still_to_be_done_says_so(run, folder):
    run("plan", folder)
    verify = ["did", folder, "--verify", "ride.springs_seated", "--value", "seated", "--second",
              "Bo", "--who", "Ilse"]  # fmt: skip
    early = run(*verify)
    assert early.code == 0
    assert "ride.springs_seated is of work that rests on " in early.words
    assert "it is owed again after it" in early.words


def test_the_hint_for_several_checks_says_that_one_tool_is_taken_for_all(run, folder):
    run("plan", folder)
    told = run("done", folder, "springs-front", "--who", "Ilse", "--and-before")
    assert "several at once, each with the --tool and --second of its own (one alone is taken " \
        "for all)" in told.words
    assert "…" not in told.words.partition("several at once")[2].partition("--who NAME")[0]


def test_what_happened_moves_the_job_and_says_why(run, folder):
    said = run(
        "done", folder, "--happened", "late", "--say", "job=bar-links", "--say",
        "until=2027-01-01", "--who", "Ilse",
    )  # fmt: skip
    assert said.code == 0
    assert re.search(
        r"adjustable anti-roll bar links: from \w+ \d+ Dec to \w+ \d+ Jan, because adjustable "
        r"anti-roll bar links: its part comes on Fri 1 Jan", said.words,
    )  # fmt: skip
    again = run("plan", folder)
    assert "planned again" not in again.out
    assert run("cards", folder).code == 0


def test_cards_and_calendar_of_an_older_plan_say_what_it_does_not_know_of(run, folder, tmp_path):
    Journal(folder).happened(
        "late", {"job": "bar-links", "until": "2027-01-01"}, who="Ilse"
    )  # as where no plan could be made of it
    late = "knows nothing of it: adjustable anti-roll bar links: its part comes on Fri 1 Jan"
    said = run("cards", folder, "--calendar", tmp_path / "old.ics")
    assert said.code == 0
    for options in (("--card", "1"), ("--shopping",), ("--tags",)):
        head = " ".join(run("cards", folder, *options).out.split())
        assert head.startswith("The plan is older than what came since")
        assert late in head
    assert late in run("cards", folder, "--sheet").words
    text = (tmp_path / "old.ics").read_text(encoding="utf-8").replace("\n ", "")
    assert late in text
    fresh = contents(marked(_sheets(folder), "told since"))
    old = [page for page in fresh["pages"] if page["kind"] == "card"]
    assert old
    assert all("told since." in page["cautions"] for page in old)
    assert "older than what came since" in fresh["imprint"]["state"]


def _sheets(folder: Path):
    hand = at_hand(open_build(folder))
    kept = plan_file.read(hand.opened, hand.todo.problem)
    return sheets(hand.opened, hand.todo, kept.plan, lessons=hand.lessons)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("intakes", "--who", "Ilse"), "did you mean 'intake'"),
        (("intake",), "--who"),
        ((), "say what was done"),
        (("intake", "bar-links", "--hours", "1", "--who", "Ilse"), "one task"),
        (("--happened", "late", "--say", "job=turbo", "--who", "Ilse"), "no job 'turbo'"),
        (("--happened", "late", "--say", "job", "--who", "Ilse"), "NAME=VALUE"),
        (("--session", "sat-9", "--who", "Ilse"), "sat-9"),
        (("intake", "--started", "noon", "--who", "Ilse"), "hh:mm"),
    ],
)
def test_done_refuses_what_it_cannot_take_and_writes_nothing(run, folder, words, said):
    found = run("done", folder, *words)
    assert found.code == 2
    assert said in found.err
    assert not (folder / "journal.db").exists()


def test_a_task_that_is_not_in_the_plan_is_told_by_its_nearest_and_all_jobs(run, folder):
    near = run("done", folder, "bar-link", "--who", "Ilse")
    assert near.code == 2
    assert "did you mean 'bar-links'?" in near.err
    far = run("done", folder, "zzz", "--who", "Ilse")
    assert "did you mean" not in far.err
    for job in JOBS:  # of the next session with its card, of a later one by name
        title = re.search(rf"^  (card \d+ .*\S  \[{job}\]|{job}: \S.*)$", far.err, re.MULTILINE)
        assert title, far.err
    other = re.search(r"\[(take:\S+)\]", far.err)[1]
    assert run("done", folder, other, "--who", "").err.startswith("say who")


def _next_card(run, folder) -> list[tuple[str, str]]:
    """Title and key of each task of card 1."""
    listed = run("done", folder, "zzz", "--who", "Ilse").err
    return re.findall(r"^  card 1  (.+)  \[(\S+)\]$", listed, re.MULTILINE)


def test_a_task_is_named_by_its_card_its_title_or_part_of_it(run, folder):
    (title, key), *more = _next_card(run, folder)
    for number, words in enumerate((["card", "1"], ["card 1"], ["1"], title.split(), [title])):
        copy = shutil.copytree(folder, folder.parent / f"copy{number}")
        said = json.loads(run("done", copy, *words, "--and-before", "--who", "Ilse", "--json").out)
        whole = [key, *(k if ":" in k else f"job:{k}" for _, k in more)]
        assert set(whole if number < 3 else [key]) <= set(said["written"]), words
    assert "no card 99; there are 1 to" in run("done", folder, "card", "99", "--who", "Ilse").err
    several = run("done", folder, "off", "--who", "Ilse")
    assert several.code == 2
    assert "may be any of these" in several.err


def test_what_rests_on_open_tasks_is_written_with_them_or_alone_but_never_silently(run, folder):
    alone = shutil.copytree(folder, folder.parent / "alone")
    refused = run("done", folder, "intake", "--who", "Ilse")
    assert refused.code == 2
    assert "[take:airbox]" in refused.err
    assert "--and-before" in refused.err
    assert not (folder / "journal.db").exists()
    said = json.loads(run("done", folder, "intake", "--who", "Ilse", "--and-before", "--json").out)
    assert said["written"][-1] == "job:intake"
    assert "take:airbox" in said["written"]
    one = json.loads(run("done", alone, "intake", "--who", "Ilse", "--alone", "--json").out)
    assert one["written"] == ["job:intake"]


def test_a_session_that_lies_ahead_is_done_on_a_day_that_is_said(run, folder, monkeypatch):
    from drybuild.cli import doing

    class Early(date):
        @classmethod
        def today(cls):
            return cls(2026, 11, 28)

    monkeypatch.setattr(doing, "date", Early)
    first = json.loads(run("plan", folder, "--json").out)["sessions"][0]["id"]
    refused = run("done", folder, "--session", first, "--who", "Ilse")
    assert refused.code == 2
    assert "--at 2026-11-28" in refused.err
    assert not (folder / "journal.db").exists()
    said = run("done", folder, "--session", first, "--who", "Ilse", "--at", "2026-11-28")
    assert said.code == 0
    assert "ahead: written down as done on Sat 28 Nov" in said.words


def test_done_says_which_hand_checks_are_owed_and_did_takes_several(run, folder):
    said = run("done", folder, "relief-valve", "--who", "Ilse", "--and-before")
    assert "what is written down here makes none of them" in said.words
    owed = re.findall(r"\[([a-z]+\.[a-z_]+)\]", said.out.partition("each so:")[0])
    assert len(owed) > 1
    records = registry().records
    words = [word for one in owed for word in ("--verify", one, "--value", "as it must be")]
    few = run("did", folder, *words[:-2], "--who", "Ilse")
    assert few.code == 2
    assert "--value: found" in few.err
    several = run("did", folder, *words, "--tool", "by hand", "--second", "Marten", "--who", "Ilse")
    assert several.code == 0, several.err
    assert all(records[one].title in several.words for one in owed)
    assert not any(f"[{one}]" in several.out for one in owed)


def test_planning_says_at_first_how_long_it_takes_and_never_to_a_program(run, folder):
    long = "usually half a minute"
    assert long in run("plan", folder, "--anew", "--seconds", "2").err
    assert long not in run("plan", folder, "--anew", "--seconds", "2", "--json").err
    assert long not in run("plan", folder).err  # the kept one


def test_done_in_json(run, folder):
    data = json.loads(run("done", folder, "take:airbox", "--who", "Ilse", "--json").out)
    jsonschema.validate(data, SCHEMA)
    assert data["written"] == ["take:airbox"]


def test_a_session_done_as_planned_moves_nothing(run, folder):
    """Whatever the clock says: what is done before its day uses the day up, and the rest stays."""
    before = json.loads(run("plan", folder, "--json").out)
    first, *rest = before["sessions"]
    day = min(first["steps"][0]["start"][:10], f"{date.today()}")
    said = run("done", folder, "--session", first["id"], "--who", "Ilse", "--at", day)
    assert said.code == 0
    assert "Nothing moves to another session" in said.words
    after = json.loads(run("plan", folder, "--json").out)
    planned = {(s["id"], step["key"], step["start"]) for s in rest for step in s["steps"]}
    kept = {(s["id"], step["key"], step["start"]) for s in after["sessions"] for step in s["steps"]}
    assert kept == planned
    assert (kept == set()) == (not rest)


def test_a_saturday_is_written_down_on_the_sunday_after(run, folder):
    """A plan that is kept was made when its sessions lay ahead; one without is a wrong year."""
    plan = json.loads(run("plan", folder, "--json").out)
    first = plan["sessions"][0]
    day = date.fromisoformat(first["steps"][-1]["end"][:10])
    sunday = f"{day + timedelta(days=1):%Y-%m-%d}"
    bare = shutil.copytree(folder, folder.parent / "bare", ignore=shutil.ignore_patterns("plan.*"))
    refused = run("plan", bare, "--as-of", sunday)
    assert refused.code == 2
    assert f"which is past on {sunday}" in refused.err
    again = run("plan", shutil.copytree(folder, folder.parent / "again"), "--as-of", sunday)
    assert "planned again: the plan has what is over by now and not written down" in again.words
    assert "CARD 1 of" in run("cards", folder, "--as-of", sunday).words
    said = run("done", folder, "--session", first["id"], "--who", "Ilse", "--as-of", sunday)
    assert "which is past" not in said.err
    assert "Written down: " in said.words
    assert {e.at[:10] for e in Journal(folder).entries()} <= {f"{day}", f"{date.today()}"}


def test_what_moves_forward_says_what_is_wanted_earlier(run, folder):
    plan = json.loads(run("plan", folder, "--json").out)
    first, *rest = (one for one in plan["sessions"] if one["steps"])
    assert any(s["key"] == "job:bar-links" for one in rest for s in one["steps"])
    said = run(
        "done", folder, "--happened", "moved", "--say", "job=bar-links", "--say",
        f"session={first['id']}", "--who", "Ilse",
    )  # fmt: skip
    assert re.search(r"wanted earlier, by .* in place of .*: .*Merrin adjustable link", said.words)
