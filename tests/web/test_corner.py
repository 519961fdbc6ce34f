"""The corner page while figures are tried."""

from __future__ import annotations

import re
from pathlib import Path

from forms import token_in
from starlette.testclient import TestClient
from tests.web.conftest import HOSTS

from drybuild.build import Change
from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.findings import AXLES
from drybuild.show.doubt_before import doubt_before
from drybuild.web.app import make_app
from drybuild.web.draft_kept import kept_words
from drybuild.web.tried import draft_title


def test_the_picture_says_what_is_tried_beside_what_is_marked(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    plain = here.get("/corner/rear/left/tried").text
    tried = here.get("/corner/rear/left/tried?tyre=255").text
    head = re.compile(r"<figcaption>(.*?)</figcaption>")
    first, second = (head.search(page)[1] for page in (plain, tried))  # type: ignore[index]
    assert "tried" not in first
    assert second == f"{first}; tried: section width of the tyre 255 mm"


def test_the_offsets_slider_says_that_the_spokes_do_not_go_with_it(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    note = re.search(r'id="offset-note">([^<]*)<', here.get("/corner/front/left").text)
    assert note is not None
    assert "another offset is another wheel" in note[1]
    assert "the spokes stay where they are from the hub face" in note[1]


def test_a_draft_is_called_what_it_sets_and_where(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/corner/front/left").text
    at = float(re.search(r'id="offset"[^>]* value="([^"]*)"', page)[1])  # type: ignore[index]
    token = re.search(r'name="token" value="([^"]*)"', page)[1]  # type: ignore[index]
    words = f"front wheels of ET{at - 2:g}"
    for typed, title in (("", words), (f"et{at - 2:g}", words), ("lower", "lower"),
                         ("the front like this", "the front like this")):  # fmt: skip
        data = {"token": token, "title": typed, "offset": f"{at - 2:g}"}
        answer = here.post("/corner/front/left/draft", data=data)
        assert answer.status_code == 303, answer.text
        shown = here.get(answer.headers["location"]).text
        assert f"<h1>Draft: {title}</h1>" in shown
    assert draft_title("", (Change("set", "corner.rear.camber_now", "-1.5 deg"),)) == (
        "rear camber \u22121.5 deg"
    )


def test_a_figure_of_one_axle_says_that_it_is_of_that_pair_alone(tmp_path: Path) -> None:
    opened = open_build(make_build(tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes"))
    front, rear = (Change("set", f"wheel.{axle}.offset", "40 mm") for axle in AXLES)
    alone = "It is of the front pair alone: the rear wheels, the same part, stay as they are."
    assert kept_words(opened, [front]).endswith(alone)
    assert "pair alone" not in kept_words(opened, [front, rear])


def test_a_move_from_a_guess_says_that_the_doubt_is_the_guess_s(tmp_path: Path) -> None:
    folder = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres",
    )  # fmt: skip
    opened, move = open_build(folder), [Change("set", "wheel.front.offset", "52 mm")]
    (said,) = doubt_before(opened, opened.state("finished"), move)
    assert said.startswith("the front wheel offset before it is a guess (about 4")
    assert said.endswith("the doubt of what moves is that of the guess, not of what is set")
    part = "wheel_of_known_offset"
    (folder / "parts" / "known.toml").write_text(
        f'format = 1\nknown = "maker"\n[part.{part}]\nkind = "wheel"\nname = "Known"\n'
        'offset = "45 mm"\n', encoding="utf-8",
    )  # fmt: skip
    opened = open_build(folder)
    known = opened.state("finished").after([Change("fit", "wheel", part)])
    assert doubt_before(opened, known, move) == ()
    here = TestClient(make_app(folder, hosts=HOSTS), base_url="http://127.0.0.1:8000",
                      client=("127.0.0.1", 1))  # fmt: skip
    assert "is a guess (about 4" in here.get("/corner/front/left/moves?offset=52").text
    token = token_in(here.get("/drafts").text)
    data = {"token": token, "title": "", "offset": "52"}
    page = here.post("/corner/front/left/draft", data=data).text
    assert "the doubt of what moves is that of the guess" in page
