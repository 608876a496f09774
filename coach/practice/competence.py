"""The competence sheet: what a learner showed at each visit, what is missing, what comes next.

Owns the agency's rule for signing off, held against what was kept. Pure: no disk or clock is read
here. It must never know a step by name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, tzinfo

import msgspec

from coach.journal.teaching import LEVELS, Learner, Run, SaidBack, SignOff, Visit
from coach.practice.headings import Placed
from coach.practice.past import lowest
from coach.practice.verdict import ALONE, Practised, Verdict
from coach.procedure.model import Step
from coach.procedure.teaching import OpenQuestion, SignOffRule
from coach.says import teaching as says
from coach.sitting.times import day_in_full

MOST_NAMED = 3
"""How many titles one line names before it counts the rest."""
NEXT = 5
"""How many lines say what to practise next."""


class Rehearsed(msgspec.Struct, frozen=True):
    """One rehearsal of a learner, looked back on."""

    run: Run
    verdict: Verdict
    practised: Practised | None
    """None where its record cannot be read."""
    contents: Mapping[str, str]
    """What names the content of each step that it was done by."""


class Known(msgspec.Struct, frozen=True):
    """All that a competence sheet is made from."""

    learner: Learner
    zone: tzinfo
    rule: SignOffRule
    visits: Sequence[Visit]
    rehearsed: Sequence[Rehearsed]
    """The rehearsals, the first one first."""
    steps: Sequence[Step]
    """Every step that a dose by the sheet can have, as it is now."""
    places: Mapping[str, Placed]
    """Where each of them stands on the sheet, by its id, in its order."""
    contents: Mapping[str, str]
    """What names the content of each of them."""
    needed: Sequence[str]
    """The critical steps of a dose in which all goes well."""
    questions: Sequence[OpenQuestion]
    said: Sequence[tuple[SaidBack, Sequence[str]]]
    """What was said back, each with its points."""
    signed: tuple[SignOff, Mapping[str, str]] | None
    """The last sign-off, with what named the content of each step then."""


class VisitHead(msgspec.Struct, frozen=True):
    """One visit, and what came of its rehearsals."""

    visit: Visit
    day: str
    verdicts: tuple[Verdict, ...]


class StepRow(msgspec.Struct, frozen=True):
    """One step, and its lowest level at each visit: empty where it was not marked."""

    step: str
    heading: str
    """What it stands under."""
    title: str
    critical: bool
    changed: bool
    """Whether it is new or changed since the sign-off."""
    levels: tuple[str, ...]


class SurpriseRow(msgspec.Struct, frozen=True):
    """One surprise, and how it went at each visit."""

    name: str
    says: str
    went: tuple[str, ...]
    """``right``, ``missed``, ``open``, or empty where it was not dealt."""
    levels: tuple[str, ...]


class SaidRow(msgspec.Struct, frozen=True):
    """One open question, and how many of its points were said at each visit."""

    question: OpenQuestion
    said: tuple[int | None, ...]
    """None where it was not asked."""


class Next(msgspec.Struct, frozen=True):
    """Something to practise next."""

    says: str
    reason: str


class CompetenceSheet(msgspec.Struct, frozen=True):
    """What a learner showed, across visits."""

    learner: Learner
    visits: tuple[VisitHead, ...]
    steps: tuple[StepRow, ...]
    surprises: tuple[SurpriseRow, ...]
    said_back: tuple[SaidRow, ...]
    rule: str
    """The agency's rule, in words."""
    missing: str
    """What is missing before somebody may sign, in one line."""
    complete: bool
    """Whether nothing is."""
    signed: SignOff | None
    signed_day: str
    """When it was, in words; empty where nobody has signed."""
    practise_next: tuple[Next, ...]
    notes: tuple[str, ...]
    """What the nurse wrote beside marks, each with its day and step."""


def sheet_of(known: Known) -> CompetenceSheet:
    """Return the competence sheet of what is *known*."""
    parts, again = tuple(_missing(known)), {step.id for step in to_show_again(known)}
    steps, surprises = _step_rows(known, again), _surprise_rows(known)
    said = tuple(_said_row(known, question) for question in known.questions)
    rule = known.rule
    return CompetenceSheet(
        learner=known.learner,
        visits=tuple(_head(known, visit) for visit in known.visits),
        steps=steps,
        surprises=surprises,
        said_back=said,
        rule=says.RULE.format(runs=rule.runs, days=rule.days, surprises=rule.surprises),
        missing=says.STILL_MISSING.format(parts="; ".join(parts))
        if parts
        else says.NOTHING_MISSING,
        complete=not parts,
        signed=known.signed[0] if known.signed else None,
        signed_day=_day(known, known.signed[0].at) if known.signed else "",
        practise_next=_practise_next(known, steps, surprises, said),
        notes=tuple(_notes(known)),
    )


def to_show_again(known: Known) -> tuple[Step, ...]:
    """Return the steps that are new or changed since the last sign-off; none before the first."""
    if known.signed is None:
        return ()
    then = known.signed[1]
    return tuple(step for step in known.steps if then.get(step.id) != known.contents[step.id])


def named(titles: Sequence[str]) -> str:
    """Return the first of *titles*, each once, and how many more there are."""
    once = tuple(dict.fromkeys(titles))
    listed = ", ".join(once[:MOST_NAMED])
    more = len(once) - MOST_NAMED
    return says.AND_MORE.format(titles=listed, number=more) if more > 0 else listed


# What is missing


def streak(rehearsed: Sequence[Rehearsed]) -> tuple[Rehearsed, ...]:
    """Return the last rehearsals in a row that count; one put aside neither counts nor ends it."""
    row = []
    for one in reversed(rehearsed):
        if one.verdict.standing == "fails":
            break
        if one.verdict.counts:
            row.append(one)
    return tuple(row)


def _missing(known: Known) -> Iterator[str]:
    row, rule = streak(known.rehearsed), known.rule
    days = {one.run.at.astimezone(known.zone).date() for one in row}
    met = sum(1 for one in row if one.verdict.surprises)
    for says_more, number in (
        (says.MORE_RUNS, rule.runs - len(row)),
        (says.MORE_DAYS, rule.days - len(days)),
        (says.MORE_SURPRISES, rule.surprises - met),
    ):
        if number > 0:
            yield says_more.format(number=number)
    unshown = [known.places[step].name for step in known.needed if not _shown(known, row, step)]
    # With no rehearsal that counts, all of them are: that is said already.
    if row and unshown:
        yield says.NOT_SHOWN.format(titles=named(unshown))


def _shown(known: Known, row: Sequence[Rehearsed], step: str) -> bool:
    """Tell whether *step* was done alone, as it is now, in one of a *row* of rehearsals."""
    return any(
        one.practised is not None
        and one.practised.levels().get(step) == ALONE
        and one.contents.get(step) == known.contents[step]
        for one in row
    )


# The rows


def _at(known: Known, visit: Visit) -> tuple[Rehearsed, ...]:
    return tuple(one for one in known.rehearsed if one.run.visit_id == visit.id)


def _head(known: Known, visit: Visit) -> VisitHead:
    return VisitHead(visit, _day(known, visit.at), tuple(one.verdict for one in _at(known, visit)))


def _levels(rehearsed: Sequence[Rehearsed], step: str) -> str:
    found = [one.practised.levels().get(step, "") for one in rehearsed if one.practised]
    return lowest([level for level in found if level])


def _step_rows(known: Known, again: set[str]) -> tuple[StepRow, ...]:
    rows, critical = [], {step.id for step in known.steps if step.critical}
    for step, at in known.places.items():
        levels = tuple(_levels(_at(known, visit), step) for visit in known.visits)
        if step in known.needed or step in again or any(levels):
            args = (step in critical, step in again, levels)
            rows.append(StepRow(step, at.heading, at.title, *args))
    return tuple(rows)


def _surprise_rows(known: Known) -> tuple[SurpriseRow, ...]:
    names = {
        dealt.name: dealt.says
        for one in known.rehearsed
        if one.practised is not None
        for dealt in one.practised.dealt
    }
    rows = []
    for name, what in names.items():
        cells = [_surprise_cell(_at(known, visit), name) for visit in known.visits]
        went, levels = tuple(cell[0] for cell in cells), tuple(cell[1] for cell in cells)
        rows.append(SurpriseRow(name, what, went, levels))
    return tuple(rows)


def _surprise_cell(rehearsed: Sequence[Rehearsed], name: str) -> tuple[str, str]:
    went, levels = list[str](), list[str]()
    for one in rehearsed:
        for dealt in one.practised.dealt if one.practised is not None else ():
            if dealt.name == name and one.practised is not None:
                came = one.practised.met.get(dealt.id)
                went.append("open" if came is None else "right" if came.is_right else "missed")
                levels.append(one.practised.level_of(dealt))
    worst = next((word for word in ("missed", "open", "right") if word in went), "")
    return worst, lowest([level for level in levels if level])


def _said_row(known: Known, question: OpenQuestion) -> SaidRow:
    return SaidRow(question, tuple(_said_at(known, visit, question) for visit in known.visits))


def _said_at(known: Known, visit: Visit, question: OpenQuestion) -> int | None:
    points = [
        set(said)
        for row, said in known.said
        if row.visit_id == visit.id and row.question == question.id
    ]
    return len(points[-1] & set(question.points)) if points else None


def _notes(known: Known) -> Iterator[str]:
    for one in known.rehearsed:
        marks = one.practised.marks if one.practised is not None else ()
        dealt = {d.id: d.says for d in one.practised.dealt} if one.practised is not None else {}
        for mark in marks:
            if mark.note or mark.prompts:
                title = dealt.get(mark.dealt_id or 0) or _name(known, mark.step)
                day, level = _day(known, mark.at), says.LEVELS[mark.level]
                prompts = mark.prompts
                yield says.PAGE_NOTE.format(
                    day=day, title=title, level=level, prompts=prompts, note=mark.note
                ).rstrip()


def _name(known: Known, step: str) -> str:
    """Return the name of *step*; of one that there is no more, what names it in its file."""
    return known.places[step].name if step in known.places else step


# What to practise next


def _practise_next(
    known: Known,
    steps: Sequence[StepRow],
    surprises: Sequence[SurpriseRow],
    said: Sequence[SaidRow],
) -> tuple[Next, ...]:
    """Return what went worst last, and then what was longest ago."""
    found = [
        *(_step_next(known, row) for row in steps if row.critical or any(row.levels)),
        *(_surprise_next(known, row) for row in surprises),
        *(_said_next(known, row) for row in said),
    ]
    wanted = sorted((one for one in found if one is not None), key=lambda one: one[:2])
    return tuple(one for _, _, one in wanted[:NEXT])


_Ranked = tuple[int, float, Next] | None
_CHANGED, _NEVER, _LONG_AGO = len(LEVELS), len(LEVELS) + 1, len(LEVELS) + 2


def _last(visits: Sequence[Visit], cells: Sequence[object]) -> tuple[Visit, int] | None:
    """Return the last visit with anything in its cell, and its place; None where there is none."""
    for place in range(len(cells) - 1, -1, -1):
        if cells[place] not in ("", None):
            return visits[place], place
    return None


def _day(known: Known, at: datetime) -> str:
    return day_in_full(at, known.zone)


def _by_level(known: Known, visit: Visit, what: str, level: str) -> _Ranked:
    """Return how much something is wanted that was at *level* last; alone is wanted least."""
    day, since = _day(known, visit.at), visit.at.timestamp()
    if level == ALONE:
        return _LONG_AGO, since, Next(what, says.NOT_SINCE.format(day=day))
    reason = says.WENT.format(level=says.LEVELS[level], day=day)
    return len(LEVELS) - 1 - LEVELS.index(level), since, Next(what, reason)


def _step_next(known: Known, row: StepRow) -> _Ranked:
    last, name = _last(known.visits, row.levels), _name(known, row.step)
    if last is not None and row.levels[last[1]] != ALONE:
        return _by_level(known, last[0], name, row.levels[last[1]])
    if row.changed:
        return _CHANGED, 0.0, Next(name, says.IS_CHANGED)
    if last is None:
        return _NEVER, 0.0, Next(name, says.NEVER)
    return _by_level(known, last[0], name, ALONE)


def _surprise_next(known: Known, row: SurpriseRow) -> _Ranked:
    last = _last(known.visits, row.went)
    if last is None:
        return None
    visit, place = last
    if row.went[place] != "right":
        reason = says.WAS_MISSED.format(day=_day(known, visit.at))
        return 0, visit.at.timestamp(), Next(row.says, reason)
    return _by_level(known, visit, row.says, row.levels[place] or ALONE)


def _said_next(known: Known, row: SaidRow) -> _Ranked:
    last = _last(known.visits, row.said)
    if last is None:
        return _NEVER, 1.0, Next(row.question.asks, says.NEVER_ASKED)
    visit, place = last
    if row.said[place] == len(row.question.points):
        return _by_level(known, visit, row.question.asks, ALONE)
    reason = says.NOT_SAID.format(day=_day(known, visit.at))
    return _CHANGED, visit.at.timestamp(), Next(row.question.asks, reason)
