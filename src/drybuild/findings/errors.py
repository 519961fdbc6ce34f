"""Errors of the kernel.

KernelError
├── RegistrationError      two owners of one name, a loop of results, an unknown use …
├── UnknownAddress         an input that no model and no system declares
└── FormulaRefused         raised by a result or check that cannot be computed from these facts
    ├── Lacking            inputs of its own that are wanted as things stand, by their names
    └── NotWorkedOut       all that it asks for is stated, and no measurement would help
"""


class KernelError(Exception):
    """Root of the kernel's errors."""


class RegistrationError(KernelError):
    """A system offered something that cannot be taken in; the text names it."""


class UnknownAddress(KernelError):
    """An input address that no model and no system declares: a spelling error in the code."""


class FormulaRefused(KernelError):
    """Raise in a result or a check when the facts are there but cannot be worked with.

    The finding is then reported as unmeasured, with the text as the reason: what is lacking.
    """


class Lacking(FormulaRefused):
    """Raise where inputs that may be left out are wanted as things stand, and nobody stated them.

    inputs: their names, as the function has them; ``"a|b"``: either would do. They are
    then missing as those are that are always wanted, and whoever reads of it can state them.
    """

    def __init__(self, *inputs: str, said: str = "") -> None:
        super().__init__(said or " and ".join(inputs).replace("|", " or ").replace("_", " "))
        self.inputs = inputs


class NotWorkedOut(FormulaRefused):
    """Raise when everything is stated and the formula does not reach it.

    The text says what stands in the way. Nobody can measure it away, and no plan supposes it.
    """
