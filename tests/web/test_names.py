"""What a screen reader calls a control: as somebody would say it."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest

from drybuild.web.app import make_app

TEMPLATES = sorted((Path(inspect.getfile(make_app)).parent / "templates").glob("*.j2"))
PARTED = re.compile(r'[^<>]*<span class="unseen">\s*[,:;.][^<]*')
"""A piece out of sight stands apart from the words before it: with a space before its sign."""


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda one: str(one.name))
def test_no_name_has_a_space_before_its_colon(template: Path) -> None:
    found = PARTED.findall(template.read_text("utf-8"))
    assert not found, f"{template.name}: {found}; say it in aria-label, or in sight"
