"""What is said of files that are handed on, and what stands in them in words."""

from __future__ import annotations

# What the command says

FHIR_WRITTEN = "Wrote {doses} to {path} as FHIR {release}. Read back, they are the same."
TABLE_WRITTEN = (
    "Wrote {doses} to {path}, a row each. Read back, they are the same. {columns} says what each "
    "column holds."
)
CALENDAR_WRITTEN = (
    "Wrote reminders for the next {days} days to {path}. Import it again each time that it is "
    "written anew."
)
PRIVATE = (
    "It holds a person's health data. Only you can read the file where it lies now. Give it to "
    "nobody but those who look after you."
)
CALENDAR_PRIVATE = (
    "It names no person and no medicine, but its times are health data. Do not import it into a "
    "calendar that others can see."
)
ALL_INVENTED = "All of it is made up. The order sheet is only for trying out."
NOTHING_TO_WRITE = "No dose is on record for that time, so nothing was written."
THERE_ALREADY = (
    "There is a file {path} already, so nothing was written. To put a new one in its place, add "
    "--replace."
)
NO_EXPORT_THERE = (
    "The file {path} is something else than an earlier export, so nothing was written. Choose "
    "another name."
)
NOT_THE_SAME = (
    "Read back, {path} did not hold the same, so nothing was written. The record here is as it "
    "was. Tell those who look after the coach."
)
NO_DAYS = "A calendar goes from now on. Leave out --since and --until."

# The calendar

CALENDAR = "IV dose reminders"
INVENTED = "Demonstration: {text}"
SUMMARIES = {
    "due": "IV dose due",
    "fetch": "Take the bag out",
    "connector": "New connector due",
    "dressing": "New dressing due",
    "delivery": "Supplies come",
    "batteries": "New batteries due",
    "tubing": "New tubing due",
    "renew": "These reminders end",
}
"""What a reminder is called, by its kind."""
BESIDE = {
    "fetch": "Take it out of the refrigerator and let it stand, as its label says.",
    "connector": "Call your nurse if nobody has changed it yet.",
    "dressing": "Call your nurse if nobody has changed it yet.",
    "batteries": "As the record stood when this was written. The coach asks for them at the dose.",
    "tubing": "As the record stood when this was written. The coach asks for it at the dose.",
    "renew": (
        "No more come after today. If the order still holds, have them written anew: coach "
        "records export --format calendar."
    ),
}
"""What is said of a kind beside its name."""
CAUTION = (
    "This is only a reminder. Your order decides, not the calendar. It does not know what was "
    "given. If it is not what your order says, or you are not sure, do not start. Call your "
    "nurse, {nurse}, or your pharmacist, {pharmacist}. If somebody is in danger, call {emergency}."
)
WRITTEN_ON = (
    "Written on {day} by order sheet {sheet}, version {version}. If the order changes, take these "
    "reminders out and write them anew."
)

# The FHIR Bundle

OF_THE_SHEET = "By the order sheet and the record, for this dose:"
OF_THE_TABLE = "As it is at the table by then:"
CONDITION = "{name} is {values}"
OR, AND = " or ", ", and "
NO_REASON = "Nobody has written down why."

# The table

NO_EXPORT = "This file is no export of the coach, or it was changed."
CORRECTED = "{field}: said {said}, now says {says} ({who}: {why})"
DICTIONARY = ("column", "form", "how_it_is_written", "what_it_holds")
"""The names of the columns of the data dictionary."""
FORMS = {
    "text": (
        "Words, in UTF-8. One ' is put before words that begin with = + - @ ' or a tab or a new "
        "line, so that a spreadsheet takes none for a formula. To read them back, take that one ' "
        "off. Several things in one cell have | between them."
    ),
    "number": "A number with a point. Empty if nobody knows it.",
    "time": "Day, time and distance from UTC, as in ISO 8601. Empty if there is none.",
    "yes-no": "yes or no.",
}
"""How the cells of a column are written, by its form."""
COLUMNS = {
    "dose_id": "Names the dose. It stays the same in each export.",
    "person": "The initials of the person, as on the order sheet.",
    "order_sheet": "The name of the order sheet.",
    "status": (
        "How the dose stands, by the names of FHIR: in-progress, on-hold, completed, stopped, "
        "not-done, entered-in-error or unknown."
    ),
    "medicine": "The medicine, as on the order sheet.",
    "dose": "The ordered dose.",
    "dose_unit": "The unit of the dose.",
    "strength": "The ordered strength.",
    "strength_unit": "The unit of the strength.",
    "volume": "The ordered volume.",
    "volume_unit": "The unit of the volume.",
    "rate": "The ordered rate.",
    "rate_unit": "The unit of the rate.",
    "due": "When the dose was due.",
    "window_from": "From when it could be started.",
    "window_to": "Until when it could be started.",
    "begun": "When the first step was shown.",
    "medicine_from": "When the medicine began to go in. Empty if none can have gone in.",
    "medicine_to": "When the medicine ended.",
    "ended": "When the dose was over.",
    "timing": "early, late or in-time by the window. Empty if no medicine was started.",
    "pauses": "How many times the medicine stood still.",
    "given_mL": "How much went in, in mL.",
    "left_mL": "What was read off as left, in mL.",
    "lot": "The lot of the bag, as typed.",
    "discard": "Until when the bag was good, as typed.",
    "gave": "Who gave the dose.",
    "pressed": "Who pressed the keys.",
    "from_paper": "Whether the dose was written down from paper.",
    "flushes": "How many flushes went in.",
    "locks": "How many locks went in.",
    "hard_to_push": "How many pushes did not go in freely.",
    "not_as_ordered": "How many typed numbers or dates were not as ordered.",
    "site": "What was seen at the site.",
    "spoiled": "What was spoiled, and what was done then.",
    "troubles": "What trouble was told, and what was done then.",
    "calls": "Whom the person was asked to call, why, and what was said.",
    "reasons": "Why the dose was late, early or not given, in the person's words.",
    "notes": "What was written down with the dose.",
    "corrections": "What was put right later, by whom and why.",
}
"""What each column of the table holds."""
