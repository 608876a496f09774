"""The care of the record's file: checked, copied, brought back, and taken away.

Owns what is done to the file as a whole. It must never change what stands in a record, and
never put an older one over a newer one by itself.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import msgspec

from coach.engine import ended, finished, fold
from coach.errors import CoachError, EngineError, FileProblems, JournalError, OrderError
from coach.journal.care import copy_into, found_wrong, newest, see_alone
from coach.journal.lock import lock_path
from coach.journal.store import Journal
from coach.says import records as words
from coach.sitting.opening import Opening


class Checked(msgspec.Struct, frozen=True):
    """What a look through a whole record found."""

    doses: int
    events: int
    wrong: tuple[str, ...]
    """What does not hold, each as one sentence; empty where all does."""


def check(journal: Journal, opening: Opening) -> Checked:
    """Look through the whole record: the file, its chain, and each dose done over."""
    rows = journal.every_sitting()
    wrong = [words.WRONG[name].format(where=where) for name, where in found_wrong(journal)]
    events = 0
    for row in rows:
        kept = journal.events(row.id)
        events += len(kept)
        try:
            dose, _ = opening.history(row)
            state = fold(dose, kept)[-1].state
        except (FileProblems, OrderError, EngineError):
            wrong.append(words.CANNOT_BE_FOLLOWED.format(due=f"{row.due:%Y-%m-%d %H:%M}"))
            continue
        over = ended(dose.procedure, state)
        told = "" if not over else "finished" if finished(dose.procedure, state) else "stopped"
        if told != row.ended:
            wrong.append(words.ENDED_OTHERWISE.format(due=f"{row.due:%Y-%m-%d %H:%M}"))
    return Checked(len(rows), events, tuple(wrong))


def backup(journal: Journal, path: Path, replace: bool = False) -> None:
    """Copy the record to *path* while it may be in use; the copy is looked through first.

    Raises CoachError where something newer lies there, unless *replace*; where the copy does
    not hold or cannot be written. Then *path* is as it was.
    """
    if path.exists() and not replace and newest(path) > newest(journal.path):
        raise CoachError(words.NEWER_THERE.format(path=path))
    with beside(path) as copy:
        copy_into(journal.path, copy)
        with Journal.open(copy) as looked:
            if any(True for _ in found_wrong(looked)):
                raise JournalError(words.COPY_IS_WRONG)
        put(copy, path)


def restore(path: Path, backup: Path, replace: bool = False) -> None:
    """Put the copy *backup* in the place of the record at *path*; it is looked through first.

    Raises CoachError where the record is newer, unless *replace*; where a dose is under way in
    it, or the copy does not hold. Then the record is as it was.
    """
    if not backup.is_file():
        raise CoachError(words.NO_COPY.format(path=backup))
    if path.exists():
        if not replace and newest(path) > newest(backup):
            raise CoachError(words.NEWER_THERE.format(path=path))
        with Journal.open(path) as current:
            current.hold_dose()
        see_alone(path)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with beside(path) as copy:
        copy_into(backup, copy)
        with Journal.open(copy) as looked:
            if any(True for _ in found_wrong(looked)):
                raise JournalError(words.COPY_IS_WRONG)
        for name in _leftovers(path):
            name.unlink(missing_ok=True)
        put(copy, path)


def forget(path: Path, others: tuple[Path, ...]) -> tuple[str, ...]:
    """Remove the record at *path*, its small files, and the *others*; return what went, by name.

    Raises JournalBusy where another window has the record open, CoachError where a file stays.
    """
    if path.exists():
        with Journal.open(path) as journal:
            journal.hold_dose()
        see_alone(path)
    gone = []
    for name in (
        one for file in (path, *others) for one in (*_leftovers(file), lock_path(file), file)
    ):
        try:
            size = name.stat().st_size
            name.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise CoachError(words.STAYS.format(path=name)) from error
        gone.append(words.WENT.format(path=name, size=size))
    return tuple(gone)


def _leftovers(path: Path) -> Iterator[Path]:
    """Yield the files that SQLite keeps beside the record while it is in use."""
    for end in ("-wal", "-shm"):
        yield path.with_name(path.name + end)


@contextmanager
def beside(path: Path) -> Iterator[Path]:
    """Make an empty file for its owner alone in the folder of *path*; it goes in the end.

    Raises CoachError where it cannot be made.
    """
    try:
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        os.close(number)
    except OSError as error:
        raise CoachError(words.NOT_WRITTEN.format(path=path)) from error
    copy = Path(name)
    try:
        yield copy
    finally:
        for left in (copy, *_leftovers(copy), lock_path(copy)):
            with suppress(OSError):
                left.unlink()


def put(copy: Path, path: Path) -> None:
    """Put *copy* in the place of *path*, all of it or nothing. Raises CoachError."""
    try:
        with copy.open("rb") as file:
            os.fsync(file.fileno())
        os.replace(copy, path)
    except OSError as error:
        raise CoachError(words.NOT_WRITTEN.format(path=path)) from error
