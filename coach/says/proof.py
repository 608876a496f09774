"""What the proof says, to whoever changes a procedure."""

from __future__ import annotations

# A run that breaks a rule

STORY_FIRST = "You do the first {number} steps as they come."
STORY_STEPS = "You do the next {number} steps as they come."
STORY_DOES = "You {title}"
STORY_DOES_STEP = "You do the step “{title}”"
STORY_DONE = "{does}."
STORY_TIMED = "{does}, until the time is over."
STORY_ANSWER = "{does}. You answer: {says}."
STORY_AGREES = "{does}. It is as ordered."
STORY_DIFFERS = "{does}. It is not as ordered."
STORY_IN_TIME = "{does}. There is time enough."
STORY_LATE = "{does}. It is too late."
STORY_CALL = "It says “{title}”. You call, and answer: {says}."
STORY_TOLD = "You say: {says}."
STORY_LEFT = "The phone rings. You leave the table and come back after three minutes."
STORY_FACT = "At that moment this is so: {fact} is {value}."
STORY_MISSING = "Not one of these was done before it, or it was undone since: {steps}."
STORY_NAMED = "“{title}”"
STORY_OTHERS = "and others"
STORY_CHOICE = "{name} {values}"
STORY_OR = " or "
STORY_ENDLESS = "From here no end can be reached, whatever is answered."
STORY_UNANSWERED = "Nothing is asked, and nobody is called."

# What does not hold

PROOF_ENDLESS = "From “{step}” no end can be reached by doing what is asked."
PROOF_ROUND = "When all ends as hoped, the dose comes back to “{step}” again and again."
PROOF_STOPS = "When all ends as hoped, the dose stops at “{step}”."
PROOF_UNHEARD = "After “{title}” just the same is asked once more."
PROOF_UNANSWERED = "When somebody says “{title}”, no question follows, and no stop with a call."
PROOF_UNREACHED = "The step “{title}” ({id}) is never asked for, with any order sheet."
PROOF_UNTOLD = "“{title}” can never be told, or it changes nothing."
PROOF_NEVER_SET = "The fact {fact} is never {value}."
PROOF_NEVER_ASKED = "Nothing tells whether the fact {fact} is {value} or {other}."
PROOF_NO_CASE = "This can never fail, as what it guards never happens. “{says}”"
PROOF_SILENT = "The stop “{title}” does not say what to leave and what to close."
PROOF_NO_EMERGENCY = "No emergency can be told."
PROOF_NOT_HEARD = "The emergency “{title}” cannot be told at all times."
PROOF_LASTS = "When the table was left, {fact} stays {value}, or becomes no better."
PROOF_ASKED = "“{title}” does not ask for a {how} by the value {value} of the order sheet."
PROOF_NO_PROVIDER = "Nothing can make ready what “{title}” needs of {fact}."
PROOF_DISAGREES = (
    "The proof could not be ended: its two searches disagree on {rules}. This is a fault of the "
    "coach, not of the procedures. Do not rely on them until it is mended."
)
PROOF_NO_RULES = "There are no rules to hold the procedures against. They belong in rules/."

# The report

PROOF_FINDING = "{name}: {says}"
PROOF_SHEETS = "  With these order sheets: {sheets}."
PROOF_STORY = "  - {sentence}"
PROOF_WHERE = "  See {where}."
PROOF_HOLDS = "Proved. Everything holds."
PROOF_FAILS = "Not proved. Things that do not hold: {number}."
PROOF_FIGURES = (
    "Kinds of order sheet: {kinds}. States: {states}. Moves: {moves}. Rules that hold: {rules}. "
    "Time: {seconds} s."
)
PROOF_ELSEWHERE = "Held elsewhere, not proved here: {says} It is held by {where}."
PROVING = "{bar} {says}"
PROVING_READS = "Reading the files"
PROVING_STATES = "Every state of {kinds} kinds of order sheet"
PROVING_WORDS = "Reading every text"

# False ticks

SLIP_TICKED = "You answer “{title}” and have not done it."
SLIP_UNTICKED = "You do “{title}” and give no answer."
SLIP_TOLD = "You say “{title}”."
SLIP_LEFT = "You leave the table, and come back."
SLIP_ANSWERED = "At “{title}” you say that it is not so."
SLIP_DONE = "Then comes “{title}”."
SLIP_END = "So the dose ends."
SLIP_AS_IT_COMES = "You do the next {number} as they come."
SLIP_HEAD = (
    "False ticks, up to {most} in a dose. States: {states}. Moves: {moves}. Time: {seconds} s."
)
SLIP_RULE = "  {ticks} false: {says} ({rule}{hurts})"
SLIP_HURTS = ", can hurt"
SLIP_SURVIVES = "  {number} rules survive that."
PROVING_SLIPS = "Now with false ticks"
