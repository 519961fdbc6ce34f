"""Every command that a page shows is one that the program takes."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from drybuild.cli.parser import make_parser

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
PREFIX = re.compile(r"^    (?:drybuild-env[/\\](?:bin|Scripts)[/\\])?drybuild (?P<rest>.+)$")


def _shown() -> list[tuple[str, str]]:
    return [
        (path.relative_to(ROOT).as_posix(), found["rest"])
        for path in PAGES
        for line in path.read_text(encoding="utf-8").splitlines()
        if (found := PREFIX.match(line))
    ]


def test_the_pages_show_commands() -> None:
    assert len(_shown()) >= 8


@pytest.mark.parametrize(("page", "command"), _shown())
def test_a_command_on_a_page_is_taken(page: str, command: str) -> None:
    words = shlex.split(command.replace("\\", "/"), comments=True)
    if words in (["--help"], ["--version"]):
        with pytest.raises(SystemExit) as left:
            make_parser().parse_args(words)
        assert left.value.code == 0
        return
    assert make_parser().parse_args(words).run is not None


@pytest.mark.parametrize("target", sorted(
    {name for path in PAGES for name in re.findall(r"^    make ([a-z]+)", path.read_text(), re.M)}
))  # fmt: skip
def test_a_make_target_on_a_page_is_there(target: str) -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    assert re.search(rf"^{target}:", makefile, re.MULTILINE)


def test_links_of_the_readme_lead_somewhere() -> None:
    for path in PAGES[:2]:
        for target in re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8")):
            assert (path.parent / target).exists(), f"{path.name}: {target}"
