"""Open findings are folded by what settles them, each once, those that stop a use first."""

from __future__ import annotations

import pytest

from drybuild.build.new import make_build
from drybuild.examine import measure_next, open_build
from drybuild.findings import Verdict
from drybuild.show.settling import ONLY_CHANGED, READ_RULE, at_a_glance, folded


@pytest.fixture(scope="module")
def fresh(tmp_path_factory):
    """A car begun from a starter, nothing of it measured: its unsure findings and measurements."""
    folder = tmp_path_factory.mktemp("fresh") / "car"
    make_build(folder, nearest="front-turbo-hatch", driving="yes", first_change="wheels and tyres")
    examination = open_build(folder).examine(draws=512)
    unsure = [f for f in examination.findings if f.verdict is Verdict.UNSURE]
    return unsure, measure_next(examination), examination.state.build.parts


def test_every_finding_stands_in_one_fold(fresh):
    unsure, measurements, parts = fresh
    folds = folded(unsure, measurements, parts)
    assert sorted((f.check, f.subject) for fold in folds for f in fold.findings) == sorted(
        (f.check, f.subject) for f in unsure
    )
    assert len(folds) < len(unsure) / 3


def test_a_fold_holds_what_its_measurement_bears_on_and_no_other_way_is_named(fresh):
    unsure, measurements, parts = fresh
    by = {m.note_as: frozenset(m.findings) for m in measurements}
    for fold in folded(unsure, measurements, parts):
        if fold.at:
            assert {(f.check, f.subject) for f in fold.findings} <= by[fold.at]
    alone = {fold.what: fold for fold in folded(unsure, (), parts)}
    assert all(f.settles_by == "reading the rule" for f in alone[READ_RULE].findings)
    assert not any(fold.at for fold in alone.values())
    assert ONLY_CHANGED in alone


def test_what_stops_a_use_comes_first(fresh):
    unsure, measurements, parts = fresh
    folds = folded(unsure, measurements, parts)
    measured = [fold for fold in folds if fold.at]
    assert [fold.at for fold in folds[: len(measured)]] == [fold.at for fold in measured]
    stopping = [fold.stopping for fold in measured]
    assert stopping == sorted(stopping, reverse=True)
    assert stopping[0] > 3
    for fold in folds:
        stops = [f.stopping and bool(f.stops) for f in fold.findings]
        assert stops == sorted(stops, reverse=True)


def test_how_far_a_few_measurements_reach_is_said(fresh):
    unsure, measurements, parts = fresh
    folds = folded(unsure, measurements, parts)
    reach = sum(len(fold.findings) for fold in folds[:3])
    said = at_a_glance(folds)
    assert said.startswith(f"The first 3 measurements bear on {reach} of the {len(unsure)}.")
    assert at_a_glance(folded(unsure, (), parts)) == ""
