"""What is said of rehearsals, marks and signing off."""

from __future__ import annotations

LEVELS = {
    "alone": "alone",
    "reminder": "with a reminder",
    "hands-on": "with hands-on help",
    "not-yet": "not yet",
}
"""The levels of a mark, the best first. Source: Bondy 1983 (restated)."""
SHORT = {"alone": "alone", "reminder": "reminder", "hands-on": "hands-on", "not-yet": "not yet"}
"""The same, as the cells of the sheet and its legend have them."""

SKIPPED = "{skipped} of {whole} were skipped for practice."
NO_WAIT = "There is no wait here that can be skipped. Scrubbing and drying take their whole time."
NO_SURPRISE = "That surprise cannot be dealt now. Look at the list again."
NONE_TO_PICK = "There is no surprise that can be dealt now."
ONE_AT_A_TIME = "The last surprise is still to be met."
NO_SUCH_LEVEL = "There is no such level. The levels are: {levels}."
MISSED_NOT_ALONE = "This surprise was missed, so it was not met alone."
PROMPTS = "Please type a whole number of prompts from 0 to 999."
LEFT_TABLE = "Left the table."
CAME_BACK = "Stopped, to do it again."
TOOK_BACK = "Took back what was said."
SAID_NOTHING = "Nothing was said of it in time."
DID = "{title}: {said}"
DONE = "done"
TYPED = "typed {typed}"
TOLD = "told: {says}"
THEN = "Then: {do}"

CHOSEN = "{choice}: {value}"
UNDER_WAY = "A rehearsal is under way. Take it up again first, or put it aside."
NONE_UNDER_WAY = "No rehearsal is under way."
NO_NAME = "Please type a name."
NO_LEARNER = "There is no such learner."
NO_QUESTION = "There is no such question, or no such point of it."
NOT_SIGNED = "Not signed off. {missing}"

COUNTS = "This rehearsal counts: each critical step was done alone."
CAME_TO_NOTHING = (
    "It was not done to its end, so it does not count. All that was marked was done alone."
)
STILL_OPEN = "This rehearsal is still under way."
UNREAD = "Its record cannot be read, so it does not count."
NOT_ALONE = "It does not count. {title}: {level}."
NOT_MARKED = "It does not count. {title}: not marked."
MISSED = "It does not count. The surprise “{says}” was missed."
SURPRISE_NOT_ALONE = "It does not count. The surprise “{says}”: {level}."
SURPRISE_NOT_MARKED = "It does not count. The surprise “{says}” was not marked."

RULE = (
    "The agency's rule: {runs} rehearsals alone in a row, on {days} days at least, {surprises} "
    "of them with a surprise at least."
)
NO_NUMBER = "No number of rehearsals that is enough has been published: the rule is the agency's."
NOTHING_MISSING = "Nothing is missing: the rule of the agency holds."
STILL_MISSING = "Still missing: {parts}."
MORE_RUNS = "alone in a row: {number} more"
MORE_DAYS = "on another day: {number} more"
MORE_SURPRISES = "with a surprise: {number} more"
NOT_SHOWN = "not yet shown alone as they are now: {titles}"
AND_MORE = "{titles} and {number} more"

TO_SHOW = "Since {learner} was signed off, {number} steps are new or changed: {titles}."
TO_SHOW_ONE = "Since {learner} was signed off, one step is new or changed: {titles}."

WENT = "last time {level}, on {day}"
WAS_MISSED = "missed on {day}"
NOT_SINCE = "not done since {day}"
NEVER = "never marked yet"
IS_CHANGED = "new or changed since the sign-off"
NOT_SAID = "not all of it was said, on {day}"
NEVER_ASKED = "never asked yet"

PART_AGAIN = "{part}, time {number}"
IF_WRONG = "If it goes wrong: {part}"
SAME_TITLE = "{title} ({number})"
IN_PART = "{title} ({heading})"

PAGE_TITLE = "Competence sheet"
PAGE_LEARNER = "Learner: {name}, {role}"
PAGE_LEARNER_BARE = "Learner: {name}"
PAGE_SHEET = "Order sheet: {sheet}, version {version}. {medicine}"
PAGE_LEVELS = "Levels: {levels}."
PAGE_LEGEND = "* critical: has to be done alone. + new or changed since the sign-off. - not marked."
PAGE_LOWEST = "Of several marks at one visit the lowest is shown, never an average."
PAGE_VISITS = "Visits"
PAGE_VISIT = "{number}. {day}, {nurse}"
PAGE_NO_RUN = "No rehearsal."
PAGE_STEPS = "Steps"
PAGE_SURPRISES = "Surprises"
PAGE_WENT = {"right": "right", "missed": "missed", "open": "not met"}
PAGE_TEACH_BACK = "In their own words"
PAGE_SAID = "{said} of {points}"
PAGE_TOLD = "{title}: {cells}"
PAGE_SAID_TOLD = "({said} of {points})"
PAGE_CELL = "visit {first} {cell}"
PAGE_CELLS = "visits {first} to {last} {cell}"
PAGE_WENT_SO = "{went} ({level})"
PAGE_SIGNED = "Signed off by {nurse} on {day}."
PAGE_NOT_SIGNED = "Not signed off yet."
PAGE_NEXT = "To practise next"
PAGE_NEXT_ROW = "{says}: {reason}"
PAGE_NOTES = "Notes"
PAGE_NOTE = "{day}, {title}: {level}, prompts: {prompts}. {note}"
