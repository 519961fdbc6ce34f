"""All published JSON Schemas: the build folder's files and the answer of ``check``."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from drybuild.build.schemas import file_schemas


def schemas() -> dict[str, dict[str, Any]]:
    """Schema by name: build, car, parts, check."""
    text = files(__package__).joinpath("check.schema.json").read_text(encoding="utf-8")
    return {**file_schemas(), "check": json.loads(text)}


def write_schemas(folder: Path) -> list[Path]:
    """Write every schema as NAME.json into a folder; returns the paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, schema in schemas().items():
        path = folder / f"{name}.json"
        path.write_text(json.dumps(schema, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
        written.append(path)
    return written
