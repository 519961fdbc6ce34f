"""The page: one file, complete, escaped, and drawn to scale."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import drybuild
from drybuild.findings import Verdict
from drybuild.show.engine_words import fuel_figures, fuels
from drybuild.show.fuel_network import fuel_network
from drybuild.show.page import page
from drybuild.show.section import corner_section, frame_of, gap_words, marked
from drybuild.show.section_drawing import draw_section

pytest.importorskip("matplotlib")
pytest.importorskip("jinja2")
from drybuild.show.charts import PageExtraMissing, charts

DEMO = Path(__file__).parents[2] / "examples" / "plover"
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture(scope="module")
def opened():
    return drybuild.open_build(DEMO)


@pytest.fixture(scope="module")
def finished(opened):
    return opened.examine("finished", draws=512)


@pytest.fixture(scope="module")
def now(opened):
    return opened.examine("now", draws=512)


@pytest.fixture(scope="module")
def written(opened, finished, now):
    return page(finished, now, opened.measure_next(finished), folder="my-car", notes=["a note"])


class Tags(HTMLParser):
    """Counts open tags and keeps the text."""

    VOID = frozenset({"meta", "br", "path", "link", "use", "line", "rect", "circle"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.seen: list[str] = []
        self.text = ""

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append(tag)

    def handle_endtag(self, tag):
        if tag in self.VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        self.text += data


def read(text: str) -> Tags:
    tags = Tags()
    tags.feed(text)
    return tags


def test_it_stands_alone(written):
    bare = re.sub(r'xmlns(?::\w+)?="[^"]*"', "", written)
    bare = re.sub(r"<!DOCTYPE svg[^>]*>", "", bare)
    assert "http" not in bare.replace("http-equiv", "")
    assert not re.search(r"<(script|link|img|iframe)\b|@import|url\((?!#)", bare)
    assert "default-src 'none'" in written


def test_every_tag_is_closed(written):
    tags = read(written)
    assert tags.wrong == []
    assert tags.open == []


def test_it_says_all_that_it_must(written, finished):
    tags = read(written)
    for use in finished.uses:
        assert f"<dt>{use.use}</dt>" in written
    for words in (
        "What it may do when finished", "First", "The wheel in its arch", "Breathing and fuel",
        "Every finding", "Not recorded yet", "Note: a note", "drybuild fix my-car",
        "No result here says that the car may be driven",
    ):  # fmt: skip
        assert words in tags.text, words
    for finding in finished.findings:
        assert finding.check in tags.text
    assert written.count('class="section"') == 2
    assert not re.search(r"\bsafe\b|\bpassed\b|OK to drive", tags.text, re.IGNORECASE)


def test_a_stopped_use_carries_the_word_and_not_colour_alone(written, finished):
    stopped = sum(not u.allowed for u in finished.uses)
    assert written.count('<dd class="stop">') == stopped > 0
    assert 'content:"stopped"' in written
    # verdicts stand as words beside every gap and finding
    assert re.search(r"<td>arch lip, full bump</td><td>[^<]+</td><td>short</td>", written)


def test_the_present_car_has_a_page_too(opened, now):
    text = page(now, now, opened.measure_next(now))
    assert "What it may do today" in text
    assert '<dd class="stop">' not in text


def test_what_files_say_stays_text(tmp_path):
    folder = tmp_path / "car"
    shutil.copytree(DEMO, folder)
    nasty = '<script>alert("x")</script> & {{ 7*7 }}'
    for name, old in (("build.toml", 'name = "Fennick Plover 1.8T"'),):
        text = (folder / name).read_text(encoding="utf-8")
        assert old in text
        text = text.replace(old, f"name = '{nasty}'", 1)
        text = re.sub(r'^scenario = ".*"$', f"scenario = '{nasty}'", text, flags=re.MULTILINE)
        text = text.replace('title = "another rear tyre"', f"title = '{nasty}'")
        (folder / name).write_text(text, encoding="utf-8")
    opened = drybuild.open_build(folder)
    finished = opened.examine("finished", draws=128)
    out = page(finished, finished, opened.measure_next(finished), notes=[nasty], folder=nasty)
    assert "<script" not in out
    assert "&lt;script&gt;" in out
    assert "{{ 7*7 }}" in out
    assert "script" not in read(out).seen


def test_us_units_reach_drawings_and_charts(opened, finished, now):
    text = page(finished, now, opened.measure_next(finished), system="us")
    shown = read(text).text
    assert "psi" in shown
    assert re.search(r"\d in\b", shown)
    drawings = shown.split("Every finding")[0].split("The wheel")[1]
    assert not re.search(r"\d (mm|bar|N·m)\b", drawings)


# ---- the section, to scale


def path(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    found = re.findall(rf'<path d="([^"]+)" class="{kind}"/>', svg)
    return [
        [(float(x), float(y)) for x, y in re.findall(rf"({NUMBER}) ({NUMBER})", d)] for d in found
    ]


def middle(examination, address: str) -> float:
    return 1000 * float(np.nanmedian(examination.evaluation.get(address).value))


@pytest.mark.parametrize("corner", ["front.left", "rear.right"])
def test_every_length_of_the_section_is_the_cars(finished, corner):
    section = corner_section(finished, corner)
    frame = frame_of([section])
    svg = draw_section(section, "metric", frame)
    hub = -frame.left
    outer, inner = (middle(finished, f"corners.{s}_reach.{corner}") for s in ("outer", "inner"))
    radius = middle(finished, f"corners.free_radius.{corner}")
    (tyre,) = path(svg, "tyre")
    xs, ys = [x for x, _ in tyre], [y for _, y in tyre]
    assert max(xs) - hub == pytest.approx(outer, abs=0.2)
    assert hub - min(xs) == pytest.approx(inner, abs=0.2)
    # the crown of the tread rises a little over the shoulders; the radius lies between
    assert frame.top - min(ys) == pytest.approx(radius, abs=2)
    ((x0, y0), (x1, y1)), *_ = path(svg, "scale")
    assert x1 - x0 == pytest.approx(100, abs=0.1)
    assert y0 == y1


@pytest.mark.parametrize("corner", ["front.left", "rear.left"])
def test_every_gap_is_as_long_as_its_number(finished, corner):
    section = corner_section(finished, corner)
    svg = draw_section(section)
    drawn = path(svg, r"gap (?:enough|unsure|short|unmeasured)")
    bars = path(svg, "doubt")
    known = [g for g in section.gaps if g.finding.slack is not None]
    (axis,) = re.findall(r'd="M([\d.]+) [^"]*" class="axis"', svg)
    (*columns,) = re.findall(r'<text x="([\d.]+)"[^>]*class="label end', svg)
    assert columns
    assert all(float(axis) > float(x) for x in columns)  # no label is struck through by it
    assert len(drawn) == len(bars) == len(known) > 4
    for gap, (start, end), (low, high) in zip(known, drawn, bars, strict=True):
        slack = gap.finding.slack
        across = 0 if start[1] == end[1] else 1
        sign = {"inner": -1, "over": -1, "barrel": -1}.get(gap.side, 1)  # up is less on the sheet
        assert (end[across] - start[across]) * sign == pytest.approx(1000 * slack.median, abs=0.2)
        wide = abs(high[across] - low[across])
        assert wide == pytest.approx(1000 * (slack.high - slack.low), abs=0.2)


def test_a_tyre_that_touches_is_drawn_into_the_obstacle_and_says_short(finished):
    section = corner_section(finished, "rear.left")
    gap = next(g for g in section.gaps if g.finding.check == "corners.arch_bump_gap")
    assert gap.finding.slack.median < 0
    svg = draw_section(section)
    (start, end), *_ = path(svg, "gap short")
    assert end[0] < start[0]  # inboard of the tyre's outer side
    assert marked(gap, "metric")[2] == "short"
    assert "short" in read(svg).text


def test_what_nobody_measured_is_drawn_broken_and_says_so(finished):
    section = corner_section(finished, "front.left")
    assert section.spoke_depth is None
    svg = draw_section(section)
    assert 'class="spokes unknown"' in svg
    assert "not measured" in read(svg).text
    gap = next(g for g in section.gaps if g.finding.check == "corners.caliper_spoke_gap")
    assert gap_words(gap, "metric") == "nobody has measured it"


def test_an_undecided_gap_says_how_it_lies_as_the_other_pages_do(finished):
    gap = next(g for g in corner_section(finished, "front.left").gaps if g.finding.margin)
    unsure = replace(gap, finding=gap.finding.but(verdict=Verdict.UNSURE, chance=0.02, why=""))
    assert gap_words(unsure, "metric").endswith("; likely short")


def test_both_axles_stand_in_one_frame(finished):
    sections = [corner_section(finished, c) for c in ("front.left", "rear.left")]
    frame = frame_of(sections)
    boxes = [
        re.search(r'viewBox="([^"]+)"', draw_section(s, "metric", frame))[1] for s in sections
    ]
    assert boxes[0] == boxes[1]


def labels(svg: str) -> list[tuple[float, float, str, bool]]:
    svg = re.sub(r"</?tspan[^>]*>", "", svg)
    found = re.findall(rf'<text x="({NUMBER})" y="({NUMBER})" class="([^"]*)">([^<]*)</text>', svg)
    assert len(found) > 8
    return [(float(x), float(y), words, "end" in kind) for x, y, kind, words in found]


@pytest.mark.parametrize("corner", ["front.left", "front.right", "rear.left", "rear.right"])
def test_labels_never_lie_on_each_other_nor_beside_the_sheet(finished, corner):
    svg = draw_section(corner_section(finished, corner))
    wide, high = (float(v) for v in re.search(r'viewBox="0 0 (\S+) (\S+)"', svg).groups())
    boxes = []
    for x, y, words, ends in labels(svg):
        length = 7.2 * len(words)
        left = x - length if ends else x
        if words in ("caliper", "hub face"):
            left = x - length / 2
        boxes.append((left, y - 10, left + length, y + 2, words))
        assert left > -4
        assert left + length < wide + 4
        assert 0 < y < high
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            tiny = 1e-6
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + tiny or b[3] <= a[1] + tiny
            assert apart, (a, b)


def test_labels_keep_apart_when_gaps_stand_at_one_height(finished):
    from dataclasses import replace

    section = corner_section(finished, "rear.left")
    same = tuple(replace(g, height=0.25) for g in section.gaps)
    svg = draw_section(replace(section, gaps=same))
    for ends in (True, False):
        ys = sorted(y for _, y, words, e in labels(svg) if e == ends and re.match(r"[a-z] ", words))
        assert len(ys) > 1
        assert all(b - a > 20 for a, b in pairwise(ys))  # a phone's letters are 21 tall


def test_a_corner_without_wheel_facts_is_not_drawn(tmp_path):
    folder = tmp_path / "car"
    made = pytest.importorskip("drybuild.build.new")
    made.make_build(
        folder, nearest="none", driving="don't know", inspection="don't know",
        first_change="don't know",
    )  # fmt: skip
    opened = drybuild.open_build(folder)
    done = opened.examine("now", draws=128)
    assert corner_section(done, "front.left") is None
    text = page(done, done, opened.measure_next(done))
    assert 'class="section"' not in text


@pytest.mark.parametrize("nearest", ["utility-4x4", "front-turbo-hatch"])
def test_a_starter_car_has_its_page_whatever_is_not_solved(tmp_path, nearest):
    from drybuild.build.new import make_build

    folder = tmp_path / "car"
    make_build(
        folder, nearest=nearest, driving="yes", inspection="don't know", first_change="a whole list"
    )
    opened = drybuild.open_build(folder)
    done = opened.examine("finished", draws=128)
    text = page(done, opened.examine("now", draws=128), opened.measure_next(done))
    tags = read(text)
    assert tags.open == []
    assert 'class="section"' in text
    assert not re.search(r"\b(nan|inf|unbounded)\b", tags.text)


# ---- the charts


def test_charts_answer_their_question_in_words(finished):
    drawn = charts(finished)
    assert len(drawn) == 5
    for chart in drawn:
        assert chart.title.endswith("?")
        assert re.search(r"about \d", chart.words), chart.title
        texts = read(chart.svg).text
        assert len(re.findall(r"[a-z]{4,}", texts)) >= 3  # axes and lines are named in words
        assert "#26343b" not in chart.svg  # colours are the page's own
        assert "<metadata" not in chart.svg


def test_a_chart_says_the_number_that_the_result_holds(finished):
    chart = charts(finished)[0]
    torque = finished.evaluation.get("breathing.power.e10").value.torque
    peak = float(np.nanmax(np.nanmedian(torque, axis=1)))
    said = float(re.search(r"e10: about (\d+) N·m", chart.words)[1])
    assert said == pytest.approx(peak, rel=0.03)


def test_a_fuel_that_is_not_used_is_not_drawn(now):
    assert "blend70" not in charts(now)[0].words


def test_without_the_drawing_library_it_says_what_to_install(monkeypatch, finished):
    import builtins

    real = builtins.__import__

    def without(name, *rest, **more):
        if name.split(".")[0] == "matplotlib":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(PageExtraMissing, match=r"drybuild\[page\]"):
        charts(finished)


def test_what_the_pump_gives_is_said_with_unit_and_doubt(finished):
    (pump,) = [c for c in charts(finished) if c.title.startswith("Does the pump")]
    figure = r"about \d+ L/h, \d+ to \d+"
    said = rf"\w+: the engine takes ({figure}) at most; the pump gives then ({figure})"
    found = re.fullmatch(said, pump.words)
    assert found is not None, pump.words
    blend = pump.words.partition(":")[0]
    network = fuel_network(finished, blend, "metric")
    rows = {row.words: row.value for row in network.rows}
    assert (rows["the engine takes"], rows["the pump could give"]) == found.groups()
    index = fuels(finished).index(blend)
    table = {row.words: row.values[index] for row in fuel_figures(finished, "metric")}
    assert (table["fuel taken, at most"], table["pump gives then"]) == found.groups()


def test_no_word_of_the_compressor_s_map_is_struck_through(finished):
    (chart,) = [c for c in charts(finished) if "compressor" in c.title]
    root = ElementTree.fromstring(chart.svg)
    at = "{http://www.w3.org/2000/svg}"
    boxes = {}
    for text in root.iter(f"{at}text"):
        words = "".join(text.itertext()).strip()
        if words in ("surge", "choke", "low speed", "high speed"):
            x, y, long = float(text.get("x")), float(text.get("y")), 5.2 * len(words)
            left = x - long if "text-anchor: end" in text.get("style") else x
            boxes[words] = (left, y - 7, left + long, y + 2)
    assert len(boxes) == 4
    lines = [
        np.array([[float(v) for v in p] for p in re.findall(rf"[ML] ({NUMBER}) ({NUMBER})", d)])
        for path in root.iter(f"{at}path")
        if "fill: none" in path.get("style", "") and "stroke-width: 0.4" not in path.get("style")
        for d in [path.get("d")]
    ]
    assert sum(len(line) > 5 for line in lines) >= 2  # the map's edge, and the way over it
    for line in lines:
        for (x0, y0), (x1, y1) in pairwise(line):
            along = np.linspace(0.0, 1.0, 60)
            x, y = x0 + (x1 - x0) * along, y0 + (y1 - y0) * along
            for words, (left, top, right, foot) in boxes.items():
                inside = (x > left) & (x < right) & (y > top) & (y < foot)
                assert not inside.any(), words
