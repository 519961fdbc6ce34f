"""The published JSON Schema of the answers of the work."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def answers_schema() -> dict[str, Any]:
    """Schema of what plan, cards, done, while-apart and quote print with ``--json``."""
    text = files(__package__).joinpath("answers.schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema
