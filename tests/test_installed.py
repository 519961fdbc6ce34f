"""What pip installs is enough by itself: built as a wheel, unpacked elsewhere, run from there."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
RUN = """
import pathlib, sys, drybuild, drybuild.cli
assert "src" not in pathlib.Path(drybuild.__file__).parts, drybuild.__file__
raise SystemExit(drybuild.cli.main(sys.argv[1:]))
"""
pytest.importorskip("hatchling", reason="no hatchling here: the wheel is not built")


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    """The wheel's files, in a folder that knows nothing of the checkout."""
    made = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(made)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=120)
    [wheel] = made.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(made / "site")
    return made / "site"


def drybuild(unpacked, folder, *words):
    environment = os.environ | {"PYTHONPATH": str(unpacked), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(
        [sys.executable, "-P", "-c", RUN, *words],
        cwd=folder, env=environment, capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_it_holds_whatever_the_package_holds(unpacked):
    package = ROOT / "src" / "drybuild"
    files = {
        p.relative_to(package) for p in package.rglob("*")
        if p.is_file() and "__pycache__" not in p.parts
    }  # fmt: skip
    assert not {p for p in files if not (unpacked / "drybuild" / p).is_file()}


@pytest.mark.parametrize("words", [("demo", "car"), ("demo", "car", "--work")])
def test_the_demo_is_copied_out_of_it(unpacked, tmp_path, words):
    said = drybuild(unpacked, tmp_path, *words)
    assert said.returncode == 0, said.stderr
    assert "What it may do when finished" in said.stdout
    name = "plover_saturdays" if "--work" in words else "plover"
    example = ROOT / "examples" / name
    kept = {p.relative_to(example) for p in example.rglob("*") if p.is_file()}
    assert {p.relative_to(tmp_path / "car") for p in (tmp_path / "car").rglob("*.*")} == kept
