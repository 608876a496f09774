"""Following a dose: one step on the screen at a time.

Owns how a view looks and which key asks the sitting for what. It decides nothing about the
dose: it shows what the sitting says and passes on what the person says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from textual import events
from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import Input

from coach import clean, keys, words
from coach.errors import CoachError
from coach.screens.card import ContactsScreen, call_first, card_lines, say_lines
from coach.screens.frame import LONGEST_TYPED, Frame, numbered, numbers
from coach.screens.leave import LeaveScreen
from coach.screens.note import NoteScreen
from coach.screens.widgets.line_picture import in_lines, in_rows
from coach.screens.widgets.timer import TimerPanel
from coach.screens.widgets.words import Words
from coach.screens.wrong import WrongScreen
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View

SHORTER = (("close", "done"), ("tight", "why"), ("tightest", "next"))
"""How a step that does not fit is made shorter, by the style sheet's name for it and what goes:
what was done, the reason, which has a key of its own then, and at last what comes next."""
HEAD_EDGES = 3
"""Columns of the top line that stay free: one at each edge, and one between."""
TIGHTER = tuple(name for name, _ in SHORTER)
ENTER_SAYS = {
    "act": words.KEY_DONE,
    "run": words.KEY_START,
    "wait": words.KEY_GO_ON,
    "reading": words.KEY_CHECK,
    "recheck": words.KEY_CHECK,
    "finished": words.KEY_TODAY,
    "stopped": words.KEY_TODAY,
}
"""What Enter does, by the view's way; nothing where a number is picked."""


class FollowScreen(Frame):
    """The step to do now."""

    def __init__(self, sitting: Sitting) -> None:
        """Follow *sitting*."""
        super().__init__()
        self.sitting = sitting
        self.view = view_of(sitting)
        self.shown_step: tuple[str, int, bool] = ("", -1, False)
        self.resized = False
        """Whether the window has a new size since the last look."""
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
            self.sitting.stop_run()
            self.notice(str(error))
            return
        if view_of(self.sitting) == self.view:
            return
        self.show()
        if moved or (self.view.timer is not None and self.view.timer.over and not was_over):
            self.app.bell()

    def show(self) -> None:
        """Show the step to do now."""
        self.view = view = view_of(self.sitting)
        step = (view.step, len(self.sitting.moments), view.running)
        if step != self.shown_step:
            self.shown_step, self.aside = step, ""
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
        room = self.width - len(title) - HEAD_EDGES
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
        self.say("stretch", numbered(view.stretch, self.list_width))
        self.say("pump", pump_lines(view))
        self.say("asks", view.asks)
        self.say("card", card_lines(view.card) if view.card else "")
        self.say("words-to-say", say_lines(view.card) if view.card else "")
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

    def _show_keys(self) -> None:
        view = self.view
        labels = [("Esc", words.CALL_TITLE if self.sitting.over else words.KEY_WRONG)]
        if view.running:
            labels.append((words.ANY_KEY, words.KEY_STOP))
        else:
            labels += self._answer_keys(view)
        if view.way == "reading":
            labels.append(("Ctrl+Q", words.KEY_LEAVE))
        elif not view.running and not self.sitting.over:
            labels += self._side_keys(view)
        self.show_keys(*labels)

    def _answer_keys(self, view: View) -> list[tuple[str, str]]:
        if view.choices:
            if {choice.name for choice in view.choices} == {"yes", "no"}:
                return [(words.YES_NO, words.KEY_ANSWER)]
            return [(numbers(len(view.choices)), words.KEY_ANSWER)]
        if view.timer is not None and not view.timer.over:
            return []
        says = ENTER_SAYS.get(view.way, "")
        return [("Enter", says)] if says else []

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
        if not self.small:
            labels.append((keys.NOTE.shown, words.KEY_NOTE))
        labels.append((keys.LEAVE.shown, words.KEY_LEAVE))
        if not self.small and view.card is None:
            nurse = self.sitting.words.contact("nurse", "Nurse")
            labels.append(("", words.CALL_LINE.format(who=nurse.who, phone=nurse.phone)))
        return labels

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Stop what runs, whatever the key; else do what the key means."""
        if self.view.running:
            event.stop()
            event.prevent_default()
            self._stop_run()
        else:
            super().on_key(event)

    def _stop_run(self) -> None:
        self.sitting.stop_run()
        self.show()
        self.notice(words.RUN_STOPPED)

    def enter(self) -> None:
        """Say that the step is done, or start its timer."""
        way = self.view.way
        if way in ("question", "stop"):
            self.notice(words.HINT_PICK)
        elif way in ("finished", "stopped"):
            self.back()
        else:
            self._tell(self.sitting.start_run if way == "run" else self.sitting.done)

    def pick(self, number: int) -> None:
        """Give the answer with this number."""
        if number <= len(self.view.choices):
            name = self.view.choices[number - 1].name
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

    def letter(self, key: str) -> None:
        """Answer yes or no, take back, or show the reason or the picture."""
        names = [choice.name for choice in self.view.choices]
        answer = {"y": "yes", "n": "no"}.get(key, "")
        if answer in names:
            self._tell(lambda: self.sitting.answer(answer))
        elif key in keys.UNDO.presses:
            self._tell(self.sitting.undo)
        elif key in keys.NOTE.presses and not self.sitting.over:
            self.app.push_screen(NoteScreen(self.sitting))
        elif key in keys.WHY.presses and (self.aside or self.has_class("tight")):
            self._turn_aside("why")
        elif key in keys.PICTURE.presses and (self.aside or self.small):
            self._turn_aside("picture")

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
        self.sitting.stop_run()
        if self.sitting.over:
            self.app.push_screen(ContactsScreen(self.sitting.words.contacts("nurse")))
        else:
            self.app.push_screen(WrongScreen(self.sitting))

    def leave(self) -> None:
        """Stop what runs and ask before leaving; a dose that has ended is closed."""
        self.sitting.stop_run()
        if self.sitting.over:
            self.back()
        else:
            self.app.push_screen(LeaveScreen(self.sitting))


def reason(view: View) -> str:
    """Return why the step is done, or what comes next after it."""
    if view.stretch:
        return words.STRETCH_HOW
    if view.way in ("finished", "stopped"):
        return words.ENDED_NEXT
    return words.WHY.format(why=view.why) if view.why else ""


def heads(view: View) -> tuple[str, ...]:
    """Return the title of a step, then what may stand beside it, the fullest first."""
    if view.card is not None and view.card.emergency:
        return words.EMERGENCY_TITLE, view.part
    if view.urgent:
        return words.URGENT, view.part
    at = view.place
    if at is None:
        return (view.part,)
    full = words.PLACE.format(step=at.step, steps=at.steps, part=at.part, parts=at.parts)
    return view.part, full, words.PLACE_SHORT.format(step=at.step, steps=at.steps)


def picture_list(view: View) -> str:
    """Return the picture as a list, under the part of the dose that one is in."""
    lines = [words.PICTURE_TITLE, in_lines(view.picture)]
    if view.place is not None:
        lines.insert(0, words.PART.format(part=view.place.part, parts=view.place.parts))
    return "\n".join(lines)


def pump_lines(view: View) -> str:
    """Return what the pump card adds to the step."""
    if view.pump is None:
        return ""
    press = words.PRESS.format(press=view.pump.press)
    return f"{press}\n{words.EXPECT.format(expect=view.pump.expect)}"


def ended_or(view: View) -> str:
    """Return what to do, or how the dose ended."""
    ends = {"finished": words.FINISHED, "stopped": words.STOPPED}
    return ends.get(view.way, view.do)
