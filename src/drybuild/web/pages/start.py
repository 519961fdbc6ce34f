"""The first visit: a few questions, an answer with its doubt after each, and then a build folder.

The answers stand in the page's own address until the folder is made: nothing is kept half way, and
the browser's back button goes one question back.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from math import isfinite
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from drybuild.asking.beginning import begin
from drybuild.asking.questions import (
    ALSO,
    BIGGER,
    FALLBACK,
    MEASURED,
    AnswerRefused,
    FarOff,
    Question,
    asked_along,
    others,
    pending,
    questions,
)
from drybuild.asking.reading import read_all
from drybuild.asking.told import POINTS as POINTED
from drybuild.asking.told import SHANK, Asked, Tells, Told, before_measuring, read_measured
from drybuild.asking.understood import changes_named
from drybuild.build import BuildFaults, ChangeRefused, UnknownName
from drybuild.build.new import STARTERS
from drybuild.examine.naming import plain_name
from drybuild.examine.noting import NoteRefused
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED
from drybuild.findings.words import uses
from drybuild.journal import EntryRefused
from drybuild.show.doubt_band import Spread, narrowed_words
from drybuild.show.marking_sketch import draw_marking
from drybuild.show.room_bands import (
    Band,
    Scale,
    band_of,
    band_words,
    draw_bands,
    gap_said,
    room_sentence,
    scale_of,
)
from drybuild.show.sentences import chance_text, headline, room_text, wanted_text
from drybuild.show.shank import POINTS, RULE, STANDING, draw_shank, with_shank
from drybuild.values import parse_value, show
from drybuild.web.frame import environment, sentence
from drybuild.web.guests import Guest

router = APIRouter()

Answer = Annotated[str | None, Field(max_length=80)]

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "there is a build here: to its first page"},
    403: {"description": "not for this device"},
    409: {"description": "the folder is in use, or an answer cannot be written"},
    422: {"description": "an answer cannot be read: the page says why"},
}

ROWS = {
    "car": "cars like yours", "driving": "cars like yours", "tyre": "and your tyre",
    "wheel": "and your wheel", "new-wheel": "and the new wheel", "new-tyre": "and the new tyre",
    "front-drop": "and the drop in front", "rear-drop": "and the drop behind",
    "pads": "and the new pads", "fluid": "and the new fluid", "power": "and the power wanted",
    "octane": "and your fuel", "flow": "and the new injectors", "pressure": "and their pressure",
}  # fmt: skip
"""Answer → how the band after it is called."""

OTHERWISE = {
    "tyre": "Another width", "wheel": "Another offset or width", "new-tyre": "Another width",
    "new-wheel": "Another offset or width",
}  # fmt: skip
"""Answer → what of it does move a gap at a wheel."""

FROM_GUESSES = "So far much of it is guesses: the band says how much."
STAND_IN_WHEEL = "With a typical larger wheel, a guess, until you name the one you want."
NOT_COVERED = "Standing and straight ahead. Full lock and full bump are not covered yet."
MOST_BANDS = 5
MOST_OF = 0.8
"""Of a drop; where the room gets less by a smaller share, it is said why."""
LIKELY = 0.95


class Answers(BaseModel):
    """What may be answered, as the address of the page and its form both have it."""

    model_config = ConfigDict(alias_generator=lambda name: name.replace("_", "-"))

    first: Answer = None
    car: Answer = None
    driving: Answer = None
    tyre: Answer = None
    wheel: Answer = None
    new_wheel: Answer = None
    new_tyre: Answer = None
    front_drop: Answer = None
    rear_drop: Answer = None
    pads: Answer = None
    fluid: Answer = None
    power: Answer = None
    octane: Answer = None
    flow: Answer = None
    pressure: Answer = None
    measured: Answer = None
    who: Answer = None
    sure: Answer = None
    also: Annotated[list[Annotated[str, Field(max_length=80)]], Field(max_length=12)] = []

    def given(self) -> dict[str, str]:
        """Those that were given, by the names of their questions."""
        found: dict[str, str] = self.model_dump(by_alias=True, exclude_none=True, exclude={ALSO})
        return {**found, ALSO: ", ".join(self.also)} if self.also else found


@router.get("/start", response_class=HTMLResponse, responses={303: SAID[303], 422: SAID[422]})
def start(request: Request, answers: Annotated[Answers, Query()]) -> Response:
    """The next question, and what is known with the answers so far."""
    if there_is_one(request):
        return RedirectResponse("/", 303)
    return _page(request, answers.given())


@router.post("/start", status_code=303, responses=SAID)
def make(request: Request, typed: Annotated[Answers, Form()]) -> Response:
    """Make the folder from the answers, and open it."""
    guest: Guest = request.state.guest
    if not guest.may("edit"):
        raise HTTPException(403, "this device may look, and not make a build")
    if there_is_one(request):
        return RedirectResponse("/", 303)
    # A form's empty field arrives as one that was left out: neither is known.
    given = typed.given()
    given = {**dict.fromkeys((q.name for q in questions(given)), ""), **given}
    answers, refused, _ = read_all(given, _tells(request))
    if refused:
        return _page(request, given)
    asks = _tells(request).asks(answers) if answers.get(MEASURED) else None
    try:
        begin(
            request.app.state.desk.folder, answers, measured_at=asks.address if asks else "",
            tool=asks.tool if asks else "",
            asked=" ".join(_tells(request).told(answers).focus or ()) if "car" in answers else "",
        )  # fmt: skip
    except (UnknownName, BuildFaults, ChangeRefused, NoteRefused, EntryRefused, OSError) as error:
        return _page(request, given, said=f"Nothing was made. {error}", status=409)
    return RedirectResponse("/", 303)


def _in_use(request: Request) -> str:
    """What is said of a folder that holds something else already."""
    folder = request.app.state.desk.folder
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        return ""
    return (
        f"{folder.name} holds something else already, and nothing is ever written over. Stop, and "
        f"start with a folder that is not there yet: drybuild serve {folder.name}-build"
    )


def there_is_one(request: Request) -> bool:
    """Whether the folder holds a build already."""
    return bool(request.app.state.desk.begun())


def _tells(request: Request) -> Tells:
    state = request.app.state
    if not hasattr(state, "tells"):
        state.tells = Tells()
    tells: Tells = state.tells
    return tells


def _page(
    request: Request, given: Mapping[str, str], *, said: str = "", status: int = 200
) -> HTMLResponse:
    answers, refused, at = read_all(given, _tells(request))
    question = pending(answers)
    tells = _tells(request)
    told = tells.told(answers) if "car" in answers else None
    asked = MEASURED in answers or bool(question)
    asks = told.asks if told and not asked else None
    done = question is None and (MEASURED in answers or asks is None)
    guest: Guest = request.state.guest
    state = request.app.state
    going_on = "" if given else getattr(state, "stopped_at", "")
    if answers and not refused:
        state.stopped_at = "/start?" + urlencode(answers)
    page = environment().get_template("start.html.j2").render(
        sure=_asked_about(given, answers, tells, at), who=given.get("who", ""),
        folder=request.app.state.desk.folder.name, token=request.state.guests.form_token(guest),
        guest=guest, question=question, asks=_asks(asks), done=done, answers=answers,
        typed=given.get(at, ""), refused=refused or said, in_use=_in_use(request),
        number=len(before_measuring(answers)) + 1,
        of=len(questions(answers)) + 1 if answers.get("first") else 0,
        skip=_skip(answers, question), told=_told(tells, answers, told) if told else None,
        going_on=going_on, sketch=_sketch(question), steps=_steps(answers), taken=_taken(answers),
        along=[(q, given.get(q.name, "")) for q in asked_along(answers)],
        others=others(answers), bigger=BIGGER, also=changes_named(answers.get(ALSO, "")),
    )  # fmt: skip
    return HTMLResponse(page, 422 if refused else status)


def _asked_about(
    given: Mapping[str, str], answers: Mapping[str, str], tells: Tells, at: str
) -> str:
    """The reading that is asked about, as the next press sends it once more; empty of any other."""
    asks = tells.asks(answers) if at == MEASURED else None
    if asks is None:
        return ""
    try:
        read_measured(asks, given[MEASURED])
    except FarOff as far:
        return far.read
    except AnswerRefused:
        return ""
    return ""


def _sketch(question: Question | None) -> str:
    if question is None or not (question.tyre or question.wheel):
        return ""
    return draw_marking("tyre" if question.tyre else "wheel", question.example)


def _skip(answers: Mapping[str, str], question: Question | None) -> str:
    name = question.name if question else MEASURED
    return "/start?" + urlencode({**answers, name: ""})


def _asks(asks: Asked | None) -> dict[str, Any] | None:
    """What is measured, and how, with a sketch where a shank does it."""
    if asks is None:
        return None
    words = asks.address.split(".")
    point = ".".join(words[3:]) if words[0] == "corner" else ""
    how = _sentence(asks.how)
    if point in POINTS:
        how = with_shank(asks.most) if asks.tool == SHANK else RULE
    return {
        "how": how, "standing": STANDING if point else "",
        "sketch": draw_shank(point) if point in POINTS else "", "named": asks.named,
        "gap": plain_name(asks.address) if point in POINTS else "",
        "doc": _sentence(asks.doc), "tool": asks.tool, "unit": asks.unit, "to_come": asks.to_come,
        "share": round(100 * asks.share) if asks.share >= 0.1 else 0,
    }  # fmt: skip


def _sentence(words: str) -> str:
    return f"{sentence(words)}." if words else ""


def _told(tells: Tells, answers: Mapping[str, str], told: Told) -> dict[str, Any]:
    """The answer in words, and the bands up to it."""
    finding = told.findings.get(told.focus) if told.focus else None
    if finding is None:
        return {
            "title": "",
            "bands": "",
            "lines": [],
            "narrowed": "",
            "coming": "",
            "pose": "",
            "of": "",
            "went": "",
            "unmoved": "",
        }
    bands = _bands(tells, answers, told, finding)
    there = room_sentence(finding, "metric")
    lines = [there] if there else [room_text(finding, "metric"), wanted_text(finding, "metric")]
    coming = told.coming
    return {
        "title": headline(finding), "bands": draw_bands(bands, scale_of(finding), "metric"),
        "lines": [sentence(line) for line in lines if line],
        "chance": chance_text(finding.chance),
        "missing": finding.margin is None, "verdict": finding.verdict,
        "stops": _stops(finding),
        "narrowed": _narrowed(bands, finding) if answers.get(MEASURED) else "",
        "sided": told.asks is not None and told.asks.address.startswith("corner."),
        "went": _went(told, finding), "unmoved": sentence(_unmoved(tells, answers, told, finding)),
        "coming": f"{headline(coming)}: {room_text(coming, 'metric')}" if coming else "",
        "pose": NOT_COVERED if "_gap" in finding.check else finding.pose,
        "do": finding.do if (finding.chance or 0.0) < LIKELY else "",
        "guesses": FROM_GUESSES if finding.margin and not answers.get(MEASURED) else "",
        "settled": told.settled, "armed": told.armed, "of": _of_what(answers),
    }  # fmt: skip


def _went(told: Told, finding: Finding) -> str:
    """Where the rest of a gap that was measured went: as it is said, it adds up to the gap."""
    if told.kept is None or finding.slack is None:
        return ""
    kept, least = told.kept, 0.00005  # less is 0 as it is shown
    reading, growth = round(kept.reading, 4), round(kept.growth, 4)
    said = f"{_mm(reading)} measured"
    if growth > least:
        share = f"{100 * kept.share:.2g} %"
        said += (
            f", less {_mm(growth)} for the tyre, which may grow in use: by up to {share} of "
            "its width, half of it to this side"
        )
    change = gap_said(finding) - (reading - growth)
    if abs(change) > least:
        said += f", {'less' if change < 0 else 'plus'} {_mm(abs(change))} by the change"
    return said


def _mm(length: float) -> str:
    return show("length", round(length, 4))


def _unmoved(
    tells: Tells, answers: Mapping[str, str], told: Told, finding: Finding
) -> str:  # fmt: skip
    """That the last answer leaves this finding as it was, and what it moves instead."""
    name = list(answers)[-1]
    if name not in ROWS or name in ("car", "driving") or not answers[name]:
        return ""
    before = tells.told({k: v for k, v in answers.items() if k != name}).findings
    was = before.get((finding.check, finding.subject))
    if was is None:
        return ""
    if _differ(band_of("", was), band_of("", finding), scale_of(finding)):
        return _beside(answers[name] if name.endswith("-drop") else "", finding, was)
    said = _same(name, finding)
    moved = [(_by(before.get(key), f), f) for key, f in told.findings.items()
             if f.armed and f.kind == finding.kind]  # fmt: skip
    gaps = [(by, f) for by, f in moved if by > 0 and f.check in POINTED]
    most, other = max(gaps or moved, key=lambda one: one[0], default=(0.0, finding))
    if most <= 0.0:
        return said
    there = room_sentence(other, "metric") or room_text(other, "metric")
    mine = ROWS[name].removeprefix("and ")
    return f"{said}. {sentence(mine)} moves {other.title}, {other.place}: {there}"


def _same(name: str, finding: Finding) -> str:
    """What is said of an answer that leaves the finding as it was.

    A wheel or tyre may be what was taken for it before it was named: another would move it.
    """
    said = ROWS[name].removeprefix("and ")
    if name not in OTHERWISE or not finding.check.startswith("corners."):
        return f"{said} does not move this"
    return (
        f"{said} is here what was guessed before you named it: this gap stays as it was. "
        f"{OTHERWISE[name]} would move it"
    )


def _beside(drop: str, finding: Finding, was: Finding) -> str:
    """Why a drop takes less of the room at the arch than the body comes down; empty elsewhere."""
    if not drop or finding.check != "corners.tyre_arch_gap":
        return ""
    if finding.slack is None or was.slack is None:
        return ""
    lost, down = was.slack.median - finding.slack.median, parse_value(drop, "length").centre
    if not 0 < lost < MOST_OF * down:
        return ""
    return (
        "The drop closes the room over the tyre; what is left is that beside it, which a drop "
        "changes little. The larger of the two keeps the tyre clear"
    )


def _by(before: Finding | None, after: Finding) -> float:
    """How far an answer moved the ends of a margin, SI."""
    if before is None or before.margin is None or after.margin is None:
        return 0.0
    was, now = before.margin, after.margin
    far = abs(now.low - was.low) + abs(now.high - was.high)
    return far if isfinite(far) else 0.0


def _of_what(answers: Mapping[str, str]) -> str:
    """On which wheel the answer is, while nobody has named the new one."""
    named = answers.get("new-wheel") or answers.get("new-tyre")
    return STAND_IN_WHEEL if answers.get("first") == "wheels" and not named else ""


def _stops(finding: Finding) -> str:
    """What it holds back, each use in words, and why, where that is not the room itself."""
    if not finding.armed or not finding.stopping:
        return ""
    until = "cured" if finding.verdict is Verdict.SHORT else "known better"
    why = f" ({finding.why})" if finding.why == RESTS_ON_ASSUMED else ""
    stopped = [f"{u.name} ({u.meaning})" for u in uses() if u.name in finding.stops]
    behind = [f"{u.name} ({u.meaning})" for u in uses() if _behind(u.name, finding.stops)]
    also = f"; and what needs these first: {', '.join(behind)}" if behind else ""
    return f"Until it is {until}{why}, it holds the car back from: {', '.join(stopped)}{also}"


def _behind(use: str, stops: Collection[str]) -> bool:
    """Whether a use is stopped by others that it needs, and not itself."""
    needs = {u.name: set(u.needs) for u in uses()}
    before, left = set[str](), list(needs[use])
    while left:
        one = left.pop()
        before.add(one)
        left += needs[one] - before
    return use not in stops and not before.isdisjoint(stops)


def _bands(
    tells: Tells, answers: Mapping[str, str], told: Told, finding: Finding
) -> tuple[Band, ...]:
    """One band for each answer that changed it; an answer that changed nothing has none."""
    key = (finding.check, finding.subject)
    bands: list[Band] = []
    so_far: dict[str, str] = {}
    for name, text in answers.items():
        so_far[name] = text
        if name not in ROWS or (not text and name not in ("car", "driving")):
            continue
        found = tells.told(dict(so_far)).findings.get(key) if "car" in so_far else None
        if found is None:
            continue
        said = ROWS[name]
        if name == "car":
            said = "nothing but the questions" if text == "none" else said
        band = band_of(said, found)
        if not bands or _differ(bands[-1], band, scale_of(finding)):
            bands.append(band)
    if answers.get(MEASURED):
        bands.append(band_of(f"and {answers[MEASURED]} measured", finding))
    elif not bands:
        bands.append(band_of("so far", finding))
    left = bands[-MOST_BANDS:]
    if len(left) > 1:
        return tuple(left)
    return (replace(left[0], said=left[0].said.removeprefix("and ")),)


def _differ(one: Band, other: Band, scale: Scale) -> bool:
    """Whether they are said differently."""
    return band_words(one, scale, "metric") != band_words(other, scale, "metric")


def _narrowed(bands: tuple[Band, ...], finding: Finding) -> str:
    if len(bands) < 2:
        return ""
    was, now = _spread(bands[-2], finding), _spread(bands[-1], finding)
    return narrowed_words(was, now)


def _spread(band: Band, finding: Finding) -> Spread | None:
    if band.low is None or band.median is None or band.high is None:
        return None
    return Spread(finding.kind, band.low, band.median, band.high)


def _steps(answers: Mapping[str, str]) -> list[dict[str, str]]:
    """What was answered, each with the way back to it."""
    rows, before = [], dict[str, str]()
    for question in questions(answers):
        if question.name not in answers:
            break
        text = answers[question.name]
        shown = question.choices.get(text, text) if text else "don't know"
        back = "/start?" + urlencode(before) if before else "/start"
        rows.append({"ask": question.ask, "said": shown, "back": back})
        before[question.name] = text
    if MEASURED in answers:
        said = answers[MEASURED] or "don't know"
        rows.append({"ask": "Measured", "said": said, "back": "/start?" + urlencode(before)})
    return rows


def _taken(answers: Mapping[str, str]) -> list[str]:
    """What was taken for now where somebody did not know."""
    taken = []
    if answers.get("car", "x") == "":
        taken.append(f"a {STARTERS[FALLBACK]}, since you do not know which is nearest")
    if answers.get("new-wheel") and answers.get("new-tyre", "x") == "":
        taken.append("a tyre that fits the new wheel and rolls most like yours")
    if answers.get("new-tyre") and answers.get("new-wheel", "x") == "":
        taken.append("a wheel of the width on which that tyre is measured")
    return taken
