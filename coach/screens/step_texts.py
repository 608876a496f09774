"""What a step says on a screen: where it stands, why it is done, how it ended.

Owns which words stand in which place. It must never ask a sitting for anything.
"""

from __future__ import annotations

from coach import words
from coach.screens.widgets.line_picture import in_lines
from coach.sitting.view import View

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
