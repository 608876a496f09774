"""Following a dose: one step on the screen at a time.

Owns how a view looks and which key asks the sitting for what. It decides nothing about the
dose: it shows what the sitting says and passes on what the person says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import ClassVar

from textual import events
from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import Input

from coach import clean, keys, words
from coach.errors import CoachError
from coach.says import checklist as list_words
from coach.says import doses as dose_words
from coach.screens.answer import answered, waits_for_words, write_answer
from coach.screens.card import call_first, card_lines, say_lines
from coach.screens.contacts import ContactsScreen
from coach.screens.frame import DOSE_STYLES, LONGEST_TYPED, Frame, numbered
from coach.screens.leave import LeaveScreen, leave_coach
from coach.screens.note import NoteScreen
from coach.screens.step_texts import ended_or, heads, picture_list, pump_lines, reason
from coach.screens.widgets.key_list import KeyListScreen, answer_labels, beside
from coach.screens.widgets.line_picture import in_rows
from coach.screens.widgets.timer import TimerPanel
from coach.screens.widgets.words import Words
from coach.screens.wrong import WrongScreen
from coach.sitting.pace import Pace
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View

SHORTER = (("close", "done"), ("tight", "why"), ("tightest", "next"))
"""How a step that does not fit is made shorter, by the style sheet's name for it and what goes:
what was done, the reason, which has a key of its own then, and at last what comes next."""
HEAD_EDGES = 3
"""Columns of the top line that stay free: one at each edge, and one between."""
TIGHTER = tuple(name for name, _ in SHORTER)


class FollowScreen(Frame):
    """The step to do now."""

    CSS_PATH = DOSE_STYLES
    LIST_SAYS = list_words.KEY_LIST
    """What the key says that shows this dose the other way."""
    STAYS: ClassVar[str] = words.LEFT_DOSE
    """What becomes of the dose while the coach is left."""
    GIVE_WAY: ClassVar[tuple[keys.Key, ...]] = (keys.LIST, keys.NOTE)
    """What is left out first where the keys of a small window would take a third row."""
    BESIDE: ClassVar[tuple[keys.Key, ...]] = (keys.WRONG, keys.MORE, keys.LEAVE, keys.HINT)
    """What does something at every step, beside the letters."""

    def __init__(self, sitting: Sitting) -> None:
        """Follow *sitting*."""
        super().__init__()
        self.sitting = sitting
        self.pace = Pace(sitting)
        self.view = view_of(sitting)
        self.shown_step: tuple[str, int, bool] = ("", -1, False)
        self.resized = False
        """Whether the window has a new size since the last look."""
        self.read_down = False
        """Whether a step that does not fit was read down to its end, where its answers stand."""
        self.aside = ""
        """What stands in place of the step: ``why``, ``picture``, or nothing."""

    def parts(self) -> Iterable[Widget]:
        """Return all that a step can have; what is empty takes no room."""
        yield Words(id="again")
        yield Words(id="sentence")
        yield Words(id="call")
        yield Words(id="why")
        yield TimerPanel(id="timer")
        yield Words(id="stretch", classes="list")
        yield Words(id="pump")
        yield Words(id="asks")
        yield Input(id="typed", max_length=LONGEST_TYPED, select_on_focus=False)
        yield Words(id="card")
        yield Words(id="words-to-say")
        yield Words(id="answered")
        yield Words(id="choices", classes="list")
        yield Words(id="picture-list")

    def foot(self) -> Iterable[Widget]:
        """Return the picture, and where one is in the dose."""
        yield Words(id="picture")
        with Vertical(id="along"):
            yield Words(id="done")
            yield Words(id="now")
            yield Words(id="next")

    # Showing

    def beat(self) -> None:
        """Let time pass: a timer that is over moves on with a sound and with words."""
        was_over = self.view.timer is not None and self.view.timer.over
        try:
            moved = self.sitting.tick()
        except CoachError as error:
            self._stop()
            self.notice(str(error))
            return
        if view_of(self.sitting) == self.view:
            return
        self.show()
        if moved or (self.view.timer is not None and self.view.timer.over and not was_over):
            self.notice("")  # it was said of the time that is over now
            self.app.bell()

    def show(self) -> None:
        """Show the step to do now."""
        self.view = view = view_of(self.sitting)
        step = (view.step, len(self.sitting.moments), view.running)
        if step != self.shown_step:
            self.shown_step, self.aside, self.read_down = step, "", False
            self.query_one("#typed", Input).clear()
            self.remove_class(*TIGHTER)
            self.body.scroll_home(animate=False)
        self._show_head(view)
        self._show_step(view)
        self._show_along(view)
        self._show_keys()

    def _show_head(self, view: View) -> None:
        """Say where one is, or that this comes first; in a small window as much as fits."""
        title, *places = heads(view)
        room = self.width - len(self.titled(title)) - HEAD_EDGES
        self.head(title, next((place for place in places if len(place) <= room), ""))

    def _show_step(self, view: View) -> None:
        read_first = bool(view.stretch)
        self.body.set_class(self.aside == "why", "only-why")
        self.body.set_class(self.aside == "picture", "only-picture")
        self.set_class(bool(self.aside), "aside")
        self.say("again", words.AGAIN if view.back else "")
        self.say("sentence", words.STRETCH if read_first else ended_or(view))
        self.say("call", call_first(view.card) if view.card else "")
        self.say("why", reason(view))
        self.say("stretch", numbered((move.title for move in view.stretch), self.list_width))
        self.say("pump", pump_lines(view))
        self.say("asks", view.asks)
        self.say("card", card_lines(view.card) if view.card else "")
        self.say("words-to-say", say_lines(view.card) if view.card else "")
        self.say("answered", answered(self.sitting) if view.card else "")
        self.set_class(view.card is not None, "carded")
        self.say("choices", numbered((c.says for c in view.choices), self.list_width))
        self.query_one(TimerPanel).show(view, self.sitting.dose.zone)
        self.take_typing(wanted=view.way == "reading")

    def _show_along(self, view: View) -> None:
        self.say("picture", in_rows(view.picture))
        self.say("picture-list", picture_list(view))
        self.say("done", words.DONE.format(title=view.done) if view.done else "")
        self.say("now", words.NOW.format(title=view.title) if view.title else "")
        self.say("next", words.NEXT.format(title=view.following) if view.following else "")

    def on_resize(self) -> None:
        """Mind that the size is new; the frame fits its words to it."""
        self.resized = True

    def look(self) -> None:
        """Look at the clock; once the styles of a new size hold, see anew what fits."""
        if self.resized:
            self.resized = False
            self.remove_class(*TIGHTER)
            self.show()
        else:
            super().look()

    def fit(self) -> None:
        """Where the step does not fit, give up what matters least; then say what is below.

        One thing goes at a time, and the next only once the screen was laid out without it. A
        large window gives up the reason alone.
        """
        if self.is_current and not self.aside and self.overflows():
            for name, part in SHORTER if self.small else SHORTER[1:2]:
                if not self.has_class(name):
                    self.add_class(name)
                    self._show_keys()
                    return
                if self.query_one(f"#{part}").is_on_screen:
                    return
        super().fit()

    @property
    def unread(self) -> bool:
        """Whether the answers lie further down than anybody has read."""
        return self.overflows() and not (self.read_down or self._at_the_end)

    def scroll_on(self) -> None:
        """Go a page down; at the end the answers have been read."""
        super().scroll_on()
        self.call_after_refresh(self._look_down)

    @property
    def _at_the_end(self) -> bool:
        return not self.aside and self.body.scroll_offset.y >= self.body.max_scroll_y

    def _look_down(self) -> None:
        self.read_down = self.read_down or self._at_the_end

    def _show_keys(self) -> None:
        view = self.view
        labels = [("Esc", words.CALL_TITLE if self.sitting.over else words.KEY_WRONG)]
        if view.running:
            labels.append((keys.ANY.shown, words.KEY_STOP))
        else:
            labels += self._answer_keys(view)
        if view.card is not None:
            labels.append((keys.REPLY.shown, dose_words.KEY_ANSWER_CALL))
        if not self.query_one("#typed").has_class("empty"):
            labels.append(("Ctrl+Q", words.KEY_LEAVE))
        elif not view.running:
            side = [] if self.sitting.over else self._side_keys(view)
            room = self.width - 2
            labels += beside(labels, side, self.GIVE_WAY if self.small else (), room)
        self.show_keys(*labels)

    def _answer_keys(self, view: View) -> list[tuple[str, str]]:
        return [] if self.aside and view.choices else answer_labels(view)

    def _side_keys(self, view: View) -> list[tuple[str, str]]:
        labels = []
        if self.aside:
            labels.append((keys.WHY.shown if self.aside == "why" else "p", words.KEY_STEP))
        elif self.has_class("tight"):
            labels.append((keys.WHY.shown, words.KEY_WHY))
        if self.small and not self.aside:
            labels.append((keys.PICTURE.shown, words.KEY_PICTURE))
        if view.can_undo:
            labels.append((keys.UNDO.shown, words.KEY_UNDO))
        if view.given and self.pace.can_look():
            labels.append((keys.PACE.shown, words.KEY_PACE))
        if view.card is None:
            labels += [(keys.LIST.shown, self.LIST_SAYS), (keys.NOTE.shown, words.KEY_NOTE)]
        labels.append((keys.LEAVE.shown, words.KEY_LEAVE))
        if not self.small and view.card is None:
            labels.append(("", self.phone()))
        return labels

    def phone(self) -> str:
        """Return the nurse's number, as on the order sheet of this dose."""
        nurse = self.sitting.words.contact("nurse", "Nurse")
        return words.CALL_LINE.format(who=nurse.who, phone=nurse.phone)

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Stop what runs, whatever the key; else do what the key means.

        Where nothing but how to leave can be read, that key leaves at once.
        """
        leaves = self.too_small and event.key.lower() in keys.LEAVE.presses
        if self.view.running and not leaves:
            event.stop()
            event.prevent_default()
            self._stop_run()
        else:
            super().on_key(event)

    def _stop(self) -> None:
        """Stop what runs by itself, and say so if that cannot be kept."""
        try:
            self.sitting.stop_run()
        except CoachError as error:
            self.notice(str(error))

    def _stop_run(self) -> None:
        self.notice(words.RUN_STOPPED)
        self._stop()
        self.show()

    def enter(self) -> None:
        """Say that the step is done, or start its timer."""
        way = self.view.way
        if way in ("question", "stop"):
            self.notice(words.HINT_READ_ON if self.unread else words.HINT_PICK)
        elif way in ("finished", "stopped"):
            self.back()
        else:
            self._tell(self.sitting.start_run if way == "run" else self.sitting.done)

    def pick(self, number: int) -> None:
        """Give the answer with this number."""
        if number <= len(self.view.choices):
            self._give(self.view.choices[number - 1].name)

    def _give(self, name: str) -> None:
        """Give the answer *name* where it can have been read: nobody answers what is not seen."""
        if self.aside:
            self._turn_aside(self.aside)
        elif self.unread:
            self.notice(words.HINT_READ_ON)
        elif not waits_for_words(self, self.sitting, name, lambda: self._pick(name)):
            self._pick(name)

    def _pick(self, name: str) -> None:
        self._tell(lambda: self.sitting.answer(name))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hold what was typed against the order sheet."""
        event.stop()
        typed = clean.one_line(event.value)
        if typed:
            self._tell(lambda: self.sitting.read(typed))
        else:
            self.notice(words.HINT_TYPE)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Take the notice away once something is typed."""
        event.stop()
        if event.value:
            self.notice("")

    def letters(self) -> dict[keys.Key, Callable[[], object]]:
        """Return the letters that do something at this step, each with what it does."""
        names = [choice.name for choice in self.view.choices]
        does: dict[keys.Key, Callable[[], object]] = {keys.NURSE: self._list_keys}
        for key, name in ((keys.YES, "yes"), (keys.NO, "no")):
            if name in names:
                does[key] = partial(self._give, name)
        if not self.sitting.over:
            does[keys.UNDO] = partial(self._tell, self.sitting.undo)
            does[keys.NOTE] = lambda: self.app.push_screen(NoteScreen(self.sitting))
            does[keys.LIST] = lambda: self.app.switch_screen(self.other_way())
        if self.view.card is not None:
            does[keys.REPLY] = partial(write_answer, self, self.sitting)
        if self.pace.can_look():
            does[keys.PACE] = self._ask_pace
        if self.aside or self.has_class("tight"):
            does[keys.WHY] = partial(self._turn_aside, "why")
        if self.aside or self.small:
            does[keys.PICTURE] = partial(self._turn_aside, "picture")
        return does

    def letter(self, key: str) -> None:
        """Do what the letter does at this step, if anything."""
        next((does for one, does in self.letters().items() if key in one.presses), bool)()

    def _list_keys(self) -> None:
        here = {*self.BESIDE, *self.letters()} - {keys.NURSE}
        self.app.push_screen(KeyListScreen([key for key in keys.KEYS if key in here]))

    def _ask_pace(self) -> None:
        from coach.screens.pace import PaceScreen

        self.app.push_screen(PaceScreen(self.pace, self.phone()))

    def other_way(self) -> FollowScreen:
        """Return the screen that shows this dose as a list."""
        from coach.screens.checklist import ChecklistScreen

        return ChecklistScreen(self.sitting)

    def _turn_aside(self, name: str) -> None:
        self.aside = "" if self.aside == name else name
        self.body.scroll_home(animate=False)
        self.show()

    def _tell(self, say: Callable[[], None]) -> None:
        """Tell the sitting something; what it refuses is shown as it says it."""
        try:
            say()
        except CoachError as error:
            self.show()
            self.notice(str(error))
        else:
            self.show()

    def trouble(self) -> None:
        """Stop what runs and ask what is wrong; after the end, show whom to call."""
        self._stop()
        if self.sitting.over:
            self.app.push_screen(ContactsScreen(self.sitting.words.contacts("nurse")))
        else:
            self.app.push_screen(WrongScreen(self.sitting))

    def leave(self) -> None:
        """Stop what runs and ask before leaving; a dose that has ended is closed.

        In a window where no question can be read none is asked, and the dose stays as it is.
        """
        self._stop()
        if self.too_small:
            leave_coach(self, self.sitting)
        elif self.sitting.over:
            self.back()
        else:
            self.app.push_screen(LeaveScreen(self.sitting, self.STAYS))
