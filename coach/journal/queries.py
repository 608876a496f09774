"""What the journal asks of SQLite, and how it writes.

Owns the SQL of sittings, events and settings. It must never take a text from outside into a
statement: values are bound.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

KEEP: Final[Mapping[str, str]] = {
    "sheet": "INSERT INTO sheets (hash, raw) VALUES (?, ?) ON CONFLICT DO NOTHING",
    "procedure": "INSERT INTO procedures (hash, raw) VALUES (?, ?) ON CONFLICT DO NOTHING",
}
SOURCE: Final = """SELECT raw FROM sheets WHERE hash = :hash
    UNION ALL SELECT raw FROM procedures WHERE hash = :hash"""
BEGIN: Final = """INSERT INTO sittings (kind, sheet_id, sheet_hash, procedure_hash, due, due_utc,
    choices, begun_at, begun_tick, begun_counter) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"""
ROWS: Final = """SELECT id, kind, sheet_id, sheet_hash, procedure_hash, due, choices,
    begun_at, begun_tick, begun_counter, ended, ended_at FROM sittings"""
ROW: Final = f"{ROWS} WHERE id = ?"
UNDER_WAY: Final = f"{ROWS} WHERE ended = ''"
EVERY: Final = f"{ROWS} ORDER BY id DESC"
SOME: Final = f"""{ROWS} WHERE id < :before AND (:sheet = '' OR sheet_id = :sheet)
    ORDER BY id DESC LIMIT 20"""
DUE_BETWEEN: Final = f"""{ROWS} WHERE kind = 'dose' AND sheet_id = ? AND due_utc >= ?
    AND due_utc < ? ORDER BY due_utc, id"""
DUE_BEFORE: Final = f"""{ROWS} WHERE kind = 'dose' AND sheet_id = ? AND due_utc < ?
    ORDER BY due_utc DESC, id DESC LIMIT 1"""
FIRST_DUE: Final = """SELECT due FROM sittings WHERE kind = 'dose' AND sheet_id = ?
    ORDER BY due_utc LIMIT 1"""
# By the moment, as the index has it: the texts of two zones cannot be compared. A time that was put
# right counts as well as the one that was written down first: the later one asks for more.
ON_PAPER: Final = """SELECT * FROM (SELECT begun, julianday(begun) FROM on_paper
        ORDER BY julianday(begun) DESC LIMIT 1)
    UNION ALL SELECT says, julianday(says) FROM paper_corrections WHERE field = 'started'
    ORDER BY 2 DESC LIMIT 1"""
LINK: Final = "SELECT hash FROM chain WHERE sitting_id = ? ORDER BY seq DESC LIMIT 1"
# The name of the counter is kept with an event only where it is another than at the beginning: it
# would be a third of a record.
APPEND: Final = """INSERT INTO events (sitting_id, seq, at, tick, counter, kind, step, value)
    SELECT :sitting, coalesce(max(seq), 0) + 1, :at, :tick, iif(:counter = (SELECT begun_counter
    FROM sittings WHERE id = :sitting), '', :counter), :kind, :step, :value FROM events
    WHERE sitting_id = :sitting RETURNING seq, at, tick, :counter, kind, step, value"""
_SOME_EVENTS: Final = """SELECT seq, at, tick, iif(counter = '', begun_counter, counter),
    events.kind, step, value FROM events JOIN sittings ON sittings.id = sitting_id
    WHERE sitting_id = ?"""
EVENTS: Final = f"{_SOME_EVENTS} ORDER BY seq"
OF_STEPS: Final = (
    f"{_SOME_EVENTS} AND (events.kind = 'undone' "  # noqa: S608 - a text of this file
    "OR step IN (SELECT value FROM json_each(?))) ORDER BY seq"
)
HAS_STEP: Final = "SELECT 1 FROM events WHERE sitting_id = ? AND step = ? LIMIT 1"
END: Final = "UPDATE sittings SET ended = ?, ended_at = ? WHERE id = ?"
TAKEN: Final = """SELECT due_utc FROM sittings WHERE kind = 'dose' AND sheet_id = :sheet
    AND due_utc >= :since AND id NOT IN (SELECT sitting_id FROM freed)
    UNION SELECT due_utc FROM on_paper WHERE sheet_id = :sheet AND due_utc >= :since"""
FREE: Final = "INSERT INTO freed (sitting_id) VALUES (?) ON CONFLICT DO NOTHING"
SEEN: Final = "SELECT 1 FROM settings WHERE key = ?"
SEE: Final = "INSERT INTO settings (key, value) VALUES (?, 'yes') ON CONFLICT DO NOTHING"
