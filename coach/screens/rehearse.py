"""The application of a teaching visit: who learns, what was shown, what to practise.

Owns the way from a name to a visit, and the nurse's keys, which work on every screen of a
rehearsal. It must never decide whether somebody may be signed off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widget import Widget

from coach import keys, words
from coach.errors import CoachError, ExitCode
from coach.journal.teaching import Learner, Visit
from coach.practice.lessons import Chosen, Lessons, a_name
from coach.practice.lines import sheet_lines
from coach.practice.rehearsal import Rehearsal
from coach.practice.visiting import nothing_done, visit_today
from coach.says import rehearsal as texts
from coach.screens.app import TableApp, run
from coach.screens.card import contact_lines
from coach.screens.frame import DOSE_STYLES, Frame, numbered, numbers
from coach.screens.marks import MarksScreen
from coach.screens.note import NoteScreen
from coach.screens.one_line import OneLineScreen
from coach.screens.practice import PracticeScreen
from coach.screens.taught import QuestionsScreen, SheetScreen
from coach.screens.widgets.words import Words
from coach.sitting.contacts import Contact
from coach.sitting.times import day_in_full

_NURSES = (
    (keys.NURSE, "keys"), (keys.DEAL, "deal"), (keys.SKIP, "skip"), (keys.PROMPT, "prompt"),
    (keys.MARK_NOTE, "note"),
)  # fmt: skip


class LearnersScreen(Frame):
    """Who learns by this order sheet."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, lessons: Lessons, contacts: Iterable[Contact]) -> None:
        """Offer the learners of *lessons*, with whom to call in earnest."""
        super().__init__()
        self.lessons = lessons
        self.contacts = tuple(contacts)

    def parts(self) -> Iterable[Widget]:
        """Return what is under way, the learners and the people."""
        yield Words(texts.WHO, id="sentence")
        yield Words(id="why")
        yield Words(id="choices", classes="list")
        yield Words(contact_lines(self.contacts), id="people", classes="list")

    def show(self) -> None:
        """Show who learns, and whether a rehearsal is under way."""
        self.head(texts.TITLE)
        run = self.lessons.under_way()
        name = self.lessons.learner_of(run).name if run is not None else ""
        self.say("why", texts.OTHER_RUN.format(learner=name) if name else "")
        learners = self.lessons.learners()
        names = (*(person(one) for one in learners), texts.ADD)
        self.say("choices", numbered(names[: len(keys.PICK.presses)], self.list_width))
        labels = [("Esc", words.KEY_LEAVE), (numbers(min(len(names), 9)), words.KEY_PICK)]
        if run is not None:
            labels.insert(1, ("Enter", texts.KEY_GO_ON))
            labels.append((keys.ASIDE.shown, texts.KEY_ASIDE))
        self.show_keys(*labels)

    def enter(self) -> None:
        """Go on with the rehearsal that is under way."""
        if self.lessons.under_way() is None:
            self.notice(words.HINT_PICK)
        else:
            open_rehearsal(self, self.lessons.resume)

    def pick(self, number: int) -> None:
        """Visit the learner with this number, or add one."""
        learners = self.lessons.learners()
        if number <= len(learners):
            self._visit(lambda: learners[number - 1])
        elif number == len(learners) + 1:
            self.app.push_screen(OneLineScreen(texts.ASK_NAME, self._ask_role))

    def _ask_role(self, name: str) -> None:
        def ask_nurse(role: str) -> None:
            self._visit(lambda: self.lessons.add_learner(name, role))

        a_name(name)
        self.app.push_screen(OneLineScreen(texts.ASK_ROLE, ask_nurse))

    def _visit(self, learner: Callable[[], Learner]) -> None:
        def begin(nurse: str) -> None:
            who = learner()
            visit = visit_today(self.lessons, who, nurse)
            self.app.push_screen(VisitScreen(self.lessons, who, visit))

        self.app.push_screen(OneLineScreen(texts.ASK_NURSE, begin))

    def letter(self, key: str) -> None:
        """Put aside the rehearsal that is under way."""
        if key in keys.ASIDE.presses and self.lessons.under_way() is not None:
            try:
                self.lessons.put_aside()
            except CoachError as error:
                self.notice(str(error))
            else:
                self.show()
                self.notice(texts.PUT_ASIDE)

    def phone(self) -> str:
        """Return the first number to call."""
        return words.CALL_LINE.format(who=self.contacts[0].who, phone=self.contacts[0].phone)

    def trouble(self) -> None:
        """Leave: nothing is under way on this screen."""
        self.leave()

    def leave(self) -> None:
        """Leave the coach."""
        self.app.exit()


class VisitScreen(Frame):
    """What one learner showed so far, and what this visit can add."""

    CSS_PATH = DOSE_STYLES

    def __init__(self, lessons: Lessons, learner: Learner, visit: Visit) -> None:
        """Show *learner* at this *visit*."""
        super().__init__()
        self.lessons = lessons
        self.learner = learner
        self.visit = visit
        self.chosen: dict[str, str] = {}

    def parts(self) -> Iterable[Widget]:
        """Return the sheet in short, and the circumstances to choose."""
        yield Words(id="sentence")
        yield Words(id="why")
        yield Words(id="asks")
        yield Words(id="choices", classes="list")

    def show(self) -> None:
        """Show the sheet in short."""
        sheet = self.lessons.competence(self.learner)
        self.head(texts.TITLE, person(self.learner))
        self.say("sentence", sheet.missing)
        signed, day = texts.NOT_SIGNED, day_in_full(self.visit.at, self.lessons.zone)
        number = sum(1 for head in sheet.visits if head.visit.id < self.visit.id) + 1
        here = texts.VISIT.format(number=number, day=day, nurse=self.visit.nurse)
        if sheet.signed is not None:
            signed = texts.SIGNED_ON.format(nurse=sheet.signed.nurse, day=sheet.signed_day)
        lines = [here, signed]
        if again := self.lessons.to_show_again(self.learner):
            lines.append(texts.SHOW_AGAIN.format(titles=self.lessons.named(again)))
        for one in sheet.practise_next[:1]:
            lines.append(texts.NEXT.format(says=one.says.rstrip("."), reason=one.reason))
        self.say("why", "\n".join(lines))
        choices = [self._chosen(one) for one in self.lessons.circumstances()]
        self.say("asks", texts.CHOOSE if choices else "")
        self.say("choices", numbered(choices, self.list_width))
        labels = [("Esc", words.KEY_BACK), ("Enter", texts.KEY_START)]
        labels += [
            (keys.OWN_WORDS.shown, texts.KEY_TEACH_BACK),
            (keys.COMPETENCE.shown, texts.KEY_SHEET),
            (keys.MARKS.shown, texts.KEY_MARKS),
            (keys.SIGN.shown, texts.KEY_SIGN),
        ]
        if choices:
            labels.append((numbers(len(choices)), texts.KEY_CHANGE))
        self.show_keys(*labels)

    def _chosen(self, one: Chosen) -> str:
        return one.told(self.chosen.get(one.choice, one.values[0]))

    def pick(self, number: int) -> None:
        """Have a circumstance the other way."""
        every = self.lessons.circumstances()
        if number <= len(every):
            one = every[number - 1]
            self.chosen[one.choice] = one.other(self.chosen.get(one.choice, one.values[0]))
            self.show()

    def enter(self) -> None:
        """Start a rehearsal; the steps are checked first where that was not done yet."""
        self.notice(words.CHECKING)
        self.call_after_refresh(
            open_rehearsal, self, lambda: self.lessons.begin(self.visit, self.chosen)
        )

    def letter(self, key: str) -> None:
        """Ask the open questions, show the sheet or the marks, or sign off."""
        if key in keys.OWN_WORDS.presses:
            if self.lessons.questions():
                self.app.push_screen(QuestionsScreen(self.lessons, self.visit))
            else:
                self.notice(texts.QUESTIONS_NONE)
        elif key in keys.COMPETENCE.presses:
            self._sheet()
        elif key in keys.MARKS.presses:
            self._marks()
        elif key in keys.SIGN.presses:
            asks = texts.ASK_SIGNER.format(learner=self.learner.name)
            if self.lessons.competence(self.learner).complete:
                self.app.push_screen(OneLineScreen(asks, self._sign))
            else:
                self.notice(self.lessons.missing(self.learner))

    def back(self) -> None:
        """Go back, and say so where nothing was done that could be kept."""
        below = self.app.screen_stack[-2]
        super().back()
        if isinstance(below, Frame):
            below.notice(nothing_done(self.lessons, self.visit, self.learner))

    def _sheet(self) -> None:
        sheet = self.lessons.competence(self.learner)
        self.app.push_screen(SheetScreen(partial(sheet_lines, sheet, self.lessons.sheet)))

    def _marks(self) -> None:
        try:
            rehearsal = self.lessons.last_of(self.visit)
        except CoachError as error:
            self.notice(str(error))
        else:
            if rehearsal is None:
                self.notice(texts.NO_MARKS)
            else:
                self.app.push_screen(MarksScreen(rehearsal))

    def _sign(self, nurse: str) -> None:
        signed = self.lessons.sign_off(self.learner, nurse)
        self.show()
        self.notice(texts.SIGNED.format(nurse=signed.nurse))


def person(learner: Learner) -> str:
    """Return who *learner* is."""
    form = texts.PERSON if learner.role else texts.PERSON_BARE
    return form.format(name=learner.name, role=learner.role)


def open_rehearsal(screen: Frame, begin: Callable[[], Rehearsal]) -> None:
    """Follow, above *screen*, the rehearsal that *begin* opens, or say why it does not open."""
    try:
        rehearsal = begin()
    except CoachError as error:
        screen.notice(str(error))
    else:
        screen.notice("")
        screen.app.push_screen(PracticeScreen(rehearsal))


class RehearseApp(TableApp):
    """A teaching visit: the same screens as a dose, each marked as practice."""

    SUB_TITLE = texts.PRACTICE
    """What stands in the head of every screen."""
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(press, f"nurse('{does}')", priority=True, show=False)
            for key, does in _NURSES
            for press in key.presses
        ),
        *(
            Binding(press, f"mark({number})", priority=True, show=False)
            for number, press in enumerate(keys.MARK.presses)
        ),
    ]

    def __init__(self, lessons: Lessons, contacts: Iterable[Contact], theme: str) -> None:
        """Teach by *lessons*; *contacts* are whom to call in earnest."""
        super().__init__(theme)
        self.opening = LearnersScreen(lessons, contacts)

    def get_default_screen(self) -> Screen[None]:
        """Open on who learns."""
        return self.opening

    def _marking(self) -> PracticeScreen | MarksScreen | None:
        """Return the screen of the rehearsal or its marks, on top or covered."""
        every = reversed(self.screen_stack)
        return next((s for s in every if isinstance(s, PracticeScreen | MarksScreen)), None)

    def action_nurse(self, does: str) -> None:
        """Do what a key of the nurse asks, wherever in a rehearsal."""
        screen = self._marking()
        if screen is not None and not self._writing():
            screen.nurse(does)

    def action_mark(self, number: int) -> None:
        """Mark at the level with this number."""
        screen = self._marking()
        if screen is not None and not self._writing():
            screen.mark(number)

    def _writing(self) -> bool:
        """Tell whether a note or a name is being typed, and say that the key did nothing."""
        if not isinstance(self.screen, OneLineScreen | NoteScreen):
            return False
        self.screen.notice(texts.NOT_WHILE_TYPING)
        return True


def run_rehearse(lessons: Lessons, contacts: Iterable[Contact], theme: str) -> ExitCode:
    """Show the teaching visit until the nurse leaves.

    Raises what broke inside, once the terminal is back.
    """
    return run(RehearseApp(lessons, contacts, theme))
