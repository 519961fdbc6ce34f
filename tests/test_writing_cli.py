"""What is written down by commands: ``note``, ``did``, ``undo``, and what it is called."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from drybuild.journal import Journal

QUICK = ["--draws", "256"]
DEMO = Path(__file__).parents[1] / "examples" / "plover"


def test_a_note_narrows_the_reading(run, build):
    """A drawn 1 mm of the scale becomes the vernier's 0.1 mm or so; undone, it is as before."""

    def margin() -> tuple[float, float]:
        data = json.loads(run("check", build, *QUICK, "--json").out)
        f = next(
            f for f in data["findings"]
            if f["check"] == "corners.arch_bump_gap" and f["subject"] == "rear.left"
        )  # fmt: skip
        return f["margin"]["high"] - f["margin"]["low"], f["margin"]["median"]

    before, middle = margin()
    assert run("did", build, "wheels", "--who", "Ilse").code == 0
    width = ["tyre.rear.left.section_width", "249 mm", "--with", "vernier"]
    said = run("note", build, *width, "--who", "Ilse")
    assert said.code == 0, said.err
    assert "rear left tyre section width" in said.out
    narrow, moved = margin()
    assert narrow < 0.97 * before
    assert moved != middle
    listed = run("undo", build)
    assert "read rear left tyre section width: 249 mm, vernier" in listed.out
    assert run("undo", build, "2", "--who", "Ilse").code == 0
    assert margin()[0] == pytest.approx(before, rel=0.01)
    assert "(undone)" in run("undo", build).out


def test_a_note_is_refused_where_it_makes_no_sense(run, build):
    for words in (
        ["wheel.front.left.spoke_dept", "42 mm"],
        ["wheel.front.left.spoke_depth", "42 bar"],
        ["wheel.front.left.spoke_depth", "deep"],
    ):
        said = run("note", build, *words, "--with", "depth gauge", "--who", "Ilse")
        assert said.code == 2, words
        assert said.err.strip()
    assert run("undo", build).out.strip() == "The journal is empty."  # nor written into a file


def test_what_nobody_measured_is_decided_by_a_note(run, build):
    def verdict() -> str:
        data = json.loads(run("check", build, *QUICK, "--json").out)
        return next(
            f["verdict"] for f in data["findings"]
            if f["check"] == "corners.caliper_spoke_gap" and f["subject"] == "front.left"
        )  # fmt: skip

    assert verdict() == "unmeasured"
    assert run("did", build, "wheels", "--who", "Ilse").code == 0
    depth = ["note", build, "wheel.front.left.spoke_depth", "95 mm"]
    assert run(*depth, "--with", "depth gauge", "--who", "Ilse").code == 0
    assert verdict() == "enough"


def test_a_tick_does_not_lift_a_hand_check(run, build):
    assert run("did", build, "wheels", "--who", "Ilse").code == 0
    now = run("check", build, *QUICK, "--state", "now")
    assert "stopped" in now.out
    bare = run("did", build, "--verify", "corners.turned_by_hand", "--who", "Ilse")
    assert bare.code == 2
    assert "a tick does not lift this" in bare.err
    assert "--value" in bare.err
    assert "--tool" in bare.err
    given = ["--value", "clear all round, 4 mm", "--tool", "putty"]
    verify = ["did", build, "--verify", "corners.turned_by_hand", *given, "--who", "Ilse"]
    alone = run(*verify)
    assert alone.code == 2
    assert "second person" in alone.err
    assert run(*verify, "--second", "Ilse").code == 2
    done = run(*verify, "--second", "Marten")
    assert done.code == 0
    assert "corners.turned_by_hand" not in done.out.split("Hand checks", 1)[-1]


def test_hand_checks_owed_are_named_with_their_command(run, build):
    said = run("did", build, "wheels", "--who", "Ilse")
    assert "[corners.nuts_tightened]" in said.out
    now = run("check", build, *QUICK, "--state", "now", "--all")
    assert "[corners.nuts_tightened]" in now.out


def test_did_refuses_what_is_not_there(run, build):
    assert "wheels" in run("did", build, "wheel", "--who", "Ilse").err
    assert run("did", build, "--who", "Ilse").code == 2
    assert run("did", build, "--fit", "wheel.front", "--who", "Ilse").code == 2
    assert run("did", build, "--fit", "wheel.front=nowhere", "--who", "Ilse").code == 2
    assert run("did", build, "wheels").code == 2  # nobody's name
    assert run("did", build, "wheels", "--who", "Ilse").code == 0
    twice = run("did", build, "wheels", "--who", "Ilse")
    assert twice.code == 2
    assert "done already" in twice.err


def test_undo_needs_a_name_and_an_entry(run, build):
    run("did", build, "wheels", "--who", "Ilse")
    assert run("undo", build, "1").code == 2
    assert run("undo", build, "7", "--who", "Ilse").code == 2
    undone = run("undo", build, "1", "--who", "Ilse", "--why", "not yet")
    assert undone.code == 0
    assert "entry 2: undoes entry 1: did job wheels: front wheel: " in " ".join(undone.out.split())
    again = run("check", build, *QUICK, "--state", "now")
    assert "nothing changed yet" in again.out


def test_what_was_written_together_is_taken_back_together(run, build):
    """The later first: the wheels cannot come back while what was done after rests on them."""
    run("did", build, "--open", "airbox", "--who", "Ilse")
    run("did", build, "--close", "airbox", "--who", "Ilse")
    assert run("undo", build, "2-1", "--who", "Ilse").code == 2
    undone = run("undo", build, "1-2", "--who", "Ilse")
    assert undone.code == 0
    assert len(undone.out.split("undoes entry")) == 3
    assert Journal(build).standing() == ()


def test_a_number_that_no_entry_has_is_told_with_where_they_stand(run, build):
    run("did", build, "wheels", "--who", "Ilse")
    for words in (("undo", build, "1", "7", "--who", "Ilse"), ("correct", build, "7", "raw=1 mm",
                                                               "--who", "Ilse")):
        said = run(*words)
        assert said.code == 2
        assert f"no entry 7 in the journal. All of them: drybuild journal {build}" in said.err
    assert "undid" not in run("journal", build).out  # all of them or none


def test_a_part_is_called_the_same_in_did_undo_and_journal(run, tmp_path):
    folder = tmp_path / "my-car"
    run("new", folder, "--nearest", "light-roadster", "--first", "wheels and tyres")
    did = " ".join(run("did", folder, "wheels-and-tyres", "--who", "Ann").out.split())
    fitted = "tyre: tyre to be chosen fitted"
    assert f"entry 1: wheel: wheel to be chosen fitted; {fitted}" in did
    assert "fitted as “tyre to be chosen”: of which maker is it, and what is it called?" in did
    assert f'drybuild note {folder} part.my_tyre.name "ITS NAME" --who NAME' in did
    assert "[part.my_tyre]" in (folder / "parts" / "first.toml").read_text(encoding="utf-8")
    for words in (("undo", folder), ("journal", folder)):
        said = " ".join(run(*words).out.split())
        assert f"wheel: wheel to be chosen fitted; {fitted}" in said
        assert "my tyre" not in said
    named = run("note", folder, "part.my_tyre.name", "Sallow Lane", "--who", "Ann")
    assert (named.code, "Sallow Lane" in named.out) == (0, True)
    (folder / "car.toml").write_text("nothing of the kind", encoding="utf-8")
    assert "my tyre fitted" in run("journal", folder).out  # read all the same


def test_a_part_with_a_name_of_its_own_is_fitted_without_a_word(run, build):
    assert "fitted as" not in run("did", build, "wheels", "--who", "Ilse").out


def test_addresses_says_first_what_the_words_are_noted_as(run, tmp_path):
    folder = tmp_path / "my-car"
    run("new", folder, "--nearest", "light-roadster", "--first", "wheels and tyres")
    words = "rear left ride height"
    readme = (DEMO.parents[1] / "README.md").read_text(encoding="utf-8")
    assert f"drybuild addresses my-car {words} " in readme
    said = run("addresses", folder, *words.split())
    head, _, rest = said.out.partition("\n")
    assert head == f"'{words}' is noted as either of these two:"
    named = re.findall(r"^\S+\.\S+$", rest, re.MULTILINE)
    assert named == ["corner.rear.left.arch_point.height", "corner.rear.left.measured_drop"]
    assert rest.count("     now ") == 2
    assert run("addresses", folder, "hub bore").out.startswith("'hub bore' is noted as:\n")
    near = run("addresses", folder, "tyre width pressure").out
    assert near.startswith("'tyre width pressure' is the name of nothing here. The nearest:\n")
    noted = run("note", folder, words, "62 mm", "--who", "Ann")
    assert noted.code == 2
    assert head in noted.err
