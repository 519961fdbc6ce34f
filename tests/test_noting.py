"""``note`` and ``addresses`` as they are typed by somebody who knows no address."""

from __future__ import annotations

import builtins
import re
from pathlib import Path

import pytest

from drybuild import asking
from drybuild.asking.understood import changes_named, understood
from drybuild.build import read_build
from drybuild.build.errors import UnknownName
from drybuild.build.new import FIRST_CHANGES, STARTERS, make_build
from drybuild.cli import main


@pytest.fixture
def car(tmp_path: Path) -> Path:
    return make_build(tmp_path / "car", nearest="light-roadster", first_change="wheels and tyres")


@pytest.fixture
def say(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")

    def _say(*words: object) -> tuple[int, str]:
        capsys.readouterr()
        code = main([str(w) for w in words])
        out, err = capsys.readouterr()
        return code, out + err

    return _say


def _journal(say, car) -> str:
    return say("undo", car)[1]


def test_plain_words_are_written_under_their_address(say, car):
    code, said = say(
        "note", car, "rear left tyre pressure", "27 psi gauge", "--with", "tyre gauge",
        "--who", "Ann",
    )  # fmt: skip
    assert code == 0
    was, now = re.search(r"was about (.+); now about (.+)", " ".join(said.split())).groups()
    assert "assumed" in was
    assert "measured" in now
    assert "rear left tyre pressure: 27 psi gauge" in _journal(say, car)


@pytest.mark.parametrize(
    "words", ["rear left ride height", "wheel offset", "ofset of the wheel", "pump flow", "banana"]
)
def test_what_is_not_sure_is_written_nowhere(say, car, words):
    before = (car / "parts" / "first.toml").read_text(encoding="utf-8")
    code, said = say("note", car, words, "34 mm", "--with", "tape", "--who", "Ann")
    assert code == 2
    assert f"drybuild addresses {car}" in said
    assert "empty" in _journal(say, car)
    assert (car / "parts" / "first.toml").read_text(encoding="utf-8") == before


def test_the_choice_is_shown_with_meaning_unit_and_tool(say, car):
    _, said = say("note", car, "rear left ride height", "34 mm", "--who", "Ann")
    assert "corner.rear.left.arch_point.height" in said
    assert "corner.rear.left.measured_drop" in said
    assert "takes a length, in mm" in said
    assert "with tape" in said


def test_without_a_reading_it_says_what_can_be_noted(say, car):
    code, contents = say("note", car)
    assert code == 0
    assert len(contents.splitlines()) < 45
    for word in ("wheelbase", "tyre_pressure", "wheel,", "part.my_wheel", f"measure {car}"):
        assert word in contents
    code, one = say("note", car, "hub bore")
    assert code == 0
    assert "diameter of the centre bore" in one
    assert say("addresses", car, "hub", "bore") == (0, one)


def test_a_table_a_place_or_a_part_is_listed_whole(say, car):
    code, said = say("addresses", car, "wheel")
    assert code == 0
    assert {"wheel.offset", "wheel.hub_bore", "wheel.seat"} <= set(said.splitlines())
    _, part = say("addresses", car, "my_wheel")
    assert "part.my_wheel.offset" in part.splitlines()
    _, us = say("addresses", car, "car", "--units", "us")
    assert re.search(r"now about [\d.]+ lb", us)


def test_everything_has_its_meaning(say, car):
    code, said = say("addresses", car, "--all")
    assert code == 0
    blocks = [b.splitlines() for b in said.split("\n\n") if "     takes " in b]
    assert len(blocks) > 500
    assert all(re.match(r"[\w.]+$", b[0]) and not b[1].startswith("     takes") for b in blocks)


def test_a_reading_wants_a_name_before_it_is_written(say, car):
    code, said = say("note", car, "car.wheelbase", "2331 mm", "--with", "tape")
    assert code == 2
    assert "--who NAME" in said
    assert "empty" in _journal(say, car)


def test_of_the_part_on_the_car_or_of_the_planned_one(say, car):
    code, said = say(
        "note", car, "wheel.rear.left.offset", "41 mm", "--with", "straightedge", "--who", "Ann"
    )
    assert code == 0
    assert "part.my_wheel.offset" in said


def test_words_and_figures_of_a_part_in_hand_are_known_better(say, car):
    file = car / "parts" / "first.toml"
    for address, reading, tool, how in (
        ("part.my_tyre.marking", "205/45 R16 83W", [], "read off"),
        ("part.my_wheel.bolt_count", "4", [], "read off"),
        ("part.my_wheel.offset", "35 mm", ["--with", "stamp"], "maker's data"),
        ("part.my_wheel.hub_bore", "54.1 mm", ["--with", "caliper"], "measured"),
    ):
        code, said = say("note", car, address, reading, *tool, "--who", "Ann", "--at", "2026-05-02")
        assert code == 0, said
        assert re.search(rf"now .*, {how}$", said, re.MULTILINE), said
        line = next(
            row for row in file.read_text(encoding="utf-8").splitlines()
            if row.startswith(address.rpartition(".")[2]) and "Ann" in row
        )  # fmt: skip
        assert "# read by Ann, 2026-05-02; before: " in line
    assert "bolt_count = {is = 4," in file.read_text(encoding="utf-8")
    # What was said of the guess went with it; the rest of the file stands.
    assert "a guess to be replaced" in file.read_text(encoding="utf-8")


def test_what_was_read_off_a_part_goes_back_to_what_stood_there(say, car):
    address, file = "part.my_wheel.offset", car / "parts" / "first.toml"
    stood = next(
        line.partition("=")[2].partition("#")[0].strip()
        for line in file.read_text(encoding="utf-8").splitlines() if line.startswith("offset")
    )  # fmt: skip
    said = say("note", car, address, "31 mm", "--who", "Ann")[1]
    assert f"take it back: drybuild undo {car} {address} --who NAME" in said
    listed = say("undo", car)[1]
    assert "The journal is empty." in listed
    assert f"{address}: 31 mm, " in listed
    assert say("undo", car, address)[0] == 2  # nobody says who
    code, said = say("undo", car, address, "--who", "Ann")
    assert code == 0
    assert "as before" in said
    line = next(r for r in file.read_text("utf-8").splitlines() if r.startswith("offset"))
    assert line.partition("=")[2].partition("#")[0].strip() == stood
    assert say("undo", car, "part.my_wheel.hub_bore", "--who", "Ann")[0] == 2


def test_what_stood_nowhere_before_is_taken_out(say, car):
    file = car / "parts" / "first.toml"
    before = [r for r in file.read_text("utf-8").splitlines() if r.startswith("rotating_inertia")]
    assert not before
    say("note", car, "part.my_wheel.rotating_inertia", "0.31 kg m2", "--who", "Ann")
    assert "before: nothing" in file.read_text("utf-8")
    assert say("undo", car, "part.my_wheel.rotating_inertia", "--who", "Ann")[0] == 0
    assert "0.31" not in file.read_text("utf-8")


def test_a_marking_that_was_read_is_not_asked_for_again(say, car):
    ask = "part.my_tyre.marking"
    assert ask in say("measure", car, "--draws", "256")[1]
    assert say("note", car, ask, "205/45 R16 83W", "--who", "Ann")[0] == 0
    assert ask not in say("measure", car, "--draws", "256")[1]


def test_a_misspelt_key_of_a_part_offers_the_right_one(say, car):
    code, said = say("note", car, "part.my_wheel.ofset", "35 mm", "--who", "Ann")
    assert code == 2
    assert "'offset'" in said
    assert "my_wheel has no 'ofset'" in said


def test_a_refusal_names_the_address_once_and_the_way_out(say, car):
    code, said = say("note", car, "part.my_wheel.offset", "35 mm", "--with", "dril", "--who", "Ann")
    assert code == 2
    assert "wheel.front.left" not in said
    assert "Nearest right word: drill shank" in said
    code, said = say("note", car, "corner.front.left.tyre_pressure", "29 psi", "--who", "Ann")
    assert code == 2
    assert "psi gauge or psi absolute" in said


def test_of_several_places_the_one_is_said_or_that_they_are_alike(say, car):
    given = ["28 psi gauge", "--with", "tyre gauge", "--who", "Ann"]
    code, said = say("note", car, "front tyre pressure", *given)
    assert code == 2
    assert "front left and front right: say which" in " ".join(said.split())
    assert "corner.front.left.tyre_pressure" in said
    assert "empty" in _journal(say, car)
    code, said = say("note", car, "front tyre pressure", *given, "--alike")
    assert code == 0
    assert said.count("now about") == 2
    assert "rear" not in said
    say("note", car, "front tyre pressure", "82 psi gauge", *given[1:], "--alike")
    code, said = say("undo", car, "3", "4", "--who", "Ann")
    assert code == 0
    assert "undoes entry 3" in said
    assert "undoes entry 4" in said
    assert say("undo", car, "1", "3", "--who", "Ann")[0] == 2
    assert _journal(say, car).count("(undone)") == 2


def test_a_slip_at_several_places_is_said_at_each_and_taken_back_in_one(say, car):
    given = ["--with", "tyre gauge", "--who", "Ann", "--alike"]
    _, said = say("note", car, "front tyre pressure", "4 psi gauge", *given)
    assert " ".join(said.split()).count("far from what was guessed: read it once more") == 2
    assert f"Take it back: drybuild undo {car} 1 2 --who NAME" in " ".join(said.split())


# ---- did and undo say what to do next


def test_did_names_the_jobs_and_the_checks_that_there_are(say, car):
    for words in (["wheels"], []):
        code, said = say("did", car, *words, "--who", "Ann")
        assert code == 2
        assert "wheels-and-tyres: " in said
    assert "None is owed" in say("did", car, "--verify", "nuts", "--who", "Ann")[1]
    code, said = say("did", car, "wheels-and-tyres", "--who", "Ann")
    assert code == 0
    assert re.search(r"each so: drybuild did .* --verify \S+ --value FOUND", said)
    assert "[corners.nuts_tightened]" in say("did", car, "--verify", "nuts", "--who", "Ann")[1]
    given = ["--value", "as the book says", "--tool", "torque wrench", "--who", "Ann"]
    code, said = say("did", car, "--verify", "nuts_tightened", *given)
    assert code == 0
    assert "wheel nuts tightened crosswise to the maker's figure: as the book says" in said
    assert "NUMBER --who NAME" in say("undo", car)[1]
    assert "--who NAME" in say("undo", car, "2")[1]
    assert "next: drybuild check" in say("undo", car, "2", "--who", "Ann")[1]


# ---- the four questions


@pytest.mark.parametrize(
    ("given", "meant"),
    [("1", next(iter(STARTERS))), ("light", "light-roadster"), ("LIGHT-ROADSTER", "light-roadster"),
     ("", "don't know"), ("dont know", "don't know"), ("Don't know", "don't know"),
     ("?", "don't know")],
)  # fmt: skip
def test_an_answer_is_taken_by_number_beginning_or_name(given, meant):
    assert understood(given, STARTERS) == meant


@pytest.mark.parametrize("given", ["0", "99", "banana", "-1"])
def test_any_other_answer_is_refused_with_the_choices(given):
    with pytest.raises(UnknownName, match="light-roadster"):
        understood(given, STARTERS)


def test_a_wrong_answer_is_asked_again_and_nothing_is_lost(monkeypatch, capsys, tmp_path):
    answers = iter(["lite", "4", "maybe", "yes", "", "wheels"])
    monkeypatch.setattr(builtins, "input", lambda _="": next(answers))
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    said = asking.ask_and_make(
        tmp_path / "mine", nearest=None, driving=None, inspection=None, first=None
    )
    asked = capsys.readouterr().out
    for title in (*STARTERS.values(), *FIRST_CHANGES.values()):
        assert title in asked
    assert "Nobody was there to ask" not in said
    text = (tmp_path / "mine" / "build.toml").read_text(encoding="utf-8")
    assert "light-roadster" in text
    assert "driving = true" in text
    assert 'id = "wheels-and-tyres"' in text
    assert 'name = "mine"' in text


def test_a_folder_in_use_is_said_before_anything_is_asked(monkeypatch, car):
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr(builtins, "input", lambda _="": pytest.fail("was asked"))
    with pytest.raises(UnknownName, match="in use"):
        asking.ask_and_make(car, nearest=None, driving=None, inspection=None, first=None)


def test_with_nobody_to_ask_it_says_what_was_taken(monkeypatch, tmp_path):
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    said = asking.ask_and_make(
        tmp_path / "b", nearest="none", driving=None, inspection="don't know", first=None
    )
    assert "--driving, --first" in said
    assert "--nearest" not in said


def test_stopping_at_a_question_makes_nothing(monkeypatch, say, tmp_path):
    def stop(_: str = "") -> str:
        raise EOFError

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr(builtins, "input", stop)
    code, said = say("new", tmp_path / "b")
    assert code == 2
    assert "stopped" in said
    assert not (tmp_path / "b").exists()


def test_a_slip_of_the_unit_is_said_at_once(car, say):
    code, said = say("note", car, "car.wheelbase", "2.331 mm", "--with", "tape", "--who", "Ann")
    assert code == 2
    assert "expected 1.5 to 4.5 m" in " ".join(said.split())
    _, said = say("note", car, "car.wheelbase", "2270 mm", "--with", "tape", "--who", "Ann")
    assert "read it once more" not in said


def test_several_changes_are_named_in_one_answer(monkeypatch, tmp_path):
    answers = iter(["4", "yes", "", "brakes, paint", "4, 2"])
    monkeypatch.setattr(builtins, "input", lambda _="": next(answers))
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    asking.ask_and_make(tmp_path / "m", nearest=None, driving=None, inspection=None, first=None)
    text = (tmp_path / "m" / "build.toml").read_text(encoding="utf-8")
    assert text.index('id = "brakes"') < text.index('id = "lower-it"')
    assert "wheels-and-tyres" not in text
    read_build(tmp_path / "m")


@pytest.mark.parametrize(
    ("given", "meant"),
    [("lower it", ("lower it",)), ("brakes; lower, brakes", ("brakes", "lower it")), ("", ()),
     ("5, a whole list",
      ("power", "wheels and tyres", "lower it", "more fuel", "brakes", "remap"))],
)  # fmt: skip
def test_a_list_of_changes_is_taken_in_its_order_each_once(given, meant):
    assert changes_named(given) == meant
