"""The teaching of one order sheet's doses: learners, visits, rehearsals, signing off.

Owns the file of rehearsals, which lies beside the record and is never the same file: nothing that
is practised can come among doses, supplies or due times. It must never decide what a step asks for.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from functools import cached_property
from pathlib import Path
from random import Random

import msgspec

from coach.engine import start as start_of
from coach.engine import way_ahead
from coach.errors import CoachError, EngineError, FileProblems, OrderError
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.journal.teaching import Dealt, Leap, Learner, Mark, Run, SaidBack, SignOff, Visit
from coach.orders.schedule import opens_at
from coach.orders.sheet import OrderSheet
from coach.orders.values import sheet_choices, sheet_values, shown_values
from coach.practice import past
from coach.practice.clock import LeapClock
from coach.practice.competence import (
    CompetenceSheet,
    Known,
    Rehearsed,
    named,
    sheet_of,
    to_show_again,
)
from coach.practice.content import Ground, contents_of, steps_of, words_of
from coach.practice.headings import placed
from coach.practice.lines import WIDTH, sheet_lines
from coach.practice.rehearsal import Rehearsal
from coach.practice.verdict import Practised, Verdict, verdict_of
from coach.procedure.compose import compose, fits
from coach.procedure.conditions import fill
from coach.procedure.model import Circumstance, PumpKey, Source, Step
from coach.procedure.teaching import OpenQuestion, Teaching, read_teaching
from coach.says import teaching as says
from coach.says.paper import CIRCUMSTANCES
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening


class NotYet(CoachError):
    """Something of the teaching that cannot be done now; the text says why."""


class Chosen(msgspec.Struct, frozen=True):
    """A circumstance of a dose that the nurse chooses for a rehearsal."""

    choice: str
    values: tuple[str, str]
    """What it can be; the first is taken if nothing is chosen, and has the most steps."""

    def other(self, value: str) -> str:
        """Return what it is if it is not *value*."""
        return next(one for one in self.values if one != value)

    def told(self, value: str) -> str:
        """Return in words that it is *value*."""
        plainly = says.CHOSEN.format(choice=self.choice, value=value)
        return CIRCUMSTANCES.get((self.choice, value), plainly)


class Lessons:
    """All that is taught by one order sheet, for every front end."""

    def __init__(self, desk: Desk, path: Path, chance: Random) -> None:
        """Open the file of rehearsals at *path*. Raises JournalError, or one of its kinds."""
        self.sheet: OrderSheet = desk.sheet
        self.zone = desk.zone
        self.clock = LeapClock(desk.clock)
        self.chance = chance
        self.journal = Journal.open(path)
        self.book = self.journal.teaching
        self._opening = Opening(
            desk.sheet, desk.sheet_raw, desk.procedures, self.journal, self.clock, desk.first_fault
        )

    def close(self) -> None:
        """Close the file of rehearsals."""
        self.journal.close()

    def _at(self) -> datetime:
        return self.clock.real.now().at

    # Who learns, and when

    def learners(self) -> tuple[Learner, ...]:
        """Return everybody who learned anything by this order sheet, the first one first.

        A name with which nothing was done, such as one that was typed by mistake, is no learner.
        """
        mine, worked = self.sheet.sheet.id, self._worked()
        taught = {one.learner_id for one in self.book.every(Visit) if one.id in worked}
        every = self.book.every(Learner)
        return tuple(one for one in every if one.sheet_id == mine and one.id in taught)

    def _worked(self) -> frozenset[int]:
        """Return the visits, by their numbers, at which anything was done or is under way."""
        ended = {row.id for row in self.journal.every_sitting() if row.ended}
        done = {one.sitting_id for one in self.book.every(Mark)}
        done |= {one.sitting_id for one in self.book.every(Dealt)}
        runs = (
            run
            for run in self.book.every(Run)
            if run.sitting_id not in ended
            or run.sitting_id in done
            or self.journal.events(run.sitting_id)
        )
        said = self.book.every(SaidBack)
        return frozenset((*(one.visit_id for one in runs), *(one.visit_id for one in said)))

    def add_learner(self, name: str, role: str) -> Learner:
        """Keep that somebody learns. Raises NotYet without a name."""
        sheet_id = self.sheet.sheet.id
        return self.book.keep(
            Learner(at=self._at(), sheet_id=sheet_id, name=a_name(name), role=role.strip())
        )

    def visits(self, learner: Learner) -> tuple[Visit, ...]:
        """Return the visits to *learner* at which anything was done, the first one first."""
        worked = self._worked()
        return tuple(one for one in past.visits_of(self.book, learner.id) if one.id in worked)

    def begin_visit(self, learner: Learner, nurse: str) -> Visit:
        """Keep that *nurse* visits *learner* now. Raises NotYet without a name."""
        return self.book.keep(Visit(at=self._at(), learner_id=learner.id, nurse=a_name(nurse)))

    def learner_of(self, run: Run) -> Learner:
        """Return who rehearses in *run*. Raises NotYet if nobody known does."""
        visits = {one.id: one.learner_id for one in self.book.every(Visit)}
        for learner in self.book.every(Learner):
            if learner.id == visits.get(run.visit_id):
                return learner
        raise NotYet(says.NO_LEARNER)

    # Rehearsals

    def circumstances(self) -> tuple[Chosen, ...]:
        """Return what can be chosen for a rehearsal by this sheet. Raises FileProblems."""
        choices = sheet_choices(self.sheet)
        return tuple(
            Chosen(one.choice, _values(one))
            for one in self._opening.source.circumstances
            if fits(one.when, choices)
        )

    def _circumstances(self, chosen: Mapping[str, str]) -> dict[str, str]:
        """Return *chosen*, with the default of what is not; all steps where nothing is."""
        found = {}
        for one in self._opening.source.circumstances:
            free = fits(one.when, sheet_choices(self.sheet))
            values = _values(one) if free else (one.otherwise,)
            picked = chosen.get(one.choice, values[0])
            found[one.choice] = picked if picked in values else values[0]
        return found

    def begin(self, visit: Visit, circumstances: Mapping[str, str] = {}) -> Rehearsal:
        """Begin a rehearsal at *visit*, of a dose whose time has just come.

        Raises NotYet if one is under way, JournalBusy if another window has one, NotProved if the
        steps do not hold, FileProblems if the procedures or the pump card cannot be used.
        """
        self.journal.hold_dose()
        if self.under_way() is not None:
            raise NotYet(says.UNDER_WAY)
        self._opening.check()
        if self.journal.under_way() is not None:
            self.put_aside()  # killed before it was any visit's
            self.journal.hold_dose()
        teaching = self.teaching
        self.clock.leapt = 0.0
        due = self._due(self.clock.now().at)
        sitting = self._opening.rehearse(due, self._circumstances(circumstances))
        run = self.book.keep(Run(at=self._at(), visit_id=visit.id, sitting_id=sitting.row.id))
        args = (sitting, self.clock, teaching, self.book, self.chance)
        return Rehearsal(run, visit.learner_id, *args)

    def _due(self, now: datetime) -> datetime:
        """Return the due time of which *now* is the earliest moment to begin."""
        return now + (now - opens_at(self.sheet, now))

    def under_way(self) -> Run | None:
        """Return the rehearsal that has not ended, if there is one."""
        row = self.journal.under_way()
        if row is None:
            return None
        return next((run for run in self.book.every(Run) if run.sitting_id == row.id), None)

    def resume(self) -> Rehearsal:
        """Take up the rehearsal that is under way, its clock as far ahead as it was.

        Raises NotYet if none is, JournalBusy if another window has it.
        """
        self.journal.hold_dose()
        run, row = self.under_way(), self.journal.under_way()
        if run is None or row is None:
            raise NotYet(says.NONE_UNDER_WAY)
        leaps = [one.seconds for one in self.book.every(Leap) if one.sitting_id == row.id]
        self.clock.leapt = float(sum(leaps))
        learner, teaching = self.learner_of(run), self.teaching
        before = self.journal.events(row.id)
        sitting = self._opening.resume(row)
        rehearsal = Rehearsal(
            run, learner.id, sitting, self.clock, teaching, self.book, self.chance
        )
        rehearsal.taken_up(len(before))
        return rehearsal

    def last_of(self, visit: Visit) -> Rehearsal | None:
        """Return the last rehearsal of *visit* that has ended or was put aside, to correct marks.

        None where there is none in which anything was done. Raises FileProblems where its record
        cannot be read.
        """
        rows = {row.id: row for row in self.journal.every_sitting() if row.ended}
        for run in reversed(past.runs_of(self.book, visit.learner_id)):
            row = rows.get(run.sitting_id)
            if run.visit_id != visit.id or row is None:
                continue
            args = (self.clock, self.teaching, self.book, self.chance)
            found = Rehearsal(run, visit.learner_id, self._opening.resume(row), *args)
            if found.to_mark():
                return found
        return None

    def put_aside(self) -> None:
        """End the rehearsal that is under way as it stands. Raises NotYet if none is."""
        self.journal.hold_dose()
        row = self.journal.under_way()
        if row is None:
            raise NotYet(says.NONE_UNDER_WAY)
        self.journal.end(row.id, "stopped", self.clock.now())
        self.journal.release_dose()

    # Open questions

    @cached_property
    def teaching(self) -> Teaching:
        """What the agency asks of a learner. Raises FileProblems."""
        return read_teaching(self._opening.bundle)

    def questions(self) -> tuple[OpenQuestion, ...]:
        """Return the open questions for this sheet. Raises FileProblems."""
        choices = {**sheet_choices(self.sheet), **self._circumstances({})}
        return tuple(one for one in self.teaching.questions if fits(one.when, choices))

    def say_back(self, visit: Visit, question: str, points: Sequence[str]) -> SaidBack:
        """Keep which *points* of a *question*, by its id, were said at *visit*.

        A later row for the same question and visit corrects it. Raises NotYet for a question or
        a point that there is not.
        """
        asked = next((one for one in self.questions() if one.id == question), None)
        if asked is None or not set(points) <= set(asked.points):
            raise NotYet(says.NO_QUESTION)
        said = json.dumps(list(points), ensure_ascii=False)
        return self.book.keep(
            SaidBack(at=self._at(), visit_id=visit.id, question=question, points=said)
        )

    # The competence sheet

    def competence(self, learner: Learner) -> CompetenceSheet:
        """Return the competence sheet of *learner*. Raises FileProblems."""
        return sheet_of(self._known(learner))

    def missing(self, learner: Learner) -> str:
        """Return in one line what is missing before *learner* can be signed off."""
        return self.competence(learner).missing

    def sign_off(self, learner: Learner, nurse: str) -> SignOff:
        """Keep that *nurse* says that *learner* can do it alone, by each step as it is now.

        Raises NotYet, saying what is missing, until the rule holds, or without a name.
        """
        known = self._known(learner)
        sheet = sheet_of(known)
        if not sheet.complete:
            raise NotYet(says.NOT_SIGNED.format(missing=sheet.missing))
        steps = json.dumps(dict(known.contents))
        return self.book.keep(
            SignOff(at=self._at(), learner_id=learner.id, nurse=a_name(nurse), steps=steps)
        )

    def to_show_again(self, learner: Learner) -> tuple[Step, ...]:
        """Return the steps that are new or changed since *learner* was signed off."""
        return to_show_again(self._known(learner))

    def named(self, steps: Sequence[Step]) -> str:
        """Return the first titles of *steps* in words, and how many more there are."""
        words = words_of(self._ground())
        return named([fill(step.title, words) for step in steps])

    def sheet_lines(self, learner: Learner, width: int | None = WIDTH) -> tuple[str, ...]:
        """Return the competence sheet of *learner* as a page for the chart, of *width* columns.

        Without a width each sentence is one line.
        """
        return sheet_lines(self.competence(learner), self.sheet, width)

    def _known(self, learner: Learner) -> Known:
        ground = self._ground()
        steps, words = steps_of(ground), words_of(ground)
        titles = {step.id: fill(step.title, words) for step in steps}
        sign_offs = [one for one in self.book.every(SignOff) if one.learner_id == learner.id]
        visits = self.visits(learner)
        here = {one.id for one in visits}
        said = [one for one in self.book.every(SaidBack) if one.visit_id in here]
        return Known(
            learner=learner,
            zone=self.zone,
            rule=self.teaching.rule,
            visits=visits,
            rehearsed=self._rehearsed(learner),
            steps=steps,
            places=placed(steps, {one.id for one in ground.source.responses}, titles),
            contents=contents_of(ground, steps),
            needed=self._needed(),
            questions=self.questions(),
            said=[(one, json.loads(one.points)) for one in said],
            signed=(sign_offs[-1], json.loads(sign_offs[-1].steps)) if sign_offs else None,
        )

    def _ground(self) -> Ground:
        return _ground_of(self.sheet, self._opening.source, self._opening.pump_card)

    def _needed(self) -> tuple[str, ...]:
        """Return the critical steps of a whole dose in which all goes well."""
        choices = {**sheet_choices(self.sheet), **self._circumstances({})}
        procedure = compose(self._opening.source, choices)
        way = way_ahead(procedure, start_of(procedure))
        return tuple(dict.fromkeys(step.id for step in way if step.critical))

    def _rehearsed(self, learner: Learner) -> tuple[Rehearsed, ...]:
        """Return the rehearsals of *learner* that ended, in which anything was done or marked."""
        rows = {row.id: row for row in self.journal.every_sitting() if row.ended}
        runs = past.runs_of(self.book, learner.id)
        found = (
            self._looked_back(run, rows[run.sitting_id]) for run in runs if run.sitting_id in rows
        )
        return tuple(one for one in found if one.practised is None or one.practised.reached())

    def _looked_back(self, run: Run, row: SittingRow) -> Rehearsed:
        with suppress(FileProblems, OrderError, EngineError):
            dose, moments = self._opening.history(row)
            practised = Practised(
                dose,
                moments,
                past.marks_in(self.book, row.id),
                past.dealt_in(self.book, row.id),
                past.met(self.book),
                row.ended,
            )
            ground = _ground_of(*self._opening.basis(row))
            words, steps = words_of(ground), steps_of(ground)
            verdict = verdict_of(practised, lambda text: fill(text, words))
            return Rehearsed(run, verdict, practised, contents_of(ground, steps))
        return Rehearsed(run, Verdict("fails", says.UNREAD), None, {})


def _ground_of(sheet: OrderSheet, source: Source, card: Mapping[str, PumpKey]) -> Ground:
    return Ground(source, sheet_choices(sheet), shown_values(sheet), sheet_values(sheet), card)


def _values(one: Circumstance) -> tuple[str, str]:
    """Return what a circumstance can be, the one with the most steps first.

    That is the one that the record no longer holds, but for how the dose before it ended.
    """
    return (one.fresh, one.otherwise) if one.ended else (one.otherwise, one.fresh)


def a_name(written: str) -> str:
    """Return the name that is *written*, folded. Raises NotYet where it has no letter."""
    name = " ".join(written.split())
    if not any(letter.isalpha() for letter in name):
        raise NotYet(says.NO_NAME)
    return name
