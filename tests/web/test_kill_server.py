"""The app killed in the middle of edits and started again: what was acknowledged is there."""

from __future__ import annotations

import asyncio
import random
import shutil
import subprocess
import time
from pathlib import Path

import httpx2 as httpx
import pytest
from served import EXAMPLE

import drybuild
from web_load import Trial, browse, lost, server

ROUNDS = 3
ACTS = (("read", 4.0), ("change", 4.0), ("remark", 4.0), ("read_in_hand", 1.0), ("draft", 2.0))


async def until_killed(
    url: str, process: subprocess.Popen[str], trial: Trial, *, after: float, seed: int
) -> None:
    """Six browsers write without a pause, and the app dies among them."""
    far = time.monotonic() + 120
    work = [
        asyncio.create_task(browse(url, n, far, trial, pause=0.01, seed=seed, acts=ACTS))
        for n in range(6)
    ]
    until = time.monotonic() + 60
    while sum(map(len, trial.kept.values())) < 4 and time.monotonic() < until:
        await asyncio.sleep(0.05)
    await asyncio.sleep(after)
    trial.killed = True
    process.kill()
    await asyncio.gather(*work)


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_what_was_acknowledged_is_there_after_a_kill(tmp_path: Path, seed: int) -> None:
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "plover"))
    dice, trial = random.Random(seed), Trial()
    with server(folder) as (url, process):
        asyncio.run(until_killed(url, process, trial, after=dice.uniform(0, 1.5), seed=seed))
        assert process.wait(20) != 0
    kept = sum(map(len, trial.kept.values()))
    assert kept >= 4
    assert trial.errors == []
    with server(folder) as (url, _), httpx.Client(base_url=url, timeout=60) as again:
        assert again.get("/").status_code == 200
        assert "does not fit" not in again.get("/records").text
        page = again.get("/devices").text
        token = page.split('name="drybuild-token" content="')[1][:64]
        data = {"token": token, "words": "after the kill", "who": "Ines"}
        assert again.post("/records/remark", data=data).status_code == 303
    assert lost(folder, trial) == []
    opened = drybuild.open_build(folder)
    assert opened.journal.remarks()[-1].words == "after the kill"
    assert opened.journal.verify().fault is None


def test_a_form_of_before_the_kill_is_refused_in_words_and_nothing_is_written(
    tmp_path: Path,
) -> None:
    """Sessions end with the app: the old page's form must not do half of something."""
    folder = Path(shutil.copytree(EXAMPLE, tmp_path / "plover"))
    with server(folder) as (url, _), httpx.Client(base_url=url, timeout=60) as one:
        token = one.get("/devices").text.split('name="drybuild-token" content="')[1][:64]
        port, cookies = int(url.rsplit(":", 1)[1]), dict(one.cookies)
    before = len(drybuild.open_build(folder).journal.entries())
    with (
        server(folder, port) as (url, _),
        httpx.Client(base_url=url, timeout=60, cookies=cookies) as one,
    ):
        data = {"token": token, "words": "typed before", "who": "Ines"}
        refused = one.post("/records/remark", data=data)
        assert refused.status_code == 403
        assert "load it again" in refused.text
    assert len(drybuild.open_build(folder).journal.entries()) == before
