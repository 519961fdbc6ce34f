"""Find in the files that git tracks what does not belong in a public repository.

    python tools/tidy.py

Paths of somebody's machine, addresses of package registries, conflict marks, and modules so long
that they are several rooms in one.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
LONGEST_MODULE = 500
OWN_PAGES = r"(?:cards|session|plan|planning|quote|apart|when|need|happened|jobs)\b"
"""The app's pages of the work, whose addresses look like a folder of a machine."""

# Put together from halves, so that this file does not find itself.
PATTERNS = {
    "a path of one machine": re.compile(
        r"(?<![\w.])/(?:" + "home/|Users/|root/|opt/|work/" + rf"(?!{OWN_PAGES}))\w"
    ),
    "an address of a package registry": re.compile("pypi" + r"\.org|pythonhosted" + r"\.org"),
    "a conflict mark": re.compile(r"^(?:<{7}|>{7}) ", re.MULTILINE),
}


def tracked(root: Path) -> list[Path]:
    """The files that git tracks."""
    names = subprocess.run(
        ["git", "ls-files", "-z"], cwd=root, capture_output=True, check=True
    ).stdout.decode()
    return [root / name for name in names.split("\0") if name and (root / name).is_file()]


def faults(path: Path, text: str) -> Iterator[str]:
    """What is wrong with one file."""
    for what, pattern in PATTERNS.items():
        for match in pattern.finditer(text):
            line = text.count("\n", 0, match.start()) + 1
            yield f"{path}:{line}: {what}: {match.group()}"
    lines = text.count("\n")
    if path.suffix == ".py" and lines > LONGEST_MODULE and "tests" not in path.parts:
        yield f"{path}:1: {lines} lines; a module of more than {LONGEST_MODULE} is several rooms"


def main() -> int:
    found: list[str] = []
    for path in tracked(ROOT):
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        found.extend(faults(path.relative_to(ROOT), text))
    for line in found:
        print(line)
    print(f"tidy: {len(found)} faults")
    return 1 if found else 0


if __name__ == "__main__":
    raise SystemExit(main())
