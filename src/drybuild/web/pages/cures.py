"""Cures of a finding by what the build offers for adjusting; each is tried beside the plan."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from drybuild.build.editing import EditRefused
from drybuild.examine.fixes import Fix
from drybuild.findings import Finding, Verdict
from drybuild.show.answers import FOR_THE_REST, NEAREST, fix_rows, known_first
from drybuild.show.sentences import fix_text, headline, margin_text
from drybuild.show.usual_words import TO_CHOOSE, to_choose
from drybuild.web.drafts import begin
from drybuild.web.frame import Frame, framed
from drybuild.web.pages.workings import Check, Subject
from drybuild.web.usual import offered_for

router = APIRouter()

SAID: dict[int | str, dict[str, Any]] = {
    303: {"description": "tried beside the plan; to the draft"},
    403: {"description": "not for this device"},
    404: {"description": "no such finding"},
    409: {"description": "that cure is not offered any more, or cannot be written"},
}


@router.get(
    "/cures/{check}/{subject}", response_class=HTMLResponse,
    responses={403: SAID[403], 404: SAID[404]},
)  # fmt: skip
def look(request: Request, check: Check, subject: Subject) -> HTMLResponse:
    """What makes it enough and nothing else worse, of the plan's end; else what comes nearest."""
    frame = framed(request)
    finding, fixes = _found(frame, check, subject)
    units = frame.opened.build.head.units
    enough = all(fix.after.verdict is Verdict.ENOUGH for fix in fixes)
    examination = frame.desk.examination("finished")
    choose = () if fixes else to_choose(examination, units, frozenset({finding.check}))
    return frame.page(
        "cures.html.j2", finding=finding, said=headline(finding), rest=FOR_THE_REST,
        margin=margin_text(finding, units), nearest="" if enough else NEAREST,
        guess="" if choose else known_first(finding),
        rows=fix_rows(fixes, examination, units), choose=choose, chosen_still=TO_CHOOSE,
        usual=offered_for(frame, examination, finding),
    )  # fmt: skip


@router.post("/cures/{check}/{subject}", status_code=303, responses=SAID)
def try_it(
    request: Request, check: Check, subject: Subject, cure: Annotated[str, Form(max_length=400)]
) -> Response:
    """Begin a draft of one cure, named by its words."""
    frame = framed(request, role="edit")
    _, fixes = _found(frame, check, subject)
    named = {fix_text(fix): fix for fix in fixes}
    if cure not in named:
        raise HTTPException(409, "that cure is not offered any more: look at the page again")
    try:
        name = begin(frame.desk.folder, cure[:60], named[cure].changes)
    except EditRefused as error:
        raise HTTPException(409, str(error)) from None
    return RedirectResponse(f"/drafts/{name}", 303)


def _found(frame: Frame, check: str, subject: str) -> tuple[Finding, tuple[Fix, ...]]:
    examination = frame.desk.examination("finished")
    try:
        finding = examination.finding(check, subject)
    except KeyError:
        raise HTTPException(404, f"no finding {check} at {subject}") from None
    if not finding.stopping:
        return finding, ()
    fixes = frame.opened.fixes(examination, finding)
    near = None if fixes else frame.opened.nearest_fix(examination, finding)
    return finding, fixes if near is None else (near,)
