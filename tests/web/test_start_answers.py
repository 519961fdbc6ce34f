"""What a first visit says of the answers: the gap, its band, the reading, what it holds back."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from forms import SPRINGS, WHEELS
from starlette.testclient import TestClient

from drybuild.asking.told import Tells


def test_the_band_shrinks_when_the_gap_is_typed() -> None:
    tells = Tells()
    before, after = tells.told(WHEELS), tells.told({**WHEELS, "measured": "14 mm", "who": ""})
    assert before.focus is not None
    was, now = (told.findings[before.focus].margin for told in (before, after))
    assert was is not None
    assert now is not None
    assert now.high - now.low < 0.5 * (was.high - was.low)
    assert before.asks is not None
    assert before.asks.of == before.focus
    assert after.focus == before.focus


def test_the_page_shows_the_band_before_and_after(visitor: TestClient) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, "measured": "14", "who": "Ilse"})).text
    bands = re.findall(r'<path d="M([\d.]+) [\d.]+ L([\d.]+)[^"]*Z" fill="(?:none|var[^"]*)"',
                       page)  # fmt: skip
    widths = [float(right) - float(left) for left, right in bands]
    assert len(widths) >= 3
    assert widths[-1] < 0.5 * min(widths[:-1])
    assert re.search(r"The doubt shrank to \d+ % of what it was", page)


def test_gap_and_gap_wanted_are_said_once(visitor: TestClient) -> None:
    for answers in (WHEELS, {**WHEELS, "measured": "14"}, {**WHEELS, "measured": "3"}, SPRINGS):
        page = visitor.get("/start?" + urlencode(answers)).text
        lead = re.findall(r'<p class="lead">(.*)</p>', page)
        assert len(lead) == 1
        assert re.fullmatch(r"Gap about .* mm.*; \d+ mm is wanted\.", lead[0]), lead
        known = page[page.index('id="known"') : page.index("</section>")]
        assert "oom to spare" not in known.partition(" moves ")[0].partition("look at next")[0]


def test_a_drop_that_takes_less_of_the_room_than_the_body_comes_down_says_why(
    visitor: TestClient,
) -> None:
    hatch = {"first": "springs", "car": "front-turbo-hatch", "driving": "yes",
             "tyre": "205/55 R16 91V", "wheel": "6.5Jx16 ET46"}  # fmt: skip
    why = "The drop closes the room over the tyre; what is left is that beside it"
    page = visitor.get("/start?" + urlencode({**hatch, "front-drop": "35 mm"})).text
    assert why in page
    assert why not in visitor.get("/start?" + urlencode(hatch)).text
    small = visitor.get("/start?" + urlencode({**hatch, "front-drop": "2 mm"})).text
    assert why not in small


def test_an_answer_that_moves_nothing_here_says_what_it_moves(visitor: TestClient) -> None:
    page = visitor.get("/start?" + urlencode({**SPRINGS, "front-drop": "30 mm"})).text
    moves = r"The drop in front does not move this\. The drop in front moves"
    said = re.search(rf"<p>{moves} (.+?)</p>", page)
    assert said is not None
    assert said[1].startswith("tyre to arch lip")
    assert ", front " in said[1]
    before = visitor.get("/start?" + urlencode(SPRINGS)).text
    assert "drop in front does not move" not in before


def test_no_width_of_a_tyre_is_said_to_move_what_is_no_gap_at_a_wheel(visitor: TestClient) -> None:
    way = {**WHEELS, "first": "breathing"}
    for last in ("tyre", "wheel"):
        names = list(way)[: list(way).index(last) + 1]
        page = visitor.get("/start?" + urlencode({name: way[name] for name in names})).text
        assert "charge cooler" in page
        assert "does not move this" in page
        assert "this gap stays" not in page


def test_a_tyre_that_is_what_was_taken_for_it_is_not_said_to_leave_the_gap_alone(
    visitor: TestClient,
) -> None:
    way = {**WHEELS, "new-wheel": "8Jx18 ET45 5x112"}
    before = {k: v for k, v in way.items() if k != "new-tyre"}
    taken = visitor.get("/start?" + urlencode({**before, "new-tyre": "225/40 R18"})).text
    assert "does not move this" not in taken
    assert "before you named it: this gap stays as it was. Another width would move it" in taken
    focus = Tells().told(before).focus
    assert focus is not None
    gap = {
        tyre: Tells().told({**before, "new-tyre": tyre}).findings[focus].slack
        for tyre in ("205/40 R18", "225/40 R18", "255/35 R18")
    }
    middles = [one.median for one in gap.values() if one is not None]
    assert middles == sorted(middles, reverse=True)  # which is what the words say
    assert len(set(middles)) == 3


def test_what_it_holds_back_is_said_in_words_and_not_as_unknown_where_it_is_short(
    visitor: TestClient,
) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, "measured": "3", "who": ""})).text
    said = re.search(r"<p>(Until it is cured[^<]*)</p>", page)
    assert said is not None
    assert "creep (slow, private ground, no boost)" in said[1]
    assert "drive (public road)" in said[1]
    assert "compete (hill climb or circuit)" in said[1]
    assert "until it is known" not in page.lower()


def test_what_became_of_the_reading_stands_at_the_number(visitor: TestClient) -> None:
    """Less its growth the tyre leaves what the finding says, to the change that is named."""
    answers = {**SPRINGS, "front-drop": "30 mm", "rear-drop": "25 mm", "measured": "22 mm"}
    page = visitor.get("/start?" + urlencode(answers)).text
    said = re.search(
        r"<p>22 mm measured, less ([\d.]+) mm for the tyre, which may grow in use: by up to 4 % of "
        r"its width, half of it to this side, (less|plus) ([\d.]+) mm by the change\.</p>", page
    )  # fmt: skip
    assert said is not None
    assert float(said[1]) == pytest.approx(0.04 * 206.4 / 2, abs=0.1)  # of the wheel's width
    change = float(said[3]) * (-1 if said[2] == "less" else 1)
    there = re.search(r"Gap about ([\d.]+) mm", page)
    assert there is not None
    assert float(there[1]) == pytest.approx(22 - float(said[1]) + change, abs=0.01)


@pytest.mark.parametrize("reading", ["12.5", "9", "15.3", "22.2"])
def test_what_became_of_the_reading_adds_up(visitor: TestClient, reading: str) -> None:
    page = visitor.get("/start?" + urlencode({**WHEELS, "measured": reading})).text
    said = re.search(r"<p>([\d.]+) mm measured(.*?)\.</p>", page)
    assert said is not None
    signed = re.findall(r", (less|plus) ([\d.]+) mm", said[2])
    assert len(signed) == 2
    left = float(said[1]) + sum((-1 if s == "less" else 1) * float(n) for s, n in signed)
    there = re.search(r"Gap about (−?[\d.]+) mm", page)
    assert there is not None
    assert left == pytest.approx(float(there[1].replace("−", "-")), abs=1e-6)


def test_a_reading_far_off_is_asked_about_once_and_then_taken(visitor: TestClient) -> None:
    typed = {**WHEELS, "measured": "11,5 cm", "who": "Ilse"}
    page = visitor.get("/start?" + urlencode(typed))
    assert page.status_code == 422
    assert re.search(r"115 mm, where −?[\d.]+ to 1\d mm was expected: is it so\?", page.text)
    assert 'name="measured" value="11,5 cm"' in page.text  # nothing typed is lost
    assert 'name="who" value="Ilse"' in page.text
    sure = re.search(r'name="sure" value="([^"]+)"', page.text)
    assert sure is not None
    taken = visitor.get("/start?" + urlencode({**typed, "sure": sure[1]}))
    assert taken.status_code == 200
    assert 'name="sure" value="11.5 cm"' in taken.text  # so that making the folder takes it too
    again = visitor.get("/start?" + urlencode({**typed, "measured": "23 cm", "sure": sure[1]}))
    assert again.status_code == 422  # another reading is asked about by itself
