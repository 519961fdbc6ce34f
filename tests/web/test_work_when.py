"""Adding a work session from the page of the work."""

from __future__ import annotations

import re
from pathlib import Path

from small_demo import copy_with
from starlette.testclient import TestClient

import drybuild
from drybuild.web.app import make_app
from drybuild.web.desk import Desk

HOST = "127.0.0.1:8000"
JOBS = ("bar-links", "intake", "springs-front")


def test_a_work_session_is_added_from_the_page(tmp_path: Path) -> None:
    """Without a session the page counts the jobs and asks for a day; a bad time is not written."""
    folder = copy_with(tmp_path, JOBS, ())
    build = folder / "build.toml"
    build.write_text(re.sub(r"\[\[need\]\]\n(.+\n)*", "", build.read_text("utf-8")), "utf-8")
    before = build.read_bytes()
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
        assert f"{len(JOBS)} jobs to do" in page
        assert "No job is to do" not in page
        assert "cannot be planned" not in page
        token = re.search(r'name="drybuild-token" content="([0-9a-f]{64})"', page)
        assert token is not None
        form = {"token": token[1], "day": "2027-03-06", "start": "09:00", "end": "17:00"}
        people = "Ilse, Marten 13:00-15:00"
        for wrong in ({"end": "08:00"}, {"day": "6.3.2027"}, {"start": "9h"}, {"people": " , "}):
            refused = here.post("/work/when", data={**form, "people": people, **wrong})
            assert refused.status_code in (409, 422), wrong
            assert build.read_bytes() == before
        added = here.post("/work/when", data={**form, "people": people})
        assert added.status_code == 200, added.text
        (session,) = drybuild.open_build(folder).build.sessions
        assert (session.id, session.people) == ("sat-1", ("Ilse", "Marten 13:00-15:00"))
        again = here.post("/work/when", data={**form, "people": people})
        assert again.status_code == 409  # the car is in one place at a time
