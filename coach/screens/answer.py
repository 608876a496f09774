"""What was said on a call: shown on the call card, and written down from it.

Owns the way from the card to the questions and back. The words are kept by the form.
"""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import CoachError
from coach.records.forms import answer_form, answer_to, needs_answer
from coach.says import doses as words
from coach.screens.ask import AskScreen
from coach.screens.frame import Frame
from coach.sitting.sitting import Sitting
from coach.sitting.times import clock_time


def answered(sitting: Sitting) -> str:
    """Return what was written down of the call of now; empty where nothing was."""
    try:
        found = answer_to(sitting)
    except CoachError as error:
        return str(error)
    if found is None:
        return ""
    back = words.READ_BACK if found.read_back else words.NOT_READ_BACK
    said = words.ANSWERED.format(
        who=found.who, time=clock_time(found.at, sitting.dose.zone), words=found.words
    )
    return f"{said} {back}"


def write_answer(screen: Frame, sitting: Sitting, then: Callable[[], None] | None = None) -> None:
    """Ask above *screen* what was said on the call; once it is kept and read back, do *then*."""

    def kept(says: str) -> None:
        screen.notice(says)
        found = answer_to(sitting)
        if then is not None and found is not None and found.read_back:
            then()

    try:
        form = answer_form(sitting)
    except CoachError as error:
        screen.notice(str(error))
    else:
        first = words.ANSWER_FIRST if then is not None else ""
        screen.app.push_screen(AskScreen(form, kept, first))


def waits_for_words(screen: Frame, sitting: Sitting, picked: str, then: Callable[[], None]) -> bool:
    """Tell whether *picked* goes on from a call whose words are not there yet, and ask for them."""
    try:
        waits = needs_answer(sitting, picked)
    except CoachError as error:
        screen.notice(str(error))
        return True
    if waits:
        write_answer(screen, sitting, then)
    return waits
