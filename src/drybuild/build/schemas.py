"""JSON Schemas of the build folder's files, generated from the models that read them."""

from __future__ import annotations

import json
import re
from typing import Any

from drybuild.build.folder import build_file, car_file, parts_file
from drybuild.build.migrate import FORMAT
from drybuild.build.work_file import WorkFile

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def file_schemas() -> dict[str, dict[str, Any]]:
    """Schema of build.toml, car.toml, a file in parts/ and work.toml, by name."""
    return {
        "build": _schema(build_file(), "build.toml"),
        "car": _schema(car_file(), "car.toml"),
        "parts": _schema(parts_file(), "a file in parts/"),
        "work": _schema(WorkFile, "work.toml"),
    }


def _schema(model: Any, what: str) -> dict[str, Any]:
    found: dict[str, Any] = model.model_json_schema(by_alias=True, mode="validation")
    shared: dict[str, Any] = {}
    body = {k: _named_once(v, shared) for k, v in found.items() if k != "title"}
    body["$defs"] = {**body.get("$defs", {}), **shared}
    return {"$schema": DRAFT, "title": f"Drybuild format {FORMAT}: {what}", **body}


def _named_once(schema: Any, shared: dict[str, Any]) -> Any:
    """The schema with each kind of value written once, under $defs, and named elsewhere.

    A value may be text, readings or a table, which is long, and stands in hundreds of places.
    """
    if isinstance(schema, list):
        return [_named_once(item, shared) for item in schema]
    if not isinstance(schema, dict):
        return schema
    if "examples" in schema and ("anyOf" in schema or "properties" in schema):
        words = re.sub(r"[^a-z0-9]+", "_", str(schema.get("description", "value")).lower())
        name = f"value_{words[:60].strip('_')}"
        number = 2
        while name in shared and _text(shared[name]) != _text(schema):
            name, number = f"value_{words[:60].strip('_')}_{number}", number + 1
        shared[name] = schema
        return {"$ref": f"#/$defs/{name}"}
    return {key: _named_once(value, shared) for key, value in schema.items()}


def _text(schema: Any) -> str:
    return json.dumps(schema, sort_keys=True, ensure_ascii=False)
