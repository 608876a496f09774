"""What a sitting looks like now, built for the front ends.

Owns the building of a view from a sitting. It must never change the sitting.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import islice

from coach.clock import Instant
from coach.engine import can_undo, finished, possible, way_ahead
from coach.orders.quantities import shown
from coach.procedure.conditions import fill
from coach.procedure.model import (
    Act,
    Question,
    Reading,
    Recheck,
    Step,
    Stop,
    Wait,
    Within,
)
from coach.sitting.sitting import Sitting, runs, runs_itself
from coach.sitting.texts import given_so_far
from coach.sitting.view import Choice, MenuGroup, Move, PartNow, Place, Timer, View


def view_of(sitting: Sitting) -> View:
    """Return everything that a front end shows of *sitting* now."""
    return _Showing(sitting).view()


def menu_of(sitting: Sitting) -> tuple[MenuGroup, ...]:
    """Return what can have gone wrong now, under the lines of the menu."""
    return _Showing(sitting).menu()


class _Showing:
    def __init__(self, sitting: Sitting) -> None:
        self.sitting = sitting
        self.procedure = sitting.dose.procedure
        self.moment = sitting.moment
        self.now = sitting.clock.now()
        self.values = sitting.words.values(sitting.moments, self.now)

    def menu(self) -> tuple[MenuGroup, ...]:
        now = () if self.sitting.over else possible(self.procedure, self.moment.state)
        groups = []
        for name, says in self.procedure.source.groups.items():
            items = tuple(Choice(m.id, fill(m.title, self.values)) for m in now if m.group == name)
            if items:
                groups.append(MenuGroup(name, says, items))
        return tuple(groups)

    def view(self) -> View:
        if self.sitting.over:
            return self._ended()
        values, procedure = self.values, self.procedure
        step, timer = self.sitting.step(), self.sitting.timer()
        place = procedure.index.get(step.id, self.moment.state.place)
        stop = step.ask if isinstance(step.ask, Stop) else None
        return View(
            way=_way(step),
            step=step.id,
            place=self._place(place),
            part=step.part,
            title=fill(step.title, values),
            do=fill(step.do, values),
            why=fill(step.why, values),
            asks=fill(_asks(step), values),
            choices=tuple(Choice(o.name, fill(o.says, values)) for o in step.outcomes if o.says),
            timer=timer,
            stretch=self._stretch(step),
            running=self.sitting.running,
            done=self._last_done(),
            following=self._following(),
            back=step.id in procedure.index and place < self.moment.state.place,
            urgent=step.id not in procedure.index,
            pump=self.sitting.pump_card[step.pump] if step.pump else None,
            picture=self._picture(),
            card=self.sitting.words.card(stop, values) if stop else None,
            can_undo=can_undo(self.moment),
            given=self._given(step),
            ends_at=_ends_at(timer, self.now),
        )

    def _place(self, index: int) -> Place | None:
        """Return where the step at *index* stands among those that this dose asks for.

        What only another answer would lead to is not counted, so that no number is left out.
        """
        steps = self.procedure.steps
        if index >= len(steps):
            return None
        done = {moment.step.id for moment in self.sitting.moments if moment.step is not None}
        asked = done | self.sitting.coming | {steps[index].id}
        if self.sitting.step().id not in self.procedure.index:  # a call may be all that comes
            facts = self.moment.state.facts
            asked |= {step.id for step in steps[index:] if not facts & step.only_if}
        before = sum(step.id in asked for step in steps[:index])
        return place_in([step.part for step in steps if step.id in asked], before)

    def _ended(self) -> View:
        values, procedure = self.values, self.procedure
        way = "finished" if finished(procedure, self.moment.state) else "stopped"
        stop = self._last_stop()
        return View(
            way=way, step="", place=None,
            part=procedure.source.title, title="", do="", why="", asks="", choices=(),
            timer=None, stretch=(), running=False, done=self._last_done(), following="",
            back=False, urgent=False, pump=None, picture=self._picture(),
            card=self.sitting.words.card(stop, values) if stop else None,
            can_undo=False, given="", ends_at=None,
        )  # fmt: skip

    def _last_stop(self) -> Stop | None:
        step = self.moment.step
        return step.ask if step is not None and isinstance(step.ask, Stop) else None

    def _picture(self) -> tuple[PartNow, ...]:
        facts = self.moment.state.facts
        looks = (
            (part.name, next(look for look in part.looks if not facts & look.unless))
            for part in self.procedure.source.picture
        )
        return tuple(PartNow(name, look.word, look.joined) for name, look in looks)

    def _given(self, step: Step) -> str:
        if not (isinstance(step.ask, Wait) and step.ask.gives):
            return ""
        given = given_so_far(self.sitting.dose, self.sitting.moments, self.now)
        return shown(given) if given is not None else ""

    def _last_done(self) -> str:
        done = next((m.step for m in reversed(self.sitting.moments) if m.step is not None), None)
        return fill(done.title, self.values) if done else ""

    def _following(self) -> str:
        ahead = list(islice(way_ahead(self.procedure, self.moment.state), 2))
        return fill(ahead[1].title, self.values) if len(ahead) > 1 else ""

    def _stretch(self, step: Step) -> tuple[Move, ...]:
        """Return what is read through before hands are busy; empty while it runs."""
        if self.sitting.running or not step.hands_busy:
            return ()
        moves = []
        for ahead in way_ahead(self.procedure, self.moment.state):
            if not runs_itself(ahead):
                break
            moves.append(Move(fill(ahead.title, self.values), fill(ahead.do, self.values)))
        return tuple(moves)


def place_in(headings: Sequence[str], index: int) -> Place | None:
    """Return where the step at *index* stands among steps with these *headings*.

    Steps one after the other under one heading are a part. None past the last step.
    """
    if index >= len(headings):
        return None
    first = [n for n, one in enumerate(headings) if n == 0 or one != headings[n - 1]]
    part = bisect_right(first, index)
    end = first[part] if part < len(first) else len(headings)
    begin = first[part - 1]
    return Place(part, len(first), index - begin + 1, end - begin)


def _way(step: Step) -> str:
    if runs(step):
        return "run"
    return {
        Act: "act",
        Wait: "wait",
        Question: "question",
        Reading: "reading",
        Recheck: "recheck",
        Within: "recheck",
        Stop: "stop",
    }[type(step.ask)]


def _asks(step: Step) -> str:
    return step.ask.asks if isinstance(step.ask, Question | Reading) else ""


def _ends_at(timer: Timer | None, now: Instant) -> datetime | None:
    if timer is None or timer.kind != "wait":
        return None
    return now.at + timedelta(seconds=timer.left)
