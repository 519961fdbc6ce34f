"""A table of build.toml on a form: what the form saw of it, and why it was not written."""

from __future__ import annotations

import hashlib

from drybuild.build import BuildFaults
from drybuild.build.model import Model


def mark_of(table: Model) -> str:
    """What a form remembers of a table."""
    return hashlib.sha256(table.model_dump_json().encode()).hexdigest()[:16]


def why_refused(error: Exception) -> str:
    """Why nothing was written, all of it."""
    if isinstance(error, BuildFaults):
        return "; ".join(str(fault) for fault in error.faults)
    return str(error)
