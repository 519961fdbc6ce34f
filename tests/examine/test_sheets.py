"""Sheets that come back: what is taken in, what is refused, and that a refusal writes nothing."""

from __future__ import annotations

import random
import shutil
import tomllib

import built_car
import pytest

import drybuild
from drybuild.build.declared import declaration
from drybuild.examine.chain import chain
from drybuild.examine.noting import words_to_choose
from drybuild.examine.sheets import (
    FormRefused,
    calibrator_form,
    calibrator_sheet,
    measuring_form,
    measuring_sheets,
    scrutineer_side,
    take_in,
)
from drybuild.examine.sheets.calibrator import CEILINGS, LATER_CEILINGS, map_fields
from drybuild.examine.sheets.form import curve_text, read_form
from drybuild.examine.sheets.judging import judge
from drybuild.examine.sheets.scrutineer import ORDER
from drybuild.examine.sheets.wording import blank as blank_of
from drybuild.examine.sheets.wording import curve_blank, meanings
from drybuild.show.sheets import calibrator_content
from drybuild.values import parse_curve


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return built_car.make(tmp_path_factory.mktemp("built") / "car")


@pytest.fixture
def folder(made, tmp_path):
    shutil.copytree(made, tmp_path / "car")
    return tmp_path / "car"


@pytest.fixture(scope="module")
def blank(made):
    return calibrator_form(calibrator_sheet(drybuild.open_build(made)))


@pytest.fixture(scope="module")
def readings(made):
    opened = drybuild.open_build(made)
    return measuring_form(measuring_sheets(opened), build=opened.build.head.name, state="now",
                          fingerprint="0" * 16)  # fmt: skip


def filled(text, **values):
    """The form with blanks filled in; ``__`` stands for the point of an address."""
    for key, value in values.items():
        name = key.replace("__", ".")
        shown = f'"{name}"' if "." in name else name
        before = f'\n{shown} = ""'
        assert before in text, shown
        text = text.replace(before, f"\n{shown} = {value}", 1)
    return text


GOOD = {
    "who": '"Quill"', "at": '"2026-12-20"', "part": '"map_q1"', "name": '"first map"',
    "checksum": '"AB12-0001"', "stage": '"first"', "injector_flow": '"980 cc/min"',
    "boost_target": '"0.9 bar gauge"', "boost_ceiling": '"1.0 bar gauge"',
    "catalyst_monitor": "true", "rev_limit": '"6800 rpm"', "advance_ceiling": '"12 deg"',
}  # fmt: skip


def everything(folder):
    """All that stands in the folder, but the journal's own files, with the journal's head."""
    files = {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and not p.name.startswith("journal.db")
    }
    return files, str(drybuild.open_build(folder).journal.head())


def faults(folder, text, **asked):
    before = everything(folder)
    with pytest.raises(FormRefused) as caught:
        take_in(drybuild.open_build(folder), text, name="sheet.toml", **asked)
    assert everything(folder) == before
    return {f.where: f for f in caught.value.faults}


# What goes out


def test_the_form_is_toml_and_says_the_exact_hardware(blank):
    data = tomllib.loads(blank)
    assert data["hardware"]["injectors"] == "brack_980"
    assert "dead time against voltage, at the rated pressure difference: 8 V 2.4 ms" in blank
    assert "pressure difference its flow is rated at: 3 ± 0.015 bar" in blank
    assert "684 ± 3.4 kg/m3" in blank
    assert set(data["ceilings"]) == set(CEILINGS)
    assert data["ceilings"]["goal.boost"] == "1.3 bar gauge"
    assert set(data["map"]) == {*map_fields(), "part", "name", "maker"}
    assert all(v == "" for v in data["map"].values())


def test_the_calibrator_is_told_of_the_engine_and_what_is_not_stated(folder):
    """Without displacement, plugs and control unit nobody begins a map."""
    file = folder / "car.toml"
    stated = file.read_text(encoding="utf-8").replace("[engine]", '[engine]\nplugs = "Brack P7"')
    file.write_text(stated, encoding="utf-8")
    sheet = calibrator_sheet(drybuild.open_build(folder))
    text = calibrator_form(sheet)
    engine = text.partition("# The engine and its control unit")[2].partition("[hardware]")[0]
    assert "swept volume of all cylinders: 1798 ± 2 cc, maker's data" in engine
    assert "compression ratio: 9.2" in engine
    assert "Brack P7" in engine
    for asked in ("gap of the spark plugs", "where its air temperature is read", "control unit: ",
                  "number of software"):
        (line,) = (one for one in engine.splitlines() if asked in one)
        assert line.endswith(": not stated"), line


def test_what_gives_out_first_stands_among_the_ceilings():
    """As the screen of the engine says it; a clutch's capacity that only its lining tells too."""
    opened = drybuild.open_build(built_car.PLOVER.parent / "plover_saturdays")
    sheet = calibrator_sheet(opened)
    (weakest,) = (link.finding for link in chain(opened.examine("finished")) if link.first)
    assert sheet.first == weakest
    ceilings = {one.address: one.value for one in sheet.ceilings}
    assert ceilings["gearbox.torque_limit"] is not None
    assert ceilings["clutch.capacity"] is None
    middle, low, high = sheet.worked["clutch.capacity"]
    assert low < middle < high
    content = calibrator_content(sheet, "metric")
    assert weakest.title in content["first"]
    (clutch,) = (c for c in content["ceilings"] if c["title"].startswith("clutch: torque"))
    assert clutch["how"] == "worked out"
    assert clutch["value"].startswith("about ")


def test_a_sheet_of_before_the_later_ceilings_is_still_taken_in(folder, blank):
    text = filled(blank, **GOOD)
    older = "\n".join(line for line in text.splitlines()
                      if not any(line.startswith(f'"{a}"') for a in LATER_CEILINGS))  # fmt: skip
    assert older != text
    assert take_in(drybuild.open_build(folder), older, name="sheet.toml").part == "map_q1"


def test_a_word_that_was_chosen_stands_with_its_own_meaning_alone(blank):
    assert "#   arrangement: single (one rail), catalogue\n" in blank
    each = "standard (the vehicle maker's), first (a cautious one to start and log with) or final"
    assert f"# stage: {each}\n" in blank
    for declared in map(declaration, (f"map.{name}" for name in map_fields())):
        assert not set(meanings(declared)) - set(words_to_choose(declared))


def test_a_blank_on_paper_names_unit_and_meaning_and_each_point_of_a_curve(made):
    sheet = calibrator_sheet(drybuild.open_build(made))
    known = {k.address: k.value for one in sheet.hardware for k in one.known}
    points = curve_blank("injectors.dead_time", known["injectors.dead_time"])["at"]
    assert points == [f"at {volts} V, ms" for volts in (8, 10, 12, 14, 16)]
    assert blank_of("map.flaps")["unit"] == "present / deleted"
    for name in map_fields():
        asked = blank_of(f"map.{name}")
        assert asked["says"]
        assert asked["unit"] or name in ("checksum", "octane_required"), name


def test_no_wish_stands_among_the_ceilings_as_one(blank):
    ceilings = blank.partition("[ceilings]")[2].partition("[map]")[0]
    assert "wanted" not in ceilings
    assert '# most boost at the site that a map may ask for\n"goal.boost" = ' in ceilings


def test_what_is_said_beside_a_blank_is_no_part_of_what_comes_back(folder, blank):
    bare = "\n".join(line for line in filled(blank, **GOOD).splitlines() if line[:1] != "#")
    assert take_in(drybuild.open_build(folder), bare, name="q1.toml").part == "map_q1"


def test_the_sheet_is_of_the_state_that_is_asked_for(made):
    now = calibrator_sheet(drybuild.open_build(made), state="now")
    assert {h.place: h.part_id for h in now.hardware}["injectors"] == "plover_injectors"


def test_names_from_the_folder_cannot_leave_their_line(tmp_path):
    evil = '"x\\"\\n[map]\\nboost_target = \\"9 bar gauge\\"\\n#"'
    folder = built_car.make(tmp_path / "car", name=evil)
    text = calibrator_form(calibrator_sheet(drybuild.open_build(folder)))
    data = tomllib.loads(text)
    assert data["build"].startswith('x"')
    assert data["map"]["boost_target"] == ""


# What comes back


def test_a_filled_in_sheet_becomes_a_map_and_is_not_fitted(folder, blank):
    opened = drybuild.open_build(folder)
    before = opened.present.state.fitted
    found = take_in(opened, filled(blank, **GOOD), name="q1.toml")
    after = drybuild.open_build(folder)
    part = after.build.parts["map_q1"]
    assert (part.checksum, part.stage, part.catalyst_monitor) == ("AB12-0001", "first", True)
    assert part.boost_target.centre == pytest.approx(90_000.0)
    assert after.present.state.fitted == before
    assert after.build.stated["goal.boost_ceiling"] == opened.build.stated["goal.boost_ceiling"]
    assert found.file == "parts/map_q1.toml"
    remark = after.journal.remarks()[-1]
    assert (remark.id, remark.who, remark.at) == (found.remark, "Quill", "2026-12-20")
    assert "map map_q1, checksum AB12-0001; not fitted by this" in remark.words


def test_what_was_measured_goes_to_the_car_or_to_the_part_in_hand(folder, blank):
    text = filled(blank, **GOOD, injectors__smallest_pulse='"1.5 ms"',
                  pressure_sensor__span='{ is = "2.5 bar absolute", by = "document" }')  # fmt: skip
    found = take_in(drybuild.open_build(folder), text, name="q1.toml")
    assert list(found.readings) == ["pressure_sensor.span"]
    assert found.facts == ("brack_980.smallest_pulse",)
    after = drybuild.open_build(folder)
    assert after.build.parts["brack_980"].smallest_pulse.centre == pytest.approx(1.5e-3)
    assert "# read by Quill, 2026-12-20" in (folder / "parts" / "fuel.toml").read_text("utf-8")


def test_a_curve_is_said_in_one_unit_from_its_first_point_to_its_last():
    raw = {"x": [0, 3, 5], "x_unit": "bar gauge", "y": [184, 160, 109], "y_unit": "L/h"}
    said = curve_text(parse_curve(raw, "pressure_gauge", "flow_volume"))
    assert said.count(" L/h") == 3
    assert said.endswith("109 L/h")
    assert not {"Pa", "kPa", "cc/min"} & set(said.split())


def test_a_curve_comes_back_as_a_curve(folder, blank):
    curve = '{ x = [10, 12, 14], x_unit = "V", y = [1.6, 1.2, 0.9], y_unit = "ms" }'
    take_in(drybuild.open_build(folder), filled(blank, **GOOD, injectors__dead_time=curve),
            name="q.toml")  # fmt: skip
    part = drybuild.open_build(folder).build.parts["brack_980"]
    assert part.dead_time.y == pytest.approx((1.6e-3, 1.2e-3, 0.9e-3))


def test_the_very_same_sheet_is_taken_in_once(folder, blank):
    text = filled(blank, **GOOD, pressure_sensor__span='"2.5 bar absolute"')
    entry = take_in(drybuild.open_build(folder), text, name="q1.toml").remark
    found = faults(folder, text)[""]
    assert f"entry {entry}" in found.found
    drybuild.open_build(folder).journal.undo(entry, who="Ilse")
    assert take_in(drybuild.open_build(folder), text, name="q1.toml").remark > entry


def test_who_filled_it_in_is_whom_the_sheet_names(folder, blank):
    found = take_in(drybuild.open_build(folder), filled(blank, **GOOD), name="q1.toml",
                    who="Ilse", at="2026-11-29")  # fmt: skip
    remark = drybuild.open_build(folder).journal.remarks()[-1]
    assert (found.who, remark.who, remark.at) == ("Quill", "Quill", "2026-12-20")


def test_blanks_of_a_known_map_are_filled_and_its_figures_kept(folder, blank):
    take_in(drybuild.open_build(folder), filled(blank, **GOOD), name="q1.toml")
    more = {**GOOD, "octane_required": '"95"'}
    take_in(drybuild.open_build(folder), filled(blank, **more), name="q1.toml")
    part = drybuild.open_build(folder).build.parts["map_q1"]
    assert part.octane_required.centre == 95
    assert part.boost_target.centre == pytest.approx(90_000.0)


# What is refused


def test_without_a_checksum_nothing_is_taken_in(folder, blank):
    found = faults(folder, filled(blank, **{**GOOD, "checksum": '""'}))
    assert list(found) == ["map.checksum"]


def test_who_filled_it_in_must_be_said(folder, blank):
    text = filled(blank, **{k: v for k, v in GOOD.items() if k != "who"})
    assert list(faults(folder, text)) == ["who"]
    take_in(drybuild.open_build(folder), text, name="x.toml", who="Quill")


@pytest.mark.parametrize(
    ("key", "figure", "ceiling"),
    [
        ("boost_target", "1.31 bar gauge", "goal.boost"),
        ("boost_target", "1.2 ± 0.2 bar gauge", "goal.boost"),
        ("final_boost", "1.6 bar gauge", "goal.boost"),
        ("boost_ceiling", "1.51 bar gauge", "goal.boost_ceiling"),
        ("rev_limit", "7000 rpm", "engine.rev_limit"),
    ],
)
def test_no_map_asks_for_more_than_the_owner(folder, blank, key, figure, ceiling):
    found = faults(folder, filled(blank, **{**GOOD, key: f'"{figure}"'}))
    assert list(found) == [f"map.{key}"]
    assert ceiling in found[f"map.{key}"].expected


def test_the_owners_own_figure_is_no_fault(folder, blank):
    take_in(drybuild.open_build(folder),
            filled(blank, **{**GOOD, "boost_target": '"1.3 bar gauge"',
                             "boost_ceiling": '"1.5 bar gauge"'}), name="x.toml")  # fmt: skip


def test_a_ceiling_that_was_moved_on_the_sheet_is_refused(folder, blank):
    text = filled(blank, **{**GOOD, "boost_target": '"1.6 bar gauge"'})
    text = text.replace('"goal.boost" = "1.3 bar gauge"', '"goal.boost" = "1.8 bar gauge"')
    assert set(faults(folder, text)) == {"ceilings.goal.boost", "map.boost_target"}


def test_a_ceiling_that_was_left_out_is_refused(folder, blank):
    text = filled(blank, **GOOD).replace('"goal.boost" = "1.3 bar gauge"\n', "")
    assert set(faults(folder, text)) == {"ceilings.goal.boost"}


def test_a_sheet_for_other_hardware_is_refused(folder, blank):
    text = filled(blank, **GOOD)
    found = faults(folder, text.replace('injectors = "brack_980"', 'injectors = "brack_1100"'))
    assert list(found) == ["hardware.injectors"]
    assert '"brack_980"' in found["hardware.injectors"].expected


def test_a_sheet_is_for_the_parts_of_the_day_it_comes_back(folder, blank):
    build = folder / "build.toml"
    text = build.read_text("utf-8")
    other = text.replace('injectors = "brack_980"', 'injectors = "plover_injectors"')
    build.write_text(other, "utf-8")
    assert "hardware.injectors" in faults(folder, filled(blank, **GOOD))


def test_another_builds_sheet_is_refused(folder, blank):
    text = filled(blank, **GOOD).replace('build = "Fennick Plover 1.8T"', 'build = "Another"')
    assert list(faults(folder, text)) == ["build"]


def test_an_id_of_another_map_is_refused(folder, blank):
    found = faults(folder, filled(blank, **{**GOOD, "part": '"map_first"'}))
    assert "1F90-B2E7" in found["map.part"].expected
    assert "map.part" in faults(folder, filled(blank, **{**GOOD, "part": '"brack_980"'}))
    assert "map.part" in faults(folder, filled(blank, **{**GOOD, "part": '"../../x"'}))


def test_a_checksum_that_is_known_under_another_id_is_refused(folder, blank):
    found = faults(folder, filled(blank, **{**GOOD, "checksum": '"1F90-B2E7"'}))
    assert "'map_first'" in found["map.part"].expected


def test_one_file_does_not_say_two_things(folder, blank):
    take_in(drybuild.open_build(folder), filled(blank, **GOOD), name="q1.toml")
    found = faults(folder, filled(blank, **{**GOOD, "boost_target": '"0.8 bar gauge"'}))
    assert list(found) == ["map.boost_target"]


def test_flow_without_pressure_and_fluid_is_refused(folder, blank):
    fuel = folder / "parts" / "fuel.toml"
    text = fuel.read_text("utf-8")
    head, _, rest = text.partition("[part.brack_980]")
    rest = rest.replace('rated_pressure = "3 bar"\n', "", 1)
    rest = rest.replace('test_density = "684 kg/m3"\n', "", 1)
    fuel.write_text(f"{head}[part.brack_980]{rest}", "utf-8")
    opened = drybuild.open_build(folder)
    form = calibrator_form(calibrator_sheet(opened))
    found = faults(folder, filled(form, **GOOD, injectors__static_flow='"975 cc/min"'))
    assert set(found) == {"measured.injectors.rated_pressure", "measured.injectors.test_density"}


def test_nothing_that_is_amiss_hides_another_fault(folder, blank):
    text = filled(blank, **{**GOOD, "who": "3", "checksum": '""', "part": "7", "stage": '"third"',
                            "injector_flow": '"980"', "boost_target": '"1.3 bar"',
                            "flaps": '"yes"'}, pressure_sensor__span='"2.5"')  # fmt: skip
    assert set(faults(folder, text)) == {
        "who", "map.checksum", "map.part", "map.stage", "map.injector_flow", "map.boost_target",
        "map.flaps", "measured.pressure_sensor.span",
    }  # fmt: skip


def test_every_fault_is_said_at_once_with_its_line(folder, blank):
    text = filled(blank, **{**GOOD, "injector_flow": '"980"', "stage": '"wild"',
                            "at": '"yesterday"'})  # fmt: skip
    found = faults(folder, text + '\nsurprise = "x"\n')
    assert {"map.injector_flow", "map.stage", "at"} <= set(found)
    lines = text.splitlines()
    for where in ("map.injector_flow", "map.stage"):
        assert lines[found[where].line - 1].startswith(where.partition(".")[2])


@pytest.mark.parametrize(
    "text",
    ["", "x = [", "form = 1", 'form = 1\nsheet = "other"', "form = 2", "[" * 3000,
     "a." * 2000 + "b=1", 'form = true\nsheet = "calibrator"',
     'form = 1\nsheet = "calibrator"\nbuild = 3', "\x00", 'form = "1"\nsheet = ["x"]',
     'form = 1\nsheet = "calibrator"\nmap = 3\nhardware = []\nceilings = "x"\nmeasured = 1'],
)  # fmt: skip
def test_what_is_no_sheet_is_refused_in_words(folder, text):
    for fault in faults(folder, text, who="Quill").values():
        assert fault.expected


JUNK = (
    "true", "1", "-1e308", "nan", "[]", "[[]]", "{}", "{ is = 3 }", "{ is = [], by = 2 }",
    '{ same_as = "map.dead_time" }', '"x"', '"-1 bar gauge"', '"\\u0000"', "2026-01-01",
    '{ x = ["a"], y = [1] }', '"1 to 2"', '"9e999 bar gauge"', "[1, 2, 3]", '["1 mm", true]',
)  # fmt: skip


def test_nothing_written_into_a_blank_is_more_than_a_fault(made, blank, readings):
    opened = drybuild.open_build(made)
    chance = random.Random(5)
    refused = in_words = 0
    for _ in range(250):
        lines = chance.choice((blank, readings)).splitlines()
        spots = [n for n, line in enumerate(lines) if line.endswith('= ""')]
        for n in chance.sample(spots, chance.choice((1, 3, len(spots)))):
            lines[n] = lines[n][:-2] + chance.choice(JUNK)
        if chance.random() < 0.2:
            del lines[chance.randrange(len(lines))]
        try:
            judge(opened, read_form("\n".join(lines), name="x.toml"), who="Quill")
        except FormRefused as error:
            refused += 1
            in_words += all(f.found and f.expected for f in error.faults)
    assert refused == in_words > 200


def test_when_the_folder_does_not_read_afterwards_nothing_was_written(folder, blank, monkeypatch):
    from drybuild.build import BuildFaults
    from drybuild.build.errors import Fault
    from drybuild.examine.sheets import taking_in

    calls = []
    real = taking_in.read_build

    def second_time(root):
        calls.append(root)
        if len(calls) > 1:
            raise BuildFaults([Fault("x", None, "", "found", "expected")])
        return real(root)

    before = everything(folder)
    monkeypatch.setattr(taking_in, "read_build", second_time)
    text = filled(blank, **GOOD, injectors__smallest_pulse='"1.5 ms"')
    with pytest.raises(FormRefused):
        take_in(drybuild.open_build(folder), text, name="x.toml")
    assert everything(folder) == before


def test_when_the_journal_refuses_the_files_are_as_they_were(folder, blank, monkeypatch):
    from drybuild.journal import EntryRefused, Journal

    def refuse(self, *args, **named):
        raise EntryRefused("the disk is full")

    before = everything(folder)
    monkeypatch.setattr(Journal, "remark", refuse)
    with pytest.raises(EntryRefused):
        take_in(drybuild.open_build(folder), filled(blank, **GOOD,
                pressure_sensor__span='"2.5 bar absolute"'), name="x.toml")  # fmt: skip
    assert everything(folder) == before


# Measuring


def test_readings_come_back_as_readings(folder, readings):
    text = filled(
        readings, who='"Marten"', at='"2026-12-15"',
        wheel__rear__left__spoke_depth='["48.1 mm", "48.3 mm"]',
        tyre__rear__right__date_code='"2026"',
        battery__resting_voltage='{ is = "12.6 V", by = "multimeter", tool = "meter 2" }',
    )  # fmt: skip
    found = take_in(drybuild.open_build(folder), text, name="r.toml")
    assert set(found.readings) == {
        "wheel.rear.left.spoke_depth", "tyre.rear.right.date_code", "battery.resting_voltage",
    }  # fmt: skip
    after = drybuild.open_build(folder)
    made = {r.address: r for r in after.journal.readings()}
    assert made["battery.resting_voltage"].instrument == "meter 2"
    assert made["wheel.rear.left.spoke_depth"].instrument == "depth gauge"
    assert made["wheel.rear.left.spoke_depth"].who == "Marten"
    assert after.present.state.readings["tyre.rear.right.date_code"] == "2026"
    assert not {s.reading.address for s in after.present.stale} & set(found.readings)


def test_a_sheet_with_no_reading_is_no_sheet(folder, readings):
    assert list(faults(folder, readings, who="Ilse")) == ["readings"]


def test_readings_that_cannot_be_are_refused_together(folder, readings):
    text = filled(readings, who='"Ilse"', wheel__rear__left__spoke_depth='"48"',
                  battery__resting_voltage='"12 mm"')  # fmt: skip
    text += '"spacer.rear.left.thickness" = "5 mm"\n"no.such.thing" = "1 mm"\n'
    text += '"corner.rear.left.camber" = "-1 deg"\n'
    found = faults(folder, text)
    assert set(found) == {
        "readings.wheel.rear.left.spoke_depth", "readings.battery.resting_voltage",
        "readings.spacer.rear.left.thickness", "readings.no.such.thing",
        "readings.corner.rear.left.camber",
    }  # fmt: skip
    assert "nothing is fitted" in found["readings.spacer.rear.left.thickness"].expected
    assert "changed since" in found["readings.corner.rear.left.camber"].expected


def test_sheets_ask_for_the_figure_now_where_the_one_as_found_is_gone(made):
    sheets = measuring_sheets(drybuild.open_build(made))
    asked = {row.address for sheet in sheets for row in sheet.rows}
    assert "corner.rear.left.camber_now" in asked
    assert "corner.rear.left.camber" not in asked
    assert "spacer.rear.left.thickness" not in asked
    assert all(declaration(address) is not None for address in asked)


def test_every_measuring_sheet_says_what_can_hurt(made):
    for sheet in measuring_sheets(drybuild.open_build(made)):
        assert len(sheet.care) > 40, sheet.title


# The scrutineer's


def test_the_items_stand_in_the_clubs_order(tmp_path):
    items = 'items = ["belts", { title = "Tape on the lamps", look = "glass" }, "leaks"]\n'
    folder = built_car.make(tmp_path / "car")
    build = folder / "build.toml"
    build.write_text(build.read_text("utf-8").replace('number = "47"\n', f'number = "47"\n{items}'),
                     "utf-8")  # fmt: skip
    side = scrutineer_side(drybuild.open_build(folder))
    assert [i.title for i in side.items] == ["belts and seat", "Tape on the lamps", "leaks"]
    assert not side.ours


def test_an_item_that_nobody_knows_is_a_fault_that_lists_them(tmp_path):
    folder = built_car.make(tmp_path / "car")
    build = folder / "build.toml"
    build.write_text(build.read_text("utf-8").replace(
        'number = "47"\n', 'number = "47"\nitems = ["beltz"]\n'), "utf-8")  # fmt: skip
    with pytest.raises(FormRefused, match=r"belts") as caught:
        scrutineer_side(drybuild.open_build(folder))
    assert caught.value.faults[0].line is not None


def test_our_own_order_has_all_that_was_asked_for(made):
    assert {"throttle return", "isolator", "catch tank", "fuel routing", "leaks", "towing eyes",
            "belts", "roll-over bar", "extinguisher", "studs", "play"} <= set(ORDER)  # fmt: skip
    side = scrutineer_side(drybuild.open_build(made))
    assert len(side.items) == len(ORDER)
    (hoops,) = (one for one in side.items if one.title.startswith("roll-over bar"))
    assert hoops.stated == "hoops behind the seats"
    assert side.weight.centre == pytest.approx(1086)


def test_a_line_that_lacks_a_quotation_mark_is_named_with_what_it_lacks():
    with pytest.raises(FormRefused) as refused:
        read_form('form = 1\nwho = "Quill\nat = "2026-11-30"\n', name="x.toml")
    (fault,) = refused.value.faults
    assert (fault.line, fault.found) == (2, 'who = "Quill')
    assert "quotation mark" in fault.expected
    with pytest.raises(FormRefused) as refused:
        read_form("form = 1\nwho = Quill\n", name="x.toml")
    (fault,) = refused.value.faults
    assert (fault.line, fault.expected.startswith("what is filled in between")) == (2, True)
