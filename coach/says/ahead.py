"""What is said of the day that lies ahead."""

from __future__ import annotations

AHEAD = {
    "fetch": "take the bag out",
    "opens": "earliest start",
    "due": "dose due",
    "begin-by": "last time to take the bag out",
    "closes": "latest start",
    "would-end": "the pump is done, if it starts when due",
    "ends": "the pump is done",
    "finish-by": "the bag must be empty",
    "batteries": "new batteries due",
    "tubing": "new tubing due",
    "new-batteries": "new batteries with this dose",
    "new-tubing": "new tubing with this dose",
    "connector": "new connector due",
    "dressing": "new dressing due",
    "delivery": "delivery",
    "reorder": "order more: {what}",
    "runs-out": "may be used up: {what}",
    "expires": "last good day of some: {what}",
}
"""What is due, by its kind: a few words that stand in a row beside a time."""
LATE = {
    "due": "a dose was due",
    "ends": "the pump should be done",
    "finish-by": "the bag should be empty",
    "batteries": "new batteries were due; the next dose begins with them",
    "tubing": "the tubing was kept long enough; the next dose takes a new one",
    "connector": "a new connector was due; call your nurse",
    "dressing": "a new dressing was due; call your nurse",
    "expires": "past its date, not to be used: {what}",
}
"""The same once its time has passed, where that is said in other words."""
AHEAD_ROW = "{time}  {what}, {left}"
LATE_ROW = "{time}, {left}: {what}"
TOLD_AHEAD = "{time}, {left}: {what}."
AHEAD_IN = "in {left}"
AHEAD_AGO = "{left} ago"
AHEAD_NOW = "now"
DAY_END = "the end of {day}"
DAYS_AWAY = {-1: "yesterday", 0: "today", 1: "tomorrow"}
WARNINGS = {
    "closing": (
        "Start by {begin_by}, in {left}. If you cannot, do not hurry: call your nurse, {phone}."
    ),
    "too-late": (
        "A bag can no longer warm up by {closes}. Do not start before you have called your "
        "nurse, {phone}."
    ),
    "pump-closing": (
        "The pump has to be started by {closes}, in {left}. If you cannot, do not hurry: call "
        "your nurse, {phone}."
    ),
    "pump-late": (
        "The latest start was at {closes}. If the pump is not running, do not start it. Call "
        "your nurse, {phone}."
    ),
    "bag": (
        "The bag has to be empty by {finish_by}, and the dose would end later. Call your "
        "pharmacist, {pharmacist}."
    ),
}
AND = " and "
UNRECORDED = (
    "Nothing is on record here for the dose due at {time}. If it was not given, do not give two "
    "doses at once. Call your nurse and ask what to do."
)
UNRECORDED_SEVERAL = (
    "Nothing is on record here for {number} doses, due at {times}. If one was not given, do not "
    "give two doses at once. Call your nurse and ask what to do."
)
UNRECORDED_MANY = (
    "Nothing is on record here for {number} doses, due from {first} to {last}. If one was not "
    "given, do not give two doses at once. Call your nurse and ask what to do."
)
ZONE = (
    "All times are by the clock in {zone}. It is {time} there. The clock of this computer says "
    "{own}."
)
NEXT_DAY = "{cells}  24 hours"
MARKS = {
    "fetch": "T",
    "opens": "[",
    "due": "D",
    "begin-by": "L",
    "closes": "]",
    "ends": "E",
    "finish-by": "X",
    "batteries": "B",
    "tubing": "N",
}
"""The letter of each kind on the time line; a kind without one has no time of day."""
MARK_NOTHING = "·"
MARK_SEVERAL = "+"
MARK_SAYS = "{mark} {what}"
MARKS_SEVERAL = "more than one"
