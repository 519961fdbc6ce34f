"""What hangs in the garage on paper keeps its number; what a planned day says of the car."""

from __future__ import annotations

import json
import re

import pytest
from saturdays import problem
from small_demo import copy_with

from drybuild.cli import main
from drybuild.cli.named import no_card
from drybuild.show.cards_words import moved_lines
from drybuild.work.model import Step
from drybuild.work.numbering import moved, numbers_of

JOBS, SESSIONS = ("brake-fluid", "catch-tank", "bar-links"), ("sat-1", "sat-2", "sat-3")


@pytest.fixture(scope="module")
def planned(tmp_path_factory):  # type: ignore[no-untyped-def]
    folder = copy_with(tmp_path_factory.mktemp("numbers") / "car", JOBS, SESSIONS)
    assert main(["plan", str(folder), "--seconds", "10"]) == 0
    return folder


def _cards(folder, capsys):  # type: ignore[no-untyped-def]
    capsys.readouterr()
    assert main(["cards", str(folder), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["cards"]
    return {card["number"]: [task["key"] for task in card["tasks"]] for card in found}


def test_cards_keep_their_numbers_through_what_is_done(planned, capsys) -> None:  # type: ignore[no-untyped-def]
    printed = _cards(planned, capsys)
    assert list(printed) == [*range(1, len(printed) + 1)]
    assert main(["done", str(planned), "card", "1", "--who", "Ann", "--seconds", "10"]) == 0
    left = _cards(planned, capsys)
    assert 1 not in left
    for number, tasks in printed.items():
        if number > 1 and number in left:
            assert left[number] == tasks
    # the same number names the same card to who works by paper
    second = next(number for number in left if number in printed)
    capsys.readouterr()
    words = ["done", str(planned), f"card {second}", "--and-before", "--who", "Ann", "--json"]
    assert main([*words, "--seconds", "10"]) == 0
    written = json.loads(capsys.readouterr().out)["written"]
    assert set(printed[second]) <= {task if ":" in task else f"job:{task}" for task in written}


def test_a_number_that_is_gone_is_told_from_one_that_never_was(planned, capsys) -> None:  # type: ignore[no-untyped-def]
    assert main(["cards", str(planned), "--card", "1"]) == 2
    assert "card 1 is not in the plan any more: its tasks are done, or moved" in _said(capsys)
    assert main(["done", str(planned), "card", "1", "--who", "Ann"]) == 2
    assert "card 1 is not in the plan any more" in _said(capsys)
    assert main(["cards", str(planned), "--card", "99"]) == 2
    assert re.search(r"no card 99; there are \d", _said(capsys))


def test_a_card_that_is_gone_is_told_where_its_work_is_now() -> None:
    """After a new plan the paper says 1; the work of it is on two cards, one of them new."""
    first, other = Step("job", "pump", "sat-1", 36, 40), Step("take", "shelf", "sat-1", 36, 38)
    kept = numbers_of([(1, (first, other)), (2, ())], {})
    later = Step("job", "pump", "sat-2", 708, 712)
    again = Step("take", "shelf", "sat-2", 704, 706)
    known = numbers_of([(5, (other,)), (6, (later,)), (7, (again,))], kept)
    cut = {5: (other,), 6: (later,), 7: (again,)}
    assert moved(1, known, cut) == {5: (other,), 6: (later,)}
    lines = moved_lines(moved(1, known, cut), lambda s: s.what, problem(jobs=()))
    assert lines == ["  shelf: card 5 now, Sat 5 Dec", "  pump: card 6 now, Sat 12 Dec"]
    assert "of its work\n  shelf: card 5 now" in no_card(1, cut, known.values(), lines)


def test_where_numbers_have_gaps_a_card_says_how_many_are_left(planned, capsys) -> None:  # type: ignore[no-untyped-def]
    assert main(["cards", str(planned), "--json"]) == 0
    left = json.loads(capsys.readouterr().out)["cards"]
    assert main(["cards", str(planned)]) == 0
    said = _said(capsys)
    assert f"CARD {left[0]['number']}; {len(left)} are open" in said


def _said(capsys) -> str:  # type: ignore[no-untyped-def]
    out = capsys.readouterr()
    return re.sub(r"\s+", " ", out.out + out.err)


def test_planned_anew_they_run_from_one(planned, capsys) -> None:  # type: ignore[no-untyped-def]
    assert main(["plan", str(planned), "--anew", "--seconds", "10"]) == 0
    numbers = list(_cards(planned, capsys))
    assert numbers == [*range(1, len(numbers) + 1)]


def test_of_a_planned_day_the_car_is_not_asked_for_by_the_builds_file(planned, capsys) -> None:  # type: ignore[no-untyped-def]
    """Where no job names its session the file knows nothing of the day; the plan does."""
    assert main(["check", str(planned), "--state", "after:sat-2"]) == 2
    said = _said(capsys)
    assert "no job in build.toml names the work session 'sat-2'" in said
    assert "drybuild plan" in said
