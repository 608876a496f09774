"""The chain over the events: each link covers its event and the link before it.

Owns how a link is made and how the chain is walked. It shows what changed by accident, or by a
hand that did not know of it; whoever makes the whole chain anew leaves no trace. It must never
mend a link.
"""

from __future__ import annotations

import json
import sqlite3
from typing import Final

from coach.journal.rows import sha256_of

_LAST: Final = "SELECT hash FROM chain ORDER BY sitting_id DESC, seq DESC LIMIT 1"
_LINK: Final = "INSERT INTO chain (sitting_id, seq, hash) VALUES (?, ?, ?)"
_EVERY: Final = """SELECT sitting_id, seq, at, kind, step, value, hash
    FROM events LEFT JOIN chain USING (sitting_id, seq) ORDER BY sitting_id, seq"""

Linked = tuple[int, int, str, str, str, str]
"""What a link covers of its event: sitting, seq, at, kind, step, value."""


def link_of(event: Linked, before: bytes) -> bytes:
    """Return the link of *event* that follows the link *before*, empty for the first.

    SHA-256 over a JSON list, so that no two different events have one text.
    """
    text = json.dumps([*event, before.hex()], ensure_ascii=False)
    return bytes.fromhex(sha256_of(text.encode("utf-8", "surrogatepass")))


def keep_link(database: sqlite3.Connection, event: Linked) -> None:
    """Add the link of *event*, the newest; to be called in the transaction that keeps it."""
    last = database.execute(_LAST).fetchone()
    database.execute(_LINK, (*event[:2], link_of(event, last[0] if last else b"")))


def link_all(database: sqlite3.Connection) -> None:
    """Make the chain of a record that had none; to be called inside a transaction."""
    before = b""
    for *event, _ in database.execute(_EVERY).fetchall():
        before = link_of(tuple(event), before)
        database.execute(_LINK, (*event[:2], before))


def first_break(database: sqlite3.Connection) -> tuple[int, int] | None:
    """Return the sitting and seq of the first event that its link does not fit; None if all do."""
    before = b""
    for *event, found in database.execute(_EVERY):
        before = link_of(tuple(event), before)
        if found != before:
            return event[0], event[1]
    return None
