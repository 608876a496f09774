"""What the screens and the plain lines of a rehearsal say.

Owns the texts for the nurse and the learner at a teaching visit. It must never hold behaviour.
"""

PRACTICE = "PRACTICE"
NOT_REAL = "PRACTICE. No real call, no real medicine."
STAYS = (
    "This rehearsal stays as it is. When you start it again, it goes on where it was. It is "
    "practice: no dose is under way by it."
)
ENDED = "This rehearsal is over. It was practice: no dose was written down."
ENDED_NEXT = "Press Enter for the marks."
SEEN = "Now this happens: {shown}"

TITLE = "Teaching"
WHO = "Who learns?"
ADD = "Add a learner"
PERSON = "{name}, {role}"
PERSON_BARE = "{name}"
ASK_NAME = "What is the learner's name?"
ASK_ROLE = "What is the learner to the person on the order sheet? Such as patient or daughter."
ASK_NURSE = "What is the name of the nurse at this visit?"
ASK_SIGNER = "Who signs that {learner} can do it alone? Type the nurse's name."
ASK_NOTE = "What do you want to keep with the mark? It is about: {title}"
NOT_WHILE_TYPING = "Nurse: nothing is marked while a note is typed. Keep it, or go back."
TYPE_IT = "Type it, then press Enter."
NOTHING_TO_NOTE = "Nothing was done yet that a note could be about."
SIGNED = "Signed off by {nurse}."

VISIT = "Visit {number}, {day}. Nurse: {nurse}."
NEXT = "To practise next: {says} ({reason})."
SIGNED_ON = "Signed off by {nurse} on {day}."
NOT_SIGNED = "Not signed off yet."
SHOW_AGAIN = "Since the sign-off these steps changed: {titles}."
CHOOSE = "In the rehearsal:"
OTHER_RUN = "A rehearsal of {learner} is under way."
PUT_ASIDE = "The rehearsal was put aside. It does not count. Its marks are kept."
NO_VISIT = "Nothing was done at this visit, so the sheet of {learner} does not name it."
NO_LEARNER = "Nothing was done with {learner}, so the name is not on the list."

KEY_START = "Rehearse"
KEY_GO_ON = "Go on with it"
KEY_ASIDE = "Put it aside"
KEY_TEACH_BACK = "Words"
KEY_SHEET = "Sheet"
KEY_SIGN = "Sign"
KEY_CHANGE = "Change"
KEY_DEAL = "Surprise"
KEY_SKIP = "Skip"
KEY_PROMPT = "Prompt"
KEY_MARK = "Mark"
KEY_KEYS = "Keys"
KEY_NOTE = "Note"
KEY_MARKS = "Marks"
KEY_END = "Back to the visit"
KEY_OTHER = "Other question"
KEY_MORE = "More"
PLACED = "{here} {row}"
PLACE = "{number} of {whole}"
KEY_TICK = "Tick"

KEY_ROW = "{key}: {says}"
NURSE_TITLE = "Keys"
DEAL_TITLE = "Deal a surprise"
DEAL_PICK = "Let the coach pick"
ONE_AT_A_TIME = "Nurse: the last surprise is still to be met."
DEAL_NONE = "Nurse: no surprise can be dealt at this step."

MET_RIGHT = "Nurse: right. {did}"
MET_WRONG = "Nurse: missed. {did} Right would be: {should}."
MARKED = "Nurse: {title}: {level}."
MARKED_PROMPTS = "Nurse: {title}: {level}, prompts: {prompts}."
TO_MARK = "Nurse, to mark: {title}."
PROMPTS = "Nurse: prompts at this step: {prompts}."
NOTED = "Nurse: the note is kept with {title}."
MARK_FIRST = "Mark it first. Then a note can be kept with the mark."
NOTHING_TO_MARK = "Nothing was done yet that can be marked."

MARKS_TITLE = "Marks"
NO_MARKS = "No rehearsal of this visit has ended, so there is nothing to mark."
ROW = "{critical} {title}: {level}"
ROW_PROMPTS = "{critical} {title}: {level}, prompts: {prompts}"
ROW_NOTE = "{row}. {note}"
HERE = ">"
ELSEWHERE = "-"
CRITICAL = "*"
UNMARKED = "not marked"
SURPRISE = "Surprise: {says}, {went}"
WENT = {"right": "right", "missed": "missed", "open": "not met"}
LEVEL_KEYS = "1 alone, 2 with a reminder, 3 with hands-on help, 4 not yet. * is critical."

POINT = "[{tick}] {point}"
TICK = "x"
NO_TICK = " "
QUESTION_TITLE = "In their own words"
QUESTIONS_NONE = "There is no question for this order sheet."

NO_LEARNERS = "Nobody learns by this order sheet yet."
HELP = (
    "For the nurse: deal, deal 3, pick, skip, prompt, mark alone, mark reminder, mark hands-on, "
    "mark not-yet, mark note and some words."
)
TOLD_PRACTICE = "This is practice. No real call, no real medicine."
TOLD_DEAL = "Type deal {number} for: {says}."
TOLD_DEAL_PICK = "Type pick to let the coach pick."
TOLD_WHO = "Type {number} for {who}."
TOLD_WHO_ASKS = "Who learns? Type a number, or quit."
TOLD_VISIT = (
    "Type rehearse to start, words for the questions, sheet for the whole sheet, marks to "
    "correct the last marks, sign to sign off, or back. What do you want to do?"
)
TOLD_RUN = "Type resume to go on with it, or aside to put it aside."
TOLD_POINT = "Point {number}: {point}"
TOLD_SAID = "Type the numbers of the points that were said, such as 1 3, or Enter for none."
TOLD_KEPT = "Kept: {said} of {points} points were said."
TOLD_ROW = "Line {number}. {row}."
TOLD_MARKS = "Type a line and a level, such as 3 alone, or Enter to end."
TOLD_CHOSEN = "In this rehearsal: {now}. Type {choice} for: {other}."
TOLD_NO_NAME = "“{word}” is typed for something else and is taken for no name."
TOLD_AT_WHO = (
    "You are at the start of a teaching visit. Nobody gets a medicine at it.",
    "Each learner has a sheet of their own.",
)
"""Where one is, and why that is asked; so are the others that begin like it."""
TOLD_AT_NAME = "You are at a name. Type back to go back."
TOLD_WHY_NAME = "The name stands on the sheet that says what was shown."
TOLD_WHY_ROLE = "It stands on the sheet, since more than one person can learn."
TOLD_WHY_NURSE = "The sheet says who was there at each visit."
TOLD_WHY_SIGNER = "Who signs says that each step was seen to be done alone."
TOLD_AT_VISIT = (
    "You are at a teaching visit, and no rehearsal is open.",
    "What was missed or was longest ago is best practised next.",
)
TOLD_AT_WORDS = (
    "You are at the questions to be answered in one's own words. Type back to go back.",
    "Words of one's own show what was understood. Yes or no would not.",
)
TOLD_AT_MARKS = (
    "You are at the marks of a rehearsal.",
    "It counts if each critical step and each surprise was done alone. The lowest decides.",
)
