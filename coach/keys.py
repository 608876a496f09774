"""The one table of keys: what each is called and what it does.

Owns which key does what on every screen; the key line, the help and the README are made from
it. It must never decide whether a key is allowed now: the sitting does that.
"""

from __future__ import annotations

from typing import NamedTuple


class Key(NamedTuple):
    """One key, or a few that do the same."""

    presses: tuple[str, ...]
    """As the terminal reports them."""
    shown: str
    """What stands on the key, for the key line."""
    says: str
    """What it does, in full, for the help."""


IN_A_REHEARSAL = "In a rehearsal: "

WRONG = Key(("escape",), "Esc", "Something is wrong, or whom to call; press it again to go back")
ENTER = Key(("enter",), "Enter", "Done, start or next: what the key line says")
PICK = Key(tuple("123456789"), "1-9", "Pick the answer with that number")
YES = Key(("y",), "y", "Yes, where the answer is yes or no")
NO = Key(("n",), "n", "No, where the answer is yes or no")
WHY = Key(("w",), "w", "Why, where the window has no room for it")
UNDO = Key(("u",), "u", "Take back the last answer")
PICTURE = Key(("p",), "p", "Picture of the line, where a small window has no room for it")
MORE = Key(("space", "pagedown"), "Space", "More below; at the end, back to the top")
NOTE = Key(("t",), "t", "Type a note that is kept with this dose")
MOVE = Key(("up", "down"), "↑↓", "Up or down in a list, such as the fields of an order sheet")
KEEP = Key(("k",), "k", "Keep an order sheet as it stands now")
PACE = Key(("h",), "h", "How is it going: what is left now; from the doses so far, how they went")
SUPPLIES = Key(("s",), "s", "Supplies, from Today: what is there, and writing down what came")
LIST = Key(("l",), "l", "The whole dose as a list to tick off, or one step at a time again")
LEFT = Key(("o",), "o", "Only what is left of the list, or all of it")
ASIDE = Key(("a",), "a", "In a rehearsal: put aside the one that is under way")
OWN_WORDS = Key(("b",), "b", "In a rehearsal: questions to be answered in one's own words")
COMPETENCE = Key(("c",), "c", "In a rehearsal: the competence sheet")
MARKS = Key(("m",), "m", "In a rehearsal: the marks of the last one at this visit")
SIGN = Key(("g",), "g", "In a rehearsal: sign off, once the rule holds")
NURSE = Key(
    ("f1",),
    "F1",
    "In a dose: all its keys, also while you type; the nurse's in rehearsal",
)
DEAL = Key(("f2",), "F2", "In a rehearsal: deal a surprise")
SKIP = Key(("f3",), "F3", "In a rehearsal: skip the rest of a wait")
PROMPT = Key(("f4",), "F4", "In a rehearsal: count a prompt at this step")
MARK = Key(
    ("f5", "f6", "f7", "f8"),
    "F5-F8",
    "In a rehearsal: mark it alone, with a reminder, hands-on, or not yet",
)
MARK_NOTE = Key(("f9",), "F9", "In a rehearsal: a note that is kept with the mark")
RECORDS = Key(("d",), "d", "The doses so far, from Today: what was given, and what went wrong")
FIND = Key(("f",), "f", "Find doses by how they went, or by words")
VISIT = Key(("v",), "v", "The visit report, from the doses so far: what the nurse wants to know")
ADD = Key(("e",), "e", "Write something down: of a dose, for the nurse, or from paper")
REPLY = Key(("r",), "r", "At a call: write down what was said, and by whom")
LEAVE = Key(
    ("q", "ctrl+q"), "q", "Leave, Ctrl+Q while you type; asks first while a dose is under way"
)
HINT = Key(("ctrl+c",), "Ctrl+C", "Say how to leave")
ANY = Key((), "Any key", "Stop what runs by itself, such as the timer of a scrub")

KEYS = (
    WRONG, ENTER, PICK, YES, NO, WHY, UNDO, PICTURE, NOTE, PACE, LIST, LEFT, SUPPLIES,
    RECORDS, FIND, VISIT, ADD, REPLY, MORE, MOVE, KEEP,
    ASIDE, OWN_WORDS, COMPETENCE, MARKS, SIGN, NURSE, DEAL, SKIP, PROMPT, MARK, MARK_NOTE,
    LEAVE, HINT, ANY,
)  # fmt: skip
"""Every key that does something, in the order in which help names them."""


def key_table() -> tuple[str, ...]:
    """Return the table as lines of text: the key, then what it does."""
    width = max(len(key.shown) for key in KEYS)
    return tuple(f"{key.shown:{width}}  {key.says}" for key in KEYS)
