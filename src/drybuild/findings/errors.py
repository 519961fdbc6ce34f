"""Errors of the kernel.

KernelError
├── RegistrationError      two owners of one name, a loop of results, an unknown use …
├── UnknownAddress         an input that no model and no system declares
└── FormulaRefused         raised by a result or check that cannot be computed from these facts
"""


class KernelError(Exception):
    """Root of the kernel's errors."""


class RegistrationError(KernelError):
    """A system offered something that cannot be taken in; the text names it."""


class UnknownAddress(KernelError):
    """An input address that no model and no system declares: a spelling error in the code."""


class FormulaRefused(KernelError):
    """Raise in a result or a check when the facts are there but cannot be worked with.

    The finding is then reported as unmeasured, with the text as the reason.
    """
