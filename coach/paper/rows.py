"""The lines of a dose on paper: what is done, what is written by hand, and where to go if not so.

Owns which words stand on a line. Each text is the procedure's or the order sheet's; what is only
known at the table is a blank.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property, singledispatchmethod
from string import ascii_uppercase

import msgspec

from coach.engine import Dose, ordered_seconds
from coach.orders.quantities import Quantity, shown
from coach.paper.again import Again, Lines, Told, Way
from coach.procedure.conditions import PROGRESS_NAMES, fill
from coach.procedure.model import (
    SINCE_DUE,
    Ask,
    Hold,
    PumpKey,
    Question,
    Reading,
    Recheck,
    Step,
    Wait,
    Within,
)
from coach.says import paper as words

LONGEST_COUNT = 60
"""Seconds that a person can count; longer times go by a clock. Common practice, no source."""


LETTERS = "".join(letter for letter in ascii_uppercase if letter not in "IOQU")
"""What boxes are called: I and O look like figures, and U has been read as 0 or as units."""


class Row(msgspec.Struct, frozen=True):
    """One action: its number, what to do, and where it is told what to do if it is not so."""

    number: int
    text: str
    unless: str
    beside: bool
    """Whether it stands on the same line as the one before, if there is room."""


class Part(msgspec.Struct, frozen=True):
    """Actions under one heading."""

    title: str
    rows: tuple[Row, ...]


class Box(msgspec.Struct, frozen=True):
    """What to do if a line is not so, under its letter."""

    letter: str
    text: str


class Trouble(msgspec.Struct, frozen=True):
    """Things that go wrong, and what to do about each of them."""

    titles: tuple[str, ...]
    does: tuple[str, ...]


class Group(msgspec.Struct, frozen=True):
    """Troubles under one line of the menu."""

    title: str
    troubles: tuple[Trouble, ...]


class Writing:
    """Writes the lines of one dose."""

    def __init__(
        self, dose: Dose, sheet_words: Mapping[str, str], pump_card: Mapping[str, PumpKey]
    ) -> None:
        """Take the dose, the order sheet's values in words, and the card of its pump."""
        self.dose = dose
        self.lines = Lines(dose.procedure)
        self.pump_card = pump_card
        self.values = {**dict.fromkeys(PROGRESS_NAMES, words.BLANK), **sheet_words}
        for supply, number in dose.procedure.counts.items():
            self.values[f"count_{supply}"] = str(number)
        self._boxes: dict[str, str] = {}

    # The list

    def parts(self) -> tuple[Part, ...]:
        """Return the whole dose, a row for each action, under the headings of its parts."""
        found: list[tuple[str, list[Row]]] = []
        for number, (_, step) in enumerate(self.lines.walked, 1):
            if not found or found[-1][0] != step.part:
                found.append((step.part, []))
            beside = step.beside and bool(found[-1][1])
            found[-1][1].append(Row(number, self.text_of(step), self._unless(number), beside))
        return tuple(Part(title, tuple(rows)) for title, rows in found)

    def boxes(self) -> tuple[Box, ...]:
        """Return what the rows point to; it is known once the rows were written."""
        return tuple(Box(letter, text) for text, letter in self._boxes.items())

    def text_of(self, step: Step) -> str:
        """Return what the line of *step* says, with its blanks."""
        press = words.PRESS.format(press=self.pump_card[step.pump].press) if step.pump else ""
        return " ".join(filter(None, (self._said(step), self._blank(step.ask), press)))

    def _said(self, step: Step) -> str:
        asks = step.ask.asks if isinstance(step.ask, Question) else ""
        return fill(step.line or " ".join(filter(None, (step.do, asks))), self.values)

    @singledispatchmethod
    def _blank(self, ask: Ask) -> str:
        """Return what the line of such a step counts, or leaves to be written by hand."""
        return ""

    @_blank.register
    def _(self, ask: Hold | Wait) -> str:
        seconds = ordered_seconds(self.dose, ask)
        if seconds <= LONGEST_COUNT:
            return words.COUNT.format(seconds=seconds)
        return words.FROM_TO.format(time=self._ordered(ask.time))

    @_blank.register
    def _(self, ask: Reading) -> str:
        if ask.check == "outlasts":
            return words.OUTLASTS
        text = words.ORDERED if ask.check == "equals" else words.AT_MOST
        return text.format(ordered=self._ordered(ask.against[0]))

    @_blank.register
    def _(self, ask: Recheck) -> str:
        return words.RECHECK.format(number=self.lines.numbers[ask.reading])

    @_blank.register
    def _(self, ask: Within) -> str:
        if ask.since == SINCE_DUE:
            return words.WITHIN_DUE.format(most=self._ordered(ask.time))
        ahead = " + ".join(self._ordered(name) for name in ask.until)
        text = words.WITHIN if ahead else words.WITHIN_BARE
        return text.format(most=self._ordered(ask.time), ahead=ahead)

    def _ordered(self, name: str) -> str:
        value = self.dose.values[name]
        return shown(value) if isinstance(value, Quantity) else value

    # Where a line is not so

    def _unless(self, number: int) -> str:
        ways = self.lines.unless(number)
        return " ".join(self._way_from(way, number) for way in ways)

    def _way_from(self, way: Way, number: int) -> str:
        again = way.again[0] if way.again else None
        if not way.told:
            return words.NO.format(to=ranges((*again.lines, number) if again else (number,)))
        if way.stops:
            text = self._told(way.told)
        elif again:
            lines = ranges((*again.lines, again.before))
            text = self._told(way.told, words.AGAIN.format(lines=lines))
        else:
            text = self._told(way.told, words.GO_ON)
        letter = self._boxes.setdefault(text, letter_of(len(self._boxes)))
        return words.NO.format(to=letter)

    def _told(self, told: Iterable[Told | Again], then: str = "") -> str:
        """Return what is *told*, *then* how to go on, and the call it comes to if it is not so."""
        does, calls = [], []
        for one in told:
            if isinstance(one, Again):
                does.append(words.AGAIN.format(lines=ranges(one.lines)))
                continue
            does.append(self._does(one.step))
            if one.otherwise is not None:
                calls.append(words.NOT_RIGHT.format(do=self._does(one.otherwise)))
        if calls and then == words.GO_ON:
            then = ""  # that one goes on if it is right needs no words
        return " ".join(filter(None, (*does, then, *dict.fromkeys(calls))))

    def _does(self, step: Step) -> str:
        """Return what to do off the list: what its line says already is not said again."""
        time = self._blank(step.ask) if isinstance(step.ask, Hold | Wait) else ""
        told = step.pump and step.pump not in self._keys
        press = words.PRESS.format(press=self.pump_card[step.pump].press) if told else ""
        return " ".join(filter(None, (self._said(step), time, press)))

    @cached_property
    def _keys(self) -> frozenset[str]:
        """The entries of the pump card that the list tells."""
        return frozenset(step.pump for _, step in self.lines.walked)

    # What can go wrong

    def groups(self) -> tuple[Group, ...]:
        """Return everything that can go wrong in this dose, under the lines of the menu.

        What is answered in the same way stands together.
        """
        ways_of: dict[tuple[str, str], list[tuple[Way, tuple[int, ...]]]] = {}
        for mishap, ways in self.lines.mishaps():
            title = fill(mishap.title, self.values)
            ways_of.setdefault((mishap.group, title), []).extend(ways)
        found: dict[str, dict[tuple[str, ...], list[str]]] = {}
        for (group, title), all_ways in ways_of.items():
            does = tuple(self._answers(all_ways))
            found.setdefault(group, {}).setdefault(does, []).append(title)
        names = self.dose.procedure.source.groups
        return tuple(
            Group(says, tuple(Trouble(tuple(titles), does) for does, titles in found[name].items()))
            for name, says in names.items()
            if name in found
        )

    def _answers(self, ways: Iterable[tuple[Way, tuple[int, ...]]]) -> Iterator[str]:
        """Yield what is done about a trouble, and at which lines where that differs."""
        by_told: dict[str, list[tuple[tuple[int, ...], Again | None]]] = {}
        for way, at in ways:
            again = way.again[0] if way.again else None
            by_told.setdefault(self._told(way.told), []).append((at, again))
        # Each with its lines: at another line none of them may be enough.
        for told, rows in by_told.items():
            if len(by_told) > 1:
                lines = ranges(number for at, _ in rows for number in at)
                yield words.AT.format(lines=lines)
            yield from filter(None, (told, *_comes_again(rows)))


def _comes_again(rows: Iterable[tuple[tuple[int, ...], Again | None]]) -> Iterator[str]:
    """Yield which lines come again, and where one goes on."""
    found: dict[tuple[tuple[int, ...], bool], list[tuple[tuple[int, ...], Again, int]]] = {}
    for at, again in rows:
        if again is not None:
            lines, start = split(again)
            found.setdefault((lines, start > 0), []).append((at, again, start))
    for (lines, starts_over), ones in found.items():
        if starts_over:
            text = (words.AGAIN_FROM if lines else words.BACK_TO).format(
                lines=ranges(lines), starts=ranges(start for _, _, start in ones)
            )
            here = ranges(number for at, _, _ in ones for number in at)
            yield f"{words.AT.format(lines=here)} {text}" if len(found) > 1 else text
        else:
            befores = ranges(again.before for _, again, _ in ones)
            yield words.BEFORE.format(lines=ranges(lines), befores=befores)


def split(again: Again) -> tuple[tuple[int, ...], int]:
    """Return which lines come again by themselves, and from which one the list is gone on.

    The second is 0 where it is gone on where it was left.
    """
    lines, start = sorted(again.lines), again.before
    while lines and lines[-1] == start - 1:
        start = lines.pop()
    return tuple(lines), start if start < again.before else 0


def letter_of(place: int) -> str:
    """Return the letter of the box at *place*, from 0: A to Z, then AA and on."""
    round_, letter = divmod(place, len(LETTERS))
    return (LETTERS[round_ - 1] if round_ else "") + LETTERS[letter]


def ranges(numbers: Iterable[int]) -> str:
    """Return *numbers* as ranges, each with its first and last."""
    found: list[list[int]] = []
    for number in sorted(set(numbers)):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else str(run[0]) for run in found)
