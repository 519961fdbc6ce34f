"""Why there is no plan, and what would make one, each said once: for a screen and for paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drybuild.examine.naming import plain_name
from drybuild.findings.finding import RECALLED
from drybuild.show.clauses import clause_lines, grouped
from drybuild.show.lines import percent, wrapped
from drybuild.show.sentences import in_hand_name
from drybuild.show.work_supposed import counted, to_measure_text
from drybuild.work.examined import hopeless
from drybuild.work.model import Clause, NoPlan, Problem, Relaxation
from drybuild.work.papers import LookUp
from drybuild.work.solve.words import THEN
from drybuild.work.supposed import SUPPOSED

NONE = "no plan meets every need"
"""What heads the answer, and what a search says that knows no more."""

NOT_YET = "no plan was found yet; there may be one"
"""The same of a search that ran out of time."""

ROOM = "makes room for a plan; what the checks say of it shows then"
NOT_SHOWN = (
    "{this} may be enough, and was not shown to be: with {any} the work divides into the sessions, "
    "and no plan with times was found before the search had to stop"
)
NOT_THIS = "not shown to be enough: no plan was found with it before the search had to stop"
WRITTEN = {
    "need": "[[need]]", "time": "[[session]]", "session": "[[session]]", "tool": "[[lent]]",
    "budget": "[[budget]]", "arrival": "[[job]] arrives", "booking": "[[job]] booked",
}  # fmt: skip
"""Kind of a way out → where build.toml has it."""
FIRST = "Do first"
LOOK_UP = "look up before anything is bought"


@dataclass(frozen=True, slots=True)
class Cure:
    """Something to do first. head: what is to be done, where several have that in common, and
    ``of`` what it is done to. check, subject: what it is of; measure: the address to be measured;
    wants_fix: whether only a change cures it."""

    of: str
    check: str = ""
    subject: str = ""
    measure: str = ""
    wants_fix: bool = False
    head: str = ""

    @property
    def words(self) -> str:
        """All of it in one."""
        return f"{self.head}: {self.of}" if self.head else self.of


def by_head(cures: Iterable[Cure]) -> list[tuple[str, list[Cure]]]:
    """What is to be done the same way together, in their order; what is alone in that by itself."""
    same: dict[str, list[Cure]] = {}
    for n, cure in enumerate(cures):
        same.setdefault(cure.head or f"#{n}", []).append(cure)
    return [
        (head, these) if len(these) > 1 and these[0].head else ("", these)
        for head, these in same.items()
    ]


def reasons(said: NoPlan) -> list[str]:
    """Why, without what heads the answer anyway."""
    return [why for why in said.why if why != NONE]


def first_title(said: NoPlan) -> str:
    """What heads what is to be done first, with how much waits for a reading."""
    many = len({c.check for c in _to_be_measured(said)})
    return f"{FIRST}; {counted(many)} wait{'s' * (many == 1)} for a reading" if many else FIRST


def first_cures(said: NoPlan) -> list[Cure]:
    """What no order of the jobs gets round, and what is only not known yet, in few lines: what to
    measure, which rules to read, what to cure; each check once, with its places."""
    found = [
        Cure(f"measure {to_measure_text(m)}: {_wait(m.bears_on)}", measure=m.note_as)
        for m in said.measure
    ]
    left = [] if said.measure else _to_be_measured(said)
    found += [
        Cure(w, c.check, c.subject, head="measure or look up") for w, c in grouped(left)
    ]
    recalled = [c for c in said.clauses if c.waits_for == "reading the rule"]
    found += [
        Cure(w.removesuffix(f": {RECALLED}"), c.check, c.subject, head="read the rule")
        for w, c in grouped(recalled)
    ]
    found += [Cure(_look_up(one), measure=one.note_as, head=LOOK_UP) for one in said.look_up]
    computed = [c for c in said.clauses if hopeless(c) and not c.waits_for]
    for head, clauses in (("cure", computed), *_still(said)):
        found += [
            Cure(w, c.check, c.subject, wants_fix=True, head=head) for w, c in grouped(clauses)
        ]
    return found


def _look_up(one: LookUp) -> str:
    """``relief pressure of the Ferrow 255: 80 % of the doubt of … is this guess``."""
    if one.note_as.startswith("part."):
        named = in_hand_name(one.input, one.note_as, one.part)
    else:
        named = plain_name(one.note_as)
    return (
        f"{named}, in its maker's papers: {percent(one.share)} of the doubt is this guess "
        f"({one.title}); with the figure it may be enough as it is"
    )


def _still(said: NoPlan) -> list[tuple[str, list[Clause]]]:
    """What is left when all of it is done, use by use."""
    uses = dict.fromkeys(c.use for c in said.still)
    return [
        (f"cure, or {use} is stopped when all is done", [c for c in said.still if c.use == use])
        for use in uses
    ]


def _to_be_measured(said: NoPlan) -> list[Clause]:
    return [c for c in said.clauses if c.waits_for and c.waits_for != "reading the rule"]


def ways_out(said: NoPlan) -> list[Relaxation]:
    """What else makes room, each by itself; what was shown to be enough first."""
    told = {f"{c.check} {c.subject}" for c in said.clauses if hopeless(c)}
    measured = {"measure"} if said.measure else set()
    ways = [r for r in said.relax if r.what not in told and r.kind not in measured]
    return sorted(ways, key=lambda one: one.at_least)


def room_text(ways: Iterable[Relaxation], said: NoPlan) -> str:
    """What heads the ways out; beside what stops the finished car none of them is enough."""
    text = _room(tuple(ways))
    beside = said.still or said.cured
    return f"With that cured, {text[0].lower()}{text[1:]}" if beside else text


def _room(ways: tuple[Relaxation, ...]) -> str:
    alone, shown = len(ways) == 1, sum(not one.at_least for one in ways)
    if not shown:
        this, each = ("This", "it") if alone else ("Each of these", "any one of them")
        return NOT_SHOWN.format(this=this, any=each)
    if shown < len(ways):
        return f"{'The first' if shown == 1 else f'Any one of the first {shown}'} {ROOM}"
    return f"{'This' if alone else 'Any one of these'} {ROOM}"


def reasons_of(one: Relaxation, said: NoPlan) -> list[str]:
    """What stands against the plan without it, one line each; none that is said as the cause."""
    whys = one.why.split(THEN) if one.why else []
    others = one.at_least and any(not other.at_least for other in ways_out(said))
    told = [why for why in whys if not any(why in cause for cause in said.why)]
    return [*[NOT_THIS] * others, *told]


def _words(cure: Cure, head: str) -> str:
    return cure.of if head else cure.words


def _written(ways: Iterable[Relaxation], folder: str) -> list[str]:
    """Where what makes room is written down, in a file or on the screen."""
    tables = dict.fromkeys(WRITTEN[one.kind] for one in ways if one.kind in WRITTEN)
    if not tables:
        return []
    where = " or ".join(tables)
    return wrapped(
        f"written in {folder}/build.toml under {where}, or on the page Work: drybuild serve "
        f"{folder}", 2,
    )  # fmt: skip


def no_plan_text(said: NoPlan, problem: Problem, *, folder: str, name: str) -> str:
    """Why there is no plan, and what to give or to give up."""
    lines = wrapped(f"{name} · {NOT_YET if said.open else NONE}", 2)
    why, first, ways = reasons(said), first_cures(said), ways_out(said)
    lines += ["", "Why"] if why else []
    for words in why:
        lines += wrapped(f"  {words}", 4)
    if first:
        lines += ["", first_title(said)]
        for head, these in by_head(first):
            lines += [f"  {head}:"] if head else []
            for cure in these:
                named = f"  [{cure.check}]" if cure.check else ""
                lines += wrapped(f"{'    ' if head else '  '}{_words(cure, head)}{named}", 6)
    if ways:
        lines += ["", room_text(ways, said)]
        for number, one in enumerate(ways, 1):
            lines += wrapped(f"  {number:>2}  {one.words}", 6)
            lines += [line for why in reasons_of(one, said) for line in wrapped(f"      {why}", 8)]
        lines += _written(ways, folder)
    taught = [c for c in said.clauses if not hopeless(c) and not c.waits_for]
    lines += ["", *clause_lines(problem, taught, everything=False)] if taught else []
    lines += _brackets(folder, first, taught)
    looks = "check" if SUPPOSED in said.why else "measure"
    cures = f"drybuild {looks} {folder}, " if said.clauses else ""
    return "\n".join([*lines, "", f"then: {cures}drybuild plan {folder}"])


def _brackets(folder: str, first: Iterable[Cure], taught: Iterable[Clause]) -> list[str]:
    """What the names in brackets are for, and what may cure those that nothing else does."""
    checks = {c.check: c.subject for c in reversed([*taught]) if c.check}
    cures = checks | {c.check: c.subject for c in reversed([*first]) if c.wants_fix}
    named = [*(c.check for c in first if c.check), *checks]
    if not named:
        return []
    lines = ["", *wrapped(f"in [ ]: a check: drybuild workings {folder} {named[0]}", 2)]
    for check, subject in cures.items():
        lines += wrapped(f"     try: drybuild fix {folder} {check} {subject}", 7)
    return lines


def _wait(many: int) -> str:
    return f"{many} checks wait for it" if many != 1 else "one check waits for it"
