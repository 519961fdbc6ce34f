"""Every command as it is typed, on a copy of the demo build."""

from __future__ import annotations

import json
import re
import shutil
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from drybuild.cli.parser import USES, make_parser
from drybuild.show.sentences import JOINT_MEANS

DEMO = Path(__file__).parents[1] / "examples" / "plover"
QUICK = ["--draws", "256"]
COMMANDS = (
    "new", "check", "measure", "workings", "fix", "addresses", "note", "did", "undo", "blend",
    "schema", "demo",
)  # fmt: skip
NEVER = re.compile(r"\bsafe\b|\bpassed\b|OK to drive|\bTraceback\b|\bnan\b|!", re.IGNORECASE)


# ---- help


def test_help_shows_how_to_begin_and_every_command(run):
    said = run("--help")
    assert said.code == 0
    assert "drybuild new my-car" in said.out
    for command in COMMANDS:
        assert re.search(rf"^    {command} ", said.out, re.MULTILINE), command


def test_no_command_shows_the_help(run):
    assert run().out == run("--help").out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_an_example_that_it_takes(run, command):
    import shlex

    said = run(command, "--help")
    assert said.code == 0
    examples = re.findall(rf"^  (drybuild {command}\b.*)$", said.out, re.MULTILINE)
    assert examples
    for example in examples:
        assert make_parser().parse_args(shlex.split(example)[1:]).run is not None


# ---- check


def test_check_says_first_what_it_may_do_then_why_not_then_what_next(run, build):
    said = run("check", build, *QUICK)
    assert said.code == 0
    assert said.err == ""
    for use in USES:
        assert re.search(rf"^  {use} ", said.out, re.MULTILINE), use
    order = ["What it may do when finished", "\nFirst\n", "  1  stops", "  2  measure", " unsure ·"]
    at = [said.out.index(words) for words in order]
    assert at == sorted(at)
    assert "do: " in said.out
    words = " ".join(said.out.split())  # a long folder may wrap
    assert f"drybuild fix {build} " in words
    assert f"drybuild check {build} --all" in words


def test_check_folds_the_rest_until_asked_for(run, build):
    short, long = run("check", build, *QUICK), run("check", build, *QUICK, "--all")
    assert len(short.out.splitlines()) < 60
    assert "[corners.arch_bump_gap]" in long.out
    assert "[corners.arch_bump_gap]" not in short.out
    assert "What stops drive" in long.out
    assert "[corners.nuts_tightened]" in long.out


def test_what_puzzles_is_said_where_it_is_first_met(run, build):
    short, long = run("check", build, *QUICK), run("check", build, *QUICK, "--all")
    for said in (short, long):
        assert JOINT_MEANS in " ".join(said.out.split())
    assert re.search(r"enough \d+ in 100", long.out)
    for said in (short, long):  # what “97 in 100” counts: where such a chance stands, else not
        stands = bool(re.search(r"enough \d+ in 100\b", said.out))
        assert ("“97 in 100” counts cars" in said.out) == stands
    assert "in [ ]:" not in short.out  # it has none
    words = " ".join(long.out.split())
    shown = re.search(rf"in \[ \]: .*: (drybuild workings {build} \S+); drybuild did ", words)
    assert shown is not None
    assert run(*shown[1].split()[1:], *QUICK).code == 0


@pytest.mark.parametrize("extra", [[], ["--all"], ["--state", "now"], ["--units", "us"]])
def test_check_never_gives_leave(run, build, extra):
    said = run("check", build, *QUICK, *extra)
    assert said.code == 0
    assert not NEVER.search(said.out.replace(str(build), "DIR")), NEVER.search(said.out)
    assert "No result here says that the car may be driven" in said.out


def test_lines_keep_to_the_width_but_for_commands(run, build, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    said = run("check", build, *QUICK, "--all")
    long = [line for line in said.out.splitlines() if len(line) > 80]
    assert [line for line in long if str(build) not in line] == []


def test_a_folder_on_which_nothing_is_changed_asks_for_it_with_a_command(run, tmp_path):
    folder = tmp_path / "my-car"
    assert run("new", folder).code == 0
    for words in (("check", folder, *QUICK), ("measure", folder)):
        said = run(*words)
        assert said.code == 0
        assert "say what you want to change" in said.out
        assert "when finished" not in said.out
        assert "nothing asks for anything" not in said.out
        command = re.search(r"try: drybuild new (\S+) --first \"(.*)\"", said.out)
        assert command, said.out
    other = tmp_path / "other"
    assert run("new", other, "--first", command[2]).code == 0
    begun = run("check", other, *QUICK)
    assert "say what you want to change" not in begun.out
    assert "What it may do when finished" in begun.out
    # Nothing of this car is known yet: no chance is said of what is left over.
    assert re.search(r"all of it enough at once: not counted while \d+ of \d+ findings", begun.out)
    assert JOINT_MEANS not in begun.out


def test_a_heading_counts_as_the_line_that_counts_all(run, build):
    said = run("check", build, *QUICK, "--all").out
    counted = re.search(r"^(\d+ enough · .*)$", said, re.MULTILINE)[1]
    for verdict in ("short", "unmeasured", "unsure", "enough"):
        number = re.search(rf"^{verdict} \((\d+)(?:, and (\d+) as found)?\)$", said, re.MULTILINE)
        assert f"{number[1]} {verdict}" in counted
    found = re.findall(r"^\w+ \(\d+, and (\d+) as found\)$", said, re.MULTILINE)
    rest = int(re.search(r"and (\d+) of what no change touches", " ".join(said.split()))[1])
    assert sum(map(int, found)) == rest


def test_the_page_heads_its_lists_as_the_terminal_does(run, build, tmp_path):
    page = tmp_path / "car.html"
    assert run("check", build, *QUICK, "--page", page).code == 0
    written = page.read_text(encoding="utf-8")
    said = run("check", build, *QUICK, "--all").out
    heads = re.findall(r"^(?:short|unmeasured|unsure|enough) \(.*\)$", said, re.MULTILINE)
    assert len(heads) == 4
    assert any("as found" in head for head in heads)
    for head in heads:
        assert f"<summary>{head}</summary>" in written


def test_hand_checks_are_said_to_be_below_only_where_they_are(run, tmp_path):
    folder = tmp_path / "car"
    shutil.copytree(DEMO.parent / "plover_saturdays", folder)
    short = run("check", folder)
    assert "make and write down the hand checks" in short.out
    assert "hand checks below" not in short.out
    assert f"which: drybuild check {folder} --all" in short.out
    whole = run("check", folder, "--all").out
    assert "hand checks below" in whole
    assert whole.index("hand checks below") < whole.index("Not recorded yet")


def test_states(run, build):
    now = run("check", build, *QUICK, "--state", "now")
    assert now.code == 0
    assert "as it stands today: nothing changed yet" in now.out
    assert "stopped" not in now.out
    assert "say what you want to change" not in now.out  # it is said: there are jobs
    assert f"then: drybuild check {build}\n" in now.out
    after = run("check", build, *QUICK, "--state", "after:sat-1")
    assert after.code == 0
    assert "What it may do after sat-1" in after.out
    wrong = run("check", build, *QUICK, "--state", "after:sat1")
    assert wrong.code == 2
    assert "after:sat-1" in wrong.err


def test_strict_looks_at_the_wanted_use(run, build):
    assert run("check", build, *QUICK, "--strict").code == 1
    assert run("check", build, *QUICK, "--strict", "--use", "turn over").code == 0
    assert run("check", build, *QUICK, "--strict", "--state", "now").code == 0
    assert run("check", build, *QUICK, "--use", "fly").code == 2


def test_json_of_check_keeps_to_its_schema(run, build):
    schema = json.loads(
        files("drybuild.examine").joinpath("check.schema.json").read_text(encoding="utf-8")
    )
    for state in ("now", "finished", "after:sat-2"):
        said = run("check", build, *QUICK, "--json", "--state", state)
        assert said.code == 0
        data = json.loads(said.out)
        jsonschema.validate(data, schema)
        assert data["state"] == state
        assert data["draws"] == 256


def test_us_units(run, build):
    said = run("check", build, *QUICK, "--all", "--units", "us")
    # Rules keep the figures of their own text, so only what is worked out is looked at.
    metric = r"(about|spare|short by) -?[\d.]+ (mm|bar|N/mm|N·m|°C|km/h|kg|L/h|cc/min|kW|km|L)\b"
    told = " ".join(said.out.split())
    assert re.search(metric, " ".join(run("check", build, *QUICK, "--all").out.split()))
    assert not re.search(metric, told), re.search(metric, told)
    for unit in (" in,", " psi", "mph"):
        assert unit in said.out, unit
    assert re.search(r"\d ?°F|degF", said.out)
    springs = run("workings", build, "frequency_high", "front", "--units", "us", *QUICK)
    assert "lb/in" in springs.out


def test_a_page_is_written_and_said(run, build, tmp_path):
    pytest.importorskip("matplotlib")
    pytest.importorskip("jinja2")
    page = tmp_path / "out" / "car.html"
    said = run("check", build, *QUICK, "--page", page)
    assert said.code == 0
    assert str(page) in said.out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


# ---- measure, workings, fix


def test_measure_gives_a_command_that_can_be_typed(run, build):
    import shlex

    said = run("measure", build, *QUICK)
    assert said.code == 0
    found = re.findall(r"^ +then: drybuild (.*)$", said.out, re.MULTILINE)
    assert found
    for command in found:
        words = shlex.split(command.replace("READING", "'41 mm'"))
        assert make_parser().parse_args(words).who == "NAME"
    assert "Loft Five 17x8, spoke depth: depth gauge, 10 min\n" in said.out  # a part in hand


def test_workings_end_with_the_margin_and_name_sources(run, build):
    said = run("workings", build, "arch_bump_gap", "rear.left", *QUICK)
    assert said.code == 0
    numbers = [int(n) for n in re.findall(r"^ {0,2}(\d+)  ", said.out, re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert said.out.count("source: ") == len(numbers)
    assert "Biggest unknowns" in said.out
    for step in re.findall(r"\(step (\d+)\)", said.out):
        assert int(step) <= len(numbers)
    assert "0.000000" not in said.out
    loose = run("workings", build, "ride.spring_captive", "rear.left", *QUICK)
    assert "damper = tolland damper rear  (rear left damper part)" in loose.out
    assert "tolland_" not in loose.out  # no name with the machine's underscores


def test_workings_of_nothing_list_what_one_may_ask_for(run, build):
    said = run("workings", build, *QUICK)
    assert said.code == 0
    assert "  corners.arch_bump_gap rear.left: short: the tyre meets the arch lip" in said.out
    for check, place in re.findall(r"^  (\w+\.\w+) (\S+): ", said.out, re.MULTILINE)[:2]:
        assert run("workings", build, check, place, *QUICK).code == 0
    unknown = run("workings", build, "zzzzzz", *QUICK)
    assert unknown.code == 2
    assert f"drybuild check {build} --all has each in [brackets]" in unknown.err


def test_without_a_place_the_worst_is_shown(run, build):
    said = run("workings", build, "corners.arch_bump_gap", *QUICK)
    assert said.out.startswith("rear ")


def test_an_unknown_check_is_refused_with_the_nearest(run, build):
    said = run("workings", build, "arch_bumb_gap", *QUICK)
    assert said.code == 2
    assert "arch_bump_gap" in said.err
    place = run("workings", build, "arch_bump_gap", "middle", *QUICK)
    assert place.code == 2
    assert "rear.left" in place.err


def test_fix_offers_what_cures_and_can_keep_it(run, build):
    said = run("fix", build, "arch_bump_gap", "rear.left", *QUICK)
    assert said.code == 0
    assert re.search(r"^  1  .+\n     then room to spare", said.out, re.MULTILINE)
    assert "{" not in said.out
    before = (build / "build.toml").read_text(encoding="utf-8")
    assert run("fix", build, "arch_bump_gap", "rear.left", *QUICK, "--keep", "9").code == 2
    kept = run("fix", build, "arch_bump_gap", "rear.left", *QUICK, "--keep", "1")
    assert kept.code == 0
    after = (build / "build.toml").read_text(encoding="utf-8")
    comments = [line for line in before.splitlines() if line.startswith("#")]
    assert all(comment in after for comment in comments)
    assert 'id = "fix-arch-bump-gap"' in after
    again = run("fix", build, "arch_bump_gap", "rear.left", *QUICK)
    assert "Nothing to mend" in again.out
    assert f"drybuild undo {build} fix-arch-bump-gap --who NAME" in kept.out
    assert "fix-arch-bump-gap: job: " in run("undo", build).out
    assert run("undo", build, "fix-arch-bump-gap", "--who", "Ann").code == 0
    assert (build / "build.toml").read_text(encoding="utf-8").strip() == before.strip()
    assert run("undo", build, "first", "--who", "Ann").code == 2  # a job that fix did not plan


def test_fix_of_the_whole_car(run, build):
    said = run("fix", build, *QUICK)
    assert said.code == 0
    assert re.search(r"all of it enough at once: 0 in 100 \(5 of \d+ unmeasured, not in it\) "
                     r"as planned, \d\d in 100 .* with", " ".join(said.out.split()))
    assert "Still to be measured" in said.out
    cares = re.findall(r"^Care: (.*)$", said.out, re.MULTILINE)
    assert [care for care in cares if not care[0].isupper()] == []
    assert "Care: A rule set is a reading aid" in said.out
    assert not NEVER.search(said.out.replace(str(build), "DIR"))


# ---- faults


def test_faults_name_file_and_line_and_never_a_traceback(run, build):
    car = build / "car.toml"
    text = car.read_text(encoding="utf-8")
    lines = text.splitlines()
    line = next(i for i, row in enumerate(lines) if row.startswith("wheelbase"))
    lines[line] = 'wheelbsae = "2330 mm"'
    car.write_text("\n".join(lines), encoding="utf-8")
    for command in (["check"], ["measure"], ["workings", "arch_bump_gap"], ["fix"]):
        said = run(command[0], build, *command[1:])
        assert said.code == 2
        assert f"car.toml:{line + 1}" in said.err
        assert "wheelbase" in said.err
        assert "Traceback" not in said.err
        assert said.out == ""


def test_a_folder_that_is_not_there(run, tmp_path):
    said = run("check", tmp_path / "nowhere")
    assert said.code == 2
    assert "no such folder" in said.err
    assert "drybuild new FOLDER" in said.err
    assert "drybuild serve FOLDER" in said.err
    (tmp_path / "empty").mkdir()
    assert "drybuild new FOLDER" in run("check", tmp_path / "empty").err
    (tmp_path / "file").write_text("", "utf-8")
    assert "drybuild new" not in run("check", tmp_path / "file").err


# ---- the others


def test_blend(run):
    tank = ["blend", "--in-tank", "20 L", "--tank", "10 %", "--want", "30 %"]
    said = run(*tank, "--add", "51 to 85 %")
    assert said.code == 0
    litres = float(re.search(r"add ([\d.]+) L", said.out)[1])
    assert litres == pytest.approx(20 * (0.30 - 0.10) / (0.68 - 0.30), rel=0.02)
    assert run(*tank, "--add", "20 %").code == 2
    bare = run(*tank, "--add", "85")
    assert bare.code == 2
    assert "--add: found " in bare.err  # which of the four it is


def test_schema(run, tmp_path):
    whole = json.loads(run("schema").out)
    assert set(whole) == {"build", "car", "parts", "work", "check", "answers"}
    for name in ("check", "answers"):
        one = json.loads(run("schema", name).out)
        jsonschema.Draft202012Validator.check_schema(one)
    said = run("schema", "--write", tmp_path / "schema")
    assert said.code == 0
    assert len(said.out.split()) == len(list((tmp_path / "schema").iterdir())) == 5


def test_demo_is_copied_once_and_examined(run, tmp_path):
    said = run("demo", tmp_path / "plover")
    assert said.code == 0
    assert "invented" in said.out
    assert "What it may do when finished" in said.out
    again = run("demo", tmp_path / "plover")
    assert again.code == 2
    assert "not empty" in again.err


def test_new_makes_a_folder_that_checks_at_once(run, tmp_path):
    listed = run("new", "--list")
    assert "light-roadster" in listed.out
    said = run(
        "new", tmp_path / "mine", "--nearest", "light-roadster", "--driving", "yes",
        "--inspection", "don't know", "--first", "lower it",
    )  # fmt: skip
    assert said.code == 0, said.err
    assert "drybuild check" in said.out
    checked = run("check", tmp_path / "mine", *QUICK)
    assert checked.code == 0, checked.err
    wrong = run("new", tmp_path / "other", "--nearest", "light-roadstr")
    assert wrong.code == 2
    assert "light-roadster" in wrong.err
    assert run("new").code == 2
