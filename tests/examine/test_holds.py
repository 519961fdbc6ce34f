"""What stops a use besides the checks: empty places, open components, what the owner says."""

from __future__ import annotations

import shutil
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import drybuild
from drybuild.build import Change, job_changes
from drybuild.build.kinds import places
from drybuild.examine.examination import examine_state
from drybuild.examine.uses import open_text
from drybuild.findings.words import use_closure
from drybuild.journal import Journal
from drybuild.show.sentences import hold_texts, stopping, use_reason
from drybuild.values import HowKnown

DEMO = Path(__file__).parents[2] / "examples" / "plover"
EVIDENCE = {"value": "110 N·m", "tool": "torque wrench", "name": "Ilse", "second": "Marten"}


@pytest.fixture(scope="module")
def car():
    return drybuild.open_build(DEMO)


def examined(car, *changes, start="now"):
    return examine_state(
        car.draft("look", changes, start), car.registry, draws=64, refine=False, unknowns=False
    )


@pytest.mark.parametrize("root", [r for r, p in places().items() if not p.optional])
def test_taking_a_part_off_that_a_car_needs_stops_drive(car, root):
    """Not a single one may leave the car with nothing recorded that stops it."""
    assert not examined(car, Change("remove", root)).use("drive").allowed


def test_an_empty_place_stops_the_narrowest_uses(car):
    done = examined(car, Change("remove", "caliper.front.left"))
    (hold,) = [h for h in done.use("creep").holds if h.check == "empty.caliper"]
    assert (hold.subject, hold.kind) == ("front.left", "empty")
    assert "front left caliper" in hold.why
    for use in ("move", "run"):
        assert not any(h.check == "empty.caliper" for h in done.use(use).holds), use
    wheel = examined(car, Change("remove", "wheel.front.left"))
    assert any(h.check == "empty.wheel" for h in wheel.use("move").holds)


def test_what_was_never_there_is_not_missed(car):
    assert examined(car, Change("remove", "spacer")).use("drive").allowed


def test_refitting_lifts_it(car):
    off = Change("remove", "caliper.front")
    on = Change("fit", "caliper.front", "plover_caliper_front")
    assert not any(h.kind == "empty" for u in examined(car, off, on).uses for h in u.holds)


def test_every_place_stops_known_uses():
    for place in places().values():
        for use in place.stops_empty:
            assert use_closure(use)


def test_an_open_component_stays_open_until_it_is_closed(car):
    opened = Change("open", "intake"), Change("verify", "breathing.joints", EVIDENCE)
    done = examined(car, *opened)
    assert any(h.check == "open.intake" for h in done.use("drive").holds)
    again = examined(car, *opened, Change("close", "intake"))
    assert not any(h.check == "open.intake" for u in again.uses for h in u.holds)


def test_a_raised_car_is_not_moved_until_it_is_let_down(car):
    raised = examined(car, Change("open", "raised_front"), Change("open", "airbox"))
    holds = raised.use("move").holds
    assert [h.check for h in holds] == ["open.raised_front"]
    assert holds[0].why == "the car stands raised: front"
    down = (Change("open", "raised_front"), Change("close", "raised_front"))
    assert examined(car, *down).use("move").allowed


def test_what_is_off_stops_what_was_written_down_with_it(car):
    """Rear wheels off, on stands: the engine may run. Without that word it may not."""
    said = {"title": "rear wheels", "stops": ["move", "drive"]}
    plain = examined(car, Change("open", "wheels_rear"))
    told = examined(car, Change("open", "wheels_rear", said))
    why = [h.why for h in told.use("move").holds if h.check == "open.wheels_rear"]
    assert why == ["off: rear wheels"]
    for use, held in (("run", False), ("move", True), ("drive", True)):
        assert any(h.check == "open.wheels_rear" for h in told.use(use).holds) is held
    assert any(h.check == "open.wheels_rear" for h in plain.use("run").holds)


def test_what_stands_open_today_is_closed_when_all_is_done(tmp_path):
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    Journal(folder).did([Change("open", "raised_front")], who="Ilse")
    opened = drybuild.open_build(folder)
    assert opened.state("now").open == ("raised_front",)
    assert opened.state("finished").open == ()


def test_what_raises_the_car_is_known_by_its_id():
    text = (files("drybuild.work.library") / "common.toml").read_text(encoding="utf-8")
    components = tomllib.loads(text)["component"]
    assert {c for c, said in components.items() if "move" in said.get("stops", ())} == {
        "raised_front", "raised_rear", "raised_lift",
    }  # fmt: skip


def test_a_car_that_is_not_driving_stays_so_whatever_is_changed(tmp_path):
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    text = (folder / "build.toml").read_text(encoding="utf-8")
    (folder / "build.toml").write_text(
        text.replace("driving = true", "driving = false"), encoding="utf-8"
    )
    Journal(folder).did([Change("set", "goal.load", "150 kg")], who="Ilse")
    car = drybuild.open_build(folder)
    for state in ("now", "finished"):
        holds = car.examine(state, draws=64).use("drive").holds
        assert any(h.check == "stated.not_driving" for h in holds), state


def test_a_record_is_owed_again_after_the_next_change_and_after_its_undo(tmp_path):
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    journal = Journal(folder)

    def owes(record):
        uses = drybuild.open_build(folder).examine("now", draws=64).uses
        return any(h.check == record for u in uses for h in u.holds)

    record = "corners.nuts_tightened"
    assert record in drybuild.open_build(folder).registry.records
    assert not owes(record)
    journal.did([Change("fit", "wheel.front", "loft_17x8")], who="Ilse")
    assert owes(record)
    seen = journal.did([Change("verify", record, EVIDENCE)], who="Ilse")
    assert not owes(record)
    undo = journal.undo(seen.id, who="Ilse")
    assert owes(record)
    journal.undo(undo.id, who="Ilse")
    assert not owes(record)
    journal.did([Change("disturb", "wheel.front.left")], who="Ilse")
    assert owes(record)


def test_what_is_short_is_told_before_what_is_unsure_and_what_another_use_waits_for_is_last(car):
    """The first reason of a use is the first of the findings that stop it, on every face."""
    done = car.examine("finished")
    mixed = 0
    for use in done.uses:
        checks = [h for h in use.holds if h.kind == "check"]
        ranks = [
            (h.through != "", done.finding(h.check, h.subject).weight[:2]) for h in checks
        ]  # fmt: skip
        assert ranks == sorted(ranks), use.use
        mixed += len({verdict for later, (verdict, _) in ranks if not later}) > 1
        direct = [f for f in stopping(done) if use.use in f.stops]
        if direct:
            first = checks[0]
            assert (first.check, first.subject) == (direct[0].check, direct[0].subject)
            assert first.anywhere in use_reason(use)
    assert mixed >= 3  # the demo has uses that are stopped in more than one way


def test_a_record_owed_is_told_after_everything_else(car):
    job = next(j for j in car.build.jobs if job_changes(j))
    after = car.state("now").after([*job_changes(job), Change("remove", "map")], "now")
    now = examine_state(after, car.registry, draws=64, refine=False, unknowns=False)
    seen = 0
    for use in now.uses:
        kinds = [h.kind == "record" for h in use.holds if not h.through]
        assert kinds == sorted(kinds), use.use
        seen += len(set(kinds)) > 1
    assert seen


def test_more_reasons_counts_what_is_folded(car):
    done = car.examine("finished")
    for use in done.uses:
        lines = hold_texts(h for h in use.holds if not h.through)
        if len(lines) > 1:
            more = len(lines) - 1
            assert use_reason(use) == f"{lines[0][0]}; {more} more reason{'s' * (more > 1)}"


@pytest.mark.parametrize(
    ("chance", "known", "said"),
    [(0.012, HowKnown.ASSUMED, "likely short, as guessed"),
     (0.02, HowKnown.MEASURED, "likely short"),
     (0.5, HowKnown.ASSUMED, "too close to call"), (0.86, HowKnown.MEASURED, "too close to call"),
     (0.97, HowKnown.ASSUMED, "likely enough, as guessed")],
)  # fmt: skip
def test_what_is_nearly_decided_is_not_too_close_to_call(car, chance, known, said):
    found = car.examine("finished", draws=64).findings[0]
    assert open_text(found.but(chance=chance, lowest_known=known)) == said


def test_of_a_car_on_stands_a_use_says_first_what_it_needs(car):
    """The links are its own reason not to be driven; that it has no wheels is the weightier."""
    stands = {"title": "the car stands raised: front", "stops": ["move"]}
    links = {"title": "front anti-roll bar links", "stops": ["drive"]}
    apart = [Change("open", "raised_front", stands), Change("open", "bar_links_front", links)]
    now = examine_state(
        car.state("now").after(apart, "now"), car.registry, draws=64, refine=False, unknowns=False
    )
    said = {use.use: use_reason(use) for use in now.uses}
    assert said["move"].startswith("the car stands raised: front")
    assert said["creep"] == "needs move first"
    assert said["drive"] == "needs move first; off: front anti-roll bar links"
