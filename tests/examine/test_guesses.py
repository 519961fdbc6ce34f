"""What is asked for of a finding that only guesses keep open."""

from __future__ import annotations

import pytest

from drybuild.build.new import make_build
from drybuild.examine import OpenBuild, open_build
from drybuild.examine.guesses import asked_by_name, guesses_text, looked_up_first
from drybuild.findings import Finding, Unknown, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED
from drybuild.values import HowKnown


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> OpenBuild:
    folder = tmp_path_factory.mktemp("guesses") / "car"
    make_build(folder, nearest="front-turbo-hatch", driving="yes", first_change="lower it")
    return open_build(folder)


@pytest.fixture(scope="module")
def open_(opened: OpenBuild) -> list[Finding]:
    found = opened.examine("finished", draws=1024).findings
    return [f for f in found if f.why == RESTS_ON_ASSUMED and f.armed and len(f.guesses) > 2]


def test_the_guess_with_the_largest_share_of_the_doubt_is_named_first(open_: list[Finding]) -> None:
    assert open_
    seen = 0
    for finding in open_:
        shares = {u.input: u.share for u in finding.unknowns}
        mine = {a: s for a, s in shares.items() if a in finding.guesses and "goal." not in a}
        if mine:
            seen += 1
            assert shares[asked_by_name(finding)[0]] == max(mine.values()), finding.check
    assert seen


def test_where_no_guess_matters_none_is_named(open_: list[Finding]) -> None:
    """Nobody weighs an arm to know a gap that hangs on what was measured."""
    finding = open_[0]
    measured = Unknown("corner.front.left.strut_gap", 0.9, HowKnown.MEASURED)
    slight = finding.but(unknowns=(measured,))
    said = guesses_text(slight)
    assert f"{len(slight.guesses)} guesses" in said
    assert "first" not in said
    assert asked_by_name(slight) == ()
    # without shares worked out nobody can say that none matters
    assert asked_by_name(finding.but(unknowns=())) == finding.guesses[:1]
    one = finding.but(unknowns=(measured,), guesses=finding.guesses[:1])
    assert asked_by_name(one) == finding.guesses[:1]
    assert "guesses" not in guesses_text(one)


def test_most_of_a_doubt_that_papers_tell_is_looked_up_before_anything_is_bought(
    open_: list[Finding],
) -> None:
    guess = Unknown("pump.relief_pressure", 0.8, HowKnown.ASSUMED)
    other = Unknown("feed_line.pressure_rating", 0.2, HowKnown.ASSUMED)
    unsure = open_[0].but(verdict=Verdict.UNSURE, unknowns=(other, guess))
    assert looked_up_first(unsure) == guess
    # a larger or a smaller figure alters nothing where it is short with any
    assert looked_up_first(unsure.but(verdict=Verdict.SHORT)) is None
    # nor is that looked up which its maker said, or which a gauge reads, or which is a small part
    said = Unknown(guess.input, 0.8, HowKnown.MAKER)
    gauged = Unknown("corner.front.left.tyre_pressure", 0.8, HowKnown.ASSUMED)
    for most in (said, gauged, Unknown(guess.input, 0.4, HowKnown.ASSUMED)):
        assert looked_up_first(unsure.but(unknowns=(most,))) is None
