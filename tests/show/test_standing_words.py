"""How the car stands, in words: of one that is apart nothing reads as leave to start it."""

from __future__ import annotations

from drybuild.show.cards_words import may_lines
from drybuild.show.work_list import brief, briefest
from drybuild.work.standing import Standing, Stop


def test_of_a_car_that_is_apart_what_is_off_is_said_before_what_is_not_stopped():
    """No line reads as leave to start a car on stands with its brakes open."""
    raised = Stop(("move", "full load"), "off", "front up on axle stands", "down", what="raised")
    open_ = Stop(("creep",), "pending", "brake hydraulics opened", "brakes bled", what="brakes")
    car = Standing(0, ("raised",), ("brakes",), (), (raised, open_))
    stopped, *rest = brief(car)
    assert (stopped.uses, stopped.stopped) == ("move, full load", True)
    assert rest[-1].said.startswith(
        "the car is apart (front up on axle stands; brake hydraulics opened): nothing recorded"
    )
    assert dict(may_lines(car, ()))["turn over, run"] == rest[-1].said
    # every use is named: those too that are stopped through another alone
    named = {use for line in brief(car) for use in line.uses.split(", ")}
    assert named >= {"drive", "compete", "creep"}
    assert [line.stopped for line in briefest(car)] == [True, False]
    # together again, it leads with what is free
    owed = Stop(("drive",), "pending", "road check owed", "road check", what="road")
    together = Standing(0, (), ("road",), (), (owed,))
    assert not brief(together)[0].stopped
    assert "apart" not in brief(together)[0].said


def test_a_rule_missed_as_found_is_named_beside_the_use_and_with_what_makes_it_a_stop():
    car = Standing(0, (), (), (), (), outside={"compete": ("catch tank (club)",)})
    lines = {line.uses: line.said for line in brief(car)}
    assert lines["compete"].startswith(
        "nothing recorded stops it; outside a rule as found, catch tank (club); "
    )
    assert all("outside" not in said for uses, said in lines.items() if "compete" not in uses)
    stop = Stop(("compete",), "check", "no catch tank", "fit one", since="larger turbocharger")
    (line,) = (one for one in brief(Standing(0, (), (), (), (stop,))) if one.stopped)
    assert line.said == (
        "no catch tank (so as found; the builder's to answer for since: larger turbocharger)"
    )
