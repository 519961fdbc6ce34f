"""The small kernel that systems register with: checks, margins, findings, uses."""

from drybuild.findings.errors import (
    FormulaRefused,
    KernelError,
    NotWorkedOut,
    RegistrationError,
    UnknownAddress,
)
from drybuild.findings.evaluate import Evaluation, Fact, FactSource, Missing, RawFinding
from drybuild.findings.finding import Finding, Interval, Unknown
from drybuild.findings.needs import Need, parse_need
from drybuild.findings.registry import CheckSpec, RecordSpec, Registry, ResultSpec, Room
from drybuild.findings.slack import NOT_APPLICABLE, Along, RuleSlack, matches
from drybuild.findings.words import (
    AXLES,
    CORNERS,
    PRACTICE,
    SIDES,
    Consequence,
    Source,
    Use,
    Verdict,
    uses,
)

__all__ = [
    "AXLES",
    "CORNERS",
    "NOT_APPLICABLE",
    "PRACTICE",
    "SIDES",
    "Along",
    "CheckSpec",
    "Consequence",
    "Evaluation",
    "Fact",
    "FactSource",
    "Finding",
    "FormulaRefused",
    "Interval",
    "KernelError",
    "Missing",
    "Need",
    "NotWorkedOut",
    "RawFinding",
    "RecordSpec",
    "RegistrationError",
    "Registry",
    "ResultSpec",
    "Room",
    "RuleSlack",
    "Source",
    "Unknown",
    "UnknownAddress",
    "Use",
    "Verdict",
    "matches",
    "parse_need",
    "uses",
]
