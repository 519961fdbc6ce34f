"""Which inputs cause the doubt: shares of the variance of a result, from the draws themselves.

The result is projected on orthonormal polynomials of each input's column: Hermite polynomials of
its normal scores (right for bells), or Legendre polynomials of its uniform draws (right for hard
edges and waves). The squared coefficients of one input are its own ("main") share; those of the
products of two inputs are the pair's. This is the variance decomposition of I. M. Sobol (Math.
Model. Comput. Exp. 1 (1993) 407) by polynomial chaos (B. Sudret, Reliab. Eng. Syst. Saf. 93
(2008) 964), with sample means for the coefficients. What no term explains is the remainder. Each
squared coefficient has its expected noise taken off, so that an input without effect has about 0;
where the noise left makes the parts more than the whole, all of them are made smaller alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Basis = Literal["hermite", "legendre"]


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of the variance of one result."""

    main: Floats
    """Shape (K,): of each input by itself."""
    total: Floats
    """Shape (K,): of each input with its share in pairs (each pair counts for both)."""
    pairs: tuple[tuple[int, int, float], ...]
    """(input, input, share) of the pairs looked at."""
    remainder: float
    """What neither one input nor those pairs explain."""


def _hermite(z: Floats, degree: int) -> Floats:
    """Normalised probabilists' Hermite polynomials 1..degree of z; shape (degree, ...)."""
    out = np.empty((degree, *z.shape))
    before, now = np.ones_like(z), z
    for d in range(1, degree + 1):
        out[d - 1] = now
        # orthonormal recurrence: sqrt(d+1) h(d+1) = z h(d) - sqrt(d) h(d-1)
        before, now = now, (z * now - np.sqrt(d) * before) / np.sqrt(d + 1)
    return out


def _legendre(z: Floats, degree: int) -> Floats:
    """Normalised Legendre polynomials 1..degree of the scores' uniform draws."""
    from scipy.special import ndtr

    x = 2.0 * ndtr(z) - 1.0
    out = np.empty((degree, *z.shape))
    before, now = np.ones_like(x), x
    for d in range(1, degree + 1):
        out[d - 1] = np.sqrt(2 * d + 1) * now
        before, now = now, ((2 * d + 1) * x * now - d * before) / (d + 1)
    return out


def _basis(z: Floats, degree: int, basis: Basis) -> Floats:
    return _hermite(z, degree) if basis == "hermite" else _legendre(z, degree)


def _standard(y: Floats, weights: Floats | None) -> tuple[Floats, Floats, npt.NDArray[np.bool_]]:
    """Rows of y with mean 0 and variance 1 (draws not solved at the mean), the weights summing to
    1, and which rows vary at all."""
    n = y.shape[1]
    w = np.full(n, 1.0 / n) if weights is None else weights / weights.sum()
    solved = np.isfinite(y)
    if solved.all():
        centred = y - (y @ w)[:, None]
    else:
        sums = solved @ w
        means = np.where(solved, y, 0.0) @ w / np.where(sums > 0.0, sums, 1.0)
        centred = np.where(solved, y - means[:, None], 0.0)
    size = np.sqrt(centred**2 @ w)
    scale = np.abs(y, where=solved, out=np.zeros_like(y)).max(axis=1)
    varies = size > 1e-12 * scale
    return centred / np.where(varies, size, 1.0)[:, None], w, varies


def hermite(z: Floats, degree: int = 3) -> npt.NDArray[np.float32]:
    """Normalised Hermite polynomials 1..degree of normal scores: (N,) -> (degree, N). Single
    precision is plenty for a share. ``Draws.hermites`` keeps them."""
    return _hermite(z, degree).astype(np.float32)


def shares_many(y: Floats, z: Floats | npt.NDArray[np.float32],
                mask: npt.NDArray[np.bool_] | None = None, *,
                weights: Floats | None = None, degree: int = 3) -> Floats:
    """Own share of each input in the variance of many results at once.

    ``y``: results, shape (F, N). ``z``: normal scores of the K inputs, shape (K, N), or their
    polynomials, (K, D, N), as ``hermite`` makes them (faster when they are kept).
    ``mask``: shape (F, K), which inputs reach which result at all; the others are 0. Returns shape
    (F, K), each and their sum from 0 to 1; 0 for a result without doubt. Hermite polynomials to
    ``degree``.
    """
    scaled, w, varies = _standard(np.atleast_2d(y), weights)
    noise = float((w**2).sum())
    n = scaled.shape[1]
    weighted = (scaled if weights is None else scaled * (w * n)).astype(np.float32)
    each: Any = z
    if each.ndim == 2:
        each = np.stack([hermite(scores, degree) for scores in each])
    terms = each.shape[1]
    # One large product is faster than many small ones over the inputs that reach a result.
    found = (weighted @ each.reshape(-1, n).T).reshape(len(scaled), -1, terms) / n
    raw = np.einsum("fkd,fkd->fk", found, found, dtype=np.float64)
    # the noise in a squared coefficient is what the other terms leave unexplained, over n
    out = _without_noise(raw, terms, noise)
    reached = varies[:, None] if mask is None else varies[:, None] & mask
    out = np.where(reached, out, 0.0)
    return np.asarray(out / np.maximum(1.0, out.sum(axis=1, keepdims=True)))


def shares(y: Floats, columns: Sequence[Floats] | Floats, *, weights: Floats | None = None,
           degree: int = 3, pair_degree: int = 2, strongest: int = 6,
           basis: Basis = "hermite") -> Shares:
    """Own and total shares of each input in the variance of one result.

    ``y``: shape (N,). ``columns``: normal scores of the K inputs, shape (K, N) (for the Legendre
    basis as well; they are turned back into uniform draws). Pairs are looked at among the
    ``strongest`` inputs (by own share, then by the share left in pairs with the first of them),
    with powers up to ``pair_degree`` in each.
    """
    z = np.atleast_2d(np.asarray(columns, dtype=np.float64))
    k = z.shape[0]
    scaled, w, varies = _standard(np.atleast_2d(np.asarray(y, dtype=np.float64)), weights)
    if not varies[0]:
        return Shares(np.zeros(k), np.zeros(k), (), 0.0)
    row = scaled[0]
    noise = float((w**2).sum())
    polynomials = _basis(z, max(degree, pair_degree), basis)  # (D, K, N)
    coefficients = polynomials[:degree] @ (row * w)  # (degree, K)
    main = _without_noise((coefficients**2).sum(axis=0), degree, noise)
    # take the own effects off before pairs: less noise, and no leakage into them
    rest = row - np.einsum("dk,dkn->n", coefficients, polynomials[:degree])
    left = float((rest**2) @ w)
    chosen = np.argsort(-main, kind="stable")[:strongest]
    pairs: list[tuple[int, int, float]] = []
    total = main.copy()
    powers = polynomials[:pair_degree]
    for place, a in enumerate(chosen):
        for b in chosen[place + 1:]:
            found = (powers[:, a] * (rest * w)) @ powers[:, b].T
            raw = float((found**2).sum())
            share = max(0.0, raw - pair_degree**2 * noise * max(left - raw, 0.0))
            pairs.append((int(a), int(b), share))
            total[a] += share
            total[b] += share
    explained = float(main.sum()) + sum(share for _, _, share in pairs)
    over = max(1.0, explained)
    told = tuple((a, b, share / over) for a, b, share in pairs)
    return Shares(main / over, np.clip(total / over, 0.0, 1.0), told, max(0.0, 1.0 - explained))


def _without_noise(raw: Floats, terms: int, noise: float) -> Floats:
    return np.asarray(np.clip(raw - terms * noise * np.clip(1.0 - raw, 0.0, 1.0), 0.0, 1.0))
