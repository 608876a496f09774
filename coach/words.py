"""The words of the plain lines and of the command line.

Owns every text of theirs that comes from neither the procedure nor the order sheet. A text with
a place to fill is one whole sentence, so that it can be translated as one.
"""

from __future__ import annotations

# The first start

FIRST = (
    "Before the first time, please read this.",
    "This coach stands beside your training, your order and the rules of your agency. "
    "It replaces none of them. If they say something else, do what they say.",
    "If you are not sure, stop and call.",
    "Call {number} at once if it is hard to breathe, if your chest hurts, if your face or "
    "tongue swells, or if you faint.",
)
FIRST_READ = "Press Enter when you have read this."

# Today

TODAY = "Today, {time}."
DEMONSTRATION = "This is a demonstration. The person, the agency and the pump are made up."
UNDER_WAY = "A dose is under way since {time}."
DUE_NOW = "A dose is due at {time}. You can start it now, until {closes}."
DUE_LATER = "The next dose is due at {time}. You can start it from {opens}."
TAKE_OUT = "The bag comes out at {time}."
TAKE_OUT_FIRST = "The dose starts with taking the bag out."
MISSED = (
    "The dose due at {time} was not given here. Do not give two doses at once. "
    "Call your nurse and ask what to do."
)
TYPE_GO_ON = "Type go to go on with the dose, call to see whom to call, or quit."
TYPE_START = "Type start to start the dose, call to see whom to call, or quit."
TYPE_TODAY = "Type call to see whom to call, or quit."
NEEDS_WORD = (
    "The last dose ended with an emergency call. Has your nurse or doctor said that you may go "
    "on? Type the name of who said so. If nobody did, press Enter alone."
)

# A step

PLACE = "Step {place} of {total}. {part}."
URGENT = "This comes first. {part}."
AGAIN = "This has to be done once more."
WHY = "Why: {why}"
PRESS = "On the pump: {press}"
EXPECT = "Then: {expect}"
CHOICE = "Type {number} for: {says}."
TYPE_DONE = "Press Enter when it is done."
TYPE_CHECK = "Press Enter, and the coach looks at the clock."
TYPE_YES_NO = "Type yes or no, or the number."
TYPE_PICK = "Type the number of your answer."
TYPE_READING = "Type it and press Enter."
TYPE_START_TIMER = "Press Enter to start the timer."
TYPE_WAIT = "Press Enter to wait here, or type wrong or quit. The time goes on by itself."
TYPE_OVER = "The time is over. Press Enter to go on."
STRETCH = "Your hands will be busy. Hear what comes first, then it runs by itself:"
STRETCH_STEP = "{number}. {title}."
STRETCH_STOP = "You get {lead_in} to get set. To stop it, press Enter."
STRETCH_START = "Press Enter to start."
OVER_AT = "It will be over at {time}."
GIVEN = "By the clock {given} went in."

# Timers

LEAD_IN = "Get set. It starts in {left}."
TIMER = "Now: {title}. {left}."
LEFT = "{left} left."
OVER = "Time is up: {title}."
RUN_STOPPED = "Stopped. The timer starts again from the beginning."

# Commands

HELP = (
    "You can type: Enter or done, an answer, ? for where you are, again, why, wrong if "
    "something is wrong, undo, call for whom to call, or quit to leave."
)
NOT_KNOWN = "That is no answer here."
UNDONE = "The last answer is taken back."
TOO_LONG = "That line is too long to be an answer. Nothing was taken from it."
DONE_LAST = "Done last: {title}."
NOW = "Now: {title}."
NEXT = "Next: {title}."
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
WRONG_LEAVE = "I have to leave the table"
WRONG_KEY = "I gave the wrong answer"
WRONG_CALL = "Whom do I call"
WRONG_NOTHING = "Nothing is wrong, go back"
RESTING = "Take the time you need. Nothing is lost. When you are back, press Enter first."
BACK = "You are back. Some things may have to be done once more."

# Whom to call

CONTACT = "{who}: {phone}, {name}, {hours}."
CONTACT_BARE = "{who}: {phone}."
EMERGENCY = "Emergency. Call {phone} now."
CARD_LEAVE = "Leave as it is: {leave}"
CARD_CLOSE = "Close now: {close}"
CARD_SAY = "Say this: {said}"

# The end

FINISHED = "This dose is done and written down."
STOPPED = "This dose was stopped. It is written down as stopped."

# The command line

NO_ORDERS = (
    "There is no order sheet at {path}. Name it with --orders FILE, or try coach demo to see "
    "how it works."
)
BROKE = (
    "Something in the coach itself went wrong. What you said is saved. Start the coach again, or "
    "go on with your paper list. If you are not sure, call your nurse."
)
BROKE_WHERE = "For whoever looks after the coach: details are in {path}."
