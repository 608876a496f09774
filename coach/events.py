"""What happened in a sitting, one event at a time.

Owns the shape of an event, shared by the engine that reads events and the journal that keeps
them. It must never decide what an event means.
"""

from __future__ import annotations

import msgspec

from coach.clock import Instant

KINDS = ("done", "answer", "reading", "spoiled", "trouble", "left", "returned", "undone", "note")
"""Every kind of event there is; nothing else is kept."""


class Event(msgspec.Struct, frozen=True):
    """One thing that happened, as it was kept."""

    seq: int
    """Its place in the sitting, from 1, without gaps."""
    at: Instant
    """When it happened, by both clocks."""
    kind: str
    """One of `KINDS`."""
    step: str
    """The step it belongs to; empty where it belongs to none."""
    value: str
    """What was answered, read or noted; empty where there is nothing to say."""
