"""Many edits and one examination: what pages wait for, what they show meanwhile, what is kept."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drybuild.examine import examine_state
from drybuild.journal import Journal
from drybuild.web import desk as desks
from drybuild.web.app import changed_text
from drybuild.web.desk import KEPT, PLAN, Desk, Examiner, Sight
from drybuild.work import plan_file

NOTICE = "This page stands as before the latest edit"


class Slowly:
    """Examinations that are counted, and that last until they are let go."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made: list[str] = []
        self.going = threading.Event()
        self.going.set()
        monkeypatch.setattr(desks, "examine_state", self._examine)

    def _examine(self, state, registry, **how):  # type: ignore[no-untyped-def]
        self.made.append(state.name)
        assert self.going.wait(30)
        return examine_state(state, registry, **{**how, "draws": 64, "refine": False})


@pytest.fixture
def slowly(monkeypatch: pytest.MonkeyPatch) -> Iterator[Slowly]:
    one = Slowly(monkeypatch)
    yield one
    one.going.set()


def edit(folder: Path, number: int) -> None:
    """Another car, in one figure of its file."""
    path = folder / "build.toml"
    text = path.read_text(encoding="utf-8")
    changed = re.sub(r"(?m)^temperature = .*$", f'temperature = "{20 + number} °C"', text)
    assert number == 0 or changed != text
    beside = path.with_suffix(".part")  # as the app writes: whole, or not at all
    beside.write_text(changed + "\n" * (number == 0), encoding="utf-8")
    beside.replace(path)


def until(holds, seconds: float = 20.0) -> None:  # type: ignore[no-untyped-def]
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it never came about"
        time.sleep(0.01)


def test_many_edits_within_one_examination_lead_to_one_more(folder: Path, slowly: Slowly) -> None:
    desk = Desk(folder)
    desk.examiner.settled()
    slowly.made.clear()
    slowly.going.clear()
    edit(folder, 1)
    seen: list[str] = []

    def look() -> None:
        seen.append(desk.examiner.settled(within=60)[0].mark)

    waiting = [threading.Thread(target=look)]
    waiting[0].start()
    until(lambda: slowly.made)  # it examines the first edit
    for number in range(2, 22):
        edit(folder, number)
        waiting.append(threading.Thread(target=look))
        waiting[-1].start()
    until(lambda: all(one.is_alive() for one in waiting))
    time.sleep(0.1)
    slowly.going.set()
    for one in waiting:
        one.join(30)
    assert slowly.made == ["finished", "now"] * 2  # the first edit, and all the others
    assert seen.count(desk.stamp()) == 20


def test_a_page_that_cannot_wait_says_that_it_is_of_before_the_edit(  # type: ignore[no-untyped-def]
    folder: Path, browser, slowly: Slowly, monkeypatch
) -> None:
    monkeypatch.setattr(Examiner.settled, "__defaults__", (0.2, float("-inf")))
    here = browser()
    before = here.get("/").text
    assert NOTICE not in before
    slowly.going.clear()
    edit(folder, 3)
    began = time.monotonic()
    meanwhile = here.get("/").text
    assert time.monotonic() - began < 10
    assert NOTICE in meanwhile
    stamp = re.compile(r'name="drybuild-stamp" content="(\w+)"')
    assert stamp.findall(meanwhile) == stamp.findall(before)  # so the open page learns of it
    slowly.going.set()
    until(lambda: NOTICE not in here.get("/").text)
    assert stamp.findall(here.get("/").text) == [Desk(folder).stamp()]


def test_a_browser_waits_for_its_own_edit_and_another_one_does_not(  # type: ignore[no-untyped-def]
    folder: Path, browser, slowly: Slowly, monkeypatch
) -> None:
    monkeypatch.setattr(Examiner.settled, "__defaults__", (0.1, float("-inf")))
    here, there = browser(), browser()
    token = re.search(r'name="drybuild-token" content="(\w+)"', here.get("/records").text)[1]
    there.get("/records")
    slowly.going.clear()
    data = {"token": token, "words": "a squeak", "who": "Ilse"}
    assert here.post("/records/remark", data=data).status_code == 303
    edit(folder, 7)
    other = there.get("/records").text
    assert NOTICE in other
    threading.Timer(0.5, slowly.going.set).start()
    own = here.get("/records").text
    assert "a squeak" in own
    assert NOTICE not in own


def test_an_edit_is_written_and_its_page_answers_while_an_examination_goes_on(  # type: ignore[no-untyped-def]
    folder: Path, browser, slowly: Slowly, monkeypatch
) -> None:
    monkeypatch.setattr(desks, "LONGER", 0.2)
    here = browser()
    token = re.search(r'name="drybuild-token" content="(\w+)"', here.get("/").text)[1]
    slowly.going.clear()
    edit(folder, 4)
    address = "/measure/at/corner.rear.left.arch_point.gap"
    answer = here.post(address, data={"token": token, "reading": "31 ± 1 mm", "who": "Ilse"})
    assert answer.status_code == 303
    written = here.get(answer.headers["location"]).text
    assert "31 ± 1 mm" in written
    assert "not examined yet" in written
    assert "Part of this page waits for an examination" in written
    stamp = re.compile(r'name="drybuild-stamp" content="([^"]+)"')
    assert stamp.findall(written) != [Desk(folder).stamp()]  # so the open page loads again
    assert "31 ± 1 mm" in str([e.body for e in Desk(folder).opened().journal.entries()])
    slowly.going.set()
    until(lambda: "waits for an examination" not in here.get(answer.headers["location"]).text)
    after = here.get(answer.headers["location"]).text
    assert stamp.findall(after) == [Desk(folder).stamp()]
    assert "not examined yet" not in after
    assert "No verdict changed by it" in after or "With it, when all is done" in after


def test_a_sight_is_of_one_moment(folder: Path, slowly: Slowly) -> None:
    desk = Desk(folder)
    sight = Sight(desk)
    seen, mark = sight.opened(), sight.stamp()
    edit(folder, 5)
    assert sight.opened() is seen
    assert sight.stamp() == mark != desk.stamp()
    assert sight.examination("finished").state.build is seen.build
    assert not sight.behind
    assert Sight(desk).examination("finished").state.build is desk.opened().build


def test_a_page_keeps_what_it_sees_while_later_edits_are_examined(
    folder: Path, slowly: Slowly
) -> None:
    desk = Desk(folder)
    sight = Sight(desk)
    first = sight.examination("finished")
    now, ahead = sight.examination("now", unknowns=False), sight.measure_next(first)
    for number in range(1, 4):
        edit(folder, number)
        desk.examiner.settled()
    slowly.made.clear()
    assert sight.examination("finished") is first
    assert sight.examination("now", unknowns=False) is now
    assert sight.measure_next(first) is ahead
    assert slowly.made == []


def test_what_is_written_into_the_journal_alone_reads_no_file_again(folder: Path) -> None:
    desk = Desk(folder)
    before = desk.opened()
    before.journal.remark("a squeak", who="Ilse")
    after = desk.opened()
    assert [r.words for r in after.journal.remarks()] == ["a squeak"]
    assert after is not before
    assert after.build is before.build
    edit(folder, 6)
    assert desk.opened().build is not before.build
    assert "26 °C" in str(desk.opened().build.stated["site.temperature"].value.text)


def test_what_is_wrong_with_the_folder_is_said_to_everyone_who_asks(
    folder: Path, slowly: Slowly
) -> None:
    desk = Desk(folder)
    desk.examiner.settled()
    (folder / "car.toml").write_text("this is no table", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(desks.UNREADABLE):
            Sight(desk).examination()


def test_what_breaks_in_an_examination_is_raised_and_the_next_one_is_made(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("in a formula")

    desk = Desk(folder)
    with monkeypatch.context() as patched:
        patched.setattr(desks, "examine_state", broken)
        with pytest.raises(ZeroDivisionError):
            desk.examiner.settled()
    assert desk.examiner.settled()[1] is False


def test_only_the_last_whole_examination_keeps_its_columns(folder: Path, slowly: Slowly) -> None:
    desk = Desk(folder)
    for number in range(4):
        edit(folder, number)
        desk.examiner.settled()
        kept = list(desk._shelf.kept.values())
        holding = [one for one in kept if len(one.evaluation._memo) > 100]
        assert [one.state.name for one in holding] == ["finished"]
    assert len(kept) == KEPT


def test_sliders_leave_the_examinations_where_they_are(folder: Path) -> None:
    desk = Desk(folder)
    first = desk.examination("finished")
    state = desk.state("finished")
    for where in ("front.left", "front.right", "rear.left", "rear.right"):
        desk.corner(state, where)
        assert desk.corner(state, where) is desk.corner(state, where)
    assert desk.examination("finished") is first


def test_the_plan_has_the_name_that_the_work_gives_it() -> None:
    assert plan_file.NAME == PLAN


FIRST = """
import sys
from drybuild.web.app import make_app
from starlette.testclient import TestClient
app = make_app(sys.argv[1], hosts=frozenset({"127.0.0.1:8000"}))
here = TestClient(app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1))
assert here.get("/").status_code == 200
print(sorted(m for m in sys.modules if m.startswith("drybuild.web.pages.")))
print(here.get("/engine").status_code, len(here.get("/openapi.json").json()["paths"]) > 40)
"""


def test_the_first_page_does_not_wait_for_the_others(folder: Path) -> None:
    said = subprocess.run(
        [sys.executable, "-c", FIRST, str(folder)], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert said == ["['drybuild.web.pages.home']", "200 True"]


def test_a_file_that_goes_into_another_folder_is_another_build(folder: Path) -> None:
    """It keeps its name, its time and its size."""
    desk = Desk(folder)
    before = desk.stamp()
    last = max((folder / "parts").glob("*.toml"))
    (folder / "put_by").mkdir()
    last.rename(folder / "put_by" / last.name)
    assert desk.stamp() != before


def test_a_page_asked_for_while_a_form_is_answered_settles_no_moment(folder: Path) -> None:
    desk = Desk(folder)
    desk.writes("a browser")
    meanwhile = desk.seen_from("a browser")
    assert time.monotonic() >= meanwhile > 0
    written = time.monotonic()  # only now is it on the disk
    desk.wrote("a browser")
    assert desk.seen_from("a browser") >= written >= meanwhile
    assert desk.seen_from("a browser") == desk.seen_from("a browser")
    desk.wrote("another")
    assert desk.seen_from("another") == float("-inf")


def test_the_app_tells_when_a_form_is_answered(browser, slowly: Slowly, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    told: list[str] = []
    monkeypatch.setattr(Desk, "wrote", lambda _, browser: told.append(browser))
    here = browser()
    token = re.search(r'name="drybuild-token" content="(\w+)"', here.get("/records").text)[1]
    assert told == []
    data = {"token": token, "words": "a squeak", "who": "Ilse"}
    assert here.post("/records/remark", data=data).status_code == 303
    assert len(told) == 1


def test_what_changed_is_told_by_its_name(folder: Path) -> None:
    desk = Desk(folder)
    before = desk.written()
    assert {"build.toml", "car.toml"} <= set(before)
    (folder / "build.toml").write_text((folder / "build.toml").read_text("utf-8") + "\n", "utf-8")
    Journal(folder).remark("seen", who="Ines")
    (folder / "no\nname.toml").write_text("", "utf-8")
    (folder / "notes.txt").write_text("", "utf-8")
    changed = {name for name, _ in before.items() ^ desk.written().items()}
    assert changed == {"build.toml", "the record", "no?name.toml"}
    assert changed_text(sorted(changed)) == "build.toml, no?name.toml and the record"
    assert changed_text("abcde") == "a, b, c and 2 more"
    assert changed_text(["the plan"]) == "the plan"
