"""Bad libraries and bad builds get an error that names the file, the line, the loop or the job."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from folder import PADS, SESSIONS, SPRINGS, opened, write

from drybuild.build import BuildFaults, Fault
from drybuild.examine.opened import open_build
from drybuild.work.errors import WorkFaults
from drybuild.work.reading import to_do

NEW = 'title = "x"\nregion = "engine, front"\ntake = 1\nrefit = 1\n'


def faults_of(folder: Path, body: str = PADS, now: datetime | None = None, **more: str
              ) -> tuple[Fault, ...]:  # fmt: skip
    with pytest.raises(BuildFaults) as caught:
        to_do(opened(folder, body, **more), now=now)
    return caught.value.faults


def only(faults: tuple[Fault, ...]) -> Fault:
    assert len(faults) == 1, faults
    return faults[0]


def test_a_loop_of_access_is_named(tmp_path):
    work = (
        f'[component.a]\n{NEW}behind = ["b"]\n'
        f'[component.b]\n{NEW}behind = ["undertray", "c"]\n'
        f'[component.c]\n{NEW}refit_needs = ["a"]\n'
    )
    fault = only(faults_of(tmp_path, work=work))
    assert fault.found in ("a loop: a behind b behind c behind a",)
    assert fault.file == "work.toml"
    assert fault.line in (7, 13, 17)


def test_a_loop_through_one_alternative_is_no_loop(tmp_path):
    work = (
        f'[component.a]\n{NEW}behind = [["b", "undertray"]]\n[component.b]\n{NEW}behind = ["a"]\n'
    )
    to_do(opened(tmp_path, PADS, work=work))


def test_a_loop_that_the_owner_makes_with_the_library(tmp_path):
    work = '[component.undertray]\nbehind = ["charge_pipes"]\n'
    fault = only(faults_of(tmp_path, work=work))
    assert "undertray" in fault.found
    assert "charge_pipes" in fault.found
    assert (fault.file, fault.line) == ("work.toml", 3)


def test_unknown_names_are_all_reported_with_the_nearest(tmp_path):
    work = (
        '[component.undertray]\nbehind = ["raised_frnt", "tool:hoist", "use:fly"]\n'
        'upsets = ["coolant_lo"]\n[effect.alignment.clear]\nneeds = ["clear:bushes_middle"]\n'
        '[place.turbbo]\nhours = 1\n[component.turbo]\ntake_needs = ["airbox:sideways"]\n'
        '[job.padds]\nhours = 1\n'
    )  # fmt: skip
    faults = faults_of(tmp_path / "a", work=work)
    text = "\n".join(map(str, faults))
    for word in ("raised_frnt", "hoist", "fly", "coolant_lo", "bushes_middle", "turbbo",
                 "airbox:sideways"):  # fmt: skip
        assert word in text
    assert "did you mean 'raised_front'" in text
    assert "did you mean 'coolant_low'" in text
    assert {f.line for f in faults if "raised_frnt" in f.found} == {3}
    fault = only(faults_of(tmp_path / "b", work="[job.padds]\nhours = 1\n"))
    assert "did you mean 'pads'" in fault.hint


def test_figures_out_of_order(tmp_path):
    work = "[component.turbo]\ntake = [3, 2, 1]\nrefit = [1, 2]\n[place.turbo]\nhours = -1\n"
    faults = faults_of(tmp_path, work=work)
    assert [f.line for f in faults] == [3, 4, 6]
    assert "low ≤ likely ≤ high" in faults[0].expected


def test_what_clears_is_not_shortened(tmp_path):
    work = "[effect.brakes_open.clear]\nhours = [0.2, 0.5, 1]\n"
    fault = only(faults_of(tmp_path, work=work))
    assert "never shortened" in fault.expected


def test_an_effect_that_nobody_can_clear(tmp_path):
    work = '[effect.stuck]\ntitle = "stuck"\n[component.wheels_front]\nupsets = ["stuck"]\n'
    fault = only(faults_of(tmp_path / "a", work=work))
    assert fault.where == "effect.stuck"
    assert "neither a clearing job nor a time" in fault.found
    head = '[work]\ntools = ["stands", "spring compressor", "ramps", "headlamp wall"]\n'
    fault = only(faults_of(tmp_path / "b", SPRINGS, head=head))
    assert "wheel alignment owed (alignment) can never be cleared" in fault.found
    assert "'alignment rack'" in fault.expected
    assert "'strings'" in fault.expected


def test_incomplete_components(tmp_path):
    faults = faults_of(tmp_path, work='[component.a]\ntitle = "a"\n')
    assert {f.found for f in faults} == {"no region", "no take", "no refit"}


def test_aside_is_never_dearer_than_off(tmp_path):
    work = "[component.alternator.aside]\ntake = [1, 2, 9]\n"
    fault = only(faults_of(tmp_path, work=work))
    assert "no more than" in fault.expected


def test_a_tool_that_no_session_has(tmp_path):
    fault = only(faults_of(tmp_path / "a", SPRINGS, head='[work]\ntools = ["stands", "ramps"]\n'
                           ) [:1])  # fmt: skip
    assert fault.file == "build.toml"
    assert "springs (springs) can never be done" in fault.found
    assert "spring compressor" in fault.expected
    deep = '[[job]]\nid = "sump"\nopens = ["sump"]\nhours = 1\n'
    text = str(faults_of(tmp_path / "b", deep)[0])
    assert "sump (sump) can never be done" in text
    assert "front cross member off" in text
    assert "'engine beam'" in text


def test_longer_than_any_session(tmp_path):
    fault = only(faults_of(tmp_path, PADS + "hours = 9\n"))
    assert (fault.file, fault.where) == ("build.toml", "job.0.hours")
    assert "takes 9 h with one person" in fault.found
    assert "8 h" in fault.expected


def test_more_people_than_there_ever_are(tmp_path):
    fault = only(faults_of(tmp_path, PADS + "people = 3\n"))
    assert "with 3 people" in fault.found


def test_one_person_alone_hears_once_what_wants_two(tmp_path):
    alone = SESSIONS.replace('["Ann", "Ben"]', '["Ann"]').replace(
        '["Ann", "Ben 13:00-15:30"]', '["Ann"]'
    )
    fault = only(faults_of(tmp_path, sessions=alone))
    assert (fault.file, fault.where) == ("build.toml", "session")
    assert fault.found == "never more than one person at a time"
    road = "first stops on private ground, road check, 0.5 h"
    assert fault.expected == f"2 people at once for: {road}"
    assert "Jo 13:00-15:30" in fault.hint
    some = alone.replace('["Ann"]', '["Ann", "Ben 13:00-13:15"]', 1)
    assert only(faults_of(tmp_path / "b", sessions=some)).expected.endswith("has: 0.25 h")


def test_who_is_only_there_for_two_hours(tmp_path):
    body = PADS + 'who = ["Ben"]\nhours = 4\nbooked = ["sat-2"]\n'
    fault = only(faults_of(tmp_path, body))
    assert "no more than any of sat-2 has: 2.5 h" in fault.expected


def test_parts_that_come_after_the_last_session(tmp_path):
    fault = only(faults_of(tmp_path, PADS + 'arrives = "2027-01-01"\n'))
    assert "pads" in fault.found
    assert "after 2027-01-01" in fault.expected


def test_sessions_in_the_past(tmp_path):
    faults = faults_of(tmp_path / "a", now=datetime(2026, 12, 6))
    fault = only(faults)
    assert fault.where == "session.0.date"
    assert "sat-1 on 2026-12-05, which is past on 2026-12-06" in fault.found
    head = '[work]\nas_of = "2027-05-01"\n'
    assert len(faults_of(tmp_path / "b", head=head)) == 2


def test_a_booking_in_the_past(tmp_path):
    body = PADS + 'booked = ["sat-1"]\n' + SPRINGS
    source = opened(tmp_path, body)
    source.journal.worked("take:raised_front", who="Ann")
    with pytest.raises(WorkFaults) as caught:
        to_do(open_build(tmp_path), now=datetime(2026, 12, 6))
    assert any("pads booked in sat-1, which is past" in f.found for f in caught.value.faults)


def test_overlapping_sessions(tmp_path):
    more = SESSIONS + (
        '[[session]]\nid = "shop"\ndate = "2026-12-12"\nstart = "16:00"\nend = "18:00"\n'
    )
    fault = only(faults_of(tmp_path, sessions=more))
    assert fault.where == "session.2"
    assert "shop from 16:00 overlaps sat-2, 09:00 to 17:00 on 2026-12-12" in fault.found


def test_overlapping_bookings(tmp_path):
    body = PADS + "".join(
        f'[[job]]\nid = "{n}"\nkind = "outside"\nhours = 5\npeople = 0\nbooked = ["sat-2"]\n'
        for n in ("rack", "dyno")
    )
    fault = only(faults_of(tmp_path, body))
    assert "rack, dyno overlap: 10 h booked in sat-2" in fault.found


def test_sessions_as_they_cannot_be(tmp_path):
    sessions = (
        '[[session]]\nid = "a"\ndate = "Saturday"\nstart = "9"\nend = "17:00"\n'
        '[[session]]\nid = "b"\ndate = "2026-12-05"\nstart = "17:00"\nend = "09:00"\n'
        '[[session]]\nid = "c"\ndate = "2026-12-06"\nstart = "09:07"\nend = "12:00"\n'
        '[[session]]\nid = "d"\ndate = "2026-12-07"\nstart = "09:00"\nend = "12:00"\n'
        'people = ["An", "Ben 08:00-10:00"]\n'
    )
    text = "\n".join(map(str, faults_of(tmp_path, sessions=sessions)))
    for word in ("'Saturday'", "'9'", "an end that is after the start", "'09:07'",
                 "did you mean 'Ann'", "times from 09:00 to 12:00"):  # fmt: skip
        assert word in text


def test_no_session_at_all(tmp_path):
    fault = only(faults_of(tmp_path, sessions=""))
    assert fault.found == "no work session"
    assert "the page Work" in fault.hint


def test_ids_twice(tmp_path):
    again = SESSIONS.replace("sat-2", "sat-1")
    assert any("id 'sat-1' twice" in f.found for f in faults_of(tmp_path / "a", sessions=again))
    assert any("id 'pads' twice" in f.found for f in faults_of(tmp_path / "b", PADS + PADS))


def test_names_that_jobs_use(tmp_path):
    body = (
        PADS + 'after = ["spring", "pads"]\nbooked = ["sat-9"]\nwho = ["Bennie"]\n'
        'like = "oil_chang"\nneeds = ["tool:liift", "undertray:off"]\nopens = ["bonnet"]\n'
        'upsets = ["squeak"]\nprice = "dear"\narrives = "soon"\n'
    )
    text = "\n".join(map(str, faults_of(tmp_path, body)))
    for word in ("'spring'", "'pads'", "'sat-9'", "'Bennie'", "'oil_chang'", "liift",
                 "undertray:off", "'bonnet'", "'squeak'", "'dear'", "'soon'"):  # fmt: skip
        assert word in text
    assert "build.toml" in text


def test_jobs_after_each_other(tmp_path):
    body = PADS + 'after = ["springs"]\n' + SPRINGS + 'after = ["pads"]\n'
    fault = only(faults_of(tmp_path, body))
    assert fault.found == "a loop: pads after springs after pads"


def test_wanted_uses_budgets_and_tools_that_cannot_be_read(tmp_path):
    body = PADS + (
        '[[need]]\nuse = "drive"\n[[need]]\nday = "Mönday"\n[[need]]\nafter = "sat-7"\n'
        '[[need]]\nday = "Monday"\nat = "7"\n[[budget]]\nmonth = "March"\nmost = "1 EUR"\n'
        '[[budget]]\nmonth = "2026-12"\nmost = "9 XYZ"\n'
        '[[need]]\nday = "Monday"\nnot_on = ["2026-12-08", "soon"]\n'
        '[[need]]\nday = "2026-12-08"\nnot_on = ["2026-12-08"]\n'
        '[[lent]]\ntool = "liift"\nsessions = ["sat-8"]\n'
    )
    head = '[work]\nlabour_rate = "much"\nas_of = "today"\n'
    text = "\n".join(map(str, faults_of(tmp_path, body, head=head)))
    for word in ("neither day nor after", "'Mönday'", "'sat-7'", "'7'", "March-01", "'9 XYZ'",
                 "liift", "'sat-8'", "'much'", "'today'",
                 "2026-12-08, a Tuesday", "'soon'", "dates left out"):  # fmt: skip
        assert word in text


def test_faults_of_all_files_at_once(tmp_path):
    faults = faults_of(tmp_path, PADS, sessions="", work='[component.turbo]\nupsets = ["x"]\n')
    assert {f.file for f in faults} == {"build.toml", "work.toml"}


def test_a_car_without_an_outline(tmp_path):
    fault = only(faults_of(tmp_path / "a", outline="hovercraft"))
    assert "transverse-turbo" in fault.expected
    fault = only(faults_of(tmp_path / "b", head='[work]\noutline = "rear-engine"\n'))
    assert "'rear-engine'" in fault.found
    to_do(opened(tmp_path / "c", PADS, outline="", head='[work]\noutline = "transverse-turbo"\n'))


def test_keys_that_no_table_has(tmp_path):
    write(tmp_path, PADS, work="[component.turbo]\nhour = 3\n[compnent.x]\ntake = 1\n")
    with pytest.raises(BuildFaults) as caught:
        open_build(tmp_path)
    assert [(f.file, f.line) for f in caught.value.faults] == [("work.toml", 3), ("work.toml", 4)]
    assert any("key 'hour'" in f.found for f in caught.value.faults)


def test_without_what_the_library_has_not_got(tmp_path):
    fault = only(faults_of(tmp_path, work='without = ["undertry"]\n'))
    assert "did you mean 'undertray'" in fault.hint
