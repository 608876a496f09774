"""Which keys a key line has room for, and all of them in a list behind F1.

Owns what gives way, and how the list looks. It must never decide which keys work: the screen
that opens it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.widget import Widget

from coach import keys, words
from coach.says import rehearsal as texts
from coach.screens.frame import Frame, key_line, numbers
from coach.screens.step_texts import ENTER_SAYS
from coach.screens.widgets.words import Words
from coach.sitting.view import View

Label = tuple[str, str]
"""A key and what it does, for the key line."""
LABEL = (keys.NURSE.shown, texts.KEY_KEYS)
"""What opens the list, for the key line."""
MOST_ROWS = 2
LAST_TO_GO = (keys.PICTURE, keys.UNDO, keys.LEAVE)
"""What gives way once all is gone that a screen itself can do without."""


class KeyListScreen(Frame):
    """What each of some keys does."""

    def __init__(self, every: Sequence[keys.Key]) -> None:
        """Say what *every* one of these keys does."""
        super().__init__()
        self.every = every

    def parts(self) -> Iterable[Widget]:
        """Return the keys, each with what it does."""
        yield Words("\n".join(key_rows(self.every)), id="listed", classes="list")

    def show(self) -> None:
        """Say whose list this is, and how to go back."""
        self.head(texts.NURSE_TITLE)
        self.show_keys(("Esc", words.KEY_BACK))


def key_rows(every: Iterable[keys.Key]) -> list[str]:
    """Return a row for each key: its name, then what it does here."""
    return [texts.KEY_ROW.format(key=key.shown, says=_says(key)) for key in every]


def _says(key: keys.Key) -> str:
    """Return what *key* does, without that it is in a rehearsal."""
    says = key.says.removeprefix(keys.IN_A_REHEARSAL)
    return says[0].upper() + says[1:]


def beside(
    labels: Sequence[Label], side: Sequence[Label], gives_way: Iterable[keys.Key], width: int
) -> list[Label]:
    """Return *side*, the keys that stand after *labels*, with F1 for the list of all of them.

    Those of *gives_way*, in turn, are left out where there would be a third row: they are heard all
    the same, and stand in the list. Where none can give way, F1 is named if a row has room for it.
    """
    kept = [label for label in side if label != LABEL]
    going = tuple(gives_way)
    if not going:
        more = _rows([*labels, *kept, LABEL], width) > _rows([*labels, *kept], width)
        return kept if more else [*kept, LABEL]
    kept.append(LABEL)
    for key in (*going, *LAST_TO_GO):
        if _rows([*labels, *kept], width) > MOST_ROWS:
            kept = [label for label in kept if label[0] != key.shown]
    return kept


def _rows(labels: Sequence[Label], width: int) -> int:
    return key_line(labels, width).count("\n") + 1


def answer_labels(view: View) -> list[Label]:
    """Return the keys that answer the step of *view*; none while its time is not over."""
    if view.choices:
        if {choice.name for choice in view.choices} == {"yes", "no"}:
            return [(words.YES_NO, words.KEY_ANSWER)]
        return [(numbers(len(view.choices)), words.KEY_ANSWER)]
    if view.timer is not None and not view.timer.over:
        return []
    says = ENTER_SAYS.get(view.way, "")
    return [("Enter", says)] if says else []
