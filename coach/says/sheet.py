"""What is said of an order sheet that is changed: who signs it, and field by field in lines."""

from __future__ import annotations

SIGN_ASKS = "Who checked this version?"
SIGN_WHY = "The name on the version before does not count for this one."
SIGN_EMPTY = "Type the name of who checked it, then press Enter."

AT_FIELD = (
    "You are at field {number} of {fields} of the order sheet, {field}.",
    "The coach asks each number and each name of a dose by this sheet. Nothing is kept before "
    "the end.",
)
"""Where one is, and why that is asked; so are the others that begin like it."""
AT_END = (
    "You are at the end of the order sheet, and nothing is kept yet.",
    "A sheet that is kept counts from the next dose on.",
)
AT_SIGN = (
    "You are at the end of the order sheet, at the name of who checked it.",
    SIGN_WHY,
)

TALK_HEAD = (
    "This is the order sheet {path}. Each field comes in turn. Press Enter to leave it as it "
    "is, or type what it should be."
)
TALK_HOW = (
    "You can type: out to leave a field out, back for the one before, the name of a field to go to "
    "it, wrong for what is not right yet, or end when you have done."
)
TALK_FIELD = "{field} is {value}."
TALK_LEFT_OUT = "{field} is left out."
TALK_ABOUT = "It means: {about}"
TALK_TAKEN = "{field} is now {value}."
TALK_TAKEN_OUT = "{field} is now left out."
TALK_END = "That was the last field."
TALK_WRONG = "Things that are not right yet: {number}."
TALK_WRONG_AT = "{field}: {says}"
TALK_NOT_YET = "Nothing is kept while something is not right. Type its field, or drop to leave."
TALK_KEEP = "Type next, same or drop, or the name of a field to go on with it."
TALK_ANSWER = "Type {word} for this: {says}."
TALK_DROPPED = "Nothing was changed in the file."
