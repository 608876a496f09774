"""A rehearsal: the dose as it is followed, plainly marked as practice, with the nurse beside it.

Owns what the nurse's keys show, and where the surprise stands. What can be dealt, and whether it
was met, comes from the rehearsal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import ClassVar

from textual.widget import Widget

from coach import keys
from coach.errors import CoachError
from coach.journal.teaching import LEVELS
from coach.practice.beside import Beside
from coach.practice.rehearsal import Rehearsal
from coach.says import rehearsal as texts
from coach.screens.follow import FollowScreen
from coach.screens.frame import Frame
from coach.screens.marks import MarksScreen
from coach.screens.one_line import OneLineScreen
from coach.screens.widgets.key_list import KeyListScreen
from coach.screens.widgets.words import Words
from coach.screens.wrong import Line, WrongScreen
from coach.sitting.view import View

NURSES = (keys.NURSE, keys.DEAL, keys.SKIP, keys.PROMPT, keys.MARK, keys.MARK_NOTE)
NOT_HERE = (keys.LIST, keys.REPLY)
"""What a dose has and a rehearsal has not: the list, and the words of a call that was made."""


class PracticeScreen(FollowScreen):
    """The step to do now, in a rehearsal."""

    STAYS = texts.STAYS
    GIVE_WAY: ClassVar[tuple[keys.Key, ...]] = (
        keys.MARK_NOTE, keys.PROMPT, keys.SKIP, keys.MARK, keys.DEAL, keys.NOTE,
    )  # fmt: skip

    def __init__(self, rehearsal: Rehearsal) -> None:
        """Follow *rehearsal*."""
        super().__init__(rehearsal.sitting)
        self.rehearsal = rehearsal
        self.beside = Beside(rehearsal)
        self.told = ""
        """What the nurse was told last."""

    def parts(self) -> Iterable[Widget]:
        """Return the surprise and the skipped wait, above all that a step can have."""
        yield Words(id="seen")
        yield Words(id="skipped")
        yield from super().parts()

    def foot(self) -> Iterable[Widget]:
        """Return the nurse's line below the place in the dose, and that no call is real."""
        yield Words(id="not-real")
        yield from super().foot()
        yield Words(id="nurse")

    def show(self) -> None:
        """Compare what was done with the surprise that was dealt, then show the step to do now."""
        told = self._safely(self.beside.look)
        # A small window has no room for more than what matters most.
        self._tell_nurse(told.split("\n")[0] if self.small else told)
        super().show()

    def _show_step(self, view: View) -> None:
        super()._show_step(view)
        pending = self.rehearsal.pending
        self.say("not-real", texts.NOT_REAL if view.card else "")
        if self.sitting.over:
            self.say("sentence", texts.ENDED)
            self.say("why", texts.ENDED_NEXT)
        self.say("seen", texts.SEEN.format(shown=pending.shown) if pending else "")
        self.say("skipped", self.rehearsal.skipped())

    def _side_keys(self, view: View) -> list[tuple[str, str]]:
        shown = ("", *(key.shown for key in NOT_HERE))
        labels = [label for label in super()._side_keys(view) if label[0] not in shown]
        return [*labels[:-1], *self._nurse_keys(), labels[-1]]

    def _nurse_keys(self) -> list[tuple[str, str]]:
        labels = [(keys.NURSE.shown, texts.KEY_KEYS), (keys.DEAL.shown, texts.KEY_DEAL)]
        if self.rehearsal.can_skip():
            labels.append((keys.SKIP.shown, texts.KEY_SKIP))
        labels.append((keys.PROMPT.shown, texts.KEY_PROMPT))
        labels.append((keys.MARK.shown, texts.KEY_MARK))
        return labels

    def show_keys(self, *labels: tuple[str, str]) -> None:
        """Show what the keys do; all that there are, once one key was pressed, at every step."""
        here = [label for label in labels if label[0] not in (key.shown for key in NOT_HERE)]
        if not any(key == keys.NURSE.shown for key, _ in here):
            here.append((keys.NURSE.shown, texts.KEY_KEYS))
        super().show_keys(*here)

    # The nurse's keys

    def nurse(self, does: str) -> None:
        """Do what a key of the nurse asks."""
        acts: dict[str, Callable[[], str]] = {
            "keys": self._keys,
            "deal": self._deal,
            "skip": self._skip,
            "prompt": self.beside.prompt,
            "note": self._note,
        }
        self._tell_nurse(self._safely(acts[does]))

    def mark(self, number: int) -> None:
        """Mark what was done last at the level with this number."""
        self._tell_nurse(self._safely(partial(self.beside.mark, LEVELS[number])))

    def _keys(self) -> str:
        if self.is_current:
            line = self.query_one("#keys", Words).text
            side = {key for key, says in self._side_keys(self.view) if f"{key} {says}" not in line}
            hidden = [key for key in keys.KEYS if key.shown in side and key not in NURSES]
            self.app.push_screen(KeyListScreen((*NURSES, *hidden)))
        return ""

    def _deal(self) -> str:
        if not self.is_current:
            return ""
        if self.rehearsal.pending is not None:
            return texts.ONE_AT_A_TIME
        if not self.rehearsal.can_deal():
            return texts.DEAL_NONE
        self.app.push_screen(DealScreen(self.rehearsal))
        return ""

    def _skip(self) -> str:
        said = self.rehearsal.skip_wait()
        if not self.is_current:
            return said
        super().show()
        return ""

    def _note(self) -> str:
        marked = self.rehearsal.last_to_mark()
        if marked is None:
            return texts.NOTHING_TO_NOTE
        if marked.mark is None:
            return texts.MARK_FIRST
        if self.is_current:
            asks = texts.ASK_NOTE.format(title=marked.title)
            self.app.push_screen(OneLineScreen(asks, self._keep))
        return ""

    def _keep(self, note: str) -> None:
        self._tell_nurse(self.beside.note(note))

    def _safely(self, act: Callable[[], str]) -> str:
        """Do *act*; what it refuses is told as it says it."""
        try:
            return act()
        except CoachError as error:
            return str(error)

    def _tell_nurse(self, text: str) -> None:
        """Tell the nurse something on the screen that is on top."""
        if not text:
            return
        self.told = text
        self.say("nurse", text)
        top = self.app.screen
        if top is not self and isinstance(top, Frame):
            top.notice(text)

    # The end

    def enter(self) -> None:
        """Go on as in a dose; after the end mark what is not marked yet."""
        if self.sitting.over:
            self.back()
        else:
            super().enter()

    def back(self) -> None:
        """Show the marks: the rehearsal has ended."""
        if self.is_current:
            self.app.switch_screen(MarksScreen(self.rehearsal))

    def letter(self, key: str) -> None:
        """Do what the key means in a dose, but for what a rehearsal does not have."""
        if not any(key in one.presses for one in NOT_HERE):
            super().letter(key)


class DealScreen(WrongScreen):
    """What can be dealt now, for the nurse."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        """Deal in *rehearsal*."""
        self.rehearsal = rehearsal
        super().__init__(rehearsal.sitting)
        self.title_now = texts.DEAL_TITLE

    def _top(self) -> Sequence[Line]:
        deal = self.rehearsal.deal
        return (
            Line(texts.DEAL_PICK, self.enter),
            *(
                Line(one.says, partial(self._dealt, partial(deal, one.name)))
                for one in self.rehearsal.can_deal()
            ),
        )

    def enter(self) -> None:
        """Let the coach pick."""
        self._dealt(self.rehearsal.pick)

    def _dealt(self, deal: Callable[[], object]) -> None:
        try:
            deal()
        except CoachError as error:
            self.notice(str(error))
        else:
            self.back()

    def leave(self) -> None:
        """Go back: nothing is dealt."""
        self.back()
