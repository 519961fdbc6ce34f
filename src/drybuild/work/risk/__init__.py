"""How long, how sure: durations with their doubt, a plan carried out, a quote from it."""

from drybuild.work.risk.doubts import Doubts
from drybuild.work.risk.learned import Learned, Pace, Worked, learn, worked_from
from drybuild.work.risk.outlook import (
    Buffer,
    Cause,
    Left,
    NeedOutlook,
    Outlook,
    SessionOutlook,
    Spread,
)
from drybuild.work.risk.quoting import Quote, QuoteLine, Unpriced, quote
from drybuild.work.risk.simulate import simulate

__all__ = [
    "Buffer", "Cause", "Doubts", "Learned", "Left", "NeedOutlook", "Outlook", "Pace",
    "Quote", "QuoteLine", "SessionOutlook", "Spread", "Unpriced", "Worked", "learn", "quote",
    "simulate", "worked_from",
]  # fmt: skip
