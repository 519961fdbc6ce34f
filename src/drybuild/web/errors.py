"""Errors of the local app.

WebProblem
├── ServeExtraMissing   the libraries of ``drybuild serve`` are not installed
└── EditClash           what one wants to change was changed by somebody else meanwhile
"""

from __future__ import annotations


class WebProblem(Exception):
    """Root of the app's errors."""


class ServeExtraMissing(WebProblem):
    """The libraries of ``drybuild serve`` are not installed."""

    def __init__(self) -> None:
        super().__init__('the local app needs its libraries: pip install "drybuild[serve]"')


class EditClash(WebProblem):
    """The same figure was changed meanwhile. found: what stands there; wanted: what was typed."""

    def __init__(self, where: str, found: str, wanted: str) -> None:
        super().__init__(
            f"{where} was changed meanwhile: it says {found} now, and {wanted} was not written"
        )
        self.where, self.found, self.wanted = where, found, wanted
