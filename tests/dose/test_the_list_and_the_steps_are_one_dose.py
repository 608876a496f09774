"""A dose that is ticked off a list is the dose that is followed a step at a time."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import cast

from coach.clock import Instant, ManualClock
from coach.engine import possible
from coach.errors import CoachError
from coach.events import Event
from coach.journal.store import Journal
from coach.orders.quantities import Quantity, shown
from coach.procedure.model import Question, Reading, Stop
from coach.sitting.checklist import lines_of, list_lines, what_is_missing
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting, runs
from tests.person import MORNING, desk_at

EVENTS = 10_000
"""As many random events as are played in all."""
LOOKS = 40
"""How many events pass between two looks at a line that is not the one to do now."""

Way = tuple[str, str]
"""What a person does: answer, read, tick, leave, tell, undo; and with which words."""


def hoped(sitting: Sitting) -> Way:
    """Return what is hoped for at the step to do now."""
    step = sitting.step()
    if isinstance(step.ask, Question | Stop):
        return "answer", step.outcomes[0].name
    if isinstance(step.ask, Reading):
        value = sitting.dose.values[step.ask.against[0]]
        agrees = shown(value) if isinstance(value, Quantity) else value
        return "read", "2031-01-31" if step.ask.check == "outlasts" else agrees
    return "tick", ""


def way_to_go(sitting: Sitting, chance: random.Random) -> Way:
    """Return something that a person may do now: mostly what is hoped for."""
    if chance.random() < 0.06:
        told = possible(sitting.dose.procedure, sitting.moment.state)
        if told:
            return "tell", chance.choice(told).id
    if chance.random() < 0.05:
        return chance.choice((("undo", ""), ("leave", ""), ("note", "a few words")))
    step = sitting.step()
    if chance.random() < 0.1 and isinstance(step.ask, Question | Stop):
        return "answer", chance.choice(step.outcomes).name
    if chance.random() < 0.1 and isinstance(step.ask, Reading):
        return "read", "1"
    return hoped(sitting)


def go(sitting: Sitting, way: Way, clock: ManualClock) -> str:
    """Do it, and return what was refused; the clock moves as far as a timer takes."""
    what, with_words = way
    step, timer = sitting.step(), sitting.timer()
    try:
        if what == "tick" and runs(step):
            sitting.start_run()
            while sitting.running:
                clock.move(30)
                sitting.tick()
        elif what == "tick":
            clock.move(timer.left + 1 if timer else 2)
            sitting.done()
        elif what == "leave":
            sitting.leave()
            sitting.come_back()
        elif what == "undo":
            sitting.undo()
        else:
            says: dict[str, Callable[[str], None]] = {
                "answer": sitting.answer,
                "read": sitting.read,
                "tell": sitting.went_wrong,
                "note": sitting.note,
            }
            says[what](with_words)
    except CoachError as refused:
        return str(refused)
    return ""


def tick_off(sitting: Sitting, way: Way, clock: ManualClock, chance: random.Random) -> str:
    """Do the same from the list: only on the line of now, after trying another line."""
    lines = lines_of(sitting)
    [now] = [line for line in lines if line.state == "now"]
    other = chance.choice(lines)
    if other.step != now.step:
        assert what_is_missing(sitting, other.step), "only the line of now can be ticked"
    assert not what_is_missing(sitting, now.step)
    return go(sitting, way, clock)


class InMemory:
    """A record that is kept nowhere: what is written to disk has tests of its own."""

    def __init__(self) -> None:
        self.kept: list[Event] = []

    def events(self, sitting: int) -> tuple[Event, ...]:
        """Return what was kept."""
        return tuple(self.kept)

    def append(
        self, sitting: int, at: Instant, kind: str, step: str, value: str, *, ends: str = ""
    ) -> Event:
        """Keep an event."""
        self.kept.append(Event(len(self.kept) + 1, at, kind, step, value))
        return self.kept[-1]


def begun_like(model: Sitting) -> tuple[Sitting, ManualClock]:
    """Return a dose of its own, on the sheet and procedure of *model*, and its clock."""
    clock, journal = ManualClock(MORNING), cast(Journal, InMemory())
    card, row = model.pump_card, model.row
    return Sitting(model.dose, model.sheet, model.words, card, clock, journal, row), clock


def test_random_events_give_the_same_dose_and_record_either_way(tmp_path: Path) -> None:
    """Seeded, and at least as many events in all as `EVENTS`."""
    chance, played = random.Random(11), 0
    model = desk_at(tmp_path).begin()
    while played < EVENTS:
        (steps, steps_clock), (listed, listed_clock) = begun_like(model), begun_like(model)
        while not steps.over:
            way = way_to_go(steps, chance)
            refused = go(steps, way, steps_clock)
            if played % LOOKS:
                assert go(listed, way, listed_clock) == refused
            else:
                assert tick_off(listed, way, listed_clock, chance) == refused
            assert listed.moment.state == steps.moment.state
            played += 1
        assert listed.over
        assert listed.journal.events(0) == steps.journal.events(0)
        assert view_of(listed) == view_of(steps)


def test_what_was_spoiled_is_open_again_with_the_reason(tmp_path: Path) -> None:
    sitting, clock = begun_like(desk_at(tmp_path).begin())
    while not view_of(sitting).part.startswith("Push"):
        go(sitting, hoped(sitting), clock)
    before = {line.step: line.state for line in lines_of(sitting)}
    told = next(
        m for m in possible(sitting.dose.procedure, sitting.moment.state) if m.id == "hands-soiled"
    )
    sitting.went_wrong(told.id)
    opened = [
        line for line in lines_of(sitting) if before[line.step] == "done" and line.state != "done"
    ]
    assert opened
    assert {line.reason for line in opened} == {told.title}


def test_a_line_that_waits_says_what_for(tmp_path: Path) -> None:
    sitting, _ = begun_like(desk_at(tmp_path).begin())
    lines = lines_of(sitting)
    assert [line.state for line in lines] == ["now"] + ["to-do"] * (len(lines) - 1)
    now, last = lines[0], next(line for line in lines if line.title == "Join the tubing")
    assert what_is_missing(sitting, now.step) == ""
    said = what_is_missing(sitting, last.step)
    assert now.title in said
    assert "Let the connector dry" in said


def test_the_list_in_lines_leaves_out_what_is_done(tmp_path: Path) -> None:
    sitting, clock = begun_like(desk_at(tmp_path).begin())
    assert "Take the bag out" in " ".join(list_lines(sitting))
    go(sitting, ("tick", ""), clock)
    assert "Take the bag out" not in " ".join(list_lines(sitting))


def test_at_a_call_that_ends_the_dose_nothing_else_is_left(tmp_path: Path) -> None:
    sitting, _ = begun_like(desk_at(tmp_path).begin())
    final = next(m for m in sitting.dose.procedure.mishaps if m.final)
    sitting.went_wrong(final.id)
    assert [line.state for line in lines_of(sitting) if line.state != "done"] == ["now"]
