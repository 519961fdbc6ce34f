"""What the plan takes and costs, and what else lies open: counted when somebody asks."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from drybuild.show import work_apart, work_outlook, work_quote
from drybuild.show.cards_words import money_text
from drybuild.show.left_now import AS_MADE
from drybuild.show.work_supposed import supposed_line
from drybuild.web.frame import framed
from drybuild.web.pages.work import SAID, work_of
from drybuild.web.workshop import workshop
from drybuild.work.apart import while_apart
from drybuild.work.risk import quote

router = APIRouter()

YEARS = 5.0
CONFIDENCE = 0.8
"""As ``drybuild while-apart`` and ``drybuild quote`` have them."""


@router.get("/work/apart", response_class=HTMLResponse, responses={303: SAID[303]})
def apart(request: Request) -> HTMLResponse:
    """What else lies open while it is apart, and what may wait."""
    frame = framed(request, "now")
    work = work_of(frame)
    todo = work.planned.hand.todo
    over = work.so_far.done.keys()
    found = while_apart(todo, work.planned.plan, years=YEARS, over=over)
    return frame.page(
        "work_apart.html.j2",
        ahead=work_apart.ahead_text(found),
        assumed=work_apart.assumed_lines(found),
        groups=[
            (title, [work_apart.item_lines(todo, found, item) for item in items])
            for title, items in work_apart.groups(found)
        ],
        nothing="" if found.found else work_apart.NOTHING,
        waiting=(work_apart.WAITING, work_apart.waiting_lines(todo, found)),
        lives=work_apart.LIVES,
    )


@router.get("/work/quote", response_class=HTMLResponse, responses={303: SAID[303]})
def cost(request: Request) -> HTMLResponse:
    """How long, how sure, and what it costs."""
    frame = framed(request, "now")
    work = work_of(frame)
    todo = work.planned.hand.todo
    outlook = workshop(request).outlook(work)
    made = quote(todo, work.planned.plan, outlook, confidence=CONFIDENCE)
    of_work, *waiting, _ = work_outlook.hours_lines(outlook)  # the last of it is said at the head
    return frame.page(
        "work_quote.html.j2",
        sure=work_quote.sure_text(made, outlook),
        weakest=work_quote.weakest_text(todo, outlook),
        groups=work_quote.groups(made),
        total=(work_quote.total_title(made), money_text(made.total, made.currency)),
        no_price="" if made.lines else work_quote.NO_PRICE,
        unpriced=work_quote.unpriced_lines(made),
        unpriced_title=work_quote.unpriced_title(made),
        left_out=made.left_out,
        contingency=work_quote.contingency_text(made),
        hours=waiting,
        of_work=of_work,
        needs_title=work_outlook.needs_title(outlook),
        needs=[work_outlook.need_lines(todo, need) for need in outlook.needs],
        how=work_outlook.how_text(outlook),
        closing=work_outlook.CLOSING,
        supposed=supposed_line(work.planned.plan),
        left=f"{left}; {AS_MADE}" if (left := work.left_now()) else "",
    )
