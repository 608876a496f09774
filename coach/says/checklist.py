"""The words of the checklist.

Owns the texts that only the list of a dose says. It must never hold behaviour.
"""

DONE = "[x] {title}"
OPEN = "[ ] {title}"
AGAIN = "[ ] {title} (again: {reason})"
HERE = "> {line}"
ELSEWHERE = "- {line}"
NOW = "[ ] {title} (now)"
NOW_AGAIN = "[ ] {title} (now, and again: {reason})"

WAS_LEFT = "The table was left."
ANSWERED = "{title} {says}"
"""What an answer opened again: the title of its step, and what was answered."""
IS_OVER = "This dose has ended. Nothing on the list is left to do."
IS_DONE = "This is done."
FIRST = "Not yet. First comes: {first}."
NEEDS = "Not yet. First comes: {first}. This waits for: {needs}."

GO_TO_NOW = "Go to the line of now first: press the up or down arrow."

KEY_LIST = "Whole list"
KEY_ONE = "One step"
KEY_LEFT = "To do"
KEY_ALL = "All"
KEY_HERE = "About this line"

TOLD_HEAD = "What is left of this dose, part by part."
TOLD_PART = "{part}: {titles}."
TOLD_AGAIN = "{title} again"
TOLD_PART_NOW = "What is left of this part, {part}: {titles}."
TOLD_COUNT = "{part}, {steps}"
TOLD_COME = "The other parts that are left, each with the number of its steps: {parts}."
TOLD_LIST_ALL = "Type list all to hear each step of them."
TOLD_NOTHING = "Nothing of this dose is left to do."
