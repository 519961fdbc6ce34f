"""How long the screens take, in a real browser beside a real server on this machine.

    python benchmarks/web.py            a short table
    python benchmarks/web.py --json     one JSON object

first screen     a server just started, its first request: from going there to the frame
                 that shows the whole page, every number on it worked out (median)
from nothing     from the command to that paint, and the same for the command `check`, which works
                 out the same numbers and draws nothing: the ratio is what the screen costs
slider           from a slider's input to the new picture painted, each at a figure not tried before
page weight      bytes that a browser with nothing kept takes for a page, charts apart

The package is compiled first, as pip does where it installs one: a start from bare sources, as in a
machine that is told to keep no bytecode, takes half a second more.

Charts are pictures of their own and are counted beside. Times depend on what else the machine does:
its load is in the answer.
"""

from __future__ import annotations

import argparse
import compileall
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, Response, sync_playwright

import drybuild
from real_server import Served, chromium, served

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "plover"
CORNER = "/corner/rear/left"
PAGES = (
    "/", CORNER, "/engine", "/measure", "/records", "/parts", "/findings", "/drafts", "/devices",
    "/measure/at/site.temperature", "/set?address=site.temperature", "/parts/add?kind=wheel",
    "/parts/compare?place=wheel.rear&part=plover_16x6", "/work",
)  # fmt: skip
CHART = "/chart/"

MOVED = """(to) => new Promise((done) => {
  const picture = document.getElementById("tried"), range = document.getElementById("offset");
  const began = performance.now();
  const seen = new MutationObserver(() => {
    seen.disconnect();
    requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - began)));
  });
  seen.observe(picture, { childList: true });
  range.value = to;
  range.dispatchEvent(new Event("input", { bubbles: true }));
})"""
"""Milliseconds from an input to the frame after the one in which the new picture was put in."""

PAINTED = """() => new Promise((done) => {
  const seen = () => requestAnimationFrame(() => requestAnimationFrame(
    () => done(performance.now())));
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", seen);
  else seen();
})"""
"""Milliseconds from going to a page to the frame after the one that shows all of it."""


def first_screens(browser: Browser, folder: Path, times: int) -> dict[str, float]:
    """Seconds to the first screen of new servers, from the request and from the command."""
    asked, whole, up = [], [], []
    for _ in range(times):
        page = browser.new_page()
        page.goto("about:blank")
        began = time.perf_counter()
        with served(folder) as one:
            up.append(time.perf_counter() - began)
            page.goto(one.address, wait_until="commit")
            painted = page.evaluate(PAINTED) / 1e3
            asked.append(painted)
            whole.append(time.perf_counter() - began)
            assert page.locator("h1").count() == 1
            page.close()
    return {
        "first_screen_s": round(statistics.median(asked), 2),
        "first_screen_best_s": round(min(asked), 2),
        "first_screen_worst_s": round(max(asked), 2),
        "address_said_s": round(statistics.median(up), 2),
        "from_command_s": round(statistics.median(whole), 2),
    }


def checks(folder: Path, times: int) -> float:
    """Median seconds of the command that works out the same numbers."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "drybuild.cli", "check", str(folder)],
            check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def sliders(page: Page, one: Served, times: int) -> dict[str, Any]:
    """Milliseconds from a slider's input to the new picture, with what the server took of them."""
    page.goto(one.address + CORNER)
    at = float(page.locator("#offset").input_value())
    low = float(page.locator("#offset").get_attribute("min") or at - 20)
    figures = [low + k for k in range(times + 1) if low + k != at]
    page.evaluate(MOVED, figures.pop())  # scripts, fonts, the first drawing
    took = [float(page.evaluate(MOVED, figure)) for figure in figures]
    page.evaluate(MOVED, figures[0])
    again = [float(page.evaluate(MOVED, figure)) for figure in figures[1:6]]
    return {
        "slider_ms": round(statistics.median(took)),
        "slider_nine_in_ten_ms": round(statistics.quantiles(took, n=10)[-1]),
        "slider_again_ms": round(statistics.median(again)),
        "slider_moves": len(took),
    }


def weights(browser: Browser, one: Served) -> dict[str, dict[str, float]]:
    """Path → kilobytes of the page with all that it loads, charts apart."""
    found = {}
    for path in PAGES:
        context = browser.new_context()
        page = context.new_page()
        answers: list[Response] = []
        page.on("response", partial(_keep, answers))
        page.goto(one.address + path)
        page.wait_for_load_state("load")
        sizes = {a.url: len(a.body()) for a in answers if not a.url.endswith("/events")}
        charts = sum(size for url, size in sizes.items() if CHART in url)
        found[path] = {
            "page_kb": round((sum(sizes.values()) - charts) / 1e3, 1),
            "charts_kb": round(charts / 1e3, 1),
        }
        context.close()
    return found


def _keep(answers: list[Response], answer: Response) -> None:
    answers.append(answer)


def measure(folder: Path, *, starts: int, moves: int) -> dict[str, Any]:
    """All numbers, as the JSON has them."""
    path = chromium()
    if path is None:
        sys.exit("no browser here: install chromium")
    compileall.compile_dir(Path(drybuild.__file__).parent, quiet=1)
    with tempfile.TemporaryDirectory() as held, sync_playwright() as playing:
        copy = Path(shutil.copytree(folder, Path(held) / folder.name))
        browser = playing.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        found: dict[str, Any] = {"load_before": round(os.getloadavg()[0], 1)}
        found |= first_screens(browser, copy, starts)
        check = checks(copy, starts)
        found["check_s"] = round(check, 2)
        found["from_command_ratio"] = round(found["from_command_s"] / check, 2)
        with served(copy) as one:
            found |= sliders(browser.new_page(), one, moves)
            pages = weights(browser, one)
        found["heaviest_page_kb"] = max(page["page_kb"] for page in pages.values())
        found["pages"] = pages
        found["load_after"] = round(os.getloadavg()[0], 1)
        browser.close()
    return found


def main(argv: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Time the screens in a real browser.")
    parser.add_argument("folder", type=Path, nargs="?", default=DEMO)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--starts", type=int, default=5, help="servers that are started")
    parser.add_argument("--moves", type=int, default=40, help="moves of the slider")
    asked = parser.parse_args(argv)
    found = measure(asked.folder, starts=asked.starts, moves=asked.moves)
    if asked.json:
        print(json.dumps(found, indent=2))
        return 0
    for name, value in found.items():
        if name != "pages":
            print(f"{name:22} {value}")
    for path, weight in found["pages"].items():
        print(f"  {path:52} {weight['page_kb']:7.1f} kB, charts {weight['charts_kb']:7.1f} kB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
