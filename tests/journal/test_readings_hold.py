"""Which readings hold, for which car: the order of deeds, readings, sets and undos."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change, ChangeRefused, read_build
from drybuild.build.drawn import DrawnFacts
from drybuild.cli import main
from drybuild.journal import Journal, after_session, finished, present
from drybuild.journal.now import NUTS
from drybuild.values import Draws

BUILD = """\
format = 1
[build]
name = "toy"
[[session]]
id = "one"
[[session]]
id = "two"
[[job]]
id = "later"
session = "two"
fit = { "wheel.front" = "wide" }
[[job]]
id = "unplanned"
fit = { "spring.rear" = "short" }
[[job]]
id = "first"
session = "one"
fit = { "wheel.front" = "wider" }
[blend.strong]
ethanol = "50 to 80 %"
"""
CAR = """\
format = 1
name = "toy car"
[fitted]
wheel = "std"
spring = "soft"
spacer = "none"
[corner.front]
camber = "-1 deg"
[corner.rear]
camber = "-1 deg"
"""
PARTS = """\
format = 1
[part.std]
kind = "wheel"
offset = "45 mm"
[part.wide]
kind = "wheel"
offset = "32 mm"
[part.wider]
kind = "wheel"
offset = "25 mm"
[part.soft]
kind = "spring"
[part.short]
kind = "spring"
"""
OFFSET, CAMBER = "wheel.front.left.offset", "corner.rear.left.camber"
WIDE, SHORT = Change("fit", "wheel.front", "wide"), Change("fit", "spring.rear", "short")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "all.toml").write_text(PARTS, encoding="utf-8")
    return tmp_path


def now(folder):
    return present(read_build(folder), Journal(folder))


def median(state, address):
    fact = DrawnFacts(state, Draws(1024)).fact(address)
    values = sorted(fact.value) if hasattr(fact.value, "__len__") else [fact.value]
    return values[len(values) // 2]


def test_what_was_read_after_a_set_beats_what_was_set(folder):
    journal = Journal(folder)
    journal.did([Change("set", OFFSET, "40 mm")], who="Ilse")
    journal.note(OFFSET, "37 ± 0.2 mm", who="Ilse")
    assert median(now(folder).state, OFFSET) == pytest.approx(0.037, abs=1e-4)
    assert now(folder).clashes == ()
    journal.did([Change("set", OFFSET, "41 mm")], who="Ilse")
    assert median(now(folder).state, OFFSET) == pytest.approx(0.041, abs=1e-3)


def test_a_planned_set_beats_what_was_read_before_it(folder):
    Journal(folder).note(OFFSET, "37 ± 0.2 mm", who="Ilse")
    planned = now(folder).state.after([Change("set", OFFSET, "40 mm")])
    assert median(planned, OFFSET) == pytest.approx(0.040, abs=1e-3)


def test_a_set_of_one_fact_keeps_the_readings_of_its_neighbours(folder):
    Journal(folder).note("blend.strong.ethanol", "71 %", who="Ilse")
    planned = now(folder).state.after([Change("set", "blend.strong.used", True)])
    assert "blend.strong.ethanol" in planned.readings


def test_a_figure_as_found_that_was_read_in_time_is_used_in_every_state(folder):
    journal = Journal(folder)
    journal.note(CAMBER, "-0.5 ± 0.1 deg", who="Ilse")
    build = read_build(folder)
    assert CAMBER in finished(build, now(folder)).readings
    journal.did([SHORT], who="Ilse")
    assert CAMBER in now(folder).state.readings
    assert now(folder).stale == ()


def test_a_figure_as_found_that_was_read_too_late_is_not_used_and_said(folder):
    journal = Journal(folder)
    journal.did([SHORT], who="Ilse")
    journal.note(CAMBER, "-2.5 ± 0.1 deg", who="Ilse")
    there = now(folder)
    assert CAMBER not in there.state.readings
    assert CAMBER not in there.state.base.readings
    assert "as found" in str(there.stale[0])


def test_the_command_refuses_a_figure_as_found_that_comes_too_late(folder, capsys):
    Journal(folder).did([SHORT], who="Ilse", at="2026-12-05")
    note = ["note", str(folder), CAMBER, "-2.5 deg", "--who", "Ilse"]
    assert main(note) == 2
    said = capsys.readouterr().err
    assert "as found" in said
    assert f"note {CAMBER}_now" in said
    assert main([*note, "--at", "2026-12-01"]) == 0
    assert main(["note", str(folder), f"{CAMBER}_now", "-2.5 deg", "--who", "Ilse"]) == 0


def test_a_reading_written_down_late_is_of_the_car_as_it_stood_then(folder):
    journal = Journal(folder)
    journal.did([WIDE], who="Ilse", at="2026-12-05")
    journal.note(OFFSET, "46 ± 0.5 mm", who="Ilse", at="2026-12-04")
    there = now(folder)
    assert OFFSET not in there.state.readings
    assert there.state.base.readings[OFFSET].median == pytest.approx(0.046)
    journal.note(OFFSET, "31.5 ± 0.5 mm", who="Ilse", at="2026-12-05")  # the same day: after it
    assert now(folder).state.readings[OFFSET].median == pytest.approx(0.0315)


def test_a_reading_of_a_state_that_was_undone_no_longer_holds(folder):
    journal = Journal(folder)
    deed = journal.did([WIDE], who="Ilse")
    journal.note(OFFSET, "31.6 ± 0.5 mm", who="Ilse")
    journal.note("wheel.rear.left.offset", "45.2 ± 0.5 mm", who="Ilse")
    undo = journal.undo(deed.id, who="Ilse", why="they came off again")
    there = now(folder)
    assert OFFSET not in there.state.readings
    assert OFFSET not in there.state.base.readings
    assert "wheel.rear.left.offset" in there.state.readings
    assert "taken back" in str(there.stale[0])
    journal.undo(undo.id, who="Ilse")
    assert OFFSET in now(folder).state.readings


def test_a_reading_taken_after_an_undo_is_of_the_car_without_the_deed(folder):
    journal = Journal(folder)
    deed = journal.did([WIDE], who="Ilse")
    undo = journal.undo(deed.id, who="Ilse")
    journal.note(OFFSET, "45.5 ± 0.5 mm", who="Ilse")
    assert OFFSET in now(folder).state.readings
    journal.undo(undo.id, who="Ilse")  # so the wide wheels were on after all
    assert OFFSET not in now(folder).state.readings


def test_no_reading_of_an_empty_place(folder, capsys):
    assert main(["note", str(folder), "spacer.front.left.thickness", "5 mm", "--who", "Ilse"]) == 2
    assert "nothing is fitted at spacer.front.left" in capsys.readouterr().err


def test_jobs_are_done_in_the_order_of_their_sessions(folder):
    build, there = read_build(folder), now(folder)
    assert after_session(build, there, "one").fitted["wheel.front.left"] == "wider"
    assert after_session(build, there, "two").fitted["wheel.front.left"] == "wide"
    assert after_session(build, there, "two").fitted["spring.rear.left"] == "soft"
    done = finished(build, there)
    assert done.fitted["wheel.front.left"] == "wide"
    assert done.fitted["spring.rear.left"] == "short"


def test_a_deed_that_no_longer_suits_the_files_is_named(folder, capsys):
    journal = Journal(folder)
    journal.did([SHORT], who="Ilse", at="2026-12-01")
    journal.did([WIDE], who="Ilse", at="2026-12-02")
    (folder / "build.toml").write_text('format = 1\n[build]\nname = "x"\n', encoding="utf-8")
    parts = folder / "parts" / "all.toml"
    text = parts.read_text(encoding="utf-8").replace("part.wide]", "part.other]")
    parts.write_text(text, encoding="utf-8")
    with pytest.raises(ChangeRefused, match=r"entry 2 .*2026-12-02.*no part 'wide'"):
        now(folder)
    assert main(["undo", str(folder), "2", "--who", "Ilse"]) == 0
    assert now(folder).state.fitted["spring.rear.left"] == "short"


def test_the_hash_of_the_inputs_follows_the_journal(folder):
    before = now(folder).state.inputs_hash
    assert before == read_build(folder).inputs_hash
    journal = Journal(folder)
    reading = journal.note(OFFSET, "46 ± 0.5 mm", who="Ilse")
    noted = now(folder).state.inputs_hash
    assert noted != before
    journal.undo(reading.id, who="Ilse")
    assert now(folder).state.inputs_hash == before
    journal.did([WIDE], who="Ilse")
    assert now(folder).state.inputs_hash not in (before, noted)
    assert now(folder).state.inputs_hash == now(folder).state.inputs_hash


def _studs(folder: Path, of: str = "corner") -> object:
    return now(folder).state.readings.get(f"{of}.front.left.bolt_count")


def test_nuts_that_hold_a_wheel_say_how_many_studs_its_hub_has_and_a_tick_does_not(
    folder: Path,
) -> None:
    text = (folder / "parts" / "all.toml").read_text(encoding="utf-8")
    with_holes = text.replace('offset = "32 mm"', 'offset = "32 mm"\nbolt_count = 5')
    (folder / "parts" / "all.toml").write_text(with_holes, encoding="utf-8")
    journal = Journal(folder)
    journal.did([WIDE], who="Ann")
    assert _studs(folder) is None
    journal.did([Change("verify", NUTS)], who="Ann")
    assert (_studs(folder), _studs(folder, "wheel")) == (5, 5)
    journal.note("corner.front.left.bolt_count", 4, who="Ann")
    assert _studs(folder) == 4
    journal.did([Change("fit", "wheel.front", "wider")], who="Ann")
    assert (_studs(folder), _studs(folder, "wheel")) == (4, None)
