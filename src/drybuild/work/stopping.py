"""A search that Ctrl-C stops at once: the solver would catch the signal and end the process."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

LOOK_EVERY = 0.2
"""Seconds in which a Ctrl-C is noticed where waiting itself cannot be interrupted."""


def solved(
    solver: Any, model: Any, callback: Any = None, *, enough: Callable[[], bool] = lambda: False
) -> Any:
    """What ``solver.solve`` answers. A KeyboardInterrupt stops the search and goes on upwards.

    enough: whether what is found by now will do: the search ends with it.

    The interpreter hears of a signal in its main thread alone, so there the search has a thread of
    its own. What is wrong with a model is raised as ``solve`` raises it.
    """
    solver.parameters.catch_sigint_signal = False
    if threading.current_thread() is not threading.main_thread():
        return solver.solve(model, callback)
    answers: list[Any] = []
    wrong: list[BaseException] = []

    def search() -> None:
        try:
            answers.append(solver.solve(model, callback))
        except BaseException as error:  # it belongs to whoever asked, not to this thread
            wrong.append(error)

    searching = threading.Thread(target=search, name="search", daemon=True)
    with _heard() as heard:
        searching.start()
        while searching.is_alive():
            if heard or enough():
                solver.stop_search()  # again and again: it may not have begun to listen
            searching.join(LOOK_EVERY / 4 if heard else LOOK_EVERY)
    if wrong:
        raise wrong[0]
    return answers[0]


@contextmanager
def _heard() -> Iterator[list[int]]:
    """The Ctrl-C heard meanwhile, noted and not raised: a process that ends before its search is
    torn down under the solver's feet. What they meant before, they mean at the end."""
    before = signal.getsignal(signal.SIGINT)
    if not callable(before):  # ignored, or not the interpreter's
        yield []
        return
    heard: list[int] = []
    signal.signal(signal.SIGINT, lambda number, frame: heard.append(number))
    try:
        yield heard
    finally:
        signal.signal(signal.SIGINT, before)
    if heard:
        before(signal.SIGINT, None)
