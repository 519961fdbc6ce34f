"""A job on screen: changed, taken out, and never under somebody's hands."""

from __future__ import annotations

import re
from pathlib import Path

from fastapi.testclient import TestClient
from forms import token_in

from drybuild.build import read_build


def form_of(client: TestClient, job: str) -> dict[str, str]:
    page = client.get(f"/work/jobs/{job}").text
    (seen,) = set(re.findall(r'name="seen" value="([0-9a-f]{16})"', page))
    return {"token": token_in(page), "seen": seen}


def test_the_work_leads_to_each_job_and_a_job_to_its_parts(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    assert 'href="/work/jobs/front-brakes"' in here.get("/work").text
    page = here.get("/work/jobs/front-brakes").text
    build = read_build(folder)
    for part in build.job("front-brakes").fit.values():
        assert f'href="/parts/{part}"' in page
        assert build.parts[part].name in page
    assert here.get("/work/jobs/never").status_code == 404
    assert "Left empty, the plan takes all of them to be here." in page


def test_the_work_says_of_which_jobs_a_plan_takes_the_parts_to_be_here(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    page = here.get("/work").text
    said = re.search(r"Parts that a plan takes to be here:.*?</details>", page, re.S)
    assert said is not None
    jobs = [j for j in read_build(folder).jobs if j.fit]
    assert {j.id for j in jobs if not j.arrives} == set(re.findall(r"/work/jobs/([\w-]+)", said[0]))


def test_a_job_is_called_otherwise_and_its_parts_come_later(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    before = (folder / "build.toml").read_text(encoding="utf-8")
    form = form_of(here, "clutch")
    sent = {**form, "title": "the  clutch ", "arrives": "2027-01-09"}
    assert here.post("/work/jobs/clutch", data=sent).status_code == 303
    job = read_build(folder).job("clutch")
    assert (job.title, job.arrives) == ("the clutch", "2027-01-09")
    after = (folder / "build.toml").read_text(encoding="utf-8")
    gone = set(before.splitlines()) - set(after.splitlines())
    assert gone == {'title = "clutch"'}
    late = here.post("/work/jobs/clutch", data=sent)  # the mark is of what stood there before
    assert late.status_code == 409
    assert "somebody changed it meanwhile" in late.text.lower()


def test_what_is_amiss_is_said_and_kept_in_the_form(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    before = (folder / "build.toml").read_bytes()
    form = form_of(here, "clutch")
    for typed, said in (({"title": "", "arrives": ""}, "a job has a title"),
                        ({"title": "c", "arrives": "soon"}, "expected a date")):  # fmt: skip
        answer = here.post("/work/jobs/clutch", data={**form, **typed})
        assert answer.status_code == 409
        assert said in answer.text.lower()
        assert f'value="{typed["title"]}"' in answer.text
    assert (folder / "build.toml").read_bytes() == before


def test_a_job_is_taken_out_unless_another_comes_after_it(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    file = folder / "build.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('id = "clutch"\n', 'id = "clutch"\nafter = ["intake"]\n'), "utf-8")
    refused = here.post("/work/jobs/intake/remove", data=form_of(here, "intake"))
    assert refused.status_code == 409
    assert "clutch" in refused.text
    assert here.post("/work/jobs/clutch/remove", data=form_of(here, "clutch")).status_code == 303
    ids = [job.id for job in read_build(folder).jobs]
    assert "clutch" not in ids
    assert here.post("/work/jobs/intake/remove", data=form_of(here, "intake")).status_code == 303
    assert "brack_clutch" in read_build(folder).parts  # the part stays


def test_of_a_job_that_is_done_nothing_is_changed_here(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    from drybuild.build import job_changes
    from drybuild.journal import Journal

    job = read_build(folder).job("clutch")
    Journal(folder).did(job_changes(job), who="Ilse", job=job.id)
    page = browser().get("/work/jobs/clutch").text
    assert "It is done." in page
    assert "<form" not in page.split("<main")[1].split("</main")[0]


def test_one_part_is_taken_out_of_a_job_and_not_the_last(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    before = dict(read_build(folder).job("front-brakes").fit)
    assert len(before) > 1
    gone, *rest = before
    assert here.get("/work/jobs/front-brakes").text.count(">Not this one<") == len(before)
    send = "/work/jobs/front-brakes/without"
    form = form_of(here, "front-brakes")
    assert here.post(send, data=form | {"place": "wheel.front"}).status_code == 409
    assert here.post(send, data=form | {"place": gone}).status_code == 303
    build = read_build(folder)
    assert dict(build.job("front-brakes").fit) == {place: before[place] for place in rest}
    assert before[gone] in build.parts  # the part stays
    assert here.post(send, data=form | {"place": rest[0]}).status_code == 409  # the mark is old
    for place in rest[:-1]:
        sent = form_of(here, "front-brakes") | {"place": place}
        assert here.post(send, data=sent).status_code == 303
    page = here.get("/work/jobs/front-brakes").text
    assert ">Not this one<" not in page
    last = here.post(send, data=form_of(here, "front-brakes") | {"place": rest[-1]})
    assert last.status_code == 409
    assert "take the job out instead" in last.text


def test_work_sessions_are_listed_by_day_whatever_the_file(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    file = folder / "build.toml"
    text = file.read_text(encoding="utf-8")
    first = read_build(folder).sessions[0]
    file.write_text(text.replace(f'date = "{first.date}"', 'date = "2031-01-04"', 1), "utf-8")
    listed = browser().get("/work").text.split('id="change"')[1].split("</ul>")[0]
    days = re.findall(r"\d{4}-\d\d-\d\d", listed)
    assert days == sorted(days)
    assert days[-1] == "2031-01-04"
