"""A damaged build folder gives clear faults or a valid reading, never a traceback.

Each example takes a sound folder, damages one file in one way, and reads and examines the build as
the command does. Faults must name their file, and the line where the damage is in a file that can
be read at all.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drybuild.build import BuildFaults, read_build
from drybuild.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "plover"
FILES = {
    path.relative_to(DEMO).as_posix(): path.read_bytes() for path in sorted(DEMO.rglob("*.toml"))
}
Damage = Callable[[bytes, random.Random], bytes]


def _lines(data: bytes) -> list[str]:
    return data.decode().split("\n")


def _pick(lines: list[str], chance: random.Random, wanted: str) -> int:
    """The number of a random line that has what is wanted; 0 when none has."""
    fitting = [n for n, line in enumerate(lines) if wanted in line and not line.startswith("#")]
    return chance.choice(fitting) if fitting else 0


def _edit(wanted: str, change: Callable[[str, random.Random], str]) -> Damage:
    """A damage to one line that holds the wanted text."""

    def damage(data: bytes, chance: random.Random) -> bytes:
        lines = _lines(data)
        at = _pick(lines, chance, wanted)
        lines[at] = change(lines[at], chance)
        return "\n".join(lines).encode("utf-8", "surrogatepass")

    return damage


def _flip(data: bytes, chance: random.Random) -> bytes:
    raw = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        raw[chance.randrange(len(raw))] = chance.randrange(256)
    return bytes(raw)


def _misspell(line: str, chance: random.Random) -> str:
    key, sep, rest = line.partition("=")
    bare = key.rstrip()
    at = chance.randrange(max(1, len(bare)))
    kinds = (
        bare[:at] + bare[at + 1 :],
        bare[:at] + "x" + bare[at:],
        bare.upper(),
        f'"{bare}."',
        f'"{{{bare}}}"',
        f'"%s{bare}"',
        bare + ".inner",
        f'"{bare}\\u0000"',
        f'"{bare}\\n"',
    )
    return f"{chance.choice(kinds)} {sep}{rest}"


def _value(new: str) -> Callable[[str, random.Random], str]:
    def change(line: str, chance: random.Random) -> str:
        return f"{line.partition('=')[0]}= {new}"

    return change


UNITS = ("mm", "kg", "bar", "psi", "nm", "J", "Hz", "furlong", "", "°", "%", "N·m", "mm ± 3 kg")


def _unit(line: str, chance: random.Random) -> str:
    key, _, rest = line.partition("=")
    number = "".join(c for c in rest if c in "0123456789.-")[:8] or "1"
    return f'{key}= "{number} {chance.choice(UNITS)}"'


def _drop_table(data: bytes, chance: random.Random) -> bytes:
    lines = _lines(data)
    start = _pick(lines, chance, "[")
    end = start + 1
    while end < len(lines) and not lines[end].startswith("["):
        end += 1
    return "\n".join(lines[:start] + lines[end:]).encode()


def _duplicate(data: bytes, chance: random.Random) -> bytes:
    lines = _lines(data)
    at = _pick(lines, chance, chance.choice(("=", "[")))
    lines.insert(at, lines[at])
    return "\n".join(lines).encode()


def _cut(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def _shuffle(data: bytes, chance: random.Random) -> bytes:
    lines = _lines(data)
    chance.shuffle(lines)
    return "\n".join(lines).encode()


VALUES = (
    "12", "-12", "0", "1e308", "-1e308", "1e-320", "9" * 400, "nan", "inf", "-inf", "true", "[]",
    "[[[[]]]]", "{}", '""', '" "', '"?"', "2026-04-11", "12:30:00", "0x1F", '["1 mm", 2, true]',
    '{ is = "1 mm", by = "magic" }', "{ is = { is = 1 } }", '{ same_as = "car.wheelbase" }',
    '{ same_as = "nowhere.at.all" }', '{ same_as = "{corner}.x" }', '{ plus_minus = "1 mm" }',
    '"1e400 mm"', '"-1e300 ± 1e300 mm"', '"1 to 1 mm"', '"> 1e308 mm"', '"1/0 in"', '"none"',
    '"' + "9" * 5000 + ' mm"', '"\\u0000"', '"${HOME}"', '"__import__(\'os\')"', '"wheel.*"',
    '"../../etc/passwd"', '"١٢ mm"', '"１２ mm"', "{ x = [0, 1], y = [1] }",
    '{ x = ["1 mm", "0 mm"], y = ["1 N", "2 N"] }', "'''\nmany\nlines'''",
)  # fmt: skip

DAMAGES: dict[str, Damage] = {
    "bytes flipped": _flip,
    "cut short": _cut,
    "empty": lambda data, chance: b"",
    "only white": lambda data, chance: b" \n\t\r\n",
    "binary": lambda data, chance: chance.randbytes(2000),
    "not UTF-8": lambda data, chance: data.replace(b"=", b"= \xff\xfe", 1),
    "UTF-16": lambda data, chance: data.decode().encode("utf-16"),
    "byte order mark": lambda data, chance: b"\xef\xbb\xbf" + data,
    "Windows lines": lambda data, chance: data.replace(b"\n", b"\r\n"),
    "old Macintosh lines": lambda data, chance: data.replace(b"\n", b"\r"),
    "a NUL": lambda data, chance: data.replace(b"\n", b"\n\0", 3),
    "key misspelt": _edit("=", _misspell),
    "unit changed": _edit('"', _unit),
    "line dropped": _edit("=", lambda line, chance: ""),
    "line doubled": _duplicate,
    "lines shuffled": _shuffle,
    "table dropped": _drop_table,
    "header misspelt": _edit("[", lambda line, chance: line.replace("]", "x]")),
    "header made an array": _edit("[", lambda line, chance: f"[{line}]"),
    "header deepened": _edit("[", lambda line, chance: line.replace("]", ".a.b.c]")),
    "very long line": _edit("=", lambda line, chance: line + " # " + "x" * 300_000),
    "very long key": _edit("=", lambda line, chance: "k" * 300_000 + " = 1"),
    "many keys": lambda data, chance: b"".join(b"k%d = 1\n" % n for n in range(20_000)) + data,
    "deep arrays": _edit("=", _value("[" * 3000 + "]" * 3000)),
    "deep tables": _edit("=", _value("{a=" * 900 + "1" + "}" * 900)),
    "deep keys": _edit("=", lambda line, chance: "a." * 2000 + "a = 1"),
    "too large": lambda data, chance: data + b"# " + b"x" * 2_100_000,
    "format": _edit("format", lambda line, chance: chance.choice(
        ("format = 99", "format = -1", 'format = "1"', "format = 1.5", "format = true", "")
    )),
    **{f"value {text[:24]}": _edit(" = ", _value(text)) for text in VALUES},
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("build")
    for name, data in FILES.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return root


def _faults(folder: Path) -> BuildFaults | None:
    try:
        read_build(folder)
    except BuildFaults as faults:
        return faults
    return None


def _held(faults: BuildFaults, name: str, data: bytes) -> None:
    """Each fault says where it is, what was found and what was expected."""
    assert faults.faults
    count = data.count(b"\n") + 1
    for fault in faults.faults:
        assert fault.file, fault
        assert fault.found or fault.expected, fault
        if fault.line is not None and fault.file == name:
            assert 1 <= fault.line <= count, fault
        assert len(str(fault)) < 20_000, str(fault)[:200]
        assert "Input should" not in str(fault), str(fault)[:200]
    if any(fault.file == name and fault.line is None for fault in faults.faults):
        # only what is wrong with a file as a whole has no line
        whole = [fault for fault in faults.faults if fault.file == name and fault.line is None]
        for fault in whole:
            assert not fault.where or fault.found == "nothing" or not data.strip(), fault


@settings(max_examples=250, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    name=st.sampled_from(sorted(FILES)),
    damage=st.sampled_from(sorted(DAMAGES)),
    seed=st.integers(0, 2**32 - 1),
)
def test_damage_to_a_file_is_a_clear_fault_or_a_valid_reading(
    folder: Path, name: str, damage: str, seed: int
) -> None:
    data = DAMAGES[damage](FILES[name], random.Random(seed))
    (folder / name).write_bytes(data)
    try:
        faults = _faults(folder)
    finally:
        (folder / name).write_bytes(FILES[name])
    if faults is not None:
        _held(faults, name, data)


@pytest.mark.parametrize("damage", sorted(DAMAGES))
@pytest.mark.parametrize("name", ["build.toml", "car.toml", "parts/*"])
def test_the_command_answers_each_damage(
    folder: Path, damage: str, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every kind of damage to every kind of file goes through the whole command."""
    chance = random.Random(f"{damage} {name}")
    if name == "parts/*":
        name = chance.choice([file for file in FILES if file.startswith("parts/")])
    data = DAMAGES[damage](FILES[name], chance)
    (folder / name).write_bytes(data)
    try:
        code = main(["check", str(folder), "--draws", "64"])
    finally:
        (folder / name).write_bytes(FILES[name])
    said = capsys.readouterr()
    assert code in (0, 2), said.err
    assert "Traceback" not in said.out + said.err
    if code == 2:
        text = said.out + said.err
        assert name in text or any(file in text for file in FILES), text[:500]
        assert len(text) < 6_000_000


@pytest.mark.parametrize("missing", sorted(FILES))
def test_a_missing_file_is_named(folder: Path, missing: str) -> None:
    (folder / missing).unlink()
    try:
        faults = _faults(folder)
    finally:
        (folder / missing).write_bytes(FILES[missing])
    if missing in ("build.toml", "car.toml"):
        assert faults is not None
        assert any(fault.file == missing for fault in faults.faults)
    elif faults is not None:
        assert all(fault.file for fault in faults.faults)


@pytest.mark.parametrize("name", ["build.toml", "car.toml"])
def test_a_folder_in_place_of_a_file_is_a_fault(folder: Path, name: str) -> None:
    (folder / name).unlink()
    (folder / name).mkdir()
    try:
        faults = _faults(folder)
    finally:
        (folder / name).rmdir()
        (folder / name).write_bytes(FILES[name])
    assert faults is not None
    assert any(fault.file == name for fault in faults.faults)


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "none")]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_the_sound_folder_has_no_fault(folder: Path) -> None:
    assert _faults(folder) is None
