"""A person at the table, for tests: does what the view asks, unless told to do otherwise."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path

from coach import places
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.orders.quantities import Quantity
from coach.orders.read import read_sheet
from coach.orders.sheet import OrderSheet
from coach.procedure.files import Bundle
from coach.procedure.model import Reading
from coach.proof.finding import Finding
from coach.proof.remembered import keep_for
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View

PROCEDURES = Path(__file__).parents[1] / "procedures"
DEMO = PROCEDURES / "demo" / "orders.yaml"
DAILY = PROCEDURES / "demo" / "orders-daily.yaml"
MORNING = datetime(2026, 11, 25, 9, 50, tzinfo=timezone(timedelta(hours=-5)))
"""A time at which the demonstration sheet lets a dose begin, by the clock of its zone."""


def changed_sheet(folder: Path, changes: Mapping[str, str]) -> Path:
    """Write the demonstration sheet with some of its text replaced, and return where."""
    text = DEMO.read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text, f"the demonstration sheet has no {old!r}"
        text = text.replace(old, new)
    path = folder / "orders.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def holds(bundle: Bundle, folder: Path, sheet: OrderSheet) -> Finding | None:
    """Stand in for the proof of a dose, which has tests of its own."""
    return None


def as_proved(home: Path, orders: Path = DEMO) -> None:
    """Let the data folder *home* remember that the shipped steps hold for the sheet *orders*."""
    keep_for(PROCEDURES, read_sheet(orders), home / places.PROVED)


def desk_at(folder: Path, orders: Path = DEMO, clock: ManualClock | None = None) -> Desk:
    """Return a desk with a journal in *folder*, at a time when the demonstration dose is due."""
    journal = Journal.open(folder / "journal.sqlite")
    return Desk(orders, PROCEDURES, journal, clock or ManualClock(MORNING), holds)


def typed_as_ordered(sitting: Sitting) -> str:
    """Return what a label or pump that agrees with the order sheet would show."""
    ask = sitting.step().ask
    assert isinstance(ask, Reading)
    if ask.check == "outlasts":
        return "30 Dec 2026"
    expected = sitting.dose.values[ask.against[0]]
    assert isinstance(expected, Quantity)
    if expected.unit.endswith("/mL"):
        return f"{expected.amount} {expected.unit}"
    return "0" if ask.check == "at-most" else str(expected.amount)


@dataclass
class Person:
    """Follows a sitting to its end. *answers* are used up, by step; the rest goes well."""

    sitting: Sitting
    clock: ManualClock
    answers: Mapping[str, list[str]] = field(default_factory=dict)
    before: Callable[[View], None] | None = None
    seen: list[str] = field(default_factory=list)
    """The steps that were shown, in order."""

    def follow(self, until: str = "") -> View:
        """Follow to the end, or to the first time that the step *until* is shown."""
        for _ in range(2_000):
            view = view_of(self.sitting)
            if view.way in ("finished", "stopped"):
                return view
            self.seen.append(view.step)
            if view.step == until:
                return view
            if self.before is not None:
                self.before(view)
                if view_of(self.sitting).step != view.step:
                    continue
            self.act(view)
        raise AssertionError(f"the dose does not end; last steps: {self.seen[-12:]}")

    def as_ordered(self) -> str:
        """Return what agrees with the order sheet at the step to do now."""
        return typed_as_ordered(self.sitting)

    def act(self, view: View) -> None:
        """Do what *view* asks."""
        told = self.answers.get(view.step, [])
        if view.way == "run":
            self.sitting.start_run()
            while self.sitting.running:
                self.clock.move(1)
                self.sitting.tick()
        elif view.way == "wait":
            assert view.timer is not None
            self.clock.move(view.timer.left)
            self.sitting.done()
        elif view.way == "reading":
            self.clock.move(3)
            self.sitting.read(told.pop(0) if told else self.as_ordered())
        elif view.way in ("question", "stop"):
            self.clock.move(2)
            self.sitting.answer(told.pop(0) if told else view.choices[0].name)
        else:
            self.clock.move(2)
            self.sitting.done()
