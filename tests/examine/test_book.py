"""The book as data: as built and nothing else, each figure with where it comes from."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import built_car
import numpy as np
import pytest

import drybuild
from drybuild.build import Change
from drybuild.build.editing import set_fact
from drybuild.build.new import make_build
from drybuild.examine.book import fingerprint, imprint, make_book, names_folder
from drybuild.examine.book.identity import built_parts
from drybuild.examine.book.limits import limits
from drybuild.examine.opened import open_build
from drybuild.examine.recording import verification
from drybuild.findings import Verdict
from drybuild.journal import Journal
from drybuild.show.book import _fitted, contents
from drybuild.show.book_page import _tables, book_page
from drybuild.show.book_text import lacks
from drybuild.show.book_words import room_of, sides_texts

EXAMPLES = Path(__file__).parents[2] / "examples"
MADE = datetime(2026, 12, 14, 9, 30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return built_car.make(tmp_path_factory.mktemp("built") / "car")


@pytest.fixture(scope="module")
def opened(folder):
    return drybuild.open_build(folder)


@pytest.fixture(scope="module")
def book(opened):
    return make_book(opened, made_on=MADE, draws=1024)


def test_only_what_is_on_the_car_is_in_it(opened, book):
    here = {part for part in opened.present.state.fitted.values() if part}
    assert {p.id for p in book.parts} == here
    planned = {part for job in book.still_open for part in job.fit.values()}
    assert planned
    assert not planned & {p.id for p in book.parts if p.changed}
    assert book.examination.state.name == "now"


def test_what_is_planned_is_named_apart(opened, book):
    assert {j.id for j in book.still_open} == {j.id for j in opened.build.jobs} - {
        "springs", "rear-arms", "wheels",
    }  # fmt: skip


def test_a_part_says_when_and_by_whom_it_was_fitted(book):
    rear = next(p for p in book.parts if p.id == "loft_17x85")
    assert (rear.fitted, rear.by) == ("2026-12-12", "Ilse")
    assert rear.part.serial == "L-22871 left, L-22872 right"
    assert rear.part.approvals == ("LT 690",)


DEMOS = ("plover", "plover_saturdays", "plover_scanned")
PERCENTS = ("ratio", "fraction")
SAME = {"temperature": "temperature_difference", "pressure_gauge": "pressure_difference"}
"""Kind of two figures → that of their difference, where it is another."""


@pytest.fixture(scope="module", params=DEMOS)
def examined(request):
    """Each demo as found and finished, each finding with what it is between."""
    opened = drybuild.open_build(EXAMPLES / request.param)
    made = []
    for state in ("now", "finished"):
        examination = opened.examine(state, draws=256)
        every = replace(
            examination, findings=tuple(f.but(armed=True) for f in examination.findings)
        )
        made += limits(every, (), "metric")
    return made


def test_every_finding_that_was_measured_shows_limit_and_found(examined):
    """What must only agree has no limit; what nobody has measured has no figure yet."""
    assert len(examined) > 500
    without = {
        one.finding.check for one in examined
        if not any(line.startswith("found ") for line in sides_texts(one, "metric"))
        and one.finding.kind != "match" and one.finding.verdict is not Verdict.UNMEASURED
    }  # fmt: skip
    assert without == set()
    for one in examined:
        said = sides_texts(one, "metric")
        if one.sides is not None:
            assert said[0].startswith(("at least ", "at most ")), one.finding
            assert "not solved" not in said[0], one.finding


def test_the_room_is_the_difference_of_limit_and_found(examined):
    """Drawn by drawn; where it is a share of one of them, both are enough or short alike."""
    for one in examined:
        if one.sides is None or one.finding.slack is None:
            continue
        low = -np.inf if one.sides.low is None else one.sides.low
        high = np.inf if one.sides.high is None else one.sides.high
        room = np.nanmedian(np.minimum(one.sides.found - low, high - one.sides.found))
        slack = one.finding.slack  # of several rules the strictest may be another in a few draws
        kind = one.finding.kind
        if one.finding.system == "law":  # a rule may be read in whole steps of its instrument
            assert (room > 0) == (slack.median > 0) or abs(slack.median) < 1e-6, one.finding
        elif one.sides.kind == kind or SAME.get(one.sides.kind) == kind:
            near = 0.03 * (slack.high - slack.low) + 1e-6
            assert room == pytest.approx(slack.median, rel=1e-3, abs=near), one.finding
        elif abs(slack.median) > 1e-6:
            assert (room > 0) == (slack.median > 0), one.finding


def test_a_percent_says_what_it_is_of(examined):
    for one in examined:
        if one.finding.kind in PERCENTS and one.sides is not None:
            assert one.share_of, one.finding.check
            said = f"of {one.share_of}"
            assert (said in " ".join(sides_texts(one, "metric"))) != (said == room_of(one))


def test_what_was_found_is_what_the_check_is_about(opened):
    """Of the figures that a certifier asks for first."""
    found = opened.examine("now", draws=256)
    every = replace(found, findings=tuple(f.but(armed=True) for f in found.findings))
    by = {one.finding.check: sides_texts(one, "metric") for one in limits(every, (), "metric")}
    for check, limit in (
        ("breathing.exhaust_back_pressure", "at most 0.3 bar"),
        ("fuel.injector_duty", "at most 85 % of the engine's cycle"),
        ("fuel.supply_loss", "at most 0.6 bar"),
        ("fuel.rail_balance", "at most 1 % of each injector's flow"),
        ("corners.tyre_pressure", "at most 3.4 bar gauge"),
    ):
        assert by[check][0] == limit
    # at idle the regulator holds the rail by its base pressure over a manifold under suction
    assert by["fuel.return_flow"][0].startswith("at most about 2.5")
    assert by["fuel.return_flow"][1].startswith("found about 2.4")
    assert all(not line.startswith("at least") for line in by["fuel.feed_hose_pressure"])


def test_a_use_is_not_called_free_where_a_rule_is_outside_as_found(tmp_path):
    """As found it stops nothing; whoever reads the first pages must not take it for cleared."""
    folder = tmp_path / "car"
    shutil.copytree(EXAMPLES / "plover_saturdays", folder)
    untouched = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    uses = {u["use"]: u for u in contents(untouched)["uses"]}
    assert not uses["compete"]["stopped"]
    assert uses["compete"]["free"] == "no change to the car stops it"
    assert uses["compete"]["outside"] == 1
    assert (uses["drive"]["free"], uses["drive"]["outside"]) == ("nothing recorded stops it", 0)
    rules = [r for one in contents(untouched)["rules"] for r in one["rows"]]
    assert [r["says"] for r in rules if r["outside"] and "compete" in r["as-found"]] == [
        "crankcase breather leads to a catch tank"
    ]
    assert 'href="#rules">outside as found: 1' in book_page(untouched)


def test_the_limits_speak_the_trades_words(book):
    """No names of the folder or of a formula beside a figure."""
    for group in contents(book)["limits"]:
        for row in group["rows"]:
            said = " · ".join(row["inputs"])
            for word in ("several numbers", "worked out", "present yes", "used yes", "_"):
                assert word not in said, row["title"]


def test_a_part_that_is_taken_off_again_leaves_the_book(tmp_path):
    opened = drybuild.open_build(built_car.make(tmp_path / "car"))
    opened.journal.did([Change("fit", "wheel.rear", "plover_16x6")], who="Ilse", at="2026-12-13")
    again = drybuild.open_build(tmp_path / "car")
    assert "loft_17x85" not in {p.id for p in make_book(again, made_on=MADE, draws=64).parts}


def test_date_codes_are_of_each_tyre_and_missing_ones_are_said(book):
    codes = {place: code for part in book.parts for place, code in part.codes}
    assert codes == {
        "tyre.front.left": "2526", "tyre.front.right": "2526", "tyre.rear.left": "2026",
        "tyre.rear.right": "",
    }  # fmt: skip


def test_the_identity_takes_the_later_reading_and_says_whose(book):
    facts = {f.title: f for f in book.identity}
    assert facts["chassis number"].value == "FNK1PLVR0G0004711"
    odometer = facts["odometer"]
    assert (odometer.value.text, odometer.by, odometer.when) == (
        "{ by = 'document', is = '84312 km' }", "read by Ilse", "2026-12-13",
    )  # fmt: skip
    assert facts["gearbox number"].value == ""


def test_what_a_starter_car_assumes_is_said_to_be_assumed(tmp_path):
    """Until somebody reads it, or the file says how it is known."""
    folder = built_car.make(tmp_path / "car")
    file = folder / "car.toml"
    text = file.read_text(encoding="utf-8").replace('known = "catalogue"', 'known = "assumed"', 1)
    text = text.replace('body = "open"', 'body = {is = "open", by = "document"}')
    file.write_text(text, encoding="utf-8")
    opened = drybuild.open_build(folder)
    opened.journal.note("registration.category", {"is": "M1", "by": "document"}, who="Ilse")
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    facts = {f.title: f for f in book.identity}
    tyres = facts["tyres on the placard"]
    assert tyres.assumed
    assert tyres.by == "assumed in car.toml"
    said = next(s for s in lacks(book) if s.startswith("assumed, not read off car or papers: "))
    assert "tyres on the placard" in said
    assert "category" not in said
    for title in ("category", "body", "chassis number"):
        assert not facts[title].assumed, title


def test_a_reading_names_instrument_calibration_who_and_when(book):
    weighed = next(r for r in book.readings if "car.kerb_mass" in r.addresses)
    assert weighed.instrument == "corner scales of Halm, no. CS-0417"
    assert weighed.calibrated == "2026-05-11"
    assert (weighed.who, weighed.when, weighed.entry) == ("Halm", "2026-12-13", 5)


def test_a_figure_of_a_file_says_that_who_and_when_were_not_recorded(book):
    camber = next(r for r in book.readings if "corner.front.left.camber" in r.addresses)
    assert camber.addresses == ("corner.front.left.camber", "corner.front.right.camber")
    assert camber.who == camber.when == "not recorded"
    assert camber.file == "car.toml"


def test_an_instrument_is_found_by_its_sort_only_when_there_is_one(tmp_path):
    other = '\n[[instrument]]\nname = "tape 5 m"\nis_a = "tape"\ncalibrated = "2024-01-01"\n'
    opened = drybuild.open_build(built_car.make(tmp_path / "car", extra_build=other))
    found = make_book(opened, made_on=MADE, draws=64)
    taped = next(r for r in found.readings if "corner.front.left.droop_travel" in r.addresses)
    assert taped.instrument == "tape"
    assert taped.calibrated == ""


def test_load_and_pose_stand_beside_each_reading(book):
    gap = next(r for r in book.readings if "corner.rear.left.arch_point.gap" in r.addresses)
    assert gap.standing == "in it: nobody; on its wheels, rolled and settled, straight ahead"
    assert all(r.standing for r in book.readings)


def test_the_declared_way_is_said_only_where_its_tool_was_used(tmp_path):
    """A stamp that was read is no straightedge over the flange."""
    opened = drybuild.open_build(built_car.make(tmp_path / "car"))
    for by, side in (("stamp", "left"), ("string", "right")):
        opened.journal.note(
            f"wheel.front.{side}.offset", {"is": "43 mm", "by": by}, who="Ilse", instrument=by,
            at="2026-12-13",
        )  # fmt: skip
    opened.journal.note(
        "corner.front.left.camber", {"is": "-1.2 deg", "by": "camber gauge"}, who="Ilse",
        at="2026-12-13",
    )  # fmt: skip
    found = make_book(drybuild.open_build(tmp_path / "car"), made_on=MADE, draws=64)
    by_address = {a: r for r in found.readings for a in r.addresses}
    stamped, strung = (by_address[f"wheel.front.{side}.offset"] for side in ("left", "right"))
    assert stamped.standing == "as its maker states it, not measured"
    assert strung.standing == "how it was taken was not written down"
    camber = by_address["corner.front.left.camber"]
    assert camber.standing == "as the sheet says: level floor, straight ahead, nobody in it"


def test_each_limit_names_the_readings_under_it(book):
    numbers = {r.number: set(r.addresses) for r in book.readings}
    caliper = next(
        one
        for one in book.limits
        if one.finding.check == "corners.caliper_spoke_gap" and one.finding.subject == "front.left"
    )
    behind = set().union(*(numbers[n] for n in caliper.readings))
    assert "wheel.front.left.spoke_depth" in behind
    assert behind <= {a.removeprefix("base:") for one in book.limits for a in one.finding.facts}


def test_limits_are_those_that_a_change_concerns(book):
    assert {(one.finding.check, one.finding.subject) for one in book.limits} == {
        (f.check, f.subject) for f in book.examination.findings if f.armed
    }


def test_a_rule_says_clause_and_edition_and_what_it_was_held_against(book):
    sets = {one.rules.id: one for one in book.rules}
    assert list(sets) == ["un-base", "au-light-modified", "callow-hill-club"]
    low = next(r for r in sets["un-base"].read if r.rule.id == "r39-never-below")
    assert [f.check for f in low.findings] == ["law.speedometer_low"]
    assert low.outside
    assert all(one.rules.jurisdiction and one.rules.edition for one in book.rules)


def test_what_nobody_measured_is_not_assessed(book):
    missing = [f for f in book.examination.findings if f.verdict is Verdict.UNMEASURED]
    assert missing
    for f in missing:
        assert any(f.title in said for said in book.not_assessed)


def test_the_absence_of_a_document_is_an_entry(book):
    by_part = {one.part.id: one for one in book.documents}
    assert by_part["loft_17x8"].absent
    assert not by_part["loft_17x85"].absent
    assert not by_part["plover_disc_front"].absent
    assert {one.group for one in book.documents} == {
        "what carries the wheel", "brakes", "structure and suspension",
    }  # fmt: skip


def test_hand_checks_made_are_there_and_owed_ones_too(book):
    assert [(m.record, m.again) for m in book.made] == [
        ("corners.nuts_tightened", False), ("corners.seat_and_ring_seen", False),
    ]  # fmt: skip
    assert "corners.nuts_again" in {o.record for o in book.owed}


def test_work_after_a_hand_check_makes_it_owed_again(tmp_path):
    opened = drybuild.open_build(built_car.make(tmp_path / "car"))
    opened.journal.did([Change("disturb", "wheel_nuts.rear")], who="Ilse", at="2026-12-20")
    book = make_book(drybuild.open_build(tmp_path / "car"), made_on=MADE, draws=64)
    assert {m.record: m.again for m in book.made}["corners.nuts_tightened"]
    content = contents(book)
    assert content["made"] == []
    assert [r["title"] for r in content["void"]] == [m.title for m in book.made]
    assert all("owed again" in r["since"] for r in content["void"])


def test_a_hand_check_made_before_the_work_stands_apart_though_it_was_made_again(tmp_path):
    """Whoever certifies never reads of a check as made that later work undid."""
    folder = built_car.make(tmp_path / "car")
    seen = verification(
        drybuild.open_build(folder).registry.records["brakes.bled"], name="Ilse",
        value="firm", tool="pedal gauge", second="Marten",
    )  # fmt: skip
    journal = drybuild.open_build(folder).journal
    early = journal.did([seen], who="Ilse", at="2026-12-20")
    work = journal.did([Change("disturb", "caliper.front")], who="Ilse", at="2026-12-20")
    assert _bled(folder) == ([], [(early.id, f"(entry {work.id}); owed again")])
    late = journal.did([seen], who="Ilse", at="2026-12-20")
    assert _bled(folder) == ([late.id], [(early.id, f"(entry {work.id}); made again since")])


def test_more_to_do_that_was_found_has_its_title_in_the_book(tmp_path):
    folder = built_car.make(tmp_path / "car")
    journal = drybuild.open_build(folder).journal
    more = {"id": "stud-cut-out", "title": "Stud cut out: new stud", "hours": [1, 1, 1]}
    journal.happened("extra", more, who="Ilse")
    journal.worked("job:stud-cut-out", who="Ilse", what="done")
    content = contents(make_book(drybuild.open_build(folder), made_on=MADE, draws=64))
    assert ["Stud cut out: new stud"] in [one["what"] for one in content["deeds"]]


def test_what_car_it_is_stands_at_the_head_of_the_book_where_somebody_says_so(tmp_path):
    folder = built_car.make(tmp_path / "car")
    named = contents(make_book(drybuild.open_build(folder), made_on=MADE, draws=64))
    opened = drybuild.open_build(folder)
    set_fact(opened.build, "car.toml", ("identity", "called"), "Corvane 2.0, 2009, grey")
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    assert named["title"] == f"{opened.build.head.name}: build book"
    assert contents(book)["title"] == "Corvane 2.0, 2009, grey: build book"
    assert contents(book)["imprint"]["head"] == "Corvane 2.0, 2009, grey"
    assert contents(book)["imprint"]["build"] == opened.build.head.name
    assert book.identity[0].title == "chassis number"


def _bled(folder):
    """Entries of the check of the brakes in the book: as made, and apart with what undid them."""
    content = contents(make_book(drybuild.open_build(folder), made_on=MADE, draws=64))
    page = _tables(content)
    title = "brakes bled, pedal firm, no leak under pressure"
    rows = {part: [r for r in content[part] if r["title"] == title] for part in ("made", "void")}
    assert len(page["void"]) == len(content["void"])
    return [r["entry"] for r in rows["made"]], [
        (r["entry"], r["since"][r["since"].index("(entry") :]) for r in rows["void"]
    ]


def test_the_fingerprint_moves_with_a_file_and_with_the_journal(tmp_path):
    folder = built_car.make(tmp_path / "car")
    first = fingerprint(drybuild.open_build(folder))
    assert fingerprint(drybuild.open_build(folder)) == first
    picture = folder / "photos" / "chassis.png"
    picture.write_bytes(built_car.picture(40, 40))
    second = fingerprint(drybuild.open_build(folder))
    drybuild.open_build(folder).journal.remark("seen", who="Ilse", at="2026-12-14")
    third = fingerprint(drybuild.open_build(folder))
    assert len({first, second, third}) == 3


def test_a_printed_fingerprint_is_compared_as_printed(opened):
    whole = fingerprint(opened)
    shown = " ".join(whole[i : i + 4] for i in range(0, 16, 4))
    assert names_folder(opened, shown) is True
    assert names_folder(opened, whole) is True
    assert names_folder(opened, shown[:-1] + ("0" if shown[-1] != "0" else "1")) is False
    assert names_folder(opened, whole[:8]) is None
    assert names_folder(opened, "no figures here") is None


def test_a_photograph_that_is_not_there_is_a_fault(tmp_path):
    folder = built_car.make(tmp_path / "car")
    (folder / "photos" / "chassis.png").unlink()
    with pytest.raises(drybuild.BuildFaults, match=r"photos/chassis\.png"):
        drybuild.open_build(folder)


@pytest.mark.parametrize("name", ["../car.toml", "a/b.png", ".png", "c:\\\\x.png", "notes.txt"])
def test_a_photograph_is_a_name_in_its_folder(tmp_path, name):
    extra = f'\n[[photograph]]\nfile = "{name}"\nshows = "x"\n'
    with pytest.raises(drybuild.BuildFaults, match=r"photograph\.2\.file"):
        built_car.make(tmp_path / "car", extra_car=extra)


@pytest.mark.parametrize("code", ["5426", "0026", "252", "25262", "ab12"])
def test_a_date_code_has_a_week_and_a_year(opened, code):
    from drybuild.build import ChangeRefused
    from drybuild.build.state import read_setting

    with pytest.raises(ChangeRefused, match="week and year"):
        read_setting("tyre.front.left.date_code", code)


def test_a_date_code_typed_as_a_number_keeps_its_nought():
    from drybuild.build.state import read_setting

    assert read_setting("tyre.front.left.date_code", 526) == "0526"


def test_a_record_that_runs_ahead_of_the_print_counts_to_its_last_day_and_says_so(opened):
    """A journal may hold days that had not come when it was printed; their work is in the book."""
    last = max(entry.at[:10] for entry in opened.journal.entries())
    early = imprint(opened, datetime(2026, 12, 1, 9, 30))
    assert last > "2026-12-01"
    assert early.state == (
        f"as built, by the record up to {last}, part of it written ahead of its day"
    )
    entries = len(opened.journal.entries())
    assert early.revision == f"not named, entry {entries}"  # no print is counted
    assert imprint(opened, MADE).state == f"as built, by the record up to {last}"


def test_what_is_on_a_unit_that_lies_on_the_bench_is_not_said_to_be_on_the_car(tmp_path):
    folder = make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="lower it"
    )
    apart = [Change("open", "spring_units_front"), Change("fit", "spring.front", "my_spring_front")]
    Journal(folder).did(apart, who="Mara")

    def spring():
        parts = built_parts(open_build(folder))
        (one,) = (p for p in parts if p.id == "my_spring_front")
        return _fitted(one)

    assert spring().endswith(" by Mara; with the spring units, which are off the car")
    Journal(folder).did([Change("close", "spring_units_front")], who="Mara")
    assert spring().endswith(" by Mara")
