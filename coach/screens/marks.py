"""The marks of a rehearsal: every step and surprise, each with its level, to be set or corrected.

Owns the list and the place in it. Whether the rehearsal counts comes from the rehearsal.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from textual.widget import Widget

from coach import keys, words
from coach.errors import CoachError
from coach.journal.teaching import LEVELS
from coach.practice.beside import mark_again, note_again, prompt_again, row_of
from coach.practice.rehearsal import Rehearsal
from coach.says import rehearsal as texts
from coach.screens.frame import DOSE_STYLES, Frame, numbers
from coach.screens.one_line import OneLineScreen
from coach.screens.widgets.words import Words

HANG = " " * 4
PAGE = 6
"""Lines that Space goes on by."""


class MarkLine(Words):
    """One step or surprise, and how it went."""


class MarksScreen(Frame):
    """Every step and surprise of one rehearsal."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, rehearsal: Rehearsal) -> None:
        """Mark *rehearsal*, which has ended."""
        super().__init__()
        self.rehearsal = rehearsal
        self.rows = rehearsal.to_mark()
        self.at = 0
        """The line that is marked."""

    def parts(self) -> Iterable[Widget]:
        """Return whether it counts, and a line for each."""
        yield Words(id="sentence")
        yield Words(texts.LEVEL_KEYS, id="why")
        yield from (MarkLine() for _ in self.rows)

    def show(self) -> None:
        """Show every mark, and whether the rehearsal counts."""
        self.rows = self.rehearsal.to_mark()
        self.head(texts.MARKS_TITLE)
        self.say("sentence", self.rehearsal.verdict().says)
        lines = list(self.query(MarkLine))
        for number, (line, row) in enumerate(zip(lines, self.rows, strict=True)):
            here = texts.HERE if number == self.at else texts.ELSEWHERE
            placed = texts.PLACED.format(here=here, row=row_of(row))
            line.say(textwrap.fill(placed, self.list_width, subsequent_indent=HANG))
        if self.at:
            self.body.scroll_to_widget(lines[self.at], animate=False)
        else:
            self.body.scroll_home(animate=False)
        self.show_keys(
            ("Enter", texts.KEY_END),
            (keys.MOVE.shown, words.KEY_MOVE),
            (numbers(len(LEVELS)), texts.KEY_MARK),
            (keys.PROMPT.shown, texts.KEY_PROMPT),
            (keys.MARK_NOTE.shown, texts.KEY_NOTE),
        )

    def pick(self, number: int) -> None:
        """Mark the line at the level with this number, and go on to the next."""
        if number <= len(LEVELS):
            self.mark(number - 1)

    def mark(self, number: int) -> None:
        """Mark the line at the level with this number from 0, and go on to the next."""
        if not (self.is_current and self.rows):
            return
        try:
            mark_again(self.rehearsal, self.rows[self.at], LEVELS[number])
        except CoachError as error:
            self.notice(str(error))
        else:
            self._go(self.at + 1)

    def nurse(self, does: str) -> None:
        """Count a prompt, or take a note; nothing else is left to do."""
        if not (self.is_current and self.rows):
            return
        row = self.rows[self.at]
        if does == "prompt":
            try:
                prompt_again(self.rehearsal, row)
            except CoachError as error:
                self.notice(str(error))
            else:
                self.show()
        elif does == "note" and row.mark is None:
            self.notice(texts.MARK_FIRST)
        elif does == "note":
            asks = texts.ASK_NOTE.format(title=row.title)
            self.app.push_screen(OneLineScreen(asks, self._note))

    def _note(self, note: str) -> None:
        note_again(self.rehearsal, self.rows[self.at], note)

    def _go(self, number: int) -> None:
        self.at = max(0, min(number, len(self.rows) - 1))
        self.show()

    def letter(self, key: str) -> None:
        """Move up or down."""
        if key in keys.MOVE.presses:
            self._go(self.at + (1 if key == keys.MOVE.presses[1] else -1))

    def scroll_on(self) -> None:
        """Go on by a page, or from the end back to the top."""
        last = len(self.rows) - 1
        self._go(0 if self.at >= last else self.at + PAGE)
