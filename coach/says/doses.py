"""The words of the records: the list of doses, one dose, how they went, and what is added.

Owns the texts. It must never hold behaviour.
"""

from __future__ import annotations

TITLE = "The doses so far"
HEAD = "{given} of {due} doses here were given in full."
NONE_YET = "No dose is on record yet."
NONE_FOUND = "No dose fits “{words}”."
EVERY = "Every dose"
LOOKING_FOR = "Only: {words}"
LOOKING_BACK = "Only: {words}. Looking back, at {day} now."
TOLD_SEARCHED = "Looked back to {day}. Type older to look on from there."
KEY_RECORDS = "Doses"
KEY_OPEN = "Open"
KEY_FIND = "Find"
KEY_ADD = "Write down"
KEY_REPORT = "Report"
KEY_TRENDS = "How it went"
KEY_ANSWER_CALL = "Words said"

MARKS = {
    "in-progress": "o",
    "on-hold": "=",
    "completed": "+",
    "stopped": "!",
    "not-done": "-",
    "entered-in-error": "x",
    "unknown": "?",
}
"""The mark of each status; its word always stands beside it."""
MARK_SHORT = "/"
"""The mark of one that was given in part."""
STRIP_DAY = "{day} {marks}"
DOSE_ROW = "{mark} {time} {status}{more}"
WITH_TROUBLE = ", something went wrong"
WITH_SPOILING = ", something was soiled"
FROM_PAPER = ", from paper"

DOSE_TITLE = "One dose"
DOSE_DUE = "Due {due}: {status}."
WHEN_BEGUN = "Begun {begun}."
WHEN_LATE = "The medicine was started {minutes} minutes late."
WHEN_EARLY = "The medicine was started {minutes} minutes early."
ORDERED = "Ordered: {medicine} {dose}, {volume} at {rate}."
GIVEN = "Went in: {given} of {volume}."
GIVEN_LATER = "How much went in is asked at the end."
GIVEN_UNKNOWN = "Nobody knows how much went in."
LEFT = "Read off as left: {left}."
BAG = "Bag: good until {discard}."
LOT = "Lot {lot}."
GAVE = "Given by {gave}."
PRESSED = "Keys pressed by {pressed}."
TYPED = "{time} typed {typed} at “{asks}”: {agreed}"
AGREED = "as ordered."
NOT_AGREED = "not as ordered."
SITE = "{time} {asks} {says}."
TOLD = "{time} {title}."
THEN = "Then: {steps}."
CALL = "{time} Call to the {call}: {title}."
CALL_EMERGENCY = "{time} A call for help: {title}."
ANSWER = "{who} said: {words}"
READ_BACK = "It was read back."
NOT_READ_BACK = "It was not read back."
REASON = "Why {kind}: {words} ({who})"
REASON_BARE = "Why {kind}: {words}"
CORRECTED = "{time}, {who}: {field} said {said}, now says {says}. Why: {why}"
NOTE = "{time} Note: {words}"
NOTHING_SAID = "nothing"
KINDS = {"late": "late", "early": "early", "not-done": "not given"}
FIELDS = {
    "given": "how much went in",
    "started": "when the pump was started",
    "over": "when the medicine was over",
    "gave": "who gave it",
    "pressed": "who pressed the keys",
    "lot": "the lot of the bag",
    "site": "the look at the site",
    "status": "how it stands",
}
"""What a correction can be of, as it is called."""

LINE_HEAD = "What happened when:"
LINE_PART = "{since}-{until} {bar} {what}"
LINE_AT = "{since}       {bar} {what}"
LINE_OPEN = "{since}-now   {bar} {what}"
WHAT = {
    "warm": "getting ready",
    "flush": "flush, {volume}",
    "lock": "lock, {volume}",
    "flow": "medicine in",
    "paused": "a pause",
    "end": "the end",
}
BARS = {"warm": "~", "flush": "^", "lock": "#", "flow": "=", "paused": ".", "end": "|"}

CHANGE_HEAD = "Beside the dose before, due {due}:"
CHANGE_TIME = "It took {minutes} minutes. The one before took {before}."
CHANGE_COUNT = "{what}: {now}. Before: {before}."
CHANGE_SITE = "The look at the body: {now}. Before: {before}."
SOILINGS = "Things that were soiled"
RESISTED = "Pushes that did not go in freely"
WELL, NOT_WELL, NO_LOOK = "well", "not well", "no look"

TRENDS_TITLE = "How the doses went"
TRENDS_SPAN = "From {since} to {until}."
ADHERENCE = "{given} of {due} due doses were given in full: {percent} of 100."
REST_HEAD = "The others, and why:"
REST_ROW = "{due}: {status}. {why}"
NO_REASON = "Nobody has written down why."
WINDOW_HEAD = (
    "When the medicine was started. The window lies between [ and ]. "
    "The due time is |, the start is o."
)
WINDOW_ROW = "{due} {plot} {says}"
WINDOW_TOLD_HEAD = "When the medicine was started."
WINDOW_TOLD = "{due}: {minutes}, {says}."
STARTED_AFTER = "{minutes} after it was due"
STARTED_BEFORE = "{minutes} before it was due"
STARTED_AT = "when it was due"
WINDOW_SAYS = {"in-time": "in time", "late": "late", "early": "early", "": "not started"}
GIVEN_HEAD = "How much of the bag went in."
GIVEN_ROW = "{due} {bar} {says}"
GIVEN_TOLD = "{due}: {says}."
GIVEN_SAYS = "{percent} of 100"
GIVEN_NOT_KNOWN = "not known"
WEEK_HEAD = "By week, {weeks} at most: begun, with resistance (r), with a soiling (s)."
WEEK_TOLD_HEAD = "By week, {weeks} at most."
WEEK_ROW = "{monday} {bar} {doses} begun, {resisted} r, {spoiled} s"
SUPPLIES_HEAD = "What is left:"

ADD_TITLE = "Write down"
ADD_ASKS = "What do you want to write down?"
FORMS = {
    "question": "A question for the nurse",
    "visit": "The nurse was here",
    "paper": "A dose that was done on paper",
    "reason": "Why this dose was late, early or not given",
    "given": "Put right how much went in",
    "started": "Put right when the pump was started",
    "over": "Put right when the medicine was over",
    "gave": "Put right who gave it",
    "pressed": "Put right who pressed the keys",
    "lot": "Put right the lot of the bag",
    "site": "Put right what was seen at the site",
    "error": "This dose was entered in error",
    "answer": "What was said on the call",
}
ASKS = {
    "question": "What do you want to ask? Type it in your own words.",
    "nurse": "Which nurse was here? Type the name.",
    "kind": "Was it late, early, or not given? Type late, early or not.",
    "reason": "Why? Type it in your own words.",
    "who": "Who says so? Type the name.",
    "why": "Why is it put right? Type it in your own words.",
    "given": "How much went in? Type the number of mL.",
    "started": "When did the pump start? Type the day and time, such as 25 Nov 2026 14:00.",
    "over": "When was the medicine over? Type the day and time, such as 25 Nov 2026 14:00.",
    "gave": "Who gave it? Type the name.",
    "pressed": "Who pressed the keys? Type the name.",
    "lot": "Which lot is on the label?",
    "site": "Which answer is right for the last look? Type its number. “{asks}” {answers}",
    "due": "When was it due? Type the day and time, such as 25 Nov 2026 14:00.",
    "begun": "When did the pump start? Type the day and time.",
    "ended": "When was all of it in? Type the day and time.",
    "amount": "How much went in, in mL? Enter alone if nobody knows.",
    "writes": "Who writes it down here? Type the name.",
    "words": "What was said? Type it as it was said.",
    "caller": "Who said it? Type the name.",
    "back": "Read it back on the call: “{words}” Is that right? Type yes or no.",
    "find": "Type words, or how it went, such as: not given.",
}
KEPT = "It is written down."
NEEDED = "Please type something, or go back."
NOT_A_NUMBER = "Please type the number alone, such as 50 or 12.5."
TOO_MUCH = "That is more than the bag holds. Please look again."
ONE_ANSWER = "{number}: {says}."
NOT_AN_ANSWER = "Please type a number from 1 to {most}."
NOT_A_KIND = "Please type late, early or not."
NOT_YES_NO = "Please type yes or no."
NOT_DUE = "No dose was due then. Look at the times on the order sheet."
NOT_PAST = "That time has not come yet."
ENDS_BEFORE = "That is before the pump started."
STARTS_AFTER = "That is after the medicine was over, or the pump stood still."
BEFORE_BEGUN = "That is before this dose was begun here, at {begun}. Please look again."
AFTER_ENDED = "That is after this dose ended here, at {ended}. Please look again."
NOT_IN_WINDOW = (
    "The dose due at {due} can start from {opens} to {closes} only. "
    "Pick the dose that this was, or call your nurse."
)
OVER_TOO_LATE = (
    "The dose due at {due} should be over by {by}. Pick the dose that this was, or call your nurse."
)
NOT_THE_SAME = "It stays with the dose as not read back. Ask again, then write it down anew."

FIND_TITLE = "Find doses"
FIND_ASKS = "Which doses do you want to see?"
FIND_WORDS = "Those with words that I type"

ANSWERED = "{who} said at {time}: {words}"
ANSWER_FIRST = "Write down who said so, and what was said. Then the dose goes on."

REPORT_TITLE = "Visit report"
COMPETENCE = "{name}: {missing}"

TOLD_AT = (
    "You are at the doses so far.",
    "Your nurse can see here how the doses went. What you write down stays beside what is there.",
)
"""Where one is, and why that is asked; so is the other that begins like it."""
TOLD_AT_CALL = (
    "You are at a call, writing down what was said.",
    "Your nurse can see later who said it. The dose goes on only once it was read back.",
)
TOLD_HOW = (
    "Type a number for a dose, older, find and words, trends, report, add, or quit. "
    "Then press Enter."
)
TOLD_ROW = "{number}: due {due}, {status}{more}."
TOLD_NO_MORE = "There is no older dose."
TOLD_ADD = "Type the number of what you want to write down, or back."
TOLD_ITEM = "{number}: {says}."
TOLD_DOSE = "Type add to write something down, or press Enter to go back."
TOLD_NUMBER = "There is no dose with this number here."
NO_CALL = "There is no call to write down now."
