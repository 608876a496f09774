"""The words of the screens: headings, key labels and short sentences.

Owns every text on a screen that comes from neither the procedure nor the order sheet. A text
with a place to fill is one whole sentence, so that it can be translated as one.
"""

from __future__ import annotations

from coach.words import AGAIN as AGAIN
from coach.words import CARD_CLOSE as CARD_CLOSE
from coach.words import CARD_LEAVE as CARD_LEAVE
from coach.words import EXPECT as EXPECT
from coach.words import FINISHED as FINISHED
from coach.words import LEAD_IN as LEAD_IN
from coach.words import MISSED as MISSED
from coach.words import STOPPED as STOPPED
from coach.words import WHY as WHY
from coach.words import WRONG_LEAVE as WRONG_LEAVE

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
KEY_STOP = "Stop"
KEY_BACK = "Go back"
KEY_TODAY = "Today"
KEY_I_AM_BACK = "I am back"
KEY_UNDERSTOOD = "I understand"
ANY_KEY = "Any key"
NUMBERS = "1-{last}"
YES_NO = "y/n"

# The step

PLACE = "{place} of {total}"
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
HINT_TYPE = "Type what you read, then press Enter."
HINT_LEAVE = "To leave, press Ctrl+Q."
RUN_STOPPED = "Stopped. A timer starts again from the beginning."
MORE_BELOW = "▼ More below: Space"
BACK_TO_TOP = "▲ That is all. Top: Space"

# Something is wrong

WRONG_TITLE = "What is wrong?"
WRONG_KEY = "I pressed the wrong key"
WRONG_CALL = "Whom do I call?"
WRONG_NOTHING = "Nothing is wrong. Go back"
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

# Leaving

LEAVE_TITLE = "Leave the coach?"
LEAVE_HOW = (
    "Your dose stays as it is. When you start the coach again, it goes on where it was. "
    "If the pump is running, it keeps running."
)
LEAVE_YES = "Leave the coach"
LEAVE_NO = "Stay with this dose"

# Today

TODAY = "Today"
DEMONSTRATION = "Demonstration"
UNDER_WAY = "A dose is under way since {time}. Enter goes on with it."
DUE_NOW = "A dose is due at {time}. Enter starts it."
DUE_LATER = "The next dose is due at {time}."
START_FROM = "{time}  earliest start, in {left}"
TAKE_OUT = "{time}  take the bag out, in {left}"
DUE = "{time}  dose due, in {left}"
DUE_PAST = "{time}  dose due"
START_UNTIL = "{time}  latest start, in {left}"
WORD_TITLE = "Before you start"
WORD_ASKS = (
    "The last dose ended with an emergency call. Has your nurse or doctor said that you may go on?"
)
WORD_HOW = "Type the name of who said so, then press Enter. If nobody did, press Esc and call."
WORD_EMPTY = "Type the name of who said that you may go on."

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
