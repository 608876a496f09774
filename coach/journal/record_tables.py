"""The tables of what people add to the record of doses, and of the chain over its events.

Owns their SQL. Each is a list that is only added to: no row of it is ever changed or removed, so
what was wrong is followed by a correction.
"""

from __future__ import annotations

from typing import Final

from coach.journal.added import added_only

_COLUMNS: Final = {
    "corrections": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        field TEXT NOT NULL CHECK (field <> ''),
        said TEXT NOT NULL, -- what stood there
        says TEXT NOT NULL,
        who TEXT NOT NULL CHECK (who <> ''),
        why TEXT NOT NULL CHECK (why <> '')""",
    "people": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        gave TEXT NOT NULL,
        pressed TEXT NOT NULL""",
    "answers": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        seq INTEGER NOT NULL, -- the last event before it
        step TEXT NOT NULL, -- the stop that it was a call for
        who TEXT NOT NULL CHECK (who <> ''),
        words TEXT NOT NULL CHECK (words <> ''),
        read_back INTEGER NOT NULL CHECK (read_back IN (0, 1))""",
    "reasons": """
        sheet_id TEXT NOT NULL,
        due_utc TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('late', 'early', 'not-done')),
        words TEXT NOT NULL CHECK (words <> ''),
        who TEXT NOT NULL""",
    "questions": """
        sheet_id TEXT NOT NULL,
        words TEXT NOT NULL CHECK (words <> '')""",
    "calls_by": """
        sheet_id TEXT NOT NULL,
        nurse TEXT NOT NULL CHECK (nurse <> '')""",
    "lots": """
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        lot TEXT NOT NULL CHECK (lot <> '')""",
    "on_paper": """
        sheet_id TEXT NOT NULL,
        sheet_hash TEXT NOT NULL REFERENCES sheets (hash),
        due TEXT NOT NULL,
        due_utc TEXT NOT NULL,
        begun TEXT NOT NULL,
        ended TEXT NOT NULL,
        given TEXT NOT NULL, -- mL
        gave TEXT NOT NULL CHECK (gave <> ''),
        pressed TEXT NOT NULL, -- who wrote it down here
        words TEXT NOT NULL""",
}

_PAPER_COLUMNS: Final = """
        paper_id INTEGER NOT NULL REFERENCES on_paper (id),
        field TEXT NOT NULL CHECK (field <> ''),
        said TEXT NOT NULL, -- what stood there
        says TEXT NOT NULL,
        who TEXT NOT NULL CHECK (who <> ''),
        why TEXT NOT NULL CHECK (why <> '')"""

WHAT: Final = "what was written down"
"""What the rows are, where a change of one is refused."""


_INDEXES: Final = (
    *(
        f"CREATE INDEX {table}_by_sitting ON {table} (sitting_id)"
        for table in ("corrections", "people", "answers", "lots")
    ),
    *(
        f"CREATE INDEX {table}_by_due_time ON {table} (sheet_id, due_utc)"
        for table in ("reasons", "on_paper")
    ),
    "CREATE INDEX sittings_by_sheet ON sittings (sheet_id, id)",
)

# One dose for one due time, whether the coach led it or paper did.
_ONE_DOSE: Final = (
    """CREATE TRIGGER on_paper_is_new BEFORE INSERT ON on_paper
        WHEN EXISTS (SELECT 1 FROM on_paper
                     WHERE sheet_id = NEW.sheet_id AND due_utc = NEW.due_utc)
            OR EXISTS (SELECT 1 FROM sittings
                       WHERE kind = 'dose' AND sheet_id = NEW.sheet_id AND due_utc = NEW.due_utc
                         AND id NOT IN (SELECT sitting_id FROM freed))
        BEGIN SELECT RAISE(ABORT, 'the due time has had its dose'); END""",
    """CREATE TRIGGER sittings_are_not_on_paper BEFORE INSERT ON sittings
        WHEN NEW.kind = 'dose' AND EXISTS (
            SELECT 1 FROM on_paper WHERE sheet_id = NEW.sheet_id AND due_utc = NEW.due_utc)
        BEGIN SELECT RAISE(ABORT, 'the due time has had its dose'); END""",
)

_CHAIN: Final = (
    """CREATE TABLE chain (
        sitting_id INTEGER NOT NULL,
        seq INTEGER NOT NULL,
        hash BLOB NOT NULL CHECK (length(hash) = 32),
        PRIMARY KEY (sitting_id, seq),
        FOREIGN KEY (sitting_id, seq) REFERENCES events (sitting_id, seq)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TRIGGER chain_keeps_its_links BEFORE UPDATE ON chain
        BEGIN SELECT RAISE(ABORT, 'a link of the chain is never changed'); END""",
    """CREATE TRIGGER chain_stays BEFORE DELETE ON chain
        BEGIN SELECT RAISE(ABORT, 'a link of the chain is never removed'); END""",
    """CREATE TRIGGER chain_follows_on BEFORE INSERT ON chain
        WHEN EXISTS (SELECT 1 FROM chain
                     WHERE sitting_id > NEW.sitting_id
                        OR (sitting_id = NEW.sitting_id AND seq >= NEW.seq))
        BEGIN SELECT RAISE(ABORT, 'a link of the chain follows the last one'); END""",
)

TABLES: Final[tuple[str, ...]] = (
    *(sql for table, columns in _COLUMNS.items() for sql in added_only(table, columns, WHAT)),
    *_INDEXES,
    *_ONE_DOSE,
    *_CHAIN,
)
"""The statements that make the tables."""

PAPER_PUT_RIGHT: Final[tuple[str, ...]] = (
    *added_only("paper_corrections", _PAPER_COLUMNS, WHAT),
    "CREATE INDEX paper_corrections_by_paper ON paper_corrections (paper_id)",
)
"""The statements that make the table of what is put right in a dose from paper."""
