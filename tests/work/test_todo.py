"""A build folder read into what is to do: sessions, jobs, what must be off, what it costs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from folder import PADS, SPRINGS, opened, write

from drybuild.build import Change
from drybuild.build.new import STARTERS, first_changes, make_build
from drybuild.examine.opened import open_build
from drybuild.show.cards_words import also_text, need_text
from drybuild.work.drafts import ALIKE, UNSAID, together
from drybuild.work.errors import WorkFaults
from drybuild.work.model import After, Condition, Effect, Hours, Job, Presence, Problem, Work
from drybuild.work.narrow import NEVER, narrowed
from drybuild.work.reach import reach
from drybuild.work.reading import to_do
from drybuild.work.todo import set_to_suit

EXAMPLES = Path(__file__).parents[2] / "examples"
DAY = 96


def loose_ends(problem: Problem) -> list[str]:
    """Names in a problem that lead nowhere."""
    works = [w for c in problem.components.values() for w in (c.take, c.refit)]
    works += [e.clearing.work for e in problem.effects.values() if e.clearing is not None]
    works += [j.work for j in problem.jobs.values()]
    known = {"off": problem.components, "on": problem.components, "clear": problem.effects}
    conditions = [c for w in works for r in w.needs for way in r for c in way]
    found = [str(c) for c in conditions if c.kind in known and c.name not in known[c.kind]]
    return found + [e for w in works for e in w.causes if e not in problem.effects]


def always(work: Work) -> set[Condition]:
    """Conditions that hold in every way of a requirement."""
    return {c for r in work.needs for c in r[0] if all(c in way for way in r)}


@pytest.mark.parametrize("name", ["plover", "plover_scanned", "plover_saturdays"])
def test_every_example_can_be_planned(name):
    todo = to_do(open_build(EXAMPLES / name))
    problem = todo.problem
    assert loose_ends(problem) == []
    assert NEVER not in [r for j in problem.jobs.values() for r in j.work.needs]
    keys = {f"{k}:{n}" for n in problem.components for k in ("take", "refit")}
    keys |= {f"job:{n}" for n in problem.jobs}
    keys |= {f"clear:{n}" for n, e in problem.effects.items() if e.clearing is not None}
    assert keys == set(todo.notes)
    assert set(problem.jobs) == {j.id for j in open_build(EXAMPLES / name).build.jobs}


def test_sessions_are_quarters_from_the_first_midnight(tmp_path):
    problem = to_do(opened(tmp_path, PADS)).problem
    assert problem.zero == datetime(2026, 12, 5)
    first, second = problem.sessions
    assert (first.start, first.end) == (36, 68)
    assert second.start == 7 * DAY + 36
    assert second.people == (
        Presence("Ann", 7 * DAY + 36, 7 * DAY + 68), Presence("Ben", 7 * DAY + 52, 7 * DAY + 62),
    )  # fmt: skip
    assert first.title == "Saturday 5 December"


def test_only_what_the_jobs_lead_to_is_kept(tmp_path):
    problem = to_do(opened(tmp_path, PADS)).problem
    assert set(problem.components) == {
        "raised_front", "raised_rear", "wheels_front", "calipers_front~aside",
    }  # fmt: skip
    assert {"road_check", "wheels_again", "brake_bedding", "joints_again"} == set(problem.effects)
    job = problem.jobs["pads"]
    assert Condition("off", "calipers_front~aside") in always(job.work)
    assert job.kind == "fit"
    assert job.region == "front corners"


def test_aside_gives_way_to_off_where_that_is_wanted_anyway(tmp_path):
    body = PADS + '[[job]]\nid = "seals"\nopens = ["calipers_front"]\nhours = 1\n'
    needs = to_do(opened(tmp_path, body)).problem.jobs["pads"].work.needs
    assert (
        (Condition("off", "calipers_front~aside"),), (Condition("off", "calipers_front"),),
    ) in needs  # fmt: skip


def test_a_lift_in_one_session_opens_its_way(tmp_path):
    with_lift = to_do(opened(tmp_path / "a", PADS, head='[work]\ntools = ["stands", "lift"]\n'))
    assert "raised_lift" in with_lift.problem.components
    lent = PADS + '[[lent]]\ntool = "lift"\nsessions = ["sat-2"]\n'
    problem = to_do(opened(tmp_path / "b", lent)).problem
    assert ["lift" in s.tools for s in problem.sessions] == [False, True]
    since = PADS + '[[lent]]\ntool = "lift"\nuntil = "2026-12-06"\n'
    problem = to_do(opened(tmp_path / "c", since)).problem
    assert ["lift" in s.tools for s in problem.sessions] == [True, False]


def test_hours_follow_the_places(tmp_path):
    one = to_do(opened(tmp_path / "a", SPRINGS)).problem.jobs["springs"].work.hours
    both = SPRINGS.replace("{ ", '{ "damper.front" = "new_damper", ')
    two = to_do(opened(tmp_path / "b", both)).problem.jobs["springs"].work.hours
    assert one.likely < two.likely < 2 * one.likely  # the unit is taken apart once
    left = SPRINGS.replace("spring.front", "spring.front.left")
    side = to_do(opened(tmp_path / "c", left)).problem.jobs["springs"].work.hours
    assert side.likely == pytest.approx(one.likely / 2)
    said = to_do(opened(tmp_path / "d", SPRINGS + "hours = [1, 2, 3]\npeople = 2\n")).problem
    assert said.jobs["springs"].work.hours == Hours(1, 2, 3)
    assert said.jobs["springs"].work.people == 2
    fixed = to_do(opened(tmp_path / "e", SPRINGS + "hours = 1.5\n")).problem
    assert fixed.jobs["springs"].work.hours.fixed


def test_shares_of_a_job_go_well_or_badly_together_by_half():
    alone = together([(0.5, 1.0, 2.0)])
    assert alone == (0.5, 1.0, 2.0)
    low, likely, high = together([(0.5, 1.0, 2.0), (0.5, 1.0, 2.0)])
    assert likely == 2.0
    # two equal deviations d: sqrt(r (2d)² + (1 - r) 2 d²), by hand
    assert high == pytest.approx(2.0 + (ALIKE * 4 + (1 - ALIKE) * 2) ** 0.5, abs=0.005)
    assert low == pytest.approx(2.0 - 0.5 * (ALIKE * 4 + (1 - ALIKE) * 2) ** 0.5, abs=0.005)
    assert together([]) == UNSAID


def test_prices_are_added_up_in_one_currency(tmp_path):
    body = (
        '[[job]]\nid = "hoses"\nfit = { brake_hose = "new_hose", "pads.front" = "new_pads" }\n'
        '[[job]]\nid = "map"\nfit = { map = "new_map" }\n'
        '[[job]]\nid = "turbo"\nfit = { turbo = "new_turbo" }\n'
    )
    todo = to_do(opened(tmp_path / "a", body))
    assert todo.currency == "EUR"
    assert todo.problem.jobs["hoses"].price == 2 * 80 + 110
    assert todo.unpriced == {"map": ("new_map",), "turbo": ("new_turbo",)}
    head = '[work]\ncurrency = "EUR"\nrates = { USD = 0.9 }\nlabour_rate = "60 EUR"\n'
    todo = to_do(opened(tmp_path / "b", body, head=head))
    assert todo.problem.jobs["map"].price == pytest.approx(450)
    assert todo.labour_rate == 60
    assert todo.parts["hoses"] == ("new_hose", "new_pads")


def test_parts_arrive_and_jobs_wait(tmp_path):
    body = '[[job]]\nid = "fuel"\nfit = { injectors = "big_injectors" }\n'
    assert to_do(opened(tmp_path / "a", body)).problem.jobs["fuel"].earliest == 5 * DAY
    later = body + 'arrives = "2026-12-11T12:00"\n'
    assert to_do(opened(tmp_path / "b", later)).problem.jobs["fuel"].earliest == 6 * DAY + 48


def test_a_map_and_the_parts_it_expects_belong_together(tmp_path):
    body = (
        '[[job]]\nid = "fuel"\nfit = { injectors = "big_injectors" }\n'
        '[[job]]\nid = "flash"\nfit = { map = "new_map" }\n'
    )
    problem = to_do(opened(tmp_path / "a", body)).problem
    stopped = {(c.use, tuple(c.done), tuple(c.not_done)) for c in problem.clauses}
    assert stopped == {("run", ("fuel",), ("flash",)), ("run", ("flash",), ("fuel",))}
    assert problem.jobs["flash"].kind == "flash"
    one = '[[job]]\nid = "both"\nfit = { injectors = "big_injectors", map = "new_map" }\n'
    assert to_do(opened(tmp_path / "b", one)).problem.clauses == ()


def test_uses_are_wanted_after_the_last_session_before_the_day(tmp_path):
    body = PADS + '[[need]]\nuse = "drive"\nday = "Mondays"\nat = "06:30"\n'
    problem = to_do(opened(tmp_path / "a", body)).problem
    assert [(n.session, n.until) for n in problem.needs] == [
        ("sat-1", 2 * DAY + 26), ("sat-2", 9 * DAY + 26),
    ]  # fmt: skip
    dated = PADS + '[[need]]\nuse = "move"\nday = "2026-12-20"\nwaive = 3\n'
    (need,) = to_do(opened(tmp_path / "b", dated)).problem.needs
    assert (need.use, need.session, need.until, need.rank) == ("move", "sat-2", 15 * DAY + 28, 3)
    before = PADS + '[[need]]\nday = "2026-12-04"\n'
    assert to_do(opened(tmp_path / "c", before)).problem.needs == ()
    after = PADS + '[[need]]\nafter = "sat-1"\nat = "18:00"\n'
    (need,) = to_do(opened(tmp_path / "d", after)).problem.needs
    assert (need.session, need.until) == ("sat-1", 72)


def test_a_day_that_no_work_session_lies_before_is_said_beside_the_one_before_it():
    """The demo's second Monday after Christmas: nobody works between it and the one before."""
    problem = to_do(open_build(EXAMPLES / "plover_saturdays")).problem
    (need,) = (n for n in problem.needs if n.also)
    days = [problem.at(at).strftime("%Y-%m-%d") for at in (need.until, *need.also)]
    assert days == ["2026-12-21", "2026-12-28"]
    also = " (and on Mon 28 Dec, with no work session between)"
    assert also_text(problem, need) == also
    assert need_text(problem, need) == f"wanted by Mon 21 Dec 07:00: drive{also}"
    assert also_text(problem, problem.needs[0]) == ""


def test_budgets_grow_month_by_month(tmp_path):
    sessions = (
        '[[session]]\nid = "a"\ndate = "2026-12-05"\nstart = "09:00"\nend = "17:00"\n'
        'people = ["Ann", "Ben"]\n[[session]]\nid = "b"\ndate = "2027-02-06"\nstart = "09:00"\n'
        'end = "17:00"\npeople = ["Ann", "Ben"]\n'
    )
    head = '[work]\nbudget_per_month = "100 EUR"\n'
    body = PADS + '[[budget]]\nmonth = "2027-02"\nmost = "250 EUR"\n'
    problem = to_do(opened(tmp_path, body, head=head, sessions=sessions)).problem
    assert [(b.sessions, b.most) for b in problem.budgets] == [
        (("a",), 100), (("a",), 200), (("a", "b"), 250),
    ]  # fmt: skip


def test_the_alignment_shop(tmp_path):
    """It comes after all that calls for alignment, and the car must get there."""
    sessions = (
        '[[session]]\nid = "home"\ndate = "2026-12-05"\nstart = "08:00"\nend = "18:00"\n'
        'people = ["Ann", "Ben"]\n[[session]]\nid = "shop"\ndate = "2026-12-08"\n'
        'start = "09:00"\nend = "11:00"\noutside = "alignment shop"\n'
    )
    body = SPRINGS + (
        '[[job]]\nid = "rack"\nlike = "alignment_shop"\nbooked = ["shop"]\nprice = "120 EUR"\n'
    )
    problem = to_do(opened(tmp_path, body, sessions=sessions)).problem
    rack = problem.jobs["rack"]
    assert [a.job for a in rack.after] == ["springs"]
    assert (rack.kind, rack.clears, rack.sessions, rack.price) == (
        "outside", ("alignment",), ("shop",), 120,
    )  # fmt: skip
    assert rack.work.needs == (((Condition("use", "drive"),), (Condition("tool", "trailer"),)),)
    assert "ride.alignment_sheet" in [c.target for c in rack.changes if c.kind == "verify"]
    home = Condition("tool", "own place")
    assert home in always(problem.components["wheels_front"].take)
    assert home in always(problem.jobs["springs"].work)
    assert "own place" in problem.session("home").tools
    assert "own place" not in problem.session("shop").tools


def test_said_wins_over_the_build(tmp_path):
    head = '[work]\npercentile = 70\nfirst = "finish"\nage = 12\nodometer = 90000\nyearly = 9000\n'
    source = opened(tmp_path, PADS, head=head)
    todo = to_do(source)
    assert todo.problem.percentile == pytest.approx(0.7)
    assert todo.problem.first == ("finish", "hours")
    assert (todo.age, todo.odometer, todo.yearly) == (12, 90000, 9000)
    other = to_do(source, percentile=0.9, first="hours").problem
    assert (other.percentile, other.first) == (0.9, ("hours", "finish"))


def test_a_session_that_has_begun_is_what_is_left_of_it(tmp_path):
    problem = to_do(opened(tmp_path, PADS), now=datetime(2026, 12, 5, 14, 5)).problem
    assert problem.sessions[0].start == 57
    assert problem.sessions[0].people == (Presence("Ann", 57, 68), Presence("Ben", 57, 68))
    assert problem.zero == datetime(2026, 12, 5)


def test_the_present_state_comes_from_the_journal(tmp_path):
    source = opened(tmp_path, SPRINGS + PADS)
    for task in ("take:raised_front", "take:wheels_front", "take:bar_links_front",
                 "take:spring_units_front", "job:springs"):  # fmt: skip
        source.journal.worked(task, who="Ann", hours=0.5)
    todo = to_do(open_build(tmp_path), now=datetime(2026, 12, 6))
    problem = todo.problem
    assert [s.id for s in problem.sessions] == ["sat-2"]
    assert problem.off == {"raised_front", "wheels_front", "bar_links_front", "spring_units_front"}
    assert {"alignment", "bushes_front", "sweep"} <= problem.pending
    assert problem.done == {"springs"}
    assert loose_ends(problem) == []
    assert set(todo.finished) >= {"take:spring_units_front", "job:springs"}


def test_a_job_recorded_by_itself_leaves_what_no_record_says(tmp_path):
    """Springs fitted, nothing else written down: the alignment is owed until its sheet is there."""
    source = opened(tmp_path, SPRINGS + PADS)
    source.journal.did(
        [c for c in to_do(source).problem.jobs["springs"].changes], who="Ann", job="springs"
    )
    problem = to_do(open_build(tmp_path)).problem
    assert problem.done == {"springs"}
    assert problem.off == frozenset()
    assert {"alignment", "bushes_front", "headlamps"} <= problem.pending
    source.journal.worked("clear:alignment", who="Ann", hours=1.5)
    assert "alignment" not in to_do(open_build(tmp_path)).problem.pending


def test_the_owners_work_file_counts(tmp_path):
    work = "[component.wheels_front]\ntake = 1\n[job.pads]\nhours = [2, 3, 4]\n[tool.hoist]\n"
    todo = to_do(opened(tmp_path, PADS, work=work, head='[work]\ntools = ["stands", "hoist"]\n'))
    assert todo.problem.components["wheels_front"].take.hours == Hours(1, 1, 1)
    assert todo.problem.jobs["pads"].work.hours == Hours(2, 3, 4)
    assert Condition("off", "calipers_front~aside") in always(todo.problem.jobs["pads"].work)
    plain = open_build(write(tmp_path / "b", PADS)).build.inputs_hash
    changed = open_build(write(tmp_path / "b", PADS, work=work)).build.inputs_hash
    assert plain != changed


def test_wear_within_reach_and_who_renews_it_anyway(tmp_path):
    body = PADS + '[[job]]\nid = "hoses"\nfit = { "brake_hose.front" = "new_hose" }\n'
    body += '[[job]]\nid = "seals"\nopens = ["calipers_front"]\nhours = 1\n'
    wear = to_do(opened(tmp_path, body)).wear
    assert "caliper_seals_front" in wear
    assert "clutch_disc" not in wear
    assert wear["brake_hoses_front"].done_by == ("hoses",)
    assert Condition("off", "calipers_front") in always(wear["brake_hoses_front"].job.work)


@pytest.mark.parametrize("outline", ["transverse-turbo", "in-line-rear-drive"])
def test_a_shim_takes_off_the_stub_axle_and_never_the_axle(tmp_path, outline):
    body = '[[job]]\nid = "tip"\nfit = { "stub_shim.rear" = "wedge" }\n'
    parts = '[part.wedge]\nkind = "stub_shim"\n'
    folder = write(tmp_path, body, parts=parts, head=f'[work]\noutline = "{outline}"\n')
    found = to_do(open_build(folder))
    problem, words = found.problem, found.notes["job:tip"]
    opened = {"raised_front", "raised_rear", "wheels_rear", "calipers_rear~aside", "discs_rear"}
    beam = {"hubs_rear"} if outline == "transverse-turbo" else set()
    assert set(problem.components) == opened | beam
    wanted = {"alignment", "road_check", "stub_axles_rear", "sweep", "joints_again", "wheels_again"}
    assert set(problem.effects) == wanted
    clearing = problem.effects["stub_axles_rear"].clearing
    assert clearing is not None
    assert clearing.work.people == 2
    assert [c.target for c in clearing.changes] == ["corners.joints_tightened"]
    told = [*words.cautions, *(c for k in ("take", "refit") for n in beam
                               for c in found.notes[f"{k}:{n}"].cautions)]  # fmt: skip
    assert any("sensor" in line for line in told)
    assert any("marked with side" in line for line in words.steps)
    owed = [*words.joints, *(j for n in beam for j in found.notes[f"refit:{n}"].joints)]
    assert owed == ["stub_axle_bolts.rear"]


A_SATURDAY = """
[[session]]
id = "sat"
date = "2026-12-05"
start = "07:00"
end = "19:00"
people = ["Ann", "Ben"]
"""


@pytest.mark.parametrize("starter", sorted(STARTERS))
def test_no_job_that_a_new_folder_begins_with_shuts_itself_out(tmp_path, starter):
    changes = tuple(first_changes(starter).keys() - {"part"})
    make_build(tmp_path / "car", nearest=starter, driving="yes", then=changes)
    file = tmp_path / "car" / "build.toml"
    file.write_text(file.read_text("utf-8") + A_SATURDAY, "utf-8")
    problem = to_do(open_build(tmp_path / "car")).problem
    assert len(problem.jobs) == len(changes)
    shut = [n for n, job in problem.jobs.items() if reach(problem, job) is None]
    assert shut == []


def test_what_a_job_has_off_for_one_place_is_not_asked_to_be_on_for_another(tmp_path):
    body = '[[job]]\nid = "all"\nfit = { "pads.front" = "new_pads", brake_fluid = "new_fluid" }\n'
    parts = '[part.new_fluid]\nkind = "brake_fluid"\n[part.new_pads]\nkind = "pads"\n'
    problem = to_do(open_build(write(tmp_path, body, parts=parts))).problem
    away = Condition("off", "calipers_front~aside")
    assert problem.jobs["all"].work.needs == (((away,),),)


def test_set_alone_is_an_adjustment(tmp_path):
    body = '[[job]]\nid = "camber"\nset = { "arm.rear.camber_change" = "-1 deg" }\n'
    parts = '[part.std_arm]\nkind = "control_arm"\n[part.new_arm]\nkind = "control_arm"\n'
    folder = write(tmp_path, body, parts=parts)
    car = folder / "car.toml"
    car.write_text(car.read_text("utf-8") + '[fitted]\n"arm.rear" = "std_arm"\n', "utf-8")
    job = to_do(open_build(folder)).problem.jobs["camber"]
    assert job.kind == "adjust"
    assert "alignment" in job.work.causes


def test_narrowing_says_why(tmp_path):
    lift = Condition("tool", "lift")
    job = Job("j", "j", "fit", "x", Work(Hours(1, 1, 1), needs=(((lift,),),)))
    small = narrowed({}, {}, {"j": job}, tools=())
    assert small.lacking == {"job:j": ("a session with the tool 'lift'",)}
    assert small.jobs["j"].work.needs == (((lift,),),)
    with pytest.raises(WorkFaults, match="lift"):
        to_do(opened(tmp_path, PADS + 'needs = ["tool:lift"]\n'))


def test_a_job_clears_only_what_the_work_may_still_leave():
    """An alignment once set on the drive clears nothing on the rack, and is a job all the same."""
    effect = Effect("alignment", "alignment owed")
    job = Job("rack", "on the rack", "align", "car", Work(Hours(1, 1, 1)), clears=("alignment",))
    owed = narrowed({}, {"alignment": effect}, {"rack": job}, tools=(), pending=("alignment",))
    assert (set(owed.effects), owed.jobs["rack"].clears) == ({"alignment"}, ("alignment",))
    done = narrowed({}, {"alignment": effect}, {"rack": job}, tools=())
    assert (set(done.effects), done.jobs["rack"].clears) == (set(), ())


def _afters(*jobs: Job) -> dict[str, list[str]]:
    return {n: [a.job for a in j.after] for n, j in set_to_suit({j.id: j for j in jobs}).items()}


def _doing(name: str, *changes: Change, **more) -> Job:
    return Job(name, name, "fit", "", Work(Hours(1, 1, 1)), changes=changes, **more)


def test_a_reading_is_put_right_for_tyres_that_are_on_the_car():
    said = to_do(open_build(EXAMPLES / "plover_saturdays")).problem.jobs["speed-reading"].after
    assert [a.job for a in said] == ["wheels"]
    reading = _doing("reading", Change("set", "speedo.correction", "1.03"))
    tyres = _doing("tyres", Change("fit", "tyre", "sallow"))
    gears = _doing("gears", Change("fit", "final_drive", "loft"))
    pads = _doing("pads", Change("fit", "pads.front", "quern"))
    assert _afters(reading, tyres, gears, pads)["reading"] == ["tyres", "gears"]
    assert _afters(reading, pads)["reading"] == []
    # its own tyres are on when it is set; what the build says of the order holds
    own = _doing("own", *reading.changes, *tyres.changes)
    assert _afters(own, gears)["own"] == []
    assert _afters(reading, replace(tyres, after=(After("reading"),)))["reading"] == []
    assert _afters(replace(reading, after=(After("tyres", 1.0),)), tyres)["reading"] == ["tyres"]
    assert _afters(replace(reading, sessions=("shop",)), tyres)["reading"] == []


def test_a_map_is_written_when_the_parts_that_it_expects_are_on():
    read = open_build(EXAMPLES / "plover_saturdays")
    assert "injectors" in [a.job for a in to_do(read).problem.jobs["first-map"].after]
    # what the build says of the order holds
    jobs = [
        job.model_copy(update={"after": ("first-map",)}) if job.id == "injectors" else job
        for job in read.build.jobs
    ]
    other = replace(read, build=replace(read.build, jobs=tuple(jobs)))
    found = to_do(other).problem.jobs
    assert [a.job for a in found["injectors"].after] == ["first-map"]
    assert "injectors" not in [a.job for a in found["first-map"].after]
