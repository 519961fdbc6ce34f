"""A guess that is most of a doubt is looked up before a part is bought: the check's own page."""

from __future__ import annotations

from pathlib import Path

from starlette.testclient import TestClient

from drybuild.build.new import make_build
from drybuild.examine import open_build
from drybuild.examine.guesses import looked_up_first
from drybuild.web.app import make_app

HOST = "127.0.0.1:8000"


def test_the_page_of_a_check_has_a_guess_looked_up_before_its_cure(tmp_path: Path) -> None:
    folder = tmp_path / "car"
    make_build(folder, nearest="front-turbo-hatch", driving="yes", first_change="wheels and tyres")
    findings = open_build(folder).examine("finished").findings
    stopping = [f for f in findings if f.stopping and f.do]
    guessed = next(f for f in stopping if looked_up_first(f) is not None)
    other = next(f for f in stopping if looked_up_first(f) is None)
    app = make_app(folder, hosts=frozenset({HOST}), share=False, away="")
    here = TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 50000))
    page = here.get(f"/workings/{guessed.check}/{guessed.subject}?state=finished").text
    assert page.index("Look up first, before anything is bought: <a href=") < page.index(
        "If it is not: "
    )
    page = here.get(f"/workings/{other.check}/{other.subject}?state=finished").text
    assert "Look up first" not in page
    assert "Do: " in page
