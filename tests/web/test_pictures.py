"""Charts are drawn once for the same results, and anew for others."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import Change
from drybuild.examine import OpenBuild, examine_state, open_build
from drybuild.show.charts import charts
from drybuild.web import pictures
from drybuild.web.pictures import Pictures


@pytest.fixture(scope="module")
def opened() -> OpenBuild:
    return open_build(Path(__file__).parents[2] / "examples" / "plover")


def test_an_edit_that_a_chart_does_not_rest_on_draws_nothing_and_another_one_does(
    opened: OpenBuild, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[str] = []

    def counted(examination, system):  # type: ignore[no-untyped-def]
        drawn.append(examination.state.name)
        return charts(examination, system)

    monkeypatch.setattr(pictures, "charts", counted)
    kept = Pictures()
    states = {
        "plain": opened.state("finished"),
        "lower": opened.draft("lower", [Change("set", "corner.front.camber_now", "-2 deg")]),
        "hot": opened.draft("hot", [Change("set", "site.temperature", "38 °C")]),
    }
    made = {}
    for name, state in states.items():
        examination = examine_state(state, opened.registry, draws=256, unknowns=False)
        made[name] = kept.of(examination, name, "metric")
        assert [c.svg for c in made[name]] == [c.svg for c in charts(examination, "metric")]
    assert drawn == ["finished", "draft:hot"]
    assert made["lower"] is made["plain"]
    assert [c.svg for c in made["hot"]] != [c.svg for c in made["plain"]]
