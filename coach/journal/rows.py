"""Rows of the record as values, and back.

Owns how a moment, a set of choices, a sitting and an event are written down. It must never
accept a moment without its offset.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any, Final

import msgspec

from coach.clean import shown
from coach.clock import Instant
from coach.errors import JournalError
from coach.events import KINDS, Event
from coach.journal.trouble import damaged

SITTING_KINDS: Final = ("dose", "rehearsal")
"""Every kind of sitting there is. A misspelt kind would escape the rule of one dose. Doses and
rehearsals never share a file."""

ENDINGS: Final = ("finished", "stopped")
"""The ways in which a sitting ends."""


class SittingRow(msgspec.Struct, frozen=True):
    """One sitting, as it was kept."""

    id: int
    """Its number in this journal, from 1 upward."""
    kind: str
    """One of `SITTING_KINDS`."""
    sheet_id: str
    """Names the order sheet across its changes."""
    sheet_hash: str
    """SHA-256 in hex of the order sheet's exact bytes."""
    procedure_hash: str
    """SHA-256 in hex of the procedure's exact bytes."""
    due: datetime
    """Aware. The due time that this dose is for."""
    choices: Mapping[str, str]
    """What was chosen before the first step; read only."""
    begun: Instant
    """When it was begun, by both clocks."""
    ended: str
    """One of `ENDINGS`, or empty while it is under way."""
    ended_at: datetime | None
    """Aware. When it ended, or None while it is under way."""


def sha256_of(raw: bytes) -> str:
    """Return the SHA-256 of *raw* in hex, under which its bytes are kept."""
    # Imported once a dose is opened: it brings a library of half a megabyte with it.
    import hashlib

    return hashlib.sha256(raw).hexdigest()


def moment_text(moment: datetime) -> str:
    """Return *moment* as ISO 8601 with its offset. Raises JournalError where it has none."""
    if moment.utcoffset() is None:
        raise JournalError("A time without its time zone cannot be saved. Check the clock.")
    return moment.isoformat()


def due_key(due: datetime) -> str:
    """Return *due* as ISO 8601 in UTC, one text for each moment.

    Raises JournalError where *due* has no offset.
    """
    # By way of the text: two moments in different zones never compare equal inside the hour
    # that the clocks go through twice (PEP 495), while their texts in UTC do.
    return datetime.fromisoformat(moment_text(due)).astimezone(UTC).isoformat()


def read_moment(text: str) -> datetime:
    """Return the moment that `moment_text` wrote. Raises JournalDamaged for anything else."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise damaged() from error
    if moment.utcoffset() is None:
        raise damaged()
    return moment


def choices_text(choices: Mapping[str, str]) -> str:
    """Return *choices* as one JSON object, made safe to show."""
    safe = {shown(key): shown(value) for key, value in choices.items()}
    return json.dumps(safe, ensure_ascii=False)


def read_sitting(row: tuple[Any, ...]) -> SittingRow:
    """Return the sitting in *row*, column by column without the due time in UTC.

    Raises JournalDamaged where the row makes no sense.
    """
    number, kind, sheet_id, sheet, procedure, due, choices, at, tick, counter, ended, end = row
    return SittingRow(
        id=number,
        kind=kind,
        sheet_id=sheet_id,
        sheet_hash=sheet,
        procedure_hash=procedure,
        due=read_moment(due),
        choices=_read_choices(choices),
        begun=Instant(read_moment(at), tick, counter),
        ended=ended,
        ended_at=None if end is None else read_moment(end),
    )


def read_event(row: tuple[Any, ...]) -> Event:
    """Return the event in *row*: seq, at, tick, counter, kind, step, value.

    Raises JournalDamaged where the row makes no sense.
    """
    seq, at, tick, counter, kind, step, value = row
    if kind not in KINDS:
        raise damaged()
    return Event(seq, Instant(read_moment(at), tick, counter), kind, step, value)


def _read_choices(text: str) -> Mapping[str, str]:
    try:
        found = json.loads(text)
    except ValueError as error:
        raise damaged() from error
    if not isinstance(found, dict) or not all(isinstance(value, str) for value in found.values()):
        raise damaged()
    # JSON can spell a control character with harmless ones, so it is made safe after reading.
    return MappingProxyType({shown(key): shown(value) for key, value in found.items()})
