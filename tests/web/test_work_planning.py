"""Planning from the screen: a process of its own, one at a time, seen, stopped, kept or refused."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from forms import token_in
from small_demo import EXAMPLE, copy_with
from starlette.testclient import TestClient

from drybuild.examine import open_build
from drybuild.journal import Journal
from drybuild.web import planning_process
from drybuild.web.pages.work import _planning
from drybuild.web.planner import Planner, Planning
from drybuild.work import plan_file
from drybuild.work.as_planned import as_planned, mark_of, so_far
from drybuild.work.at_hand import at_hand
from drybuild.work.doing import Told, write_done
from drybuild.work.model import Plan
from drybuild.work.planned import Stage

JOBS = ("bar-links", "intake")
PATIENCE = 60.0
"""How long a test waits for the planner, s: other work may have the processor."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return copy_with(tmp_path, JOBS, ("sat-1", "sat-2"))


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    """The whole demo, which takes a minute to plan."""
    return Path(shutil.copytree(EXAMPLE, tmp_path / "whole"))


def wait(until: Callable[[], bool]) -> None:
    ends = time.monotonic() + PATIENCE
    while not until():
        assert time.monotonic() < ends, "the planner took too long"
        time.sleep(0.05)


def over(planner: Planner) -> None:
    wait(lambda: not planner.now.running)


def post(client: TestClient, where: str, **fields: str):  # type: ignore[no-untyped-def]
    found = token_in(client.get("/devices").text)
    return client.post(where, data={"token": found, **fields})


def test_a_button_plans_every_browser_sees_it_and_the_plan_is_kept(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    one, two = browser(), browser()
    assert "No plan is made yet" in one.get("/work").text
    assert post(one, "/work/plan", near="anew").status_code == 303
    seen = two.get("/work").text
    assert "<progress" in seen
    assert "Stop planning" in seen
    assert "Plan the work" not in seen, "there is one planner, and it works"
    assert "data-running" in one.get("/work").text
    wait(lambda: "<progress" not in two.get("/work/planning").text)
    page = one.get("/work").text
    assert "Planned and kept" in page
    assert "Next: card 1" in page
    assert (folder / "plan.json").is_file()
    assert post(two, "/work/plan/seen").status_code == 303
    assert "Planned and kept" not in one.get("/work").text


def test_the_rest_is_planned_near_the_plan_that_is_kept(folder: Path) -> None:
    planner = Planner(folder)
    planner.start("anew", seconds=2)
    over(planner)
    before = as_planned(open_build(folder))
    assert before is not None
    step, problem = before.plan.steps[0], before.hand.todo.problem
    told = Told(step.key, "", problem.at(step.end).isoformat(), ("Ilse",))
    write_done(open_build(folder), problem, [told], who="Ilse")
    planner.start("near", seconds=2)
    over(planner)
    assert planner.now.ended == "kept"
    after = as_planned(open_build(folder))
    assert after is not None
    assert step.key not in {s.key for s in after.plan.steps}
    assert _sessions(after.plan) == _sessions(before.plan)


def test_a_plan_made_anew_says_what_it_moves_too(folder: Path) -> None:
    planner = Planner(folder)
    planner.start("anew", seconds=2)
    over(planner)
    assert planner.now.moved is None  # there was none before
    opened = open_build(folder)
    hand = at_hand(opened)
    kept = plan_file.read(opened, hand.todo.problem)
    assert kept is not None
    planner.start("anew", seconds=2)
    over(planner)
    assert planner.now.moved == ()
    # a plan before that has a job on another day: it comes back, and no reason is made up for it
    job = next(s for s in kept.plan.steps if s.kind == "job")
    other = next(s for s in hand.todo.problem.sessions if s.id != job.session)
    later = replace(job, session=other.id, start=other.start, end=other.start + 1)
    steps = tuple(later if s == job else s for s in kept.plan.steps)
    plan_file.keep(opened, hand.todo.problem, replace(kept.plan, steps=steps))
    planner.start("anew", seconds=2)
    over(planner)
    title = hand.todo.problem.jobs[job.what].title
    (said,) = [one for one in planner.now.moved or () if one.startswith(f"{title}:")]
    assert ("because" in said, "to share" in said) == (False, False), planner.now.moved
    assert "made anew" not in " ".join(planner.now.turned)
    assert "person-hours left" in " ".join(planner.now.turned)


def _sessions(plan: Plan) -> dict[str, str]:
    return {s.what: s.session for s in plan.steps if s.kind == "job"}


def test_there_is_one_at_a_time_and_stopping_leaves_the_plan_as_it_was(whole: Path) -> None:
    (whole / "plan.json").write_text("{}", encoding="utf-8")
    planner = Planner(whole)
    assert planner.start("anew")
    assert not planner.start("anew")
    wait(lambda: planner.now.stage == "looking")
    assert planner.now.round >= 1
    process = planner._process
    assert process is not None
    assert process.poll() is None
    assert planner.stop()
    over(planner)
    assert process.poll() is not None
    assert planner.now.ended == "stopped"
    assert not planner.stop()
    assert (whole / "plan.json").read_text(encoding="utf-8") == "{}"
    assert not list(whole.glob("plan.json.*"))


SPEAKS = """
import json, sys
def say(**what): print(json.dumps(what), flush=True)
say(stage="searching", round=2, learned=1, found=False)
say(stage="searching", round=2, learned=1, found=True)
word = sys.stdin.readline().strip()
say(ended="kept" if word == "enough" else "no plan", moved=[])
"""


def test_the_plan_found_so_far_is_kept_where_somebody_says_so(
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    """A planner that says that one is found, and searches until it hears that it will do."""
    page, started = browser(), subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda _, **how: started([sys.executable, "-c", SPEAKS], **how)
    )
    assert "Keep the plan" not in page.get("/work/planning").text
    post(page, "/work/plan", near="near")
    wait(lambda: "Keep the plan found so far" in page.get("/work/planning").text)
    assert post(page, "/work/plan/enough").status_code == 303
    wait(lambda: "<progress" not in page.get("/work/planning").text)
    seen = page.get("/work/planning").text
    assert "Planned and kept" in seen
    assert "Keep the plan" not in seen


FELL = """
import json, sys
def say(**what): print(json.dumps(what), flush=True)
say(stage="searching", round=2, learned=1, found=True)
say(stage="searching", round=3, learned=2, found=False)
sys.stdin.readline()
"""


def test_a_plan_that_was_found_and_did_not_stand_is_said_to_have_fallen(
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    page, started = browser(), subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda _, **how: started([sys.executable, "-c", FELL], **how)
    )
    post(page, "/work/plan", near="near")
    wait(lambda: "did not stand" in page.get("/work/planning").text)
    assert "Keep the plan" not in page.get("/work/planning").text
    post(page, "/work/plan/stop")


NONE = """
import json
print(json.dumps(dict(
    ended="no plan", why=[], first_title="Do first",
    first=[["cure", [["the tyre meets the arch", "/findings", "all findings"],
                     ["the link is short", "/findings", "all findings"]]]],
    room="Any one of these makes room",
    cures=[["do without drive after Saturday", "/work?fold=need#need",
            ["the front is open then"], "the days of need"]],
)), flush=True)
"""


def test_a_search_that_ran_out_of_time_leaves_open_whether_there_is_a_plan(
    browser, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    page, started = browser(), subprocess.Popen
    out = NONE.replace("why=[]", "open=True, why=[]")
    monkeypatch.setattr(
        subprocess, "Popen", lambda _, **how: started([sys.executable, "-c", out], **how)
    )
    post(page, "/work/plan", near="near")
    wait(lambda: "there may be one" in page.get("/work/planning").text)
    assert "No plan meets every need" not in page.get("/work/planning").text


def test_a_way_out_is_one_sentence_with_what_its_link_leads_to_and_why_below(
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # type: ignore[no-untyped-def]
    page, started = browser(), subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda _, **how: started([sys.executable, "-c", NONE], **how)
    )
    post(page, "/work/plan", near="near")
    wait(lambda: "No plan meets every need" in page.get("/work/planning").text)
    said = page.get("/work/planning").text
    text = " ".join(re.sub(r'<span class="unseen">.*?</span>|<[^>]+>', "", said).split())
    assert "Do without drive after Saturday. The days of need" in text
    assert '<br><span class="soft">The front is open then.</span>' in said
    assert text.count("Cure:") == 1
    assert "The link is short. All findings" in text
    assert 'id="need" open' in page.get("/work?fold=need").text


def test_what_moved_is_of_the_plan_that_is_there(folder: Path) -> None:
    """One that another kept since, in the terminal, moved something else."""
    opened = open_build(folder)
    said = Planning(ended="kept", moved=("turbo from Sat to Sun",), mark=mark_of(opened))
    assert _planning(said, opened)["at"].moved == said.moved
    assert _planning(replace(said, mark="another"), opened)["at"].ended == ""
    # a refusal is of the plan that was there then, or of none
    refused = Planning(ended="no plan", why=("no room",), mark=mark_of(opened))
    assert _planning(refused, opened)["at"].ended == "no plan"
    (folder / "plan.json").write_text("{}", encoding="utf-8")
    assert _planning(refused, opened)["at"].ended == ""
    assert _planning(replace(refused, mark=None), opened)["at"].ended == "no plan"


def test_the_plan_before_is_taken_again_in_one_step(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    page, button, planner = browser(), 'formaction="/work/plan/former"', Planner(folder)
    planner.start("anew", seconds=2)
    over(planner)
    assert button not in page.get("/work").text
    assert post(page, "/work/plan/former").status_code == 409
    opened = open_build(folder)
    hand = at_hand(opened)
    kept = plan_file.read(opened, hand.todo.problem)
    assert kept is not None
    steps = tuple(replace(s, start=s.start + 1, end=s.end + 1) for s in kept.plan.steps)
    plan_file.keep(opened, hand.todo.problem, replace(kept.plan, steps=steps))
    said = page.get("/work").text
    assert button in said
    assert "can be taken again in one step" in said
    assert post(page, "/work/plan/former").status_code in (200, 303)
    again = plan_file.read(opened, hand.todo.problem)
    assert again is not None
    assert again.plan == kept.plan


def test_a_refusal_says_when_it_was_given_and_what_came_since(folder: Path) -> None:
    opened = open_build(folder)
    rests_on = plan_file.fingerprint(opened)
    refused = Planning(
        ended="no plan", why=("no room",), when=datetime(2026, 11, 29, 22, 41),
        rests_on=(rests_on.files, rests_on.journal),
    )  # fmt: skip
    assert _planning(refused, opened)["answered"] == "Answered on Sun 29 Nov 2026, 22:41."
    opened.journal.note("wheel.front.left.spoke_depth", "51 mm", who="Ilse")
    assert _planning(refused, open_build(folder))["answered"].endswith(
        "22:41, before readings or other entries of since then: plan again to know."
    )
    with (folder / "build.toml").open("a", encoding="utf-8") as file:
        file.write("\n# a remark\n")
    both = "before readings or other entries and changes to the build of since then"
    assert both in _planning(refused, open_build(folder))["answered"]
    assert _planning(replace(refused, ended="stopped"), opened)["answered"] == ""


def test_how_far_a_plan_is_turned_round_stands_before_what_moves(  # type: ignore[no-untyped-def]
    browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, started = browser(), subprocess.Popen
    kept = {"ended": "kept", "moved": ["turbo moves"], "turned": ["1 job on another day"]}
    monkeypatch.setattr(
        subprocess, "Popen",
        lambda _, **how: started([sys.executable, "-c", f"print({json.dumps(kept)!r})"], **how),
    )
    post(page, "/work/plan", near="near")
    wait(lambda: "Planned and kept" in page.get("/work/planning").text)
    said = page.get("/work/planning").text
    assert said.index("1 job on another day.") < said.index("What moves:") < said.index("turbo")


def test_nothing_is_kept_where_nothing_is_found(folder: Path) -> None:
    planner = Planner(folder)
    assert not planner.enough()
    planner.start("anew", seconds=2)
    assert not planner.enough(), "it reads, or looks"
    planner.stop()
    over(planner)
    assert not planner.enough()


def test_the_word_that_a_plan_will_do_is_of_the_plan_that_was_found(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("os._exit", lambda code: None)
    monkeypatch.setattr("sys.stdin", io.StringIO("anything\n"))
    planning_process._listen()
    assert not planning_process._enough.is_set()
    monkeypatch.setattr("sys.stdin", io.StringIO("enough\n"))
    planning_process._listen()
    assert planning_process._enough.is_set()
    planning_process._tell(Stage("searching", 2, 1, found=True))
    assert planning_process._enough.is_set()
    planning_process._tell(Stage("looking", 3, 2))
    assert not planning_process._enough.is_set()
    assert [json.loads(line)["found"] for line in capsys.readouterr().out.splitlines()] == [
        True, False,
    ]  # fmt: skip


def test_what_stands_against_a_plan_is_said_with_what_would_do(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    budget = '\n[[budget]]\nmonth = "2026-12"\nmost = "10 AUD"\n'
    head.write_text(text + budget, encoding="utf-8")
    here = browser()
    assert post(here, "/work/plan", near="anew").status_code == 303
    wait(lambda: "<progress" not in here.get("/work/planning").text)
    page = here.get("/work").text
    assert "No plan meets every need" in page
    assert re.search("(This|Any one of these) makes room for a plan", page)
    assert not (folder / "plan.json").exists()


def test_what_would_make_a_plan_leads_to_where_it_is_done(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    assert 'end = "17:00"' in text
    head.write_text(text.replace('end = "17:00"', 'end = "10:00"'), encoding="utf-8")
    here = browser()
    assert post(here, "/work/plan", near="anew").status_code == 303
    wait(lambda: "<progress" not in here.get("/work/planning").text)
    page = here.get("/work").text
    assert "No plan meets every need" in page
    led = re.findall(r'<li><a href="(/work[^"]+)">', page)
    assert led
    for where in led:
        path, _, mark = where.partition("#")
        found = here.get(path)
        assert found.status_code == 200
        assert not mark or f'id="{mark}"' in found.text


def test_faults_of_the_files_are_told_with_their_line(folder: Path) -> None:
    head = folder / "build.toml"
    text = head.read_text(encoding="utf-8")
    head.write_text(text.replace('outline = "in-line', 'outline = "on-line'), encoding="utf-8")
    planner = Planner(folder)
    planner.start("anew")
    over(planner)
    assert planner.now.ended == "failed"
    assert re.search(r"build\.toml.*work\.outline", " ".join(planner.now.why))


def test_one_that_dies_is_said_to_have_died(whole: Path) -> None:
    planner = Planner(whole)
    planner.start("anew")
    process = planner._process
    assert process is not None
    wait(lambda: planner.now.stage == "looking")
    process.kill()
    over(planner)
    assert planner.now.ended == "failed"
    assert "without an answer" in planner.now.why[0]
    assert planner.start("anew"), "another one may begin"
    planner.stop()
    over(planner)


def test_what_is_written_while_it_plans_comes_after_the_plan(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The plan does not know of it, and says so, in place of taking it for known."""
    told: list[str] = []

    def meanwhile(stage: Stage) -> None:
        told.append(stage.name)
        Journal(folder).note("corner.rear.left.tyre_pressure", "29 psi gauge", who="Ilse")

    monkeypatch.setattr(planning_process, "_tell", meanwhile)
    planning_process._plan(str(folder), near=False, seconds=2.0)
    assert json.loads(capsys.readouterr().out)["ended"] == "kept"
    opened = open_build(folder)
    planned = as_planned(opened)
    assert planned is not None
    assert planned.upto == 0
    assert so_far(planned, opened).changed == (f"{len(told)} readings taken since",)


def test_it_does_not_outlive_the_app_that_started_it(whole: Path) -> None:
    code = (
        "import sys, time; from pathlib import Path; from drybuild.web.planner import Planner;"
        "p = Planner(Path(sys.argv[1])); p.start('anew');\n"
        "while p.now.stage == 'reading' and p.now.running: time.sleep(0.05)\n"
        "print(p._process.pid, flush=True); import os; os._exit(9)"
    )
    said = subprocess.run(
        [sys.executable, "-c", code, str(whole)], capture_output=True, text=True, check=False
    )
    pid = int(said.stdout)
    wait(lambda: not Path(f"/proc/{pid}").exists() or _ended(pid))


def _ended(pid: int) -> bool:
    """Whether a process that nobody waits for any more is over."""
    try:
        return ") Z " in Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    except OSError:
        return True
