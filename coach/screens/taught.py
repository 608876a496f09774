"""The open questions, and the competence sheet, at a teaching visit.

Owns how they look. What a good answer has, and what the sheet says, comes from the lessons.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from textual.widget import Widget

from coach import keys, words
from coach.errors import CoachError
from coach.journal.teaching import Visit
from coach.practice.lessons import Lessons
from coach.says import rehearsal as texts
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.widgets.words import Words


class QuestionsScreen(Frame):
    """One open question after the other, with the points that a good answer has."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, lessons: Lessons, visit: Visit) -> None:
        """Ask the questions of *lessons* at *visit*."""
        super().__init__()
        self.lessons = lessons
        self.visit = visit
        self.questions = lessons.questions()
        self.at = 0
        self.said: set[str] = set()
        """The points of the question that were said."""

    def parts(self) -> Iterable[Widget]:
        """Return the question and its points."""
        yield Words(id="sentence")
        yield Words(id="choices", classes="list")

    def show(self) -> None:
        """Show the question, each point ticked or not."""
        place = texts.PLACE.format(number=self.at + 1, whole=len(self.questions))
        self.head(texts.QUESTION_TITLE, place)
        question = self.questions[self.at]
        self.say("sentence", question.asks)
        ticks = (
            texts.POINT.format(tick=texts.TICK if one in self.said else texts.NO_TICK, point=one)
            for one in question.points
        )
        self.say("choices", numbered(ticks, self.list_width))
        self.show_keys(
            ("Esc", words.KEY_BACK),
            (numbers(len(question.points)), texts.KEY_TICK),
            ("Enter", words.KEY_KEEP),
            (keys.MOVE.shown, texts.KEY_OTHER),
        )

    def pick(self, number: int) -> None:
        """Tick the point with this number, or take its tick away."""
        points = self.questions[self.at].points
        if number <= len(points):
            self.said ^= {points[number - 1]}
            self.show()

    def enter(self) -> None:
        """Keep what was said, and go on to the next question."""
        question = self.questions[self.at]
        points = [one for one in question.points if one in self.said]
        try:
            self.lessons.say_back(self.visit, question.id, points)
        except CoachError as error:
            self.notice(str(error))
            return
        if self.at + 1 == len(self.questions):
            self.back()
        else:
            self._go(self.at + 1)

    def letter(self, key: str) -> None:
        """Go to the question before or after this one."""
        if key in keys.MOVE.presses:
            self._go(self.at + (1 if key == keys.MOVE.presses[1] else -1))

    def _go(self, number: int) -> None:
        self.at = number % len(self.questions)
        self.said = set()
        self.body.scroll_home(animate=False)
        self.show()


class SheetScreen(Frame):
    """The whole competence sheet."""

    def __init__(self, lines: Callable[[int], Sequence[str]]) -> None:
        """Show the *lines* of the page for the chart, which are as wide as they are told to be."""
        super().__init__()
        self.lines = lines

    def parts(self) -> Iterable[Widget]:
        """Return the page."""
        yield Words(id="page")

    def show(self) -> None:
        """Show the page as wide as there is room for, and say what the keys do."""
        self.head(texts.KEY_SHEET)
        self.say("page", "\n".join(self.lines(self.width - 2)))
        self.show_keys(("Esc", words.KEY_BACK), (keys.MORE.shown, texts.KEY_MORE))
