"""An order sheet in plain lines: each field asked for in turn, and kept as the nurse says.

Owns the order in which a sheet is talked about, and how a problem of it is worded. What a field
means, whether a value is right and how the file is written is the order sheet's affair.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from zoneinfo import ZoneInfo

from coach import words
from coach.clock import Clock
from coach.errors import CoachError, Problem
from coach.orders.dosing import workings
from coach.orders.rows import Look, Row, about, look_at
from coach.orders.sheet import OrderSheet
from coach.orders.write import Draft, save
from coach.says import sheet as sheet_words
from coach.voice import LIST, LIST_ALL, Asides

OUT, BACK, WRONG, END = "out", "back", "wrong", "end"
NEXT, SAME, DROP = "next", "same", "drop"


def problem_line(problem: Problem) -> str:
    """Return *problem* in words, for its own field."""
    said = words.SHEET_PROBLEM.format(
        expected=problem.expected, found=problem.found, hint=problem.hint
    )
    return said.rstrip()


def _field_line(row: Row) -> str:
    text = sheet_words.TALK_FIELD if row.value else sheet_words.TALK_LEFT_OUT
    return text.format(field=row.field, value=row.value.removesuffix("."))


def today_of(sheet: OrderSheet | None, clock: Clock) -> date:
    """Return the date where the person of *sheet* lives, or here where there is no sheet."""
    return clock.now().at.astimezone(ZoneInfo(sheet.time_zone) if sheet else None).date()


class SheetTalk:
    """A talk about one order sheet in lines."""

    def __init__(
        self,
        draft: Draft,
        clock: Clock,
        explained: Iterable[str],
        say: Callable[[str], None],
        hear: Callable[[Asides, str], str],
    ) -> None:
        """Talk about *draft* with *say* and *hear*; its comments and *explained* say what is what.

        *hear* returns the next line that is an answer; it is told what to say to the others, and
        what is asked then once more. It may raise where there are no more lines; the file then
        stays as it is.
        """
        self.draft = draft
        self.clock = clock
        self.explained = (draft.text, *explained)
        self.say = say
        self._heard_by = hear
        self.look: Look = look_at(draft)

    def run(self) -> None:
        """Ask for each field, then what becomes of the changes."""
        self.say(sheet_words.TALK_HEAD.format(path=self.draft.path))
        self.say(sheet_words.TALK_HOW)
        self._say_all(self._wrong_lines())
        at: int | None = 0
        while at is not None:
            self._walk(at)
            at = self._end()

    def _walk(self, at: int) -> None:
        """Ask for the fields from the one at the place *at* on."""
        while 0 <= at < len(self.look.rows):
            row = self.look.rows[at]
            self._say_all(self._field_lines(row))
            heard = self._hear_field(row)
            word = heard.casefold()
            if word == END:
                return
            if word == BACK:
                at = max(0, at - 1)
            elif (place := self._place(heard)) is not None:
                at = place
            elif not heard or self._put(row, "" if word == OUT else heard):
                at += 1
        self.say(sheet_words.TALK_END)

    def _say_all(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.say(line)

    def _hear(self, place: tuple[str, str], asked: str) -> str:
        """Return the next line that is an answer at *place*, where *asked* was asked."""
        where, why = place
        asides: Asides = {
            "?": lambda: (where,),
            "why": lambda: (why,),
            WRONG: self._wrong_lines,
            **dict.fromkeys((LIST, LIST_ALL), lambda: map(_field_line, self.look.rows)),
        }
        return self._heard_by(asides, asked)

    def _hear_field(self, row: Row) -> str:
        where, why = sheet_words.AT_FIELD
        number, fields = self.look.rows.index(row) + 1, len(self.look.rows)
        place = where.format(number=number, fields=fields, field=row.field), why
        return self._hear(place, _field_line(row))

    def _field_lines(self, row: Row) -> Iterator[str]:
        yield _field_line(row)
        if says := about(row.field, self.explained):
            yield sheet_words.TALK_ABOUT.format(about=says)
        yield from map(problem_line, row.problems)

    def _place(self, name: str) -> int | None:
        names = [row.field for row in self.look.rows]
        return names.index(name) if name in names else None

    def _put(self, row: Row, value: str) -> bool:
        """Take *value* into the draft, and say what follows; tell whether it is right there."""
        try:
            self.draft = self.draft.put(row.field, value)
        except CoachError as error:
            self.say(str(error))
            return False
        self.look = look_at(self.draft)
        taken = sheet_words.TALK_TAKEN if value else sheet_words.TALK_TAKEN_OUT
        self.say(taken.format(field=row.field, value=value.removesuffix(".")))
        now = next((one for one in self.look.rows if one.field == row.field), row)
        for problem in now.problems:
            self.say(problem_line(problem))
        for one in workings(self.look.sheet) if self.look.sheet is not None else ():
            if one.field.partition(".")[0] == row.field.partition(".")[0]:
                self.say(words.SHEET_WORKED.format(name=one.name, working=one.working))
        return not now.problems

    def _wrong_lines(self) -> Iterator[str]:
        yield sheet_words.TALK_WRONG.format(number=self.look.wrong)
        yield from map(problem_line, self.look.others)
        for row in self.look.rows:
            for problem in row.problems:
                text = problem_line(problem)
                yield sheet_words.TALK_WRONG_AT.format(field=row.field, says=text)

    def _end(self) -> int | None:
        """Ask what becomes of the changes; return the place of a field to go on with, or None."""
        if not self.draft.changed:
            self.say(words.SHEET_SAME)
            return None
        while True:
            asked = self._offer()
            heard = self._hear(sheet_words.AT_END, asked)
            word = heard.casefold()
            if word == DROP:
                self.say(sheet_words.TALK_DROPPED)
                return None
            if (place := self._place(heard)) is not None:
                return place
            if self.look.sheet is not None and word in (NEXT, SAME):
                if self._keep(self._signed() if word == NEXT else ""):
                    return None
            else:
                self.say(words.NOT_KNOWN)

    def _offer(self) -> str:
        """Say what can become of the changes; return what was asked last."""
        sheet = self.look.sheet
        if sheet is None:
            self._say_all(self._wrong_lines())
            self.say(sheet_words.TALK_NOT_YET)
            return sheet_words.TALK_NOT_YET
        version, day = sheet.sheet.version + 1, today_of(sheet, self.clock)
        answers = {
            NEXT: words.SHEET_KEEP_NEXT.format(version=version, date=day),
            SAME: words.SHEET_KEEP_SAME,
            DROP: words.SHEET_DROP,
        }
        self.say(words.SHEET_KEEP_ASKS)
        for word, says in answers.items():
            self.say(sheet_words.TALK_ANSWER.format(word=word, says=says))
        self.say(sheet_words.TALK_KEEP)
        return sheet_words.TALK_KEEP

    def _signed(self) -> str:
        self.say(sheet_words.SIGN_ASKS)
        while not (name := self._hear(sheet_words.AT_SIGN, sheet_words.SIGN_ASKS)):
            self.say(sheet_words.SIGN_EMPTY)
        return name

    def _keep(self, signed_by: str) -> bool:
        draft = self.draft
        try:
            if signed_by:
                draft = draft.as_next_version(today_of(self.look.sheet, self.clock), signed_by)
            saved = save(draft)
        except CoachError as error:
            self.say(str(error))
            return False
        self.say(words.SHEET_KEPT.format(name=saved.kept.name))
        return True
