"""The words of a step with this dose's numbers in them, and the call card.

Owns the filling of placeholders. Each text stands in the procedure's files or on the order
sheet; none is made up here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from coach.clock import Instant
from coach.engine import Dose, Moment, ordered_seconds
from coach.orders.likeness import likeness, programme
from coach.orders.quantities import Quantity, in_unit, read_typed, shown
from coach.orders.values import NONE
from coach.procedure.conditions import fill
from coach.procedure.model import Reading, Stop
from coach.sitting.contacts import Contact
from coach.sitting.times import clock_time, day_and_time
from coach.sitting.timing import flowed, infusion_of, left_of, waited
from coach.sitting.view import Card

CONTACTS = ("nurse", "pharmacist")


def given_so_far(dose: Dose, moments: Sequence[Moment], now: Instant) -> Quantity | None:
    """Return how much medicine has flowed; None where the sheet has no volume.

    Once what is left was read off the pump, that counts; before, the clock does.
    """
    wait = infusion_of(dose.procedure)
    volume = dose.values.get(wait.gives) if wait else None
    if wait is None or not isinstance(volume, Quantity):
        return None
    left = left_read(dose, moments)
    if left is not None:
        return left_of(volume, left)
    if any(moment.step is not None and moment.step.ask is wait for moment in moments):
        return volume
    return flowed(volume, waited(moments, wait, now), ordered_seconds(dose, wait))


def left_read(dose: Dose, moments: Sequence[Moment]) -> Quantity | None:
    """Return what was last read off as left; None where nothing was, or more than there was."""
    for moment in reversed(moments):
        ask = moment.step.ask if moment.step is not None else None
        if isinstance(ask, Reading) and ask.left_of and moment.event is not None:
            whole = dose.values[ask.left_of]
            if isinstance(whole, Quantity):
                read = in_unit(read_typed(whole, moment.event.value), whole.unit)
                return read if read.amount <= whole.amount else None
    return None


class Words:
    """Fills the texts of one dose."""

    def __init__(
        self, dose: Dose, sheet_words: Mapping[str, str], due: datetime, next_due: datetime
    ) -> None:
        """Take the dose, the order sheet's values in words, its due time and the one after."""
        self.dose = dose
        self.fixed = dict(sheet_words)
        self.fixed["due"] = day_and_time(due, dose.zone)
        self.fixed["next_due"] = day_and_time(next_due, dose.zone)
        present, none = dose.procedure.source.close_line
        self.fixed["close_line"] = none if dose.procedure.choices["clamp"] == "none" else present
        for supply, number in dose.procedure.counts.items():
            self.fixed[f"count_{supply}"] = str(number)

    def values(self, moments: Sequence[Moment], now: Instant) -> dict[str, str]:
        """Return every placeholder with what it stands for now."""
        values = dict(self.fixed)
        zone = self.dose.zone
        values["now"] = clock_time(now.at, zone)
        first = next((m.event for m in moments if m.event), None)
        values["started"] = clock_time(first.at.at if first else now.at, zone)
        values["typed"], values["looks_like"] = self._typed(moments)
        wait = infusion_of(self.dose.procedure)
        given = given_so_far(self.dose, moments, now)
        volume = self.dose.values.get(wait.gives) if wait else None
        if given is not None and isinstance(volume, Quantity):
            values["given"] = shown(given)
            values["left_to_give"] = shown(left_of(volume, given))
        else:
            values["given"] = values["left_to_give"] = "none"
        values["so_far"] = fill(self._so_far(moments), values)
        values["where"] = fill(self._where(), values)
        return values

    def _typed(self, moments: Sequence[Moment]) -> tuple[str, str]:
        """Return what was typed last, a number with its unit, and what it looks like if wrong.

        Nothing where nothing was typed.
        """
        for moment in reversed(moments):
            ask = moment.step.ask if moment.step is not None else None
            if isinstance(ask, Reading) and moment.event is not None:
                expected, typed = self.dose.values[ask.against[0]], moment.event.value
                if ask.check == "outlasts" or isinstance(expected, str):
                    return typed, ""
                read = read_typed(expected, typed)
                return shown(read), likeness(expected, read, programme(self.dose.values))
        return "", ""

    def _so_far(self, moments: Sequence[Moment]) -> str:
        none, some, read = self.dose.procedure.source.so_far
        wait = infusion_of(self.dose.procedure)
        begun = wait is not None and any(
            moment.outcome is not None and wait.since in moment.outcome.sets for moment in moments
        )
        if left_read(self.dose, moments) is not None:
            return read
        return some if begun else none

    def _where(self) -> str:
        known, unknown = self.dose.procedure.source.where
        return unknown if self.dose.values["address"] == NONE else known

    def contact(self, who: str, says: str) -> Contact:
        """Return a contact of the order sheet."""
        fixed = self.fixed
        name, phone, hours = (fixed[f"{who}_{part}"] for part in ("name", "phone", "hours"))
        return Contact(says, name, phone, hours)

    def contacts(self, first: str) -> tuple[Contact, ...]:
        """Return everybody there is to call, *first* first."""
        emergency = Contact("Emergency", "", self.fixed["emergency_number"], "")
        people = [self.contact(who, who.capitalize()) for who in CONTACTS]
        people.sort(key=lambda contact: contact.who.lower() != first)
        if first == "emergency":
            return (emergency, *people)
        return (*people, emergency)

    def card(self, stop: Stop, values: Mapping[str, str]) -> Card:
        """Return the call card of *stop*, filled in."""
        return Card(
            contacts=self.contacts(stop.call),
            emergency=stop.call == "emergency",
            leave=fill(stop.leave, values),
            close=fill(stop.close, values),
            situation=fill(stop.situation, values),
            background=fill(self.dose.procedure.source.background, values),
            assessment=fill(stop.assessment, values),
            request=fill(stop.request, values),
        )
