"""What the proof has to say of one thing that does not hold."""

from __future__ import annotations

import msgspec

from coach.procedure.facts import Where


class Finding(msgspec.Struct, frozen=True):
    """One thing that does not hold."""

    name: str
    """The name of the rule or check that found it."""
    says: str
    """What does not hold, in a sentence."""
    where: Where | None = None
    """The place in the files concerned; None where it is the whole of them."""
    sheets: str = ""
    """The kind of order sheet that it was found for, in words; empty where it is every kind."""
    story: tuple[str, ...] = ()
    """The shortest run that gets there, a sentence for each thing that happens."""
