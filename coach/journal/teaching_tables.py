"""The tables of what is taught, in the file of rehearsals.

Owns their SQL. Each is a list that is only added to: no row of it is ever changed or removed, so
a mark that was wrong is followed by another.
"""

from __future__ import annotations

from typing import Final

from coach.journal.added import added_only

_COLUMNS: Final = {
    "learners": """
        sheet_id TEXT NOT NULL,
        name TEXT NOT NULL CHECK (name <> ''),
        role TEXT NOT NULL""",
    "visits": """
        learner_id INTEGER NOT NULL REFERENCES learners (id),
        nurse TEXT NOT NULL CHECK (nurse <> '')""",
    "runs": """
        visit_id INTEGER NOT NULL REFERENCES visits (id),
        sitting_id INTEGER NOT NULL UNIQUE REFERENCES sittings (id)""",
    "leaps": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        step TEXT NOT NULL,
        seconds INTEGER NOT NULL CHECK (seconds > 0),
        whole INTEGER NOT NULL CHECK (whole >= seconds)""",
    "dealt": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        seq INTEGER NOT NULL, -- the last event before it
        step TEXT NOT NULL,
        name TEXT NOT NULL,
        says TEXT NOT NULL,
        shown TEXT NOT NULL,
        typed TEXT NOT NULL""",
    "met": """
        dealt_id INTEGER NOT NULL UNIQUE REFERENCES dealt (id),
        is_right INTEGER NOT NULL CHECK (is_right IN (0, 1)),
        did TEXT NOT NULL""",
    "marks": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        step TEXT NOT NULL,
        seq INTEGER NOT NULL, -- the event that did the step; 0 where it was not done
        dealt_id INTEGER REFERENCES dealt (id), -- null for a step
        level TEXT NOT NULL CHECK (level <> ''),
        prompts INTEGER NOT NULL CHECK (prompts BETWEEN 0 AND 999),
        note TEXT NOT NULL""",
    "said_back": """
        visit_id INTEGER NOT NULL REFERENCES visits (id),
        question TEXT NOT NULL,
        points TEXT NOT NULL""",
    "sign_offs": """
        learner_id INTEGER NOT NULL REFERENCES learners (id),
        nurse TEXT NOT NULL CHECK (nurse <> ''),
        steps TEXT NOT NULL""",
}


WHAT: Final = "what was taught"
"""What the rows are, where a change of one is refused."""

# An INSERT OR REPLACE that meets an earlier row by another column would remove that row.
_ONCE: Final = (
    """CREATE TRIGGER runs_are_new BEFORE INSERT ON runs
        WHEN EXISTS (SELECT 1 FROM runs WHERE sitting_id = NEW.sitting_id)
        BEGIN SELECT RAISE(ABORT, 'what was taught is never removed'); END""",
    """CREATE TRIGGER met_is_new BEFORE INSERT ON met
        WHEN EXISTS (SELECT 1 FROM met WHERE dealt_id = NEW.dealt_id)
        BEGIN SELECT RAISE(ABORT, 'what was taught is never removed'); END""",
    """CREATE TRIGGER sittings_are_of_one_kind BEFORE INSERT ON sittings
        WHEN EXISTS (SELECT 1 FROM sittings WHERE kind <> NEW.kind)
        BEGIN SELECT RAISE(ABORT, 'doses and rehearsals never share a file'); END""",
)

TABLES: Final[tuple[str, ...]] = (
    *(sql for table, columns in _COLUMNS.items() for sql in added_only(table, columns, WHAT)),
    *_ONCE,
)
"""The statements that make the tables."""
