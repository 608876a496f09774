"""The interface words: every text that comes from neither the procedure nor the order sheet.

Owns the words of the plain lines, of the screens and of the command line. A text with a place
to fill is one whole sentence, so that it can be translated as one. Where a screen has a shorter
way to say what the plain lines say, the name of theirs begins with ``TOLD``.
"""

from __future__ import annotations

# PLAIN LINES, AND WHAT THE SCREENS SHARE WITH THEM

# The first start

TOLD_FIRST = (
    "Before the first time, please read this.",
    "This coach stands beside your training, your order and the rules of your agency. "
    "It replaces none of them. If they say something else, do what they say.",
    "If you are not sure, stop and call.",
    "Call {number} at once if it is hard to breathe, if your chest hurts, if your face or "
    "tongue swells, or if you faint.",
)
FIRST_READ = "Press Enter when you have read this, or type quit to leave."

# Today

TOLD_TODAY = "Today, {time}."
TOLD_DEMONSTRATION = "This is a demonstration. The person, the agency and the pump are made up."
ELSEWHERE = "Another window has a dose open. Go on in that window, or close it and come back here."
TOLD_UNDER_WAY = "A dose is under way since {time}."
OTHER_SHEET = (
    "The dose under way is by another order sheet: {sheet}, version {version}. The sheet that is "
    "open here is {own}, version {own_version}. The dose goes on by its own sheet."
)
TOLD_DUE_NOW = "A dose is due at {time}. You can start it now, until {closes}."
TOLD_DUE_LATER = "The next dose is due at {time}. You can start it from {opens}."
TOLD_TAKE_OUT = "The bag comes out at {time}."
TAKE_OUT_FIRST = "The dose starts with taking the bag out."
CHECKING = "One moment. The coach checks its steps."
MISSED = (
    "The dose due at {time} was not given here. Do not give two doses at once. "
    "Call your nurse and ask what to do."
)
TOLD_AT_FIRST = (
    "You are at the start, before the first page.",
    "It says what this coach is for, and whom to call. It is told this one time.",
)
"""Where one is, and why that is asked; so are the others that begin like it."""
TOLD_AT_TODAY = (
    "You are on the first page. It says what comes next, and when.",
    "Nothing is done from here until you type start or go.",
)
TOLD_AT_SUPPLIES = (
    "You are at the supplies. Type back to go back.",
    "What you write down here tells when to order more.",
)
TOLD_AT_WORD = (
    "You are at the start of the next dose, and it has not begun.",
    "Somebody who knows you has to say that it may be given. The name is kept with the dose.",
)
TOLD_AT_AWAY = (
    "You are away from the table. The dose waits at the step where you left it.",
    "What was clean may not be clean when you come back. Enter tells the coach that you are back.",
)
TOLD_WRONG_GO = "For something that is wrong with the dose under way, type go, then wrong."
TOLD_WRONG_BACK = "For something that is wrong with the dose, type back, then wrong."
TOLD_NO_LIST = "The list of a dose can be heard once the dose is open."
TYPE_GO_ON = "Type go to go on with the dose, call to see whom to call, supplies, doses, or quit."
TYPE_START = "Type start to start the dose, call to see whom to call, supplies, doses, or quit."
TYPE_TODAY = "Type call to see whom to call, supplies, doses for those so far, or quit."
LAST_STOPPED = "The last dose was stopped at {time}: {title}. You called {who}."
LAST_STOPPED_BARE = "The last dose was stopped at {time}."
CALLED = {"nurse": "the nurse", "pharmacist": "the pharmacist", "emergency": "for help"}
NO_NAMES = (
    "no", "not", "nobody", "none", "nope", "yes", "yeah", "ok", "okay", "quit", "leave", "call",
    "wrong", "start", "go", "done", "wait", "undo", "why", "again", "back", "how", "note", "listen",
    "supplies", "doses", "answer",
)  # fmt: skip
"""What is typed by somebody who names nobody."""
WORD_FOR = {
    "emergency": "The last dose ended with an emergency call.",
    "stopped": "The last dose was stopped.",
    "too-soon": "The last dose was begun only a short time ago.",
    "too-late": "A bag can no longer warm up in time.",
}
NEEDS_WORD = (
    "{why} Has your nurse or doctor said that you may go on? Type the name of who said so. "
    "If nobody did, press Enter alone."
)

# A step

TOLD_PLACE = "Part {part} of {parts}, {name}. Step {step} of {steps}."
PLACE_LEFT = "After that it goes on in part {part} of {parts}, at step {step} of {steps}."
TOLD_URGENT = "This comes first. {part}."
AGAIN = "This has to be done once more."
WHY = "Why: {why}"
TOLD_PRESS = "On the pump: {press}"
TOLD_EXPECT = "After that on the pump: {expect}"
EXPECT = "Then: {expect}"
TOLD_CHOICE = "Type {number} for: {says}."
TYPE_DONE = "Press Enter when it is done."
TYPE_CHECK = "Press Enter, and the coach looks at the clock."
TYPE_YES_NO = "Type yes or no, or the number."
TYPE_PICK = "Type the number of your answer."
TYPE_CALL = "Type its number, or answer to write down what was said on the call."
TYPE_READING = "Type what you read, then press Enter."
TYPE_START_TIMER = "Press Enter to start the timer."
TYPE_WAIT = "Press Enter to wait here, or type listen, wrong or quit. The time goes on by itself."
TYPE_LISTEN = "Press Enter to let it run on, or type wrong or quit."
TYPE_OVER = "The time is over. Press Enter to go on."
TOLD_STRETCH = "Your hands will be busy. Hear what comes first, then it runs by itself:"
STRETCH_STEP = "{number}. {do}"
STRETCH_STOP = "You get {lead_in} to get set. To stop it, press Enter."
STRETCH_START = "Press Enter to start."
TOLD_OVER_AT = "The time will be over at {time}."
TOLD_GIVEN = "By the clock {given} went in."

# Timers

LEAD_IN = "Get set. It starts in {left}."
TIMER = "Now: {do} Timer: {left}."
TIMER_SHORT = "Now: {title}. Timer: {left}."
LEFT = "{title}: {left} left."
OVER = "Time is up: {title}."
RUN_STOPPED = "Stopped. The timer starts again from the beginning."

# Commands

HELP = (
    "You can type: Enter or done, an answer, ? for where you are, again, why, list for what is "
    "left of this part, list all for what is left of the dose, wrong if something is wrong, undo, "
    "call for whom to call, note and your words to keep a note, or quit to leave."
)
NOT_KNOWN = "That is no answer here."
NOTED = "Your note is kept with this dose. What you said before it cannot be taken back now."
TOLD_NOTE_EMPTY = (
    "Type note and then your words on the same line. What you said before it can then not be "
    "taken back."
)
NOTE_HOW = (
    "Type it, then press Enter. Your nurse can read it. What you said before it can then not be "
    "taken back."
)
UNDONE = "The last answer is taken back."
TOO_LONG = "That line is too long to be an answer. Nothing was taken from it."
DONE_LAST = "Done last: {title}."
TOLD_NOW = "Now: {title}."
TOLD_NEXT = "Next: {title}."
LINE_NOW = "The line now: {parts}."
PART_JOINED = "{name} {word}, joined on"
PART_APART = "{name} {word}"
LEFT_DOSE = (
    "Your dose stays as it is. When you start the coach again, it goes on where it was. If the "
    "pump is running, it keeps running."
)

# Something is wrong

WRONG = "What is wrong? Type a number."
WRONG_GROUP = "{says}:"
WRONG_ELSE = "Something else:"
WRONG_ITEM = "{number}. {says}."
WRONG_ASKED = "{number}. {says}?"
WRONG_LEAVE = "I have to leave the table"
TOLD_WRONG_KEY = "I gave the wrong answer"
WRONG_NOTHING = "Nothing is wrong, go back"
TOLD_RESTING = "Take the time you need. Nothing is lost. When you are back, press Enter first."
BACK = "You are back. Some things may have to be done once more."

# Whom to call

CONTACT = "{who}: {phone}, {name}, {hours}."
CONTACT_BARE = "{who}: {phone}."
TOLD_EMERGENCY = "Emergency. Call {phone} now."
CARD_LEAVE = "Leave as it is: {leave}"
CARD_CLOSE = "Close now: {close}"
TOLD_CARD_SAY = "Say this: {said}"

# The end

FINISHED = "This dose is done and written down."
STOPPED = "This dose was stopped. It is written down as stopped."

# THE SCREENS

# What the keys do

KEY_WRONG = "Something is wrong"
KEY_DONE = "Done"
KEY_START = "Start"
KEY_GO_ON = "Go on"
KEY_CHECK = "Check it"
KEY_ANSWER = "Answer"
KEY_PICK = "Pick"
KEY_UNDO = "Undo"
KEY_WHY = "Why"
KEY_STEP = "Back to the step"
KEY_PICTURE = "Picture"
KEY_LEAVE = "Leave"
KEY_NOTE = "Note"
KEY_KEEP = "Keep it"
KEY_STOP = "Stop"
KEY_BACK = "Go back"
KEY_TODAY = "Today"
KEY_I_AM_BACK = "I am back"
KEY_UNDERSTOOD = "I understand"
NUMBERS = "1-{last}"
YES_NO = "y/n"

TOO_SMALL = "Make the window larger, or use coach --plain."
TOO_SMALL_LEAVE = "Press q to leave. Nothing is lost."

# The step

PLACE = "{step} of {steps} · part {part} of {parts}"
PLACE_SHORT = "{step} of {steps}"
PART = "Part {part} of {parts}"
URGENT = "This comes first"
EMERGENCY_TITLE = "Emergency"
DONE = "Done: {title}"
NOW = "Now:  {title}"
NEXT = "Next: {title}"
PRESS = "Pump: {press}"
CHOICE = "{number}  {says}"
STRETCH = "Your hands will be busy. Read this first:"
STRETCH_HOW = (
    "You get a few seconds to get set. Then each step goes on by itself. Any key stops it."
)
JOINED_BELOW = "joined below"
NOT_JOINED = "not joined"
PICTURE_TITLE = "From the bag to you:"
ENDED_NEXT = "Press Enter to see what is next today."

# Time

TIME_LEFT = "{left} left of {total}"
TIME_OVER = "The time is over. Press Enter."
OVER_AT = "Over at {time}."
GIVEN = "{given} given by the clock."

# Hints

HINT_PICK = "Press the number of your answer."
HINT_READ_ON = "Read on first. The answers stand below."
HINT_TYPE = "Type what you read, then press Enter."
HINT_LEAVE = "To leave, press Ctrl+Q."
MORE_BELOW = "▼ More below: Space"
BACK_TO_TOP = "▲ That is all. Top: Space"

# Something is wrong

WRONG_TITLE = "What is wrong?"
WRONG_KEY = "I pressed the wrong key"
WRONG_CALL = "Whom do I call?"
WRONG_MORE = "More"
RESTING = "Take the time you need. Nothing is lost."
RESTING_HOW = (
    "Touch nothing on the table when you come back. Press Enter first. "
    "The coach then says what has to be done once more."
)
RESTING_TITLE = "Away from the table"

# Whom to call

CALL_TITLE = "Whom to call"
CALL_LINE = "{who} {phone}"
CALL_NAMED = "{who} {phone}\n{name}, {hours}"
CALL_FIRST = "CALL {who} {phone}"
CALL_THEN = "Or {who} {phone}."
EMERGENCY = "EMERGENCY"
CARD_SAY = "What to say:"

# A note

NOTE_TITLE = "A note"
NOTE_ASKS = "What do you want to keep with this dose?"
NOTE_EMPTY = "Type your note, then press Enter."

# Leaving

LEAVE_TITLE = "Leave the coach?"
LEAVE_YES = "Leave the coach"
LEAVE_NO = "Stay with this dose"

# Today

TODAY = "Today"
DEMONSTRATION = "Demonstration"
UNDER_WAY = "A dose is under way since {time}. Enter goes on with it."
DUE_NOW = "A dose is due at {time}. Enter starts it."
DUE_CALL = "A dose is due at {time}. Call your nurse before you start it."
DUE_LATER = "The next dose is due at {time}."
WORD_TITLE = "Before you start"
WORD_ASKS = "{why} Has your nurse or doctor said that you may go on?"
WORD_HOW = "Type the name of who said so, then press Enter. If nobody did, press Esc and call."
WORD_EMPTY = "Type the name of who said that you may go on."
NOT_PROVED = (
    "Do not start. The steps of this dose were checked, and one thing does not hold: {says}{at} "
    "Call your nurse, {nurse}, at {phone}, and read this out."
)
NOT_PROVED_AT = " It is in {where}."

# The first start

FIRST_TITLE = "Before the first time"
FIRST = (
    "This coach helps you to follow what you were taught. It does not replace your training, "
    "your order or the rules of your agency. If they say something else, do what they say."
)
FIRST_CALL = "If you are not sure, stop and call:"
FIRST_EMERGENCY = (
    "Call {number} at once if it is hard to breathe, if your chest hurts, if your face or "
    "tongue swells, or if you faint."
)

# The command line

HELP_TODAY = "Without a command it opens the Today screen."
HELP_KEYS = "Keys on the screens:"
NO_ORDERS = (
    "There is no order sheet at {path}. Name it with --orders FILE, or try coach demo to see "
    "how it works."
)
NO_RECORD = "There is no record at {path}. See whether that is where it lies; no new one was made."
CALL_PAPERS = "Call the nurse or agency number on your papers."
NO_PROCEDURES = "There is no folder of procedures at {path}."
NOT_WRITTEN = "Nothing can be written to {path}. Name another place, or see who may write there."
BROKE = (
    "Something in the coach itself went wrong. What you said is saved. Start the coach again, or "
    "go on with your paper list. If you are not sure, call your nurse."
)
BROKE_WHERE = "For whoever looks after the coach: details are in {path}."

# The order sheet, for the nurse

SHEET_TITLE = "Order sheet"
SHEET_RIGHT = "no errors"
SHEET_TO_LOOK_AT = "to look at: {number}"
SHEET_ROW = "{mark} {name}: {value}"
SHEET_ROW_IN = "{mark}   {name}: {value}"
SHEET_AT, SHEET_NOT_AT = ">", " "
SHEET_GROUP = "{name}:"
SHEET_LEFT_OUT = "(left out)"
SHEET_PROBLEM = "Expected {expected}; found {found}. {hint}"
SHEET_WORKED = "Worked out: {name}, {working}"
SHEET_WORKED_AT = "{field}: {name}, {working}"
SHEET_HOW = "Type it as it is ordered. Leave the place empty to leave it out."
SHEET_NOT_YET = "Not kept yet. Please look at this first."
SHEET_SAME = "Nothing was changed."
SHEET_KEEP_ASKS = "What should be done with your changes?"
SHEET_KEEP_NEXT = "Keep them as version {version}, dated {date}"
SHEET_KEEP_SAME = "Keep them as the version that it was"
SHEET_DROP = "Leave, and drop the changes"
SHEET_KEPT = "Kept. The sheet as it was before is in {name}."
SHEET_UNFINISHED = "There are no more lines. What was not kept is dropped."
SHEET_CHECKED = "{path}: no errors."
SHEET_NO_FILE = "There is no file {path}."
SCHEMA_WRITTEN = "{path}: {what}"
KEY_CHANGE = "Change"
KEY_MOVE = "Up or down"

# How the medicine is going

PACE_TITLE = "How is it going?"
PACE_ASKS = "How much does the pump show as left?"
PACE_HOW = "Type the number that it shows. The coach holds it against the time that it ran."
PACE_TOLD = "The pump shows {left}. By the clock it should be about {expected}."
PACE_BETWEEN = "Your order sheet allows {least} to {most} now."
PACE_VERDICTS = {
    "as-expected": "That is as it should be. Let it run.",
    "ahead": "The pump has given more than it should by now.",
    "behind": "The pump has given less than it should by now.",
    "not-moving": "It seems that nothing has gone in for a while.",
}
PACE_AGAIN = "If you typed just what it shows, look again in a few minutes. In doubt, call {phone}."
PACE_CALL = "Do not change the pump. Stop it, and call the nurse now."
PACE_NOTE = "The pump shows {left} as left; {expected} by the clock."
PACE_NOT_NOW = "The medicine is not running now."
TOLD_PACE = "Type how and what the pump shows as left, such as: how 7.5 mL."
KEY_PACE = "How is it going?"
KEY_TELL = "What to do now"
