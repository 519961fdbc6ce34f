"""Home: what the car may do, why not more, the next physical action; and the way to all pages."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS, Browser

from drybuild.build import job_changes, read_build
from drybuild.build.new import make_build
from drybuild.examine import open_build
from drybuild.findings import Verdict
from drybuild.journal import Journal
from drybuild.show.front_page import plan_first
from drybuild.show.home_car import FRAME, LEFT, RIGHT, draw_narrow, draw_wide, labels
from drybuild.show.sentences import HOLDS_DOWN, JOINT_MEANS
from drybuild.web.app import make_app
from drybuild.web.navigation import IN_SIGHT, MORE, links


def text_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_order_is_what_it_may_do_then_what_to_do_then_why_not_more(
    browser: Browser, folder: Path
) -> None:
    said = text_of(browser().get("/").text)
    order = [
        "What it may do now", "Next, with your hands", "What it may do when finished",
        "The car when finished, part by part", "Three things first",
    ]  # fmt: skip
    found = [said.index(words) for words in order]
    assert found == sorted(found)
    assert "Nothing recorded stops it from: move" in said
    without = r"( \(\d+ of \d+ unmeasured, not in it\))?"
    once = rf"All of it enough at once: [a-z]* ?\d+ in 100{without}\. That is {JOINT_MEANS}"
    assert re.search(once, said)
    counted = [f for f in open_build(folder).examine().findings if f.armed and f.margin]
    short = sum(f.verdict is Verdict.SHORT for f in counted)
    assert short
    assert f"{JOINT_MEANS}; {HOLDS_DOWN}: {short} short, " in said
    assert not re.search(r"\b(safe|passed|OK to drive)\b", said)


def test_three_things_and_the_rest_folded(browser: Browser, folder: Path) -> None:
    page = browser().get("/").text
    first = page[page.index("Three things first") :]
    shown = first[: first.index("<details")]
    assert re.findall(r"<li><h3>(What[^<:]*)", shown) == [
        "What stops it from", "What to measure", "What that settles",
    ]  # fmt: skip
    folded = int(re.search(r"<summary>(\d+) more reasons, all uses together", first)[1])  # type: ignore[index]
    opened = open_build(folder)
    checks = {(f.check, f.verdict) for f in opened.examine().findings if f.stopping}
    assert folded == len(checks) - 1


def test_what_stops_the_car_today_comes_first_as_what_to_do(browser: Browser, folder: Path) -> None:
    opened = open_build(folder)
    job = opened.build.jobs[0]
    Journal(folder).did(job_changes(job), who="Ilse", job=job.id)
    said = text_of(browser().get("/").text)
    now = said[said.index("What it may do now") : said.index("What it may do when finished")]
    uses = open_build(folder).uses_now().uses
    stopped = [u for u in uses if not u.allowed]
    assert stopped
    assert f"It stops “{stopped[0].use}” today" in now
    holds = [h for h in stopped[0].holds if not h.through and h.do]
    assert holds[0].do[1:] in now


def test_every_label_leads_to_a_page_that_is_there(browser: Browser) -> None:
    client = browser()
    page = client.get("/").text
    drawn = {unescape(w) for w in re.findall(r'<a href="([^"]+)" class="on-car"', page)}
    listed = {unescape(w) for w in re.findall(r'<li><a href="([^"]+)"><b>', page)}
    assert drawn == listed
    assert {"/corner/front/left", "/corner/rear/right", "/engine"} <= drawn
    for where in drawn:
        assert client.get(where).status_code == 200, where


def test_what_to_do_next_is_of_the_plan_whatever_is_looked_at(browser: Browser) -> None:
    client = browser()
    nexts = []
    for state in ("finished", "now"):
        said = text_of(client.get(f"/?state={state}").text)
        after = said[said.index("Next, with your hands") :]
        nexts.append(after[: after.index("Type it in")])
    assert nexts[0] == nexts[1]


def test_labels_keep_the_state_that_is_looked_at(browser: Browser) -> None:
    page = browser().get("/?state=now").text
    assert 'href="/corner/front/left?state=now"' in page
    assert "/findings?of=cooling&state=now" in unescape(page)


def test_the_labels_say_what_the_findings_say(folder: Path) -> None:
    examination = open_build(folder).examine()
    by_name = {label.name: label for label in labels(examination)}
    for corner in ("front.left", "rear.right"):
        axle = corner.partition(".")[0]
        armed = [f for f in examination.findings if f.armed and f.subject in (corner, axle)]
        label = by_name[corner.replace(".", " ").capitalize()]
        short = {f.check for f in armed if str(f.verdict) == "short"}
        assert (label.verdict == "short") == bool(short)
        if short:
            assert f"{len(short)} short" in label.counts


def test_no_words_of_the_drawing_run_off_the_sheet_or_over_the_car(folder: Path) -> None:
    found = labels(open_build(folder).examine())
    svg = draw_wide(found, "front-turbo-hatch")
    top, tall = (float(n) for n in re.search(r'viewBox="0 (-?\d+) \d+ (\d+)"', svg).groups())  # type: ignore[union-attr]
    for x, y, anchor in re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*anchor="(\w+)"', svg):
        assert top < float(y) < top + tall
        assert float(x) <= LEFT if anchor == "end" else float(x) >= RIGHT


def test_how_many_more_there_are_is_said_in_full(folder: Path) -> None:
    more = "3 short, 31 unmeasured, 12 unsure"
    found = tuple(replace(one, more=more) for one in labels(open_build(folder).examine()))
    said = re.findall(r"<text [^>]*>([^<]*)<", draw_wide(found, "front-turbo-hatch"))
    assert " ".join(said).count(f"and {more}") == len(found)


def test_on_a_phone_letters_stand_apart_and_are_large_enough(folder: Path) -> None:
    found = labels(open_build(folder).examine())
    svg = draw_narrow(found, "front-turbo-hatch")
    letters = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" font-size="([\d.]+)"', svg)
    assert len(letters) == len(found)
    shown = 350 / FRAME[2]  # a phone is 390 wide, and the sheet has its edges
    places = [(float(x), float(y)) for x, y, _ in letters]
    for k, (x, y) in enumerate(places):
        assert float(letters[k][2]) * shown >= 16
        assert all((x - a) ** 2 + (y - b) ** 2 > 30**2 for a, b in places[:k])


def test_seven_pages_in_sight_and_the_others_behind_one_word(browser: Browser) -> None:
    client = browser()
    page = client.get("/engine").text
    nav = page[page.index("<nav") : page.index("</nav>")]
    before, _, folded = nav.partition("<details")
    assert len(IN_SIGHT) == 7
    assert [e.where for e in IN_SIGHT] == re.findall(r'href="([^"]+)"', before)
    assert [e.where for e in MORE] == re.findall(r'href="([^"]+)"', folded)
    assert re.findall(r'href="([^"]+)" aria-current="page"', nav) == ["/engine"]


@pytest.mark.parametrize(
    ("path", "current"),
    [
        ("/", {"/": "page"}), ("/corner/rear/left", {"/corner/front/left": "true"}),
        ("/measure/at/car.kerb_mass", {"/measure": "true"}), ("/part/x", {"/parts": "true"}),
        ("/work/cards/3", {"/work": "true"}), ("/workings/a.b/car", {}),
        ("/book/calibrator", {"/book": "true"}),
    ],
)  # fmt: skip
def test_where_one_is_is_said(path: str, current: dict[str, str]) -> None:
    found = {e.where: e.current for e in links((*IN_SIGHT, *MORE), path) if e.current}
    assert found == current


def test_pages_of_the_navigation_are_there(browser: Browser) -> None:
    client: TestClient = browser()
    for entry in (*IN_SIGHT, *MORE):
        assert client.get(entry.where).status_code == 200, entry.where


def test_a_car_for_which_nothing_is_planned_is_asked_what_to_change(tmp_path: Path) -> None:
    folder = make_build(tmp_path / "plain", nearest="light-roadster", driving="yes")
    client = TestClient(
        make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1)
    )
    said = text_of(client.get("/").text)
    assert "Say what you want to change" in said
    assert "Nothing changed yet." in said
    assert "nothing to count" not in said
    measure = client.get("/measure").text
    assert 'Nothing changed yet: <a href="/parts">say what you want to change</a>' in measure
    assert "Nothing that a measurement would settle" not in measure
    assert "as found" in said


def test_without_a_plan_the_work_is_planned_first_and_no_job_is_named_before_it(
    tmp_path: Path,
) -> None:
    example = Path(__file__).parents[2] / "examples" / "plover_saturdays"
    folder = Path(shutil.copytree(example, tmp_path / "saturdays"))
    assert not (folder / "plan.json").exists()
    client = TestClient(
        make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1)
    )
    page = client.get("/").text
    after = page.split('id="next"')[1].split("<h2>")[0]
    jobs = read_build(folder).jobs
    assert f"Plan the work first: {len(jobs)} jobs are open." in after
    assert 'href="/work#planning"' in after
    assert not any(job.title in after for job in jobs if job.title)
    assert plan_first(["rear pads"]) == "plan the work first: rear pads"


def test_a_label_of_a_system_leads_to_its_findings_alone(browser: Browser, folder: Path) -> None:
    said = text_of(browser().get("/findings?of=cooling").text)
    titles: dict[str, list[str]] = {}
    for f in open_build(folder).examine().findings:
        titles.setdefault(f.system, []).append(f.title)
    assert all(title in said for title in titles["cooling"])
    assert not any(title in said for title in titles["fuel"])
    assert browser().get("/findings?of=upholstery").status_code == 404


def test_no_mark_before_a_number_reads_as_a_minus(browser: Browser) -> None:
    """A mark stands before figures: a dash there would turn 4 mm of room into 4 mm too little."""
    here = browser()
    page, sheet = here.get("/").text, here.get("/static/sheet.css").text
    for dash in ("–", "—", "-"):
        assert f"{dash} enough" not in page
        assert f'content:"{dash} "' not in sheet
    assert "■ enough" in page
    drawn = "".join(re.findall(r"<svg.*?</svg>", page, re.S))
    assert not re.search(r">\s*[–—]\s", drawn)


def test_a_use_is_not_called_free_where_a_rule_is_outside_as_found(tmp_path: Path) -> None:
    """The club asks for a catch tank; no change touched it, so it stops nothing by itself."""
    folder = tmp_path / "car"
    shutil.copytree(Path(__file__).parents[2] / "examples" / "plover_saturdays", folder)
    client = TestClient(
        make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1)
    )
    page = client.get("/").text
    said = text_of(page)
    assert "Nothing recorded stops it from: move · turn over" in said
    assert "· compete" not in said[: said.index("Next, with your hands")]
    assert "no change recorded stops it; outside a rule as found: 1, catch tank (club)" in said
    assert 'href="/workings/law.club_catch_tank/car?state=now"' in page


def test_an_aim_that_is_not_what_was_worked_out_is_put_right_by_a_button(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    shutil.copytree(Path("examples/plover_saturdays"), folder)
    file = folder / "build.toml"
    text = file.read_text(encoding="utf-8")
    (line,) = re.findall(r'(?m)^set = \{ "corner.*$\n', text)
    aim = 'camber_rear = "-2.6 ± 0.1 deg"'
    assert aim in text
    said_nothing = text.replace(line, "").replace(aim, 'camber_rear = "-2.0 ± 0.1 deg"')
    file.write_text(said_nothing, encoding="utf-8")
    here = TestClient(
        make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
        client=("127.0.0.1", 1), follow_redirects=False,
    )  # fmt: skip
    page = unescape(here.get("/").text)
    assert "The rear wheels are worked out at a camber of" in page
    assert "same_as" not in page  # no line of a file
    assert '<a class="button" href="/set?address=goal.camber_rear">Put the aim right</a>' in page
    assert "alignment measured and set on the rack\u201d sets it</button>" in page
    assert "goal.camber_rear" in " ".join(open_build(folder).notes())  # the terminal has the line
    token = re.search(r'name="token" value="([^"]*)"', page)[1]  # type: ignore[index]
    asked = {"token": token, "axle": "rear", "job": "rack"}
    assert here.post("/aims", data={**asked, "job": "springs-rear"}).status_code == 409
    assert here.post("/aims", data=asked).status_code == 303
    (rack,) = (job for job in read_build(folder).jobs if job.id == "rack")
    assert rack.set == {"corner.rear.camber_now": {"same_as": "goal.camber_rear"}}
    assert rack.fit == {}
    assert "fit = {}" not in file.read_text(encoding="utf-8")
    assert "The rear wheels are worked out" not in here.get("/").text
    assert here.post("/aims", data=asked).status_code == 409
