"""Errors of the local app.

WebProblem
├── ServeExtraMissing   the libraries of ``drybuild serve`` are not installed
├── CertificateExtraMissing   and the one that makes a certificate
├── NoLocalNetwork      this machine is on no network on which phones could find it
└── EditClash           what one wants to change was changed by somebody else meanwhile
"""

from __future__ import annotations


class WebProblem(Exception):
    """Root of the app's errors."""


class ServeExtraMissing(WebProblem):
    """The libraries of ``drybuild serve`` are not installed."""

    def __init__(self) -> None:
        super().__init__(
            'the local app needs its libraries: pip install "drybuild[serve]" '
            '(in a copy of the source: pip install ".[serve]")'
        )


class CertificateExtraMissing(WebProblem):
    """What makes a certificate is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "a certificate of this machine needs one more library: pip install "
            '"drybuild[serve,certificate]"'
        )


class NoLocalNetwork(WebProblem):
    """This machine is on no network on which phones could find it."""

    def __init__(self) -> None:
        super().__init__(
            "this machine is on no local network: connect it first, or serve without --share"
        )


class EditClash(WebProblem):
    """The same figure was changed meanwhile. found: what stands there; wanted: what was typed."""

    def __init__(self, where: str, found: str, wanted: str) -> None:
        super().__init__(
            f"{where} was changed meanwhile: it says {found} now, and {wanted} was not written"
        )
        self.where, self.found, self.wanted = where, found, wanted
