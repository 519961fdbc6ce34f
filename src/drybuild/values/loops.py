"""Inner loops, compiled where numba is installed, and shared out over threads.

Numba is an extra. Whoever has a compiled loop has a numpy way beside it that gives the same.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Literal

Engine = Literal["compiled", "numpy"]

NO_COMPILER = (
    "numba is not installed, so long loops run in numpy, about ten times slower: "
    'pip install "drybuild[fast]"'
)


def threads_wanted() -> int:
    """Threads that this process may use, eight at most: each has a grid of its own."""
    allowed = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return max(1, min(8, allowed or 1))


@functools.cache
def _numba() -> Any:
    """The compiler, or None where it is not installed."""
    try:
        import numba
    except ImportError:
        return None
    return numba


@functools.cache
def compiled(loop: Callable[..., None]) -> Callable[..., None]:
    """A loop compiled to run without the interpreter's lock, kept on disk where that can be."""
    options: dict[str, Any] = {"nogil": True, "fastmath": True}
    try:
        built: Callable[..., None] = _numba().njit(cache=True, **options)(loop)
    except RuntimeError:  # no folder in which compiled code can be kept
        built = _numba().njit(**options)(loop)
    return built


def shared(work: Callable[[int, int], None], count: int, threads: int) -> None:
    """Do work(first, last) in equal shares of count, one a thread, in order."""
    threads = max(1, min(threads, count))
    edges = [round(t * count / threads) for t in range(threads + 1)]
    if threads == 1:
        work(0, count)
        return
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, edges[:-1], edges[1:]))


def engine_for(wanted: Engine | None) -> Engine:
    """The engine to use; asking for the compiled one without numba is refused in words."""
    if wanted == "compiled" and _numba() is None:
        raise RuntimeError(NO_COMPILER)
    if wanted is None:
        return "compiled" if _numba() is not None else "numpy"
    return wanted
