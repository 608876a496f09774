"""The words of the list on paper.

Owns the texts that only paper says. It must never hold behaviour.
"""

BLANK = "______"
"""Where a number is written by hand."""

COUNT = "Count slowly to {seconds}."
FROM_TO = "From __:__ to __:__ ({time})."
ORDERED = "______ Ordered: {ordered}."
AT_MOST = "______ At most {ordered}."
OUTLASTS = "______ Past the end of the dose?"
WITHIN = "Since __:__, now __:__. At most {most}, with the {ahead} to come."
WITHIN_BARE = "Since __:__, now __:__. At most {most}."
WITHIN_DUE = "Due __:__, now __:__. At most {most} late?"
RECHECK = "Now __:__. See line {number}."
PRESS = "Pump: {press}"

NO = "If not: {to}."
NO_AFTER = "If not: {to}, after {after}."
AGAIN = "Again {lines}."
AGAIN_FROM = "Again {lines}, then on from {starts}."
BACK_TO = "Go back to {starts}."
BEFORE = "Again {lines}, before you come to {befores}."
BEFORE_NEXT = "Again {lines}, before the next of {befores}."
NOT_RIGHT = "If still not so: {do}"
ELSE = "{does} If not: {call} If so:"
GO_ON = "Then go on."
AT = "At {lines}:"

TITLE = "{title}: {medicine} {dose}, {volume} at {rate}"
FOR = "{person}, allergies: {allergies}."
HOW = (
    "Tick from top to bottom. “If not: 3–5”: do lines 3 to 5 again. “If not: A”: look under A, "
    "after this part. After a call, go on only if you are told to."
)
AS_NOW = "For one dose, as the record stood at {time}: {circumstances}."
CIRCUMSTANCES = {
    ("last", "finished"): "the last dose was finished",
    ("last", "stopped"): "the last dose was not finished",
    ("batteries", "due"): "batteries due",
    ("batteries", "not-due"): "batteries not due",
    ("tubing", "new"): "new tubing",
    ("tubing", "kept"): "tubing kept from the last dose",
}
SEE_BOX = "See {to}, after {after}."
SEE = "Trouble: {letters}"
"""Beside the name of a part: which of the troubles after the list can come there."""
WRONG = "If something goes wrong"
WRONG_HOW = (
    "What has a letter can come in the parts that name it; the rest can come at any line. Numbers "
    "are lines. Of several to go back to, take the last one above."
)
DEMONSTRATION = "DEMONSTRATION"
CALL = "{who} {phone}"
FOOT = "{id}, version {version}, {date}. Content {content}."
NO_LIBRARY = "Paper needs the Python package typst. Install it, then try again."
NO_PDF_THERE = "{path} is not a PDF. Nothing was written over it; name another file."
NOT_WRITTEN = "{path} could not be written: {why}."
WRITTEN = "{path} is written."
SUPPLIES = "Supplies, {time}"
COMPETENCE = "What each learner can do, {time}"
VISIT = "Visit report"
