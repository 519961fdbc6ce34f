"""Durations, sums of them, plans carried out, learning and wear against the world."""

from __future__ import annotations

import math
from datetime import datetime
from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from scipy import integrate, stats

from drybuild.values import Draws, quantiles
from drybuild.work.durations import ends, mean, quantile, times, variance
from drybuild.work.ends import ends_of
from drybuild.work.model import (
    After,
    Component,
    Condition,
    Hours,
    Job,
    Plan,
    Presence,
    Problem,
    Session,
    Step,
    ToDo,
    Work,
)
from drybuild.work.reach import reach
from drybuild.work.risk import Doubts, Learned, quote, simulate
from drybuild.work.risk.causes import chain
from drybuild.work.risk.execute import Lengths, execute
from drybuild.work.risk.learned import posterior
from drybuild.work.risk.lengths import _Factors, drawn
from drybuild.work.risk.network import network
from drybuild.work.risk.sums import covariance, total
from drybuild.work.wear import Clock, fails_within, survives

SEVERAL = (
    Hours(1.0, 1.5, 3.0), Hours(0.5, 0.5, 1.0), Hours(2.0, 4.0, 4.5), Hours(0.2, 0.25, 0.3),
    Hours(3.0, 5.0, 14.0), Hours(1.0, 2.0, 2.0),
)  # fmt: skip


# triangles ---------------------------------------------------------------------------------


def triangle(hours):
    """The same triangle from an independent library."""
    low, high = ends(hours.low, hours.likely, hours.high)
    return stats.triang(c=(hours.likely - low) / (high - low), loc=low, scale=high - low)


@pytest.mark.cross_model
def test_low_and_high_are_the_tenth_and_ninetieth(against):
    got = [[triangle(h).cdf(h.low), triangle(h).cdf(h.high)] for h in SEVERAL]
    against("drybuild.work.durations.ends", got=got, expected=[[0.1, 0.9]] * len(SEVERAL),
            abs=1e-9, source="scipy.stats.triang.cdf")  # fmt: skip


@pytest.mark.cross_model
def test_quantiles_of_the_triangle(against):
    chances = np.array([0.02, 0.1, 0.35, 0.5, 0.8, 0.9, 0.99])
    expected = [np.maximum(0.0, triangle(h).ppf(chances)) for h in SEVERAL]
    against("drybuild.work.durations.quantile",
            got=[[quantile(h, float(c)) for c in chances] for h in SEVERAL], expected=expected,
            abs=1e-9, source="scipy.stats.triang.ppf")  # fmt: skip
    against("drybuild.work.durations.times", got=[times(h, chances) for h in SEVERAL],
            expected=expected, abs=1e-9, source="scipy.stats.triang.ppf")  # fmt: skip


@pytest.mark.cross_model
def test_moments_of_the_triangle(against):
    uncut = [h for h in SEVERAL if ends(h.low, h.likely, h.high)[0] >= 0]
    assert len(uncut) >= 4
    moments = [triangle(h).stats("mv") for h in uncut]
    against("drybuild.work.durations.mean", got=[mean(h) for h in uncut],
            expected=[float(m) for m, _ in moments], rel=1e-9,
            source="scipy.stats.triang.stats")  # fmt: skip
    against("drybuild.work.durations.variance", got=[variance(h) for h in uncut],
            expected=[float(v) for _, v in moments], rel=1e-9,
            source="scipy.stats.triang.stats")  # fmt: skip


@pytest.mark.cross_model
def test_moments_of_a_triangle_cut_at_nothing(against):
    for hours in (Hours(0.1, 0.5, 0.75), Hours(0.0, 0.0, 1.0), Hours(0.05, 1.0, 1.1)):
        assert ends(hours.low, hours.likely, hours.high)[0] < 0
        whole = triangle(hours)
        first, second = (
            integrate.quad(lambda x, k=k, f=whole.pdf: x**k * f(x), 0, 20, points=[hours.likely])[0]
            for k in (1, 2)
        )
        against("drybuild.work.durations.mean", got=mean(hours), expected=first, rel=1e-7,
                source="scipy.integrate over scipy.stats.triang.pdf, 0 below 0")  # fmt: skip
        against("drybuild.work.durations.variance", got=variance(hours),
                expected=second - first**2, rel=1e-6,
                source="scipy.integrate over scipy.stats.triang.pdf, 0 below 0")  # fmt: skip


# sums of correlated times --------------------------------------------------------------------


@pytest.mark.cross_model
@pytest.mark.parametrize("r", [-0.5, 0.0, 0.3, 0.7, 0.95])
def test_covariance_of_two_times(against, r):
    """The double integral over the two normals, by Gauss-Hermite nodes of another library."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(120)
    weights = weights / weights.sum()
    other = r * nodes[:, None] + math.sqrt(1 - r * r) * nodes[None, :]
    one = times(SEVERAL[0], stats.norm.cdf(nodes))[:, None]
    two = times(SEVERAL[4], stats.norm.cdf(other))
    both = weights[:, None] * weights[None, :]
    expected = (both * one * two).sum() - (both * one).sum() * (both * two).sum()
    scale = math.sqrt(variance(SEVERAL[0]) * variance(SEVERAL[4]))
    against("drybuild.work.risk.sums.covariance",
            got=covariance(SEVERAL[0], SEVERAL[4], r) / scale, expected=expected / scale, abs=0.003,
            source="numpy Gauss-Hermite nodes, double integral",
            note="as a correlation; tolerance: eight terms of the series, and the nodes at the "
            "kink of the triangle")  # fmt: skip


def one_factor(draws, hours, loading):
    """Times of tasks that share one factor, shape (tasks, draws)."""
    factors = _Factors(draws, Learned())
    load = {"common": loading} if loading else {}
    return np.stack([drawn(h, load, factors, draws, f"task {k}") for k, h in enumerate(hours)])


@pytest.mark.textbook
def test_independent_times_add_like_normals(against):
    """Variance of the sum is the sum of the variances, and sixty of them are all but normal."""
    hours = [Hours(1.0, 2.0, 3.0)] * 60
    column = one_factor(Draws(2**14), hours, 0.0).sum(axis=0)
    sigma = math.sqrt(60 * variance(hours[0]))
    middle = 60 * 2.0
    against("drybuild.work.risk.lengths.drawn", got=quantiles(column, (0.1, 0.5, 0.8, 0.9)),
            expected=middle + sigma * stats.norm.ppf([0.1, 0.5, 0.8, 0.9]), abs=0.035 * sigma,
            source="central limit theorem: mean Σμ, variance Σσ²; worked in the test",
            note="tolerance: two standard errors of a 90 % quantile at 2^14 draws")  # fmt: skip
    against("drybuild.work.risk.sums.total", got=total(hours, [1.0] * 60, [{}] * 60,
            [variance(h) for h in hours]), expected=(middle, sigma), rel=1e-9,
            source="mean Σμ, variance Σσ²; worked in the test")  # fmt: skip


@pytest.mark.textbook
def test_times_that_hang_together_wholly_add_quantile_by_quantile(against):
    """Comonotone sums: the quantile of the sum is the sum of the quantiles."""
    column = one_factor(Draws(2**14), SEVERAL, 1.0).sum(axis=0)
    chances = (0.1, 0.5, 0.8, 0.9)
    expected = [sum(quantile(h, c) for h in SEVERAL) for c in chances]
    against("drybuild.work.risk.lengths.drawn", got=quantiles(column, chances), expected=expected,
            rel=0.002, source="A. J. McNeil, R. Frey, P. Embrechts, Quantitative Risk Management, "
            "2005, prop. 6.15, from memory",
            note="tolerance: 2^14 evenly spread draws")  # fmt: skip


@pytest.mark.textbook
@pytest.mark.parametrize("loading", [0.4, 0.8])
def test_a_common_factor_hangs_times_together(against, loading):
    """Rank correlation under a normal copula of correlation ρ: 6/π asin(ρ/2), 2/π asin ρ."""
    one, other = one_factor(Draws(2**14), (SEVERAL[0], SEVERAL[4]), loading)
    rho = loading * loading
    source = "W. H. Kruskal, J. Am. Stat. Assoc. 53 (1958) 814-861, from memory"
    against("drybuild.work.risk.lengths.drawn", got=stats.spearmanr(one, other).statistic,
            expected=6 / math.pi * math.asin(rho / 2), abs=0.016, source=source,
            note="tolerance: two standard errors at 2^14 draws")  # fmt: skip
    against("drybuild.work.risk.lengths.drawn", got=stats.kendalltau(one, other).statistic,
            expected=2 / math.pi * math.asin(rho), abs=0.012, source=source,
            note="tolerance: two standard errors at 2^14 draws")  # fmt: skip


@pytest.mark.textbook
@pytest.mark.parametrize("loading", [0.4, 0.8])
def test_a_common_factor_adds_its_covariances(against, loading):
    """var(ΣX) = nσ²(1 + (n−1)ρ), with the times' own correlation ρ counted in other draws."""
    hours = [Hours(1.0, 1.5, 3.0)] * 12
    sigma2 = variance(hours[0])
    rho = np.corrcoef(one_factor(Draws(2**14, 7), hours[:2], loading))[0, 1]
    expected = math.sqrt(12 * sigma2 * (1 + 11 * rho))
    source = "variance of a sum of equicorrelated terms, nσ²(1 + (n−1)ρ)"
    column = one_factor(Draws(2**14), hours, loading).sum(axis=0)
    note = "tolerance: two standard errors of a correlation and of a deviation at 2^14 draws"
    against("drybuild.work.risk.lengths.drawn", got=float(column.std()), expected=expected,
            rel=0.03, source=source, note=note)  # fmt: skip
    found = total(hours, [1.0] * 12, [{"common": loading}] * 12, [sigma2] * 12)
    against("drybuild.work.risk.sums.total", got=found[1], expected=expected, rel=0.03,
            source=source, note=note)  # fmt: skip


@pytest.mark.cross_model
def test_the_outlook_agrees_with_the_closed_form(against):
    """Hours of a plan with regions and paces: simulated, and by Hermite sums."""
    jobs = [Job(f"j{k}", f"j{k}", "fit", ("bay", "nose")[k % 2], Work(h, 1 + k % 2))
            for k, h in enumerate(SEVERAL * 2)]  # fmt: skip
    problem, plan = side_by_side(jobs)
    outlook = simulate(ToDo(problem, {}, age=18.0), plan, draws=2**14)
    loads = []
    for job in jobs:
        from drybuild.work.risk.doubts import weights

        who = ("A", "B")[: job.work.people]
        loads.append(weights(job.work.hours, kind="job", region=job.region, people=who, age=18.0,
                             doubts=Doubts()))  # fmt: skip
    # the covariance matrix, entry by entry, from two-dimensional integrals
    hours, people = [j.work.hours for j in jobs], [j.work.people for j in jobs]
    sigma2 = sum(n * n * variance(h) for n, h in zip(people, hours, strict=True))
    for a, b in combinations(range(len(jobs)), 2):
        r = sum(w * loads[b].get(name, 0.0) for name, w in loads[a].items())
        sigma2 += 2 * people[a] * people[b] * _cov_by_nodes(hours[a], hours[b], r)
    middle = sum(n * mean(h) for n, h in zip(people, hours, strict=True))
    against("drybuild.work.risk.simulate.simulate", got=outlook.hours.mean, expected=middle,
            rel=0.003, source="sum of the means, worked in the test")  # fmt: skip
    against("drybuild.work.risk.simulate.simulate", got=outlook.hours.deviation,
            expected=math.sqrt(sigma2), rel=0.02,
            source="Σσ² + 2Σcov, each cov by numpy Gauss-Hermite nodes",
            note="tolerance: standard error of a deviation at 2^14 draws, twice")  # fmt: skip
    against("drybuild.work.risk.sums.total", got=outlook.by_sums,
            expected=(middle, math.sqrt(sigma2)), rel=0.003,
            source="Σσ² + 2Σcov, each cov by numpy Gauss-Hermite nodes")  # fmt: skip


def _cov_by_nodes(one, other, r):
    nodes, weights = np.polynomial.hermite_e.hermegauss(80)
    weights = weights / weights.sum()
    second = r * nodes[:, None] + math.sqrt(1 - r * r) * nodes[None, :]
    x = times(one, stats.norm.cdf(nodes))[:, None]
    y = times(other, stats.norm.cdf(second))
    both = weights[:, None] * weights[None, :]
    return (both * x * y).sum() - (both * x).sum() * (both * y).sum()


def side_by_side(jobs, *, people=("A", "B"), after=None):
    """One very long session in which jobs come one after the other in the plan."""
    end = 4 * 1000
    there = tuple(Presence(p, 0, end) for p in people)
    session = Session("long", "long", 0, end, there)
    problem = Problem(datetime(2026, 12, 5), {}, {}, {j.id: j for j in jobs}, (session,))
    steps, at = [], 0
    for job in jobs:
        who = people[: job.work.people] if after is None else after[job.id]
        length = 4 * max(1, round(job.work.hours.high))
        steps.append(Step("job", job.id, "long", at, at + length, who))
        at += length
    return problem, Plan(tuple(steps), ends_of(problem, steps), ())


# a plan carried out: PERT, and waiting for each other -----------------------------------------

RELIABLE = {
    # activity: predecessors, optimistic, most likely, pessimistic, weeks
    "A": ("", 1, 2, 3), "B": ("A", 2, 3.5, 8), "C": ("B", 6, 9, 18), "D": ("C", 4, 5.5, 10),
    "E": ("C", 1, 4.5, 5), "F": ("E", 4, 4, 10), "G": ("D", 5, 6.5, 11), "H": ("EG", 5, 8, 17),
    "I": ("C", 3, 7.5, 9), "J": ("FI", 3, 9, 9), "K": ("J", 4, 4, 4), "L": ("J", 1, 5.5, 7),
    "M": ("H", 1, 2, 3), "N": ("KL", 5, 5.5, 9),
}  # fmt: skip
PERT = (
    "F. S. Hillier, G. J. Lieberman, Introduction to Operations Research, 7th ed. 2001, ch. 10, "
    "Reliable Construction Co., from memory"
)


def construction():
    """The network as jobs, everybody at one of them."""
    jobs = [
        Job(name, name, "fit", "", Work(Hours(1, 1, 1)), tuple(After(p) for p in before))
        for name, (before, *_) in RELIABLE.items()
    ]
    names = tuple(f"crew {j.id}" for j in jobs)
    problem, plan = side_by_side(
        jobs, people=names, after={j.id: (f"crew {j.id}",) for j in jobs}
    )
    return network(problem, plan)


def weeks_each(columns):
    """Times of all activities in weeks as the quarters of the plan; one row each."""
    first = np.stack([np.atleast_1d(columns[name]) for name in RELIABLE])
    return Lengths(first, np.zeros_like(first), np.zeros(first.shape, dtype=bool))


@pytest.mark.textbook
def test_pert_worked_example_the_critical_path(against):
    plan = construction()
    means = {n: (o + 4 * m + p) / 6 for n, (_, o, m, p) in RELIABLE.items()}
    run = execute(plan, weeks_each(means), stay=np.inf)
    against("drybuild.work.risk.execute.execute", got=run.end.max(), expected=44.0, abs=0.5,
            source=PERT, note="expected duration of the project, weeks")  # fmt: skip
    last = np.array([int(run.end[:, 0].argmax())], dtype=np.int32)
    on = chain(run, last, np.ones(1, dtype=bool))[:, 0]
    path = "".join(name for name, mine in zip(RELIABLE, on, strict=True) if mine)
    against("drybuild.work.risk.causes.chain", got=path, expected="ABCEFJLN", source=PERT)
    worst = {n: p for n, (_, _, _, p) in RELIABLE.items()}
    run = execute(plan, weeks_each(worst), stay=np.inf)
    against("drybuild.work.risk.execute.execute", got=run.end.max(), expected=70.0, abs=0.5,
            source=PERT, note="duration if everything takes its pessimistic time, weeks")


def beta(draws, name):
    """An activity with PERT's mean and variance between its ends."""
    _, low, likely, high = RELIABLE[name]
    if low == high:
        return np.full(draws.n, float(low))
    m, v = ((low + 4 * likely + high) / 6 - low) / (high - low), 1 / 36
    size = m * (1 - m) / v - 1
    return low + (high - low) * stats.beta.ppf(draws.unit(f"activity {name}"), m * size,
                                               (1 - m) * size)  # fmt: skip


@pytest.mark.textbook
def test_pert_worked_example_the_chance_of_47_weeks(against):
    """The book judges by the mean critical path alone: mean 44, variance 9, 0.84 by the normal."""
    draws = Draws(2**14)
    columns = {name: beta(draws, name) for name in RELIABLE}
    only = {n: c if n in "ABCEFJLN" else np.zeros_like(c) for n, c in columns.items()}
    run = execute(construction(), weeks_each(only), stay=np.inf)
    path = run.end.max(axis=0)
    against("drybuild.work.risk.execute.execute", got=float(path.mean()), expected=44.0, abs=0.5,
            source=PERT)  # fmt: skip
    against("drybuild.work.risk.execute.execute", got=float(path.var()), expected=9.0, abs=0.5,
            source=PERT)  # fmt: skip
    against("drybuild.work.risk.execute.execute", got=float((path <= 47.0).mean()), expected=0.84,
            abs=0.005, source=PERT)  # fmt: skip
    # people wait for each other, so that the whole project makes it less often than its one path
    whole = execute(construction(), weeks_each(columns), stay=np.inf).end.max(axis=0)
    assert (whole <= 47.0).mean() < (path <= 47.0).mean() - 0.01
    assert whole.mean() > path.mean()


@pytest.mark.textbook
def test_two_who_wait_for_each_other(against):
    """Greatest of two independent normals: mean μ + σ/√π, variance σ²(1 − 1/π)."""
    jobs = [Job(n, n, "fit", "", Work(Hours(10, 10, 10), people))
            for n, people in (("a", 1), ("b", 1), ("both", 2))]  # fmt: skip
    problem, plan = side_by_side(jobs, after={"a": ("A",), "b": ("B",), "both": ("A", "B")})
    draws = Draws(2**14)
    first = np.stack([40 + 4 * draws.normal("a"), 40 + 4 * draws.normal("b"), np.zeros(draws.n)])
    times_ = Lengths(first, np.zeros_like(first), np.zeros(first.shape, dtype=bool))
    run = execute(network(problem, plan), times_, stay=np.inf)
    clark = "C. E. Clark, Operations Research 9 (1961) 145-162, from memory"
    against("drybuild.work.risk.execute.execute", got=float(run.start[2].mean()),
            expected=40 + 4 / math.sqrt(math.pi), abs=0.06, source=clark,
            note="tolerance: two standard errors at 2^14 draws")  # fmt: skip
    against("drybuild.work.risk.execute.execute", got=float(run.start[2].std()),
            expected=4 * math.sqrt(1 - 1 / math.pi), abs=0.06, source=clark,
            note="tolerance: two standard errors at 2^14 draws")  # fmt: skip
    against("drybuild.work.risk.execute.execute", got=float(run.idle.mean()),
            expected=2 * 4 / math.sqrt(math.pi), abs=0.12, source=clark,
            note="who is first waits: the mean of the difference's size")  # fmt: skip


@pytest.mark.cross_model
def test_a_plan_of_any_net_against_longest_paths(against):
    """Ends by the simulator and the longest path of another library, on random nets."""
    rng = np.random.default_rng(5)
    got, expected = [], []
    for _ in range(20):
        n = 12
        arcs = [(i, j) for i, j in combinations(range(n), 2) if rng.random() < 0.25]
        long = rng.integers(1, 30, n)
        jobs = [Job(str(k), str(k), "fit", "", Work(Hours(1, 1, 1)),
                    tuple(After(str(i)) for i, j in arcs if j == k)) for k in range(n)]  # fmt: skip
        names = tuple(f"crew {k}" for k in range(n))
        problem, plan = side_by_side(
            jobs, people=names, after={str(k): (names[k],) for k in range(n)}
        )
        first = long[:, None].astype(float)
        zeros = np.zeros_like(first)
        run = execute(network(problem, plan), Lengths(first, zeros, zeros > 0), stay=np.inf)
        got.append(run.end.max())
        net = nx.DiGraph()
        net.add_nodes_from(range(n))
        net.add_weighted_edges_from((i, j, int(long[i])) for i, j in arcs)
        net.add_weighted_edges_from((k, "end", int(long[k])) for k in range(n))
        expected.append(nx.dag_longest_path_length(net))
    against("drybuild.work.risk.execute.execute", got=got, expected=expected, abs=1e-9,
            source="networkx.dag_longest_path_length, 20 random nets")  # fmt: skip


# learning ----------------------------------------------------------------------------------


@pytest.mark.textbook
def test_normal_readings_of_one_factor(against):
    """Posterior precision 1/τ² + n/σ², mean weighted by precision."""
    seen, own, load = np.array([0.3, 1.1, 0.8, -0.2]), 0.51, 0.7
    means, covariance_ = posterior(
        loads=np.full((4, 1), load), seen=seen, own=np.full(4, own)
    )
    # the reading of the factor itself is seen / load, of variance own / load²
    precision = 1.0 + 4 * load**2 / own
    expected = (seen.mean() / load) * (4 * load**2 / own) / precision
    source = "A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, eq. 2.11, 2.12, from memory"
    against("drybuild.work.risk.learned.posterior", got=means[0], expected=expected, rel=1e-9,
            source=source)  # fmt: skip
    against("drybuild.work.risk.learned.posterior", got=covariance_[0, 0], expected=1 / precision,
            rel=1e-9, source=source)  # fmt: skip


@pytest.mark.textbook
def test_readings_of_several_factors_by_conditioning(against):
    """The same by conditioning the joint normal of factors and readings (Schur complement)."""
    rng = np.random.default_rng(3)
    loads, own = rng.uniform(0, 0.6, (7, 3)), rng.uniform(0.2, 1.0, 7)
    seen = rng.normal(size=7)
    means, covariance_ = posterior(loads=loads, seen=seen, own=own)
    readings = loads @ loads.T + np.diag(own)
    gain = loads.T @ np.linalg.inv(readings)
    source = "C. E. Rasmussen, C. K. I. Williams, Gaussian Processes, 2006, eq. A.6, from memory"
    against("drybuild.work.risk.learned.posterior", got=means, expected=gain @ seen, rel=1e-9,
            source=source)  # fmt: skip
    against("drybuild.work.risk.learned.posterior", got=covariance_,
            expected=np.eye(3) - gain @ loads, abs=1e-9, source=source)  # fmt: skip


# wear ---------------------------------------------------------------------------------------


@pytest.mark.cross_model
def test_failing_within_a_time_given_what_is_behind(against):
    cases = [(3.0, 150.0, 120.0, 60.0), (1.0, 10.0, 40.0, 5.0), (4.5, 12.0, 14.0, 5.0)]
    got = [fails_within(shape, [Clock(life, used, more)]) for shape, life, used, more in cases]
    expected = [
        1 - stats.weibull_min.sf(used + more, shape, scale=life)
        / stats.weibull_min.sf(used, shape, scale=life)
        for shape, life, used, more in cases
    ]  # fmt: skip
    against("drybuild.work.wear.fails_within", got=got, expected=expected, rel=1e-9,
            source="scipy.stats.weibull_min.sf")  # fmt: skip
    both = fails_within(3.0, [Clock(150.0, 120.0, 60.0), Clock(15.0, 12.0, 5.0)])
    old = stats.weibull_min.sf([180.0, 120.0], 3.0, scale=150.0)
    age = stats.weibull_min.sf([17.0, 12.0], 3.0, scale=15.0)
    against("drybuild.work.wear.fails_within", got=both,
            expected=1 - (old[0] / old[1]) * (age[0] / age[1]), rel=1e-9,
            source="scipy.stats.weibull_min.sf, two causes apart from each other")  # fmt: skip


@pytest.mark.textbook
def test_the_characteristic_life(against):
    got = [1 - survives(shape, 90.0, 90.0) for shape in (0.8, 1.0, 3.5)]
    against("drybuild.work.wear.survives", got=got, expected=[0.632] * 3, abs=0.0005,
            source="R. B. Abernethy, The New Weibull Handbook, 5th ed. 2006, ch. 2, from memory")


# what stands in the way -------------------------------------------------------------------------


@pytest.mark.cross_model
def test_all_of_access_is_what_lies_upstream(against):
    """Where there is no choice, what has to come off is every ancestor in the graph."""
    rng = np.random.default_rng(11)
    got, expected = [], []
    for _ in range(10):
        n = 15
        arcs = [(i, j) for i, j in combinations(range(n), 2) if rng.random() < 0.15]
        works = [
            Work(Hours(1, 1, 1), needs=tuple(((Condition("off", str(i)),),)
                                             for i, j in arcs if j == k))
            for k in range(n)
        ]  # fmt: skip
        comps = {str(k): Component(str(k), str(k), "", works[k], Work(Hours(1, 1, 1)))
                 for k in range(n - 1)}  # fmt: skip
        job = Job("job", "job", "fit", "", works[n - 1])
        problem = Problem(datetime(2026, 12, 5), comps, {}, {}, ())
        way = reach(problem, job)
        assert way is not None
        net = nx.DiGraph(arcs)
        net.add_nodes_from(range(n))
        above = nx.ancestors(net, n - 1)
        got.append((*sorted(way.components), f"{way.hours:g} h"))
        expected.append((*sorted(map(str, above)), f"{2 * len(above):g} h"))
    against("drybuild.work.reach.reach", got=tuple(map(str, got)),
            expected=tuple(map(str, expected)), source="networkx.ancestors, 10 random graphs")


# money ---------------------------------------------------------------------------------------


@pytest.mark.authority
def test_the_smallest_coin(against):
    jobs = [Job("shop", "shop", "outside", "", Work(Hours(1, 1, 1), 0), price=1234.5678)]
    problem, plan = side_by_side(jobs, after={"shop": ()})
    amounts = []
    for currency in ("EUR", "JPY", "KWD"):
        todo = ToDo(problem, {}, currency=currency, labour_rate=1.0)
        amounts.append(quote(todo, plan, simulate(todo, plan, draws=16)).amount("outside"))
    against("drybuild.work.risk.quoting.quote", got=amounts, expected=[1234.57, 1235.0, 1234.568],
            abs=1e-9, source="ISO 4217, list one, minor units 2, 0 and 3, from memory")
