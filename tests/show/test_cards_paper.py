"""Cards on paper: what is on every page, what may go wrong in the words, what lies where."""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import making_todo as making
import matplotlib.image
import numpy as np
import pytest

from drybuild.show.cards_paper import (
    KINDS_OF_PAGE,
    NOT_TO_KEEP,
    REASONS_SHOWN,
    PaperExtraMissing,
    PaperRefused,
    _owed,
    contents,
    pages_in,
    pictures,
    write,
)

ROOT = Path(__file__).parents[2]

MADE = making.MADE
DOTS = 60.0
A5, A4 = (148.0, 210.0), (297.0, 210.0)
FOOT = 12.8
POUCH = 9.0
"""mm at each edge that a wet-proof pouch, or a printer, takes."""


@pytest.fixture(scope="module")
def found():
    return making.made_sheets()


def drawn(content, made=MADE):
    """Pages as arrays of ink, 1 where it is black."""
    pages = pictures(content, made=made, resolution=DOTS)
    return [1.0 - matplotlib.image.imread(io.BytesIO(page))[..., :3].mean(axis=2) for page in pages]


@pytest.fixture(scope="module")
def pages(found):
    return drawn(contents(found))


def mm(length):
    return round(length * DOTS / 25.4)


def size(page):
    """Width and height, mm."""
    return tuple(round(n * 25.4 / DOTS) for n in page.shape[::-1])


def strip(page):
    """The foot of a small page without the cell of its page number."""
    return page[-mm(FOOT) : -mm(POUCH - 4), mm(13) : mm(148 - 26)]


# The whole


def test_what_is_worked_with_is_a5_and_what_hangs_is_a4(found, pages):
    kinds = [page["kind"] for page in contents(found)["pages"]]
    wall = sum(kind in ("day", "opened") for kind in kinds)
    assert {size(page) for page in pages} == {A5, A4}
    assert sum(size(page) == A4 for page in pages) == wall


def test_every_page_has_the_same_foot_and_says_what_it_is_of(found, pages):
    small = [page for page in pages if size(page) == A5]
    feet = [strip(page) for page in small]
    assert feet[0].max() > 0.5
    for foot in feet[1:]:
        assert np.allclose(foot, feet[0], atol=0.02)
    # each thing that it says is on it: change one, and the foot is another
    for other in (
        {"build": "Another"}, {"state": "planned from elsewhere"}, {"files": "f" * 64},
        {"journal": "41 · 3f9a 81c0 77de 02bb"}, {"made": datetime(2027, 1, 1)},
    ):  # fmt: skip
        changed = replace(found, imprint=replace(found.imprint, **other))
        (page,) = drawn(contents(changed, only=("list",)))
        assert not np.allclose(strip(page), feet[0], atol=0.02), other


def test_every_page_is_numbered_of_all(found, pages):
    def cell(page):
        return page[-mm(FOOT) : -mm(POUCH - 4), mm(148 - 23) : mm(148 - 10)]

    cells = [cell(page).tobytes() for page in pages if size(page) == A5]
    assert len(set(cells)) == len(cells)


def test_the_edge_stays_free_for_a_pouch(pages):
    edge = mm(POUCH)
    for number, page in enumerate(pages, 1):
        inside = page.copy()
        inside[edge:-mm(5), edge:-edge] = 0
        assert inside.max() < 0.1, number


def test_most_cards_take_one_page_and_the_rest_two(found):
    cards = contents(found, only=("cards",))
    counts = [len(drawn({**cards, "pages": [page]})) for page in cards["pages"]]
    assert sum(count == 1 for count in counts) > 0.7 * len(counts)
    assert max(counts) <= 2


def test_short_cards_of_a_day_share_a_sheet_and_others_do_not(found):
    """Each is whole and set no smaller; where one of them needs a sheet, or another day begins,
    none is shared."""
    cards = contents(found, only=("cards",))
    short = {
        **cards["pages"][0], "tasks": cards["pages"][0]["tasks"][:1], "joints": [], "makes": [],
        "cautions": ["One."], "tags": [], "verify": [], "bench": [], "to-set": [],
    }  # fmt: skip
    other = {**short, "number": 2}

    def count(*pages):
        return len(drawn({**cards, "pages": list(pages)}))

    assert count(short) == count(short, other) == 1
    assert count(short, {**other, "session": "another day"}) == 2
    long = {**short, "tasks": short["tasks"] * 4}
    assert count(long) == 1
    assert count(long, other) == 2
    (alone,), (both,) = drawn({**cards, "pages": [short]}), drawn(
        {**cards, "pages": [short, other]}
    )  # fmt: skip
    middle = both[mm(60) : mm(190), mm(30) : mm(120)].max(axis=1) > 0.3
    bottom = alone[mm(120) : mm(190), mm(30) : mm(120)].max(axis=1) > 0.3
    assert middle.sum() > bottom.sum() + mm(30)


def test_what_to_hang_first_is_in_the_roomy_setting_too(found):
    """A heading with nothing behind it says that no tag goes up."""
    content = contents(found, only=("cards",))
    card = next(p for p in content["pages"] if p["tags"] == [])
    pages = [
        drawn({**content, "pages": [{**card, "tags": [words]}]})[0]
        for words in ("DO NOT START", "DO NOT CRANK: map expects other injectors")
    ]
    assert not np.allclose(*pages, atol=0.05)


def full(found, tasks=6):
    """A card with much on it, as work on four corners has."""
    content = contents(found, numbers=(1,))
    steps = ["a quarter turn loose on the ground", "off, each marked with its corner"]
    task = {"at": "09:15", "title": "front wheels off", "more": "15 min", "brief": "",
            "steps": steps}  # fmt: skip
    joint = {"title": "front wheel nuts or bolts", "figure": "", "source": "",
             "threads": "M12x1.5", "notes": ""}  # fmt: skip
    page = {
        **content["pages"][0], "cautions": ["Nobody is under it before it stands on stands."] * 4,
        "bench": ["torque wrench", "wire brush"], "photograph": ["each bracket"], "bag": ["nuts"],
        "tasks": [task] * tasks, "joints": [joint] * 2, "verify": ["turns freely, nothing touches"],
        "makes": [],
    }  # fmt: skip
    return {**content, "pages": [page]}


def test_a_full_card_is_set_in_a_run_before_it_takes_a_second_page(found):
    """What has lines of its own where there is room shares them where there is not; a step never
    does."""
    (roomy,), (close,) = drawn(full(found, tasks=2)), drawn(full(found, tasks=5))

    def hairs(page):
        """Rows with a line from edge to edge: one above each task, and those of the boxes."""
        return (page[mm(15) : mm(190), mm(14) : mm(134)].min(axis=1) > 0.1).sum()

    assert hairs(close) > hairs(roomy)
    assert len(drawn(full(found, tasks=12))) == 2


def test_each_sheet_of_a_card_says_its_title_and_which_it_is(found):
    def head(page):
        return page[mm(POUCH) : mm(13.4), mm(POUCH) : -mm(POUCH)]

    content = full(found, tasks=12)
    first, second = (head(page) for page in drawn(content))
    (alone,) = drawn(full(found, tasks=2))
    title = slice(mm(45), mm(80))
    assert first[:, title].max() > 0.5
    assert np.allclose(first[:, title], second[:, title], atol=0.02)
    assert not np.allclose(first, second, atol=0.02)
    assert not np.allclose(head(alone), first, atol=0.02)


def test_a_caution_is_said_once_on_a_card(found):
    card = replace(found.cards[0], cautions=("It burns. Keep away.",))
    owed = next(o for c in found.cards for o in c.makes)
    twice = (
        replace(owed, safety="It burns. Have it seen."),
        replace(owed, safety="Have it seen. It spills."),
    )  # fmt: skip
    sheets = replace(found, cards=(replace(card, makes=twice, records=()),))
    (page,) = contents(sheets, only=("cards",))["pages"]
    assert [record["care"] for record in page["makes"]] == ["Have it seen.", "It spills."]
    assert page["owed-brief"] == ""
    one, three = f"{owed.title} (the page By hand)", "3 hand checks: the page By hand"
    for records, said in (((owed,), one), ((owed,) * 3, three)):
        some = replace(found, cards=(replace(card, records=records),))
        assert contents(some, only=("cards",))["pages"][0]["owed-brief"] == said


def test_wherever_a_card_breaks_no_page_holds_boxes_alone(found):
    content = contents(found, numbers=(1,))
    card = content["pages"][0]
    boxes = 25.0  # mm that the boxes and the words below them take at most
    broken = 0
    for more in range(0, 80, 4):
        task = {**card["tasks"][0], "steps": ["one more thing to be seen"] * more}
        pages = drawn({**content, "pages": [{**card, "tasks": [*card["tasks"], task]}]})
        inked = pages[-1][mm(15.5) : -mm(FOOT)].max(axis=1) > 0.3
        broken += len(pages) > 1
        assert np.flatnonzero(inked).max() > mm(boxes), more
    assert broken >= 3


def test_a_card_is_never_set_smaller_than_the_page_asks(found):
    """A short card has its letters large, a long one on as few pages smaller ones."""
    card = contents(found, numbers=(1,))["pages"][0]
    few = {**card, "tasks": card["tasks"][:1]}
    many = {**card, "tasks": [*card["tasks"], *card["tasks"][:1]]}
    heights = []
    for page in (few, many):
        (first,) = drawn({**contents(found, numbers=(1,)), "pages": [page]})
        # left edge of the page: the bar beside the cautions, as tall as they are
        bar = first[mm(16) : mm(120), mm(9.8) : mm(10.6)].min(axis=1) > 0.5
        heights.append(int(np.argmin(bar[np.argmax(bar) :])))
    assert 0 < heights[1] < heights[0]


def test_kinds_sessions_and_cards_can_be_chosen(found):
    def kinds(**chosen):
        return [page["kind"] for page in contents(found, **chosen)["pages"]]

    assert set(kinds()) == {"list", "day", "card", "hands", "holds", "opened", "tags"}
    assert kinds(only=("cards",), session="sat-2") == ["card", "card", "card"]
    assert kinds(numbers=(3,)) == ["card"]
    assert kinds(only=("tags",)) == ["tags", "tags"]
    assert "list" not in kinds(session="sat-1")
    assert len(KINDS_OF_PAGE) == len(set(KINDS_OF_PAGE))


def test_the_docs_name_the_pages_behind_a_sessions_cards(found):
    text = Path(__file__).parents[2].joinpath("docs", "work.md").read_text(encoding="utf-8")
    behind = [p for p in contents(found)["pages"] if p["kind"] in ("hands", "holds")]
    titles = {page["title"].split(":")[0] for page in behind}
    assert titles == {"By hand", "Why not yet"}
    assert all(f"*{title}*" in text for title in titles)


def test_what_is_owed_and_what_stops_share_a_sheet_where_both_fit(found):
    content = contents(found)
    by_kind = {p["kind"]: p for p in content["pages"]}
    hands, holds = by_kind["hands"], by_kind["holds"]
    few = {**hands, "groups": [{**g, "records": g["records"][:1]} for g in hands["groups"][:1]]}
    brief = [{**g, "rows": g["rows"][:1]} for g in holds["groups"][:1]]
    assert len(drawn({**content, "pages": [few, {**holds, "groups": brief}]})) == 1
    many = {**holds, "groups": holds["groups"] * 9}
    alone = sum(len(drawn({**content, "pages": [page]})) for page in (few, many))
    assert len(drawn({**content, "pages": [few, many]})) == alone > 2


def test_how_many_pages_a_file_has_is_read_from_it(found, tmp_path):
    path = tmp_path / "cards.pdf"
    write(path, found)
    assert pages_in(path) == len(drawn(contents(found))) > 9


def test_it_is_a_file_to_be_kept(found, tmp_path):
    path = tmp_path / "new" / "cards.pdf"
    assert write(path, found) == ""
    made = path.read_bytes()
    assert made.startswith(b"%PDF-1.7")
    # ISO 19005-2 and ISO 14289-1: the standard is claimed in metadata that is not compressed
    said = re.sub(rb"\s+", b"", made)
    assert re.search(rb"pdfaid:part\D+2\D.*?pdfaid:conformance\W+A\W", said)
    assert re.search(rb"pdfuaid:part\D+1\D", said)
    write(path, found)
    assert path.read_bytes() == made  # the same sheets are the same file


# Words


HOSTILE = '#panic("x") $x$ *b* @ref <lab> `raw` \\ // com /* ["]'


def test_words_are_never_read_as_markup(found, tmp_path):
    card = replace(
        found.cards[0], title=HOSTILE, cautions=(HOSTILE,), bench=(HOSTILE,), tags=(HOSTILE,),
        session_title=HOSTILE,
    )  # fmt: skip
    bad = replace(
        found, cards=(card, *found.cards[1:]), imprint=replace(found.imprint, build=HOSTILE)
    )
    assert write(tmp_path / "bad.pdf", bad) == ""
    assert contents(bad, numbers=(1,))["pages"][0]["cautions"] == [HOSTILE]


def test_breaks_and_control_signs_become_spaces(found, tmp_path):
    card = replace(found.cards[0], title="a\nb\tc\x07d", cautions=("e\r\nf",))
    content = contents(replace(found, cards=(card,)), only=("cards",))
    assert content["pages"][0]["title"] == "a b c d"
    assert content["pages"][0]["cautions"] == ["e  f"]


def test_a_word_that_no_line_holds_is_broken(found):
    card = replace(found.cards[0], title="x" * 200, cautions=("y" * 200,))
    content = contents(replace(found, cards=(card,)), only=("cards",))
    for page in drawn(content):
        assert page[mm(POUCH) : -mm(24), -mm(POUCH) :].max() < 0.1
    said = content["pages"][0]["title"]
    assert said.replace("\u200b", "") == "x" * 200


def test_a_sign_that_the_letters_lack_is_said(found, tmp_path):
    card = replace(found.cards[0], title="\U0001f527 冷却")
    path = tmp_path / "signs.pdf"
    assert write(path, replace(found, cards=(card,)), only=("cards",)) == NOT_TO_KEEP
    assert path.read_bytes().startswith(b"%PDF")
    assert b"pdfaid" not in path.read_bytes()


def test_letters_with_marks_and_trade_signs_are_there(found, tmp_path):
    title = "Çağlar Łódź Ελλάς Привет ± × ² Δ Ω ° µ → ⅜ “x” – €"
    card = replace(found.cards[0], title=title)
    assert write(tmp_path / "x.pdf", replace(found, cards=(card,)), only=("cards",)) == ""


def test_nothing_to_print_is_said(found, tmp_path):
    with pytest.raises(PaperRefused, match="no such session or card"):
        write(tmp_path / "x.pdf", found, numbers=(99,))
    assert not (tmp_path / "x.pdf").exists()


def test_without_the_library_it_says_what_to_install(found, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(PaperExtraMissing, match=r"drybuild\[paper\]"):
        write(tmp_path / "x.pdf", found)


# Cards and tags


def test_a_card_on_paper_says_what_the_card_holds(found):
    for card, page in zip(
        found.cards, contents(found, only=("cards",))["pages"], strict=True
    ):
        assert page["number"] == card.number
        assert page["cautions"] == list(card.cautions)
        assert [t["title"] for t in page["tasks"]] == [t.title for t in card.tasks]
        assert [t["steps"] for t in page["tasks"]] == [list(t.steps) for t in card.tasks]
        assert len(page["joints"]) == len(card.joints)
        assert page["holds"] or "by hand" in page["free"]


def test_only_a_figure_that_can_be_traced_is_printed(found):
    card = next(c for c in found.cards if c.joints)
    stated = replace(
        card.joints[0], torque=85.0, turn=1.5708, document="sheet 12", condition="oiled",
        thread="M12x1.5", laden=True,
    )  # fmt: skip

    def joint(**changed):
        one = replace(card, joints=(replace(stated, **changed),))
        page = contents(replace(found, cards=(one,)), only=("cards",))["pages"][0]
        return page["joints"][0]

    assert joint()["figure"] == "85 N·m, then 90 deg"
    assert joint()["source"] == "threads oiled, M12x1.5 (sheet 12)"
    assert joint()["notes"] == "car on its wheels"
    for lacking in ("torque", "document", "condition"):
        assert (joint(**{lacking: None})["figure"], joint(**{lacking: None})["source"]) == ("", "")
    assert joint(torque=None)["threads"] == "M12x1.5"


def _tag_pages(tags):
    """Two to a page, three where none of them has more than two reasons."""
    if not tags:
        return 0
    three = tags[:3]
    few = len(three) == 3 and all(len(t["reasons"]) <= 2 and not t["more"] for t in three)
    return 1 + _tag_pages(tags[3 if few else 2 :])


def test_tags_share_a_page_each_with_its_foot(found):
    content = contents(found, only=("tags",))
    tags = [tag for page in content["pages"] for tag in page["tags"]]
    assert len(drawn(content)) == sum(_tag_pages(page["tags"]) for page in content["pages"])
    brief = {**tags[0], "reasons": tags[0]["reasons"][:1], "more": ""}
    many = {**brief, "reasons": [*brief["reasons"]] * 3}
    for three, count in (([brief] * 3, 1), ([brief, brief, many], 2), ([brief] * 4, 2)):
        assert len(drawn({**content, "pages": [{"kind": "tags", "tags": three}]})) == count
    assert len(found.tags) < len(tags) < len(found.tags) + len(found.hung)
    for page in content["pages"]:
        same = [(tag["command"], tag["since"]) for tag in page["tags"]]
        assert len(set(same)) == len(same)
    for tag in tags:
        assert len(tag["reasons"]) <= REASONS_SHOWN
    road = next(t for t in tags if t["command"] == "DO NOT DRIVE ON THE ROAD")
    assert road["more"] == "and 2 more reasons: the page Why not yet"


def test_a_tag_with_long_reasons_keeps_to_its_half(found):
    tag = found.tags[0]
    long = replace(tag, words=tuple(f"{n} " + "because of it " * 25 for n in range(3)), stops=())
    short = replace(tag, words=("x",), stops=())
    one, two = (
        drawn(contents(replace(found, hung=(), tags=(one, short)), only=("tags",)))[0]
        for one in (long, short)
    )
    lower = slice(mm(100), mm(180))
    assert np.allclose(one[lower], two[lower], atol=0.02)
    assert not np.allclose(one[: mm(80)], two[: mm(80)], atol=0.02)


def test_every_reason_is_on_the_page_that_the_others_name(found):
    for session, car in found.ends.items():
        content = contents(found, only=("holds",), session=session)
        rows = [row for page in content["pages"] for g in page["groups"] for row in g["rows"]]
        assert len(rows) == sum(bool(stop.roots) for stop in car.stops)


def test_what_a_card_sends_to_stands_there(found):
    """Reasons and hand checks that a card only counts: on the cards and pages that it names."""
    pages = contents(found)["pages"]
    titles = {page["title"] for page in pages if page["kind"] in ("hands", "holds")}
    by_hand = {
        page["title"]: {r["title"] for g in page["groups"] for r in g["records"]}
        for page in pages if page["kind"] == "hands"
    }  # fmt: skip
    makes = {card.number: {o.title for o in card.makes} for card in found.cards}
    sent = 0
    for card, page in zip(found.cards, (p for p in pages if p["kind"] == "card"), strict=True):
        title = found.todo.problem.session(card.session).title
        if "page Why not yet" in page["holds-more"]:
            assert f"Why not yet: {title}" in titles
        for number in re.findall(r"\d+", page["holds-more"].partition(": ")[2]):
            assert found.cards[int(number) - 1].session == card.session
            sent += 1
        for owed, where in _owed(card, found):
            sent += 1
            if where.startswith("card "):
                assert owed in makes[int(where.split()[1])]
            else:
                day = where.removeprefix("the page By hand").removeprefix(", ") or title
                assert owed in by_hand[f"By hand: {day}"]
    assert sent


def test_a_hand_check_asks_for_value_tool_and_name_and_a_second_person(found):
    hands = contents(found, only=("hands",))["pages"]
    rows = [r for page in hands for g in page["groups"] for r in g["records"]]
    cards = contents(found, only=("cards",))["pages"]
    rows += [r for page in cards for r in page["makes"]]
    records = {r["title"]: [c[0] for c in r["cells"]] for r in rows}
    assert len(records) == len(rows)  # what a card asks for is not asked for again
    assert records["brakes bled, pedal firm, no leak under pressure"] == [
        "seen: what, how much", "tool", "name", "second person",
    ]  # fmt: skip
    assert records["wheel nuts tightened crosswise to the maker's figure"][-1] == "name"
