"""The words of the visit report, and what the statuses of doses are called.

Owns the texts. It must never hold behaviour.
"""

STATUS = {
    "in-progress": "under way",
    "on-hold": "paused",
    "completed": "given in full",
    "stopped": "stopped early",
    "not-done": "not given",
    "entered-in-error": "entered in error",
    "unknown": "nobody can tell",
}
"""How each status is called, by its name in the standard."""
SHORT = "given in part"
"""How one is called of which less went in, though nobody told that it was stopped early."""
HOW_MUCH_UNKNOWN = "given, but nobody knows how much"
"""How one from paper is called that was written down without its volume."""

TITLE = "Visit report for {person}, order sheet {sheet}"
FROM_TO = "From {since} to {until}."
ORDER = "Ordered: {medicine} {dose}, {volume} at {rate}."
TROUBLES = "What went wrong"
NO_TROUBLES = "Nothing is on record as wrong, and no call."
TOLD = "{when}: {title}."
THEN = "Then: {steps}."
CALLED = "{when}: {title}. Call to: {call}. {says}"
ANSWERED = "{who} said: {words}"
NO_ANSWER = "No answer was written down."
DISAGREED = "{when}: typed {typed} at “{asks}”, which is not as ordered."
DOSES = "The doses"
COUNTED = "Due: {due}. Given in full: {given}. Stopped early: {stopped}. Not given: {not_done}."
SHORT_COUNTED = "Given in part: {short}."
GOING = "Under way, or not known: {going}."
NO_DOSES = "No dose is on record in this time. What was given without the coach is not here."
DOSE = "{due}: {status}{late}{given}{by}."
LATE = ", started {minutes} minutes after it was due"
EARLY = ", started {minutes} minutes before it was due"
GIVEN = ", {given} of {volume}"
BY = ", by {gave}"
PAPER = " (from paper)"
REASON = "Why {kind}: {words} ({who})"
NO_REASON = "Nobody has written down why."
CORRECTED = "Corrected by {who} on {day}: {field} said {said}, now says {says}. Why: {why}."
NOTE = "Note: {words}"
AND_MORE = "{number} more were given in full and in time, with nothing told as wrong."
WEEKS = "Week by week"
WEEK = "Week of {monday}: {doses} begun, {resisted} with resistance, {spoiled} with a soiling."
COMPETENCE = "What the person can do"
SUPPLIES = "Supplies"
QUESTIONS = "Questions for the nurse"
NO_QUESTIONS = "No question was written down."
ASKED = "{when}: {words}"
ITEM = "- {text}"
"""One line of a list."""
