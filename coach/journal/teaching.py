"""What is taught: learners, visits, marks, surprises and sign-offs, in the file of rehearsals.

Owns the reading and writing of its rows. It must never change or remove one, and never decide
what a mark is worth.
"""

from __future__ import annotations

from typing import ClassVar, Final

from coach.clean import shown
from coach.errors import JournalError
from coach.journal.book import Book, Row

LEVELS: Final = ("alone", "reminder", "hands-on", "not-yet")
"""How a step or a surprise went, the best first: without cues, with occasional cues, with frequent
cues or hands-on help, not able. The lowest counts, never an average. Source: Bondy 1983
(restated; its two middle levels of cues stand as one here)."""


class Learner(Row, frozen=True):
    """Somebody who learns the doses of an order sheet."""

    table: ClassVar[str] = "learners"
    sheet_id: str
    """Names the order sheet across its changes."""
    name: str
    role: str


class Visit(Row, frozen=True):
    """One visit of a nurse to a learner."""

    table: ClassVar[str] = "visits"
    learner_id: int
    nurse: str


class Run(Row, frozen=True):
    """A rehearsal, and the visit that it belongs to."""

    table: ClassVar[str] = "runs"
    visit_id: int
    sitting_id: int


class Leap(Row, frozen=True):
    """The rest of a wait that was skipped for practice."""

    table: ClassVar[str] = "leaps"
    sitting_id: int
    step: str
    seconds: int
    """How much was skipped."""
    whole: int
    """Seconds of the whole wait."""


class Dealt(Row, frozen=True):
    """A surprise that was shown to a learner."""

    table: ClassVar[str] = "dealt"
    sitting_id: int
    seq: int
    """The last event before it."""
    step: str
    """The step that was to do."""
    name: str
    """What names the surprise among all that there are."""
    says: str
    """What it was, for the nurse."""
    shown: str
    """What the learner was shown."""
    typed: str
    """The number that was shown to be read off; empty where none was."""


class Met(Row, frozen=True):
    """What came of a surprise."""

    table: ClassVar[str] = "met"
    dealt_id: int
    is_right: bool
    did: str
    """What the learner did, in words."""


class Mark(Row, frozen=True):
    """How one step or one surprise of a rehearsal went; a later one for the same corrects it."""

    table: ClassVar[str] = "marks"
    sitting_id: int
    step: str
    seq: int
    """The event that did the step; 0 where it was not done, or for a surprise."""
    dealt_id: int | None
    """The surprise; None for a step."""
    level: str
    """One of `LEVELS`."""
    prompts: int
    note: str

    @property
    def of(self) -> tuple[int, str, int, int | None]:
        """What it marks."""
        return self.sitting_id, self.step, self.seq, self.dealt_id


class SaidBack(Row, frozen=True):
    """The points of an open question that a learner said."""

    table: ClassVar[str] = "said_back"
    visit_id: int
    question: str
    points: str
    """A JSON list of the points, each in words."""


class SignOff(Row, frozen=True):
    """A nurse's word that a learner can do it alone."""

    table: ClassVar[str] = "sign_offs"
    learner_id: int
    nurse: str
    steps: str
    """A JSON object: for each step by id, what names its content."""


class TeachingBook(Book):
    """The rows of what is taught.

    Every method raises JournalError, or one of its kinds, where the file cannot be read or
    written; what was kept before is then untouched.
    """

    def refuse(self, row: Row) -> None:
        """Raise JournalError for a level that is not one of `LEVELS`."""
        if isinstance(row, Mark) and row.level not in LEVELS:
            raise JournalError(f"The record knows no level called “{shown(row.level)}”.")

    def makes_sense(self, row: Row) -> bool:
        """Tell whether *row*, as it was read, can have been kept, its level with it."""
        return super().makes_sense(row) and not (isinstance(row, Mark) and row.level not in LEVELS)
