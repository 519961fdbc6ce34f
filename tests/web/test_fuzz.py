"""Every route of the app against its own OpenAPI: what schemathesis thinks up, in process.

DRYBUILD_FUZZ: examples of each operation, where somebody has the time for more.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from forms import token_in
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from served import EXAMPLE
from starlette.requests import Request
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

import drybuild
from drybuild.web import app as app_module
from drybuild.web.app import make_app
from drybuild.web.guard import HEADERS
from drybuild.web.planner import Planner

EACH = int(os.environ.get("DRYBUILD_FUZZ", "12"))
HOST = "127.0.0.1:8000"
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
DEAR = re.compile(r"/book|/corner/.*/moves|/parts/compare|/chart|/work/apart|/work/quote|/start")

LIBRARY = re.compile(r"Input should|should (match|have)|Value error|Field required|unable to parse")
"""What only the library of the models says: nobody is told so."""
REAL: dict[str, list[str]] = {
    "address": [
        "corner.rear.left.arch_point.gap", "part.tolland_disc_310.ring_mass", "goal.boost",
        "part.tolland_disc_310.outer_diameter", "engine.rev_limit", "wheel.rear.offset",
        "site.altitude", "tyre.rear.left.date_code", "injectors.dead_time", "part.nobody.mass",
    ],
    "state": ["now", "finished", "after:nowhere", "draft:front-tried", "as found"],
    "kind": ["wheel", "tyre", "injector", "map", "pump", "engine"],
    "place": ["wheel.front", "wheel.rear", "tyre.rear", "injectors", "map", "wheel"],
    "part": ["tolland_disc_310", "no_such"],
    "name": ["front-tried", "rear-tried"],
    "by": ["", "tape", "vernier", "maker", "no tool"],
    "tool": ["", "tape", "rule 2", "ruler\x00"],
    "unit": ["", "mm", "in", "parsec"],
    "day": ["", "2026-11-01", "2199-01-01", "0000-00-00", "yesterday"],
    "who": ["Ines", "", "x\x00y", "\u202e", "a" * 60, "x\r\n[part.evil]\nkind = 1"],
    "entry": ["1", "2", "3", "99999"],
    "fact": ["name", "mass", "offset", "nothing.such"],
}  # fmt: skip
"""What is asked for by its name, where chance alone would never find it."""
ODD = [
    "46 ± 1 mm", "46", "-46 mm", "1e400 mm", "nan mm", "inf mm", "46 ± 1e308 mm", "9**9**9 mm",
    "46 mm**99999999", "1/0 in", "11/16 in", "∞ mm", "٤٦ mm", "46 mm\x00", "1" * 190 + " mm",
    "2 to 1 mm", "1 to", "> mm", "± mm", "46 mm; 47 mm; x", ";;;;", "__import__('os')", "\u2028",
    '"""', "\'\'\'", "# x", "]\n[part.x]\n", "{ is = 1 }", "yes", "no", "0.1e-320 kg", "5.9 kg",
]  # fmt: skip
"""What somebody might type as a figure, by mistake or not."""
FIGURES = ("reading", "value", "offset", "words", "why")


class AsBrowser:
    """Sends what a browser of this machine with an open page would: name, cookie, token."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as one:
            page = one.get("/devices").text
            token = token_in(page)
            cookie = "; ".join(f"{k}={v}" for k, v in one.cookies.items())
        self.own = [
            (b"host", HOST.encode()),
            (b"cookie", cookie.encode()),
            (b"x-drybuild-token", token.encode()),
        ]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            ours = {name for name, _ in self.own}
            sent = [(n, v) for n, v in scope["headers"] if n.lower() not in ours]
            scope = {**scope, "headers": [*self.own, *sent], "client": ("127.0.0.1", 1)}
        await self.app(scope, receive, send)


async def _once(request: Request) -> AsyncIterator[str]:
    """What the app tells a page that stays open, as far as the first news."""
    async for news in NEWS(request):
        yield news
        return


NEWS = app_module._changes


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Any]]:
    """The app as it is, but that news end and that no planning starts: a process of minutes."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(app_module, "_changes", _once)
        patched.setattr(Planner, "start", lambda *_, **__: False)
        yield _served(tmp_path_factory)


def _served(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    folder = tmp_path_factory.mktemp("fuzz") / "plover"
    shutil.copytree(EXAMPLE, folder)
    app = AsBrowser(make_app(folder, hosts=frozenset({HOST}), share=True))
    with TestClient(app, base_url=f"http://{HOST}") as one:
        described = one.get("/openapi.json").json()
    schema = schemathesis.openapi.from_dict(described)
    schema.app = app
    return folder, schema


def operations() -> list[tuple[str, str]]:
    """Method and path of every operation that the app describes."""
    app = make_app(EXAMPLE, hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as one:
        paths = one.get("/openapi.json").json()["paths"]
    found = [(method.upper(), path) for path, methods in paths.items() for method in methods]
    return sorted(found, key=lambda one: (one[1], one[0]))


def knowing(described: dict[str, Any]) -> dict[str, Any]:
    """The description, with names that are there and figures that are odd."""

    def told(name: str, schema: dict[str, Any]) -> dict[str, Any]:
        if name in REAL:
            odd = {"type": "string", "enum": REAL[name]}
        elif name in FIGURES:
            odd = {"type": "string", "enum": ODD}
        else:
            return schema
        return {"type": "array", "items": odd, "maxItems": 3} if "items" in schema else odd

    made: dict[str, Any] = json.loads(json.dumps(described))
    for methods in made["paths"].values():
        for operation in methods.values():
            for parameter in operation.get("parameters", ()):
                parameter["schema"] = told(parameter["name"], parameter["schema"])
    for model in made["components"]["schemas"].values():
        if "HTTPValidation" not in model.get("title", "") and "properties" in model:
            model["properties"] = {n: told(n, s) for n, s in model["properties"].items()}
    return made


@pytest.mark.parametrize(
    ("method", "path"), [o for o in operations() if not DEAR.search(o[1])], ids=lambda one: one
)
def test_a_route_bears_what_somebody_might_type(
    fuzzed: tuple[Path, Any], method: str, path: str
) -> None:
    _, schema = fuzzed
    real = schemathesis.openapi.from_dict(knowing(schema.raw_schema))
    real.app = schema.app
    operation = real[path][method]
    if operation.body or list(operation.iter_parameters()):
        _thrown(operation, GenerationMode.POSITIVE, 2 * EACH if method == "POST" else EACH)


@pytest.mark.parametrize(("method", "path"), operations(), ids=lambda one: one)
def test_a_route_answers_as_it_says_whatever_it_is_asked(
    fuzzed: tuple[Path, Any], method: str, path: str
) -> None:
    _, schema = fuzzed
    operation = schema[path][method]
    each = max(1, EACH // 3) if DEAR.search(path) else EACH
    _thrown(operation, GenerationMode.POSITIVE, each)
    if operation.body or list(operation.iter_parameters()):  # else nothing can be asked amiss
        _thrown(operation, GenerationMode.NEGATIVE, each)


def _thrown(operation: Any, mode: GenerationMode, each: int) -> None:
    modest = settings(
        max_examples=each,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],  # what was written cannot be shrunk away
        suppress_health_check=list(HealthCheck),
    )

    @modest
    @given(case=operation.as_strategy(generation_mode=mode))
    def throw(case: Any) -> None:
        answer = case.call()
        case.validate_response(answer, checks=CHECKS)
        said = answer.content.decode("utf-8", "replace")
        assert not LIBRARY.search(said), said[:500]
        carried = {name.lower() for name in answer.headers}
        assert set(HEADERS) <= carried

    throw()


def test_after_all_that_the_folder_reads_and_the_chain_holds(fuzzed: tuple[Path, Any]) -> None:
    """Comes last: what was written meanwhile is whole."""
    folder, _ = fuzzed
    opened = drybuild.open_build(folder)
    assert opened.journal.verify().fault is None
    assert not list(folder.rglob("*.part"))
