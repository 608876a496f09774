"""The lines of a dose on paper: what is done, what is written by hand, and where to go if not so.

Owns which words stand on a line. Each text is the procedure's or the order sheet's; what is only
known at the table is a blank.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property, singledispatchmethod
from itertools import takewhile

import msgspec

from coach.engine import Dose, ordered_seconds
from coach.orders.quantities import Quantity, shown
from coach.paper.again import Again, Lines, Told, Way
from coach.paper.naming import letter_of, letter_ranges, ranges
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


class Row(msgspec.Struct, frozen=True):
    """One action: its number, what to do, and where it is told what to do if it is not so."""

    number: int
    text: str
    unless: str
    beside: bool
    """Whether it stands on the same line as the one before, if there is room."""


class Box(msgspec.Struct, frozen=True):
    """What to do if a line is not so, under its letter."""

    letter: str
    text: str


class Trouble(msgspec.Struct, frozen=True):
    """Things that go wrong, and what to do about each of them."""

    letter: str
    """What the heading of each part that it can come to calls it; empty where none names it."""
    titles: tuple[str, ...]
    does: tuple[str, ...]


class Part(msgspec.Struct, frozen=True):
    """Actions under one heading, and what to do about trouble that can come to them."""

    title: str
    see: str
    """Which of the troubles after the list can come here, and not everywhere."""
    rows: tuple[Row, ...]
    boxes: tuple[Box, ...]
    """What its rows point to, where no part before did."""
    troubles: tuple[Trouble, ...]
    """What can come here, or in the part after it, and nowhere else."""


class Group(msgspec.Struct, frozen=True):
    """Troubles under one line of the menu."""

    title: str
    troubles: tuple[Trouble, ...]


class _Placed(msgspec.Struct):
    """A trouble, and the numbers of the lines that it can come to."""

    group: str
    at: frozenset[int]
    told: Trouble


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
        self._boxes: dict[str, tuple[Box, int]] = {}
        """Each box by its text, with the last line of the part that it stands after."""

    # The list

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The whole dose, a row for each action, under the headings of its parts."""
        written = tuple(self._rows(numbers) for numbers in self.headed)
        return tuple(
            Part(
                title=self.lines.walked[numbers[0] - 1][1].part,
                see=self._see(numbers),
                rows=rows,
                boxes=tuple(box for box, after in self._boxes.values() if after == numbers[-1]),
                troubles=tuple(t.told for t in self._troubles if self._home(t) == numbers),
            )
            for numbers, rows in zip(self.headed, written, strict=True)
        )

    @cached_property
    def headed(self) -> tuple[range, ...]:
        """The numbers of the lines under each heading."""
        parts = [step.part for _, step in self.lines.walked]
        starts = [n for n, part in enumerate(parts, 1) if n == 1 or part != parts[n - 2]]
        return tuple(map(range, starts, [*starts[1:], len(parts) + 1]))

    def _rows(self, numbers: range) -> tuple[Row, ...]:
        found = []
        for number in numbers:
            step = self.lines.walked[number - 1][1]
            unless, beside = self._unless(number, numbers[-1]), step.beside and number > numbers[0]
            found.append(Row(number, self.text_of(step), unless, beside))
        return tuple(found)

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

    def _unless(self, number: int, last: int) -> str:
        ways = self.lines.unless(number)
        return " ".join(self._way_from(way, number, last) for way in ways)

    def _way_from(self, way: Way, number: int, last: int) -> str:
        """Return where *way* is told, from a line of a part that ends with the line *last*."""
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
        if text not in self._boxes:
            self._boxes[text] = Box(letter_of(len(self._boxes)), text), last
        box, after = self._boxes[text]
        to = words.NO if after == last else words.NO_AFTER
        return to.format(to=box.letter, after=after)

    def _pieces(self, told: Iterable[Told | Again]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return each thing that is *told*, and the call that the last of them comes to.

        A call that an earlier one alone comes to stands with that one.
        """
        does, calls, last = [], {}, 0
        for one in told:
            if isinstance(one, Again):
                does.append(words.AGAIN.format(lines=ranges(one.lines)))
                continue
            last = len(does)
            does.append(self._does(one.step))
            if one.otherwise is not None:
                calls[self._does(one.otherwise)] = last
        for call, at in calls.items():
            if at != last:
                does[at] = words.ELSE.format(does=does[at], call=call)
        return tuple(does), tuple(
            words.NOT_RIGHT.format(do=call) for call, at in calls.items() if at == last
        )

    def _told(self, told: Iterable[Told | Again], then: str = "") -> str:
        """Return what is *told*, *then* how to go on, and the call it comes to if it is not so."""
        does, calls = self._pieces(told)
        if calls and then == words.GO_ON:
            then = ""  # that one goes on if it is right needs no words
        return " ".join(filter(None, (*does, then, *calls)))

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

    @property
    def groups(self) -> tuple[Group, ...]:
        """What can go wrong in more than two parts, under the lines of the menu."""
        names = self.dose.procedure.source.groups
        found = (
            Group(
                says,
                tuple(t.told for t in self._troubles if t.group == name and not self._home(t)),
            )
            for name, says in names.items()
        )
        return tuple(group for group in found if group.troubles)

    @cached_property
    def _troubles(self) -> tuple[_Placed, ...]:
        """Everything that can go wrong in this dose; what is answered alike stands together.

        What stands after the list and cannot come everywhere gets the letters after the boxes'.
        """
        ways_of: dict[tuple[str, str], list[tuple[Way, tuple[int, ...]]]] = {}
        for mishap, ways in self.lines.mishaps():
            title = fill(mishap.title, self.values)
            ways_of.setdefault((mishap.group, title), []).extend(ways)
        alike: dict[tuple[str, tuple[str, ...]], tuple[list[str], set[int]]] = {}
        for (group, title), all_ways in ways_of.items():
            titles, at = alike.setdefault(
                (group, self._or_box(self._answers(all_ways))), ([], set())
            )
            titles.append(title)
            at.update(number for _, numbers in all_ways for number in numbers)
        names = list(self.dose.procedure.source.groups)
        found, letters = [], len(self._boxes)
        for (group, does), (titles, at) in sorted(
            alike.items(), key=lambda item: names.index(item[0][0])
        ):
            one = _Placed(group, frozenset(at), Trouble("", tuple(titles), does))
            if not self._home(one) and len(at) < len(self.lines.walked):
                one.told = Trouble(letter_of(letters), tuple(titles), does)
                letters += 1
            found.append(one)
        return tuple(found)

    def _home(self, trouble: _Placed) -> range | None:
        """Return the lines of the part after which *trouble* stands; None for after the list."""
        places = [n for n, numbers in enumerate(self.headed) if not trouble.at.isdisjoint(numbers)]
        return self.headed[places[0]] if places[-1] - places[0] <= 1 else None

    def _see(self, numbers: range) -> str:
        """Return the letters of what can come at *numbers*, and is told after the list."""
        letters = [t.told.letter for t in self._troubles if not t.at.isdisjoint(numbers)]
        known = [t.told.letter for t in self._troubles if t.told.letter]
        found = letter_ranges([known.index(one) for one in letters if one], known)
        return words.SEE.format(letters=found) if found else ""

    def _answers(self, ways: Iterable[tuple[Way, tuple[int, ...]]]) -> Iterator[str]:
        """Yield what is done about a trouble, and at which lines where that differs."""
        by_told: dict[tuple[tuple[str, ...], tuple[str, ...]], list[_AtLines]] = {}
        for way, at in ways:
            again = way.again[0] if way.again else None
            by_told.setdefault(self._pieces(way.told), []).append((at, again))
        # What they begin with alike is said once. Then each with its lines: at another line none
        # of them may be enough.
        alike = begun_alike([does for does, _ in by_told])
        yield from alike
        for (does, calls), rows in by_told.items():
            told = " ".join((*does[len(alike) :], *calls))
            more = tuple(filter(None, (told, *_comes_again(rows))))
            if more and len(by_told) > 1:
                lines = ranges(number for at, _ in rows for number in at)
                yield words.AT.format(lines=lines)
            yield from more

    def _or_box(self, told: Iterable[str]) -> tuple[str, ...]:
        """Return what is *told*, or the letter of the box that says just the same."""
        all_told = tuple(told)
        box, after = self._boxes.get(" ".join(all_told), (None, 0))
        return all_told if box is None else (words.SEE_BOX.format(to=box.letter, after=after),)


_AtLines = tuple[tuple[int, ...], Again | None]
"""The numbers of some lines, and what comes again after something went wrong there."""


def _comes_again(rows: Sequence[_AtLines]) -> Iterator[str]:
    """Yield which lines come again, and where one goes on."""
    found: dict[tuple[tuple[int, ...], bool], list[tuple[tuple[int, ...], Again, int]]] = {}
    alone = {again.lines for _, again in rows if again and not split(again)[1]}
    for at, again in rows:
        if again is not None:
            lines, start = (again.lines, 0) if again.lines in alone else split(again)
            found.setdefault((lines, start > 0), []).append((at, again, start))
    for (lines, starts_over), ones in found.items():
        if starts_over:
            text = (words.AGAIN_FROM if lines else words.BACK_TO).format(
                lines=ranges(lines), starts=ranges(start for _, _, start in ones)
            )
        else:
            befores = {again.before for _, again, _ in ones}
            text = (words.BEFORE if len(befores) == 1 else words.BEFORE_NEXT).format(
                lines=ranges(lines), befores=ranges(befores)
            )
        here = ranges(number for at, _, _ in ones for number in at)
        yield f"{words.AT.format(lines=here)} {text}" if len(found) > 1 else text


def begun_alike(ones: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """Return what all of *ones* begin with."""
    first = ones[0]
    same = (len({one[: number + 1] for one in ones}) == 1 for number in range(len(first)))
    return first[: sum(takewhile(bool, same))]


def split(again: Again) -> tuple[tuple[int, ...], int]:
    """Return which lines come again by themselves, and from which one the list is gone on.

    The second is 0 where it is gone on where it was left.
    """
    lines, start = sorted(again.lines), again.before
    while lines and lines[-1] == start - 1:
        start = lines.pop()
    return tuple(lines), start if start < again.before else 0
