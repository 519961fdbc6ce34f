"""JSON Schemas of the build folder's files, generated from the models that read them."""

from __future__ import annotations

from typing import Any

from drybuild.build.folder import build_file, car_file, parts_file
from drybuild.build.migrate import FORMAT

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def file_schemas() -> dict[str, dict[str, Any]]:
    """Schema of build.toml, car.toml and a file in parts/, by name."""
    return {
        "build": _schema(build_file(), "build.toml"),
        "car": _schema(car_file(), "car.toml"),
        "parts": _schema(parts_file(), "a file in parts/"),
    }


def _schema(model: Any, what: str) -> dict[str, Any]:
    found: dict[str, Any] = model.model_json_schema(by_alias=True, mode="validation")
    return {
        "$schema": DRAFT,
        "title": f"Drybuild format {FORMAT}: {what}",
        **{k: v for k, v in found.items() if k != "title"},
    }
