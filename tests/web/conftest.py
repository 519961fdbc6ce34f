"""The app of a copy of an example, as browsers on this machine and elsewhere meet it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from starlette.types import ASGIApp

from drybuild.build.new import make_build
from drybuild.web.app import make_app

HOSTS = frozenset({"127.0.0.1:8000", "192.0.2.7:8000"})
EXAMPLE = Path(__file__).parents[2] / "examples" / "plover"

Browser = Callable[..., TestClient]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the example that a test may change."""
    return Path(shutil.copytree(EXAMPLE, tmp_path / "plover"))


@pytest.fixture
def app(folder: Path) -> ASGIApp:
    return make_app(folder, hosts=HOSTS, share=True, away="http://192.0.2.7:8000")


@pytest.fixture
def browser(app: ASGIApp) -> Iterator[Browser]:
    """A new browser: on this machine, or (``away``) elsewhere on the network."""
    opened: list[TestClient] = []

    def open_one(*, away: bool = False, serving: ASGIApp | None = None) -> TestClient:
        host, client = ("192.0.2.7", "192.0.2.50") if away else ("127.0.0.1", "127.0.0.1")
        one = TestClient(
            serving or app, base_url=f"http://{host}:8000", client=(client, 50000),
            follow_redirects=False,
        )  # fmt: skip
        opened.append(one)
        return one

    yield open_one
    for one in opened:
        one.close()


@pytest.fixture
def hatch(tmp_path: Path) -> Path:
    """A new folder of the starter car with a turbocharger across the car, for more power."""
    return make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes", first_change="power"
    )


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """Where there is no folder yet."""
    return tmp_path / "my-car"


@pytest.fixture
def visitor(empty: Path) -> Iterator[TestClient]:
    """Somebody on this machine who has no build yet."""
    with TestClient(
        make_app(empty, hosts=HOSTS), base_url="http://127.0.0.1:8000",
        client=("127.0.0.1", 50000), follow_redirects=False,
    ) as one:  # fmt: skip
        yield one
