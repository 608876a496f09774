"""Every error that this program raises on purpose, in one tree.

::

    CoachError                  one calm sentence for the person, an exit code
    ├── FileProblems            a YAML file that cannot be used: rows of what is wrong
    ├── OrderError              a quantity or a calculation that makes no sense
    ├── EngineError             an event that the procedure does not allow now
    ├── NotProved               a dose whose steps do not hold
    └── JournalError            the record on disk
        ├── JournalBusy         another window has the dose
        └── JournalDamaged      it cannot be read as a record
            └── JournalStrange  nothing is wrong with it, but this version did not write it
"""

from __future__ import annotations

from enum import IntEnum
from typing import ClassVar, NamedTuple


class ExitCode(IntEnum):
    """What the command tells the shell."""

    DONE = 0
    """It did what was asked."""
    REFUSED = 1
    """What was asked about does not hold: a file with errors, a proof that fails."""
    COULD_NOT_RUN = 2
    """It could not be tried: wrong use, a missing file, a busy journal."""


class CoachError(Exception):
    """The root: its text is one calm sentence that can be shown to the person as it is."""

    exit_code: ClassVar[ExitCode] = ExitCode.COULD_NOT_RUN


class Problem(NamedTuple):
    """One thing that is wrong in a file, and what would be right."""

    file: str
    """The file as it was named."""
    line: int
    """Line, from 1; 0 where it is not known."""
    column: int
    """Column, from 1; 0 where it is not known."""
    field: str
    """The path of the field, such as ``flush.before``; empty for the whole file."""
    expected: str
    """What would have been right, in words."""
    found: str
    """What stands there, in words or in quotes."""
    hint: str = ""
    """A full sentence that helps, or empty."""

    def __str__(self) -> str:
        """Return the row as one line of text."""
        place = f"{self.file}, line {self.line}" if self.line else self.file
        field = f", field {self.field}" if self.field else ""
        hint = f" {self.hint}" if self.hint else ""
        return f"{place}{field}: expected {self.expected}; found {self.found}.{hint}"


class FileProblems(CoachError):
    """A file that cannot be used, with every problem that was found in it."""

    exit_code = ExitCode.REFUSED

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        """Take the *problems*, at least one, in the order in which they were found."""
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


class OrderError(CoachError):
    """A quantity that cannot be read, or a calculation that its units do not allow."""


class EngineError(CoachError):
    """An event that the procedure does not allow in this state."""


class NotProved(CoachError):
    """A dose whose steps were proved and do not hold; the text says what, and whom to call."""

    exit_code = ExitCode.REFUSED


class ProofError(CoachError):
    """A proof that came to no answer: nothing it found can be relied on."""


class JournalError(CoachError):
    """The journal on disk cannot be used as asked."""


class JournalBusy(JournalError):
    """Another window has the dose under way."""


class JournalDamaged(JournalError):
    """The journal cannot be read."""


class JournalStrange(JournalDamaged):
    """A whole file that a later version wrote, or another program."""
