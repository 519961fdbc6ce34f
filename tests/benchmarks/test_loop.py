"""No draw's answer depends on another draw: columns give what a loop of floats gives."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def bench() -> ModuleType:
    path = ROOT / "benchmarks" / "examine.py"
    spec = importlib.util.spec_from_file_location("benchmark_examine", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("state", ["finished", "as found"])
def test_columns_and_a_loop_of_floats_agree_draw_for_draw(bench: ModuleType, state: str) -> None:
    build = bench.open_build(bench.DEMO)
    draws, indices = 64, [0, 17, 63]
    chosen = build.state(state).after([bench.GRID])
    plain = bench.unfolded(build.registry)
    assert len(plain.checks) >= len(build.registry.checks) - 1
    columns = bench.run_checks(bench.evaluate(chosen, plain, draws, bench.SEED), plain)
    _, singles = bench.loop(chosen, plain, draws, indices)
    assert len(columns) > 100
    assert bench.differing(columns, indices, singles) == []


def test_a_difference_would_be_seen(bench: ModuleType) -> None:
    build = bench.open_build(bench.DEMO)
    state = build.state("finished").after([bench.GRID])
    columns = bench.run_checks(
        bench.evaluate(state, build.registry, 64, bench.SEED), build.registry
    )
    first = bench.slacks(columns, 0)
    key = next(iter(first))
    assert bench.differing(columns, [0], [first]) == []
    assert len(bench.differing(columns, [0], [{**first, key: first[key] + 1e-6}])) == 1
    assert bench.differing(columns, [0], [{k: v for k, v in first.items() if k != key}])
