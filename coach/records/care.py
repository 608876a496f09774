"""The care of the record's file: checked, copied, brought back, and taken away.

Owns what is done to the file as a whole. It must never change what stands in a record, and
never put an older one over a newer one by itself.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count, takewhile
from pathlib import Path

import msgspec

from coach.clean import one_line
from coach.engine import ended, finished, fold
from coach.errors import (
    CoachError,
    EngineError,
    FileProblems,
    JournalDamaged,
    JournalError,
    JournalStrange,
    OrderError,
)
from coach.journal.care import (
    Newest,
    copy_into,
    found_wrong,
    is_newer,
    newest,
    see_a_record,
    see_alone,
    sheets,
)
from coach.journal.lock import DoseLock, create_private, lock_path
from coach.journal.opening import refuse_a_shortened_file
from coach.journal.store import Journal
from coach.says import records as words
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening
from coach.sitting.reckoning import Reckoning

DAMAGED, STRANGE = "damaged", "other-version"
"""What a record that was set aside is called, after its own name."""


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
        except (FileProblems, OrderError, EngineError, JournalDamaged):
            wrong.append(words.CANNOT_BE_FOLLOWED.format(due=f"{row.due:%Y-%m-%d %H:%M}"))
            continue
        over = ended(dose.procedure, state)
        told = "" if not over else "finished" if finished(dose.procedure, state) else "stopped"
        if told != row.ended:
            wrong.append(words.ENDED_OTHERWISE.format(due=f"{row.due:%Y-%m-%d %H:%M}"))
    return Checked(len(rows), events, tuple(wrong))


def sums_hold(desk: Desk) -> bool:
    """Tell whether the sums that were kept of the stock are what the record of *desk* comes to.

    Where they are not, all of them are forgotten, and worked out anew when they are asked for.
    Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
    """
    if Reckoning(desk).comes_to_the_same():
        return True
    desk.journal.stock.forget_sums()
    return False


def backup(journal: Journal, path: Path, replace: bool = False, sheet: str = "") -> None:
    """Copy the record to *path* while it may be in use; the copy is looked through first.

    Raises CoachError where no record lies there, one that is newer, or one of neither the order
    sheet *sheet* nor another of this record, unless *replace*; where the copy does not hold or
    cannot be written. Then *path* is as it was.
    """
    if path.exists():
        # It would be replaced all the same where its folder allows it.
        if not os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            raise CoachError(words.NOT_WRITTEN.format(path=path))
        if not replace:
            _refuse_to_lose(path, journal, sheet)
    with beside(path) as copy:
        copy_into(journal.path, copy)
        with Journal.open(copy) as looked:
            if any(True for _ in found_wrong(looked)):
                raise JournalError(words.COPY_IS_WRONG)
        put(copy, path)


def _refuse_to_lose(path: Path, journal: Journal, sheet: str) -> None:
    """Raise CoachError where the file at *path* is no earlier copy of *journal*."""
    try:
        with beside(path) as copy, _taken_out(path, copy) as there:
            last, whose = newest(there), _whose(there)
    except JournalDamaged as error:
        raise CoachError(words.NO_COPY_THERE.format(path=path)) from error
    if whose not in ("", sheet, *sheets(journal)):
        raise CoachError(words.OTHER_SHEET.format(path=path, its=whose, ours=sheet))
    if is_newer(last, newest(journal)):
        raise CoachError(words.NEWER_THERE.format(path=path))


def restore(path: Path, backup: Path, replace: bool = False, sheet: str = "") -> tuple[str, ...]:
    """Put the copy *backup* in the place of the record at *path*; it is looked through first.

    A record that is damaged is never removed, nor one that another version wrote: it gets a name
    of its own beside its place, and the sentences that tell so are returned.

    Raises CoachError where the record has anything newer or another version wrote it, or where
    the copy is of another order sheet than *sheet* (empty: nobody knows), unless *replace*; where
    a dose is under way in the record, or the copy does not hold. Then the record is as it was,
    and so is the folder of the copy in any case.
    """
    if not backup.is_file():
        raise CoachError(words.NO_COPY.format(path=backup))
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with beside(path) as copy:
        last, whose = _taken_over(backup, copy)
        if sheet and whose not in ("", sheet) and not replace:
            raise CoachError(words.OTHER_SHEET.format(path=backup, its=whose, ours=sheet))
        end = _kept_as(path, last, replace) if path.exists() else ""
        if not end:
            for name in _leftovers(path):
                name.unlink(missing_ok=True)
            put(copy, path)
            return ()
        aside = next(name for name in _names_beside(path, end) if not name.exists())
        try:
            _move(path, aside)
            put(copy, path)
        except CoachError:
            with suppress(CoachError):
                _move(aside, path)
            raise
    return (words.SET_ASIDE[end].format(path=aside), words.LATER_DOSES)


def _taken_over(backup: Path, copy: Path) -> tuple[Newest, str]:
    """Take the copy *backup* over into the empty file *copy*.

    Returns how far it has come, and whose it is. Raises CoachError where it cannot be read, is no
    record, or does not hold.
    """
    try:
        with _taken_out(backup, copy) as looked:
            if not any(True for _ in found_wrong(looked)):
                return newest(looked), _whose(looked)
    except JournalStrange as error:
        raise CoachError(words.COPY_STRANGE.format(path=backup)) from error
    except JournalDamaged:
        pass
    raise CoachError(words.COPY_DAMAGED.format(path=backup))


@contextmanager
def _taken_out(file: Path, copy: Path) -> Iterator[Journal]:
    """Take the record in *file* over into the empty file *copy*, and open that.

    *file* and its folder stay as they are. Raises CoachError where it cannot be read, and of its
    kinds JournalDamaged where it holds no record that this version can open.
    """
    with beside(copy) as read:
        _read_aside(file, read)
        refuse_a_shortened_file(read)
        see_a_record(read)
        copy_into(read, copy)
    with Journal.open(copy) as journal:
        yield journal


def _whose(journal: Journal) -> str:
    """Return the id of the order sheet that *journal* is of now; empty where it has none."""
    return one_line(next(iter(sheets(journal)), ""))


def _read_aside(backup: Path, to: Path) -> None:
    """Copy *backup* to the empty file *to*, byte by byte, with the log that lies beside it.

    SQLite leaves files of its own beside what it opens, and the folder of a copy is not ours.
    Raises CoachError where it cannot be read.
    """
    try:
        # The log first: what is put into the file meanwhile is then in both.
        for end in ("-wal", ""):
            own, its = (one.with_name(one.name + end) for one in (backup, to))
            if own.exists():
                create_private(its)
                shutil.copyfile(own, its)
    except OSError as error:
        raise CoachError(words.COPY_UNREAD.format(path=backup)) from error


def _kept_as(path: Path, last: Newest, replace: bool) -> str:
    """Return what the record at *path* is kept as once a copy is in its place; empty for not.

    The copy has come as far as *last*. Raises CoachError where it must stay in its place.
    """
    end = ""
    try:
        with Journal.open(path) as current:
            current.hold_dose()
            if any(True for _ in found_wrong(current)):
                end = DAMAGED
            here = newest(current)
    except JournalStrange as error:
        if not replace:
            raise JournalError(f"{error} {words.REPLACE_IT}") from error
        end = STRANGE
    except JournalDamaged:
        end = DAMAGED
    else:
        if not replace and is_newer(here, last):
            raise CoachError(words.NEWER_THERE.format(path=path))
    _see_unused(path)
    return end


def _see_unused(path: Path) -> None:
    """See that no window has the record at *path* open, as far as a damaged one can tell."""
    lock = DoseLock(lock_path(path))
    lock.hold()
    lock.release()
    with suppress(JournalDamaged):
        see_alone(path)


def _names_beside(path: Path, end: str) -> Iterator[Path]:
    """Yield the names beside *path* for what is set aside, in order and without end."""
    return (path.with_name(f"{path.name}.{end}-{number}") for number in count(1))


def _move(path: Path, to: Path) -> None:
    """Move the record at *path*, with what SQLite left beside it. Raises CoachError."""
    try:
        os.replace(path, to)
        for left, its in zip(_leftovers(path), _leftovers(to), strict=True):
            with suppress(FileNotFoundError):
                os.replace(left, its)
    except OSError as error:
        raise CoachError(words.NOT_WRITTEN.format(path=to)) from error


def forget(path: Path, others: tuple[Path, ...]) -> tuple[str, ...]:
    """Remove the record at *path*, its small files, and the *others*; return what went, by name.

    Raises JournalBusy where another window has the record open, CoachError where a file stays, or
    where the record is damaged: then nothing went.
    """
    if path.exists():
        try:
            with Journal.open(path) as journal:
                journal.hold_dose()
        except JournalStrange:
            raise
        except JournalDamaged as error:
            raise CoachError(words.FORGET_DAMAGED.format(path=path)) from error
        see_alone(path)
    gone = []
    files = (path, *_set_aside(path), *others)
    for name in (one for file in files for one in (*_leftovers(file), lock_path(file), file)):
        try:
            size = name.stat().st_size
            name.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise CoachError(words.STAYS.format(path=name)) from error
        gone.append(words.WENT.format(path=name, size=size))
    return tuple(gone)


def _set_aside(path: Path) -> Iterator[Path]:
    """Yield what was set aside of the record at *path*."""
    for end in (DAMAGED, STRANGE):
        yield from takewhile(Path.exists, _names_beside(path, end))


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
