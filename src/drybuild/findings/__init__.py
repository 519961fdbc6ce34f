"""The small kernel that systems register with: checks, margins, findings, uses."""

from drybuild.findings.between import LEFT, Between, inside, not_above, not_below
from drybuild.findings.errors import (
    FormulaRefused,
    KernelError,
    Lacking,
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
    "LEFT",
    "NOT_APPLICABLE",
    "PRACTICE",
    "SIDES",
    "Along",
    "Between",
    "CheckSpec",
    "Consequence",
    "Evaluation",
    "Fact",
    "FactSource",
    "Finding",
    "FormulaRefused",
    "Interval",
    "KernelError",
    "Lacking",
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
    "inside",
    "matches",
    "not_above",
    "not_below",
    "parse_need",
    "uses",
]
