"""Writing something down beside a dose: what, then a question at a time.

Owns the two screens for that. What is asked and what is kept comes from the form.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from textual.widget import Widget
from textual.widgets import Input

from coach import clean, words
from coach.errors import CoachError
from coach.records.questions import Form
from coach.says import doses as dose_words
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.widgets.words import Words

LONGEST_ANSWER = 160
"""Characters. Two sentences."""


class AskScreen(Frame):
    """Asks for one entry, a question at a time."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, form: Form, kept: Callable[[str], None], first: str = "") -> None:
        """Ask what *form* asks, below *first*; tell *kept* what to say once it is kept."""
        super().__init__()
        self.form = form
        self.kept = kept
        self.first = first
        self.answers: dict[str, str] = {}

    def parts(self) -> Iterable[Widget]:
        """Return the question, and a place to type."""
        yield Words(id="why")
        yield Words(id="sentence")
        yield Input(id="typed", max_length=LONGEST_ANSWER, select_on_focus=False)

    def show(self) -> None:
        """Ask what has to be typed next."""
        number = len(self.answers)
        self.head(self.form.says)
        self.say("why", self.first)
        self.say("sentence", self.form.ask(number, self.answers))
        self.take_typing(wanted=True)
        last = number + 1 == len(self.form.questions)
        self.show_keys(
            ("Esc", words.KEY_BACK), ("Enter", words.KEY_KEEP if last else words.KEY_GO_ON)
        )

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what was typed; keep the entry once everything is there."""
        event.stop()
        question, typed = self.form.questions[len(self.answers)], clean.one_line(event.value)
        try:
            question.check(typed, self.answers)
            answers = {**self.answers, question.name: typed}
            whole = len(answers) == len(self.form.questions)
            says = self.form.keep(answers) if whole else ""
        except CoachError as error:
            self.notice(str(error))
            return
        self.query_one("#typed", Input).value = ""
        self.notice("")
        if whole:
            self.back()
            self.kept(says)
        else:
            self.answers = answers
            self.show()


class AddScreen(Frame):
    """What can be written down, to pick from."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, forms: Sequence[Form], kept: Callable[[str], None]) -> None:
        """Offer *forms*; tell *kept* what to say once one is kept."""
        super().__init__()
        self.forms = forms
        self.kept = kept

    def parts(self) -> Iterable[Widget]:
        """Return the question and the list."""
        yield Words(dose_words.ADD_ASKS, id="sentence")
        yield Words(id="choices", classes="list")

    def show(self) -> None:
        """Show what there is to pick."""
        self.head(dose_words.ADD_TITLE)
        self.say("choices", numbered((form.says for form in self.forms), self.list_width))
        self.show_keys(("Esc", words.KEY_BACK), (numbers(len(self.forms)), words.KEY_PICK))

    def pick(self, number: int) -> None:
        """Ask for what belongs to the entry with this number."""
        if number <= len(self.forms):
            self.app.switch_screen(AskScreen(self.forms[number - 1], self.kept))

    def enter(self) -> None:
        """Say how to pick: Enter alone picks nothing."""
        self.notice(words.HINT_PICK)
