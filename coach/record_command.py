"""``coach records``: the doses so far, in plain lines or as a visit report; care of the file.

Owns what each of its words does. It must never look into the record itself.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from coach import places
from coach.errors import CoachError, ExitCode
from coach.lines import Lines
from coach.record_talk import talk_of
from coach.records.shelf import Shelf
from coach.says import records as file_words
from coach.sitting.desk import Desk
from coach.voice import Gone, Voice


def in_lines(desk: Desk, lines: Lines, columns: Callable[[], int] | None) -> ExitCode:
    """Talk about the doses of *desk* in plain lines, until the person leaves."""
    voice = Voice(lines, sys.stdout, columns)
    with suppress(Gone, KeyboardInterrupt):
        talk_of(desk, voice.say, voice.hear)
    return ExitCode.DONE


def report(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Print the visit report, or write it as the PDF that was *told*.

    Raises CoachError where the record cannot be read, or the PDF cannot be written.
    """
    from coach.visit import report_of, unwrapped

    lines = report_of(Shelf(desk))
    if told.pdf is None:
        print("\n".join(lines))
        return ExitCode.DONE
    from coach.paper.pdf import Document, pdf_of, text_pages, write_pdf
    from coach.says import doses as words
    from coach.says import paper as paper_words

    calls = (paper_words.CALL.format(who=c.who, phone=c.phone) for c in desk.contacts())
    marked = (paper_words.DEMONSTRATION,) if desk.sheet.demonstration else ()
    document = Document(
        title=words.REPORT_TITLE,
        head=(*calls, *marked),
        foot=lines[0],
        pages=(text_pages(words.REPORT_TITLE, filter(None, unwrapped(lines))),),
    )
    write_pdf(told.pdf, pdf_of(document, told.size))
    print(paper_words.WRITTEN.format(path=told.pdf))
    return ExitCode.DONE


def asked(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Do what was *told* of the open record: its report, a look through it, or a copy.

    A PDF is always of the report. Raises CoachError where that cannot be done.
    """
    if told.what in ("report", "list"):
        return report(desk, told)
    return _look_through(desk) if told.what == "check" else _copy(desk, told)


def _look_through(desk: Desk) -> ExitCode:
    from coach.records.care import check
    from coach.sitting.opening import Opening

    opening = Opening(
        desk.sheet, desk.sheet_raw, desk.procedures, desk.journal, desk.clock, desk.first_fault
    )
    found = check(desk.journal, opening)
    if found.wrong:
        print("\n".join((*found.wrong, file_words.KEEP_IT)))
        return ExitCode.REFUSED
    print(file_words.ALL_HOLDS.format(doses=found.doses, events=found.events))
    return ExitCode.DONE


def _copy(desk: Desk, told: argparse.Namespace) -> ExitCode:
    from coach.records.care import backup

    path = _named(told)
    backup(desk.journal, path, told.replace)
    print(file_words.COPIED.format(path=path))
    return ExitCode.DONE


def bring_back(journal: Path, told: argparse.Namespace) -> ExitCode:
    """Put the copy that was *told* in the place of the record *journal*.

    Raises CoachError where that cannot be done; the record is then as it was.
    """
    from coach.records.care import restore

    path = _named(told)
    restore(journal, path, told.replace)
    print(file_words.BROUGHT_BACK.format(path=path))
    return ExitCode.DONE


def take_away(journal: Path, orders: Path) -> ExitCode:
    """Remove the record *journal* and what lies beside it, once the name on *orders* is typed.

    Raises CoachError where a dose is open, or a file cannot be removed.
    """
    from coach.orders.read import read_sheet
    from coach.records.care import forget

    initials = read_sheet(orders).person.initials
    print(file_words.FORGET_ASKS.format(initials=initials), flush=True)
    if sys.stdin.readline().strip() != initials:
        print(file_words.FORGET_NOT, file=sys.stderr)
        return ExitCode.REFUSED
    small = (places.data_folder() / name for name in (places.PROVED, places.THEME, places.FAILURE))
    gone = forget(journal, (places.practice_beside(journal), *small))
    print("\n".join(gone or (file_words.NOTHING_THERE,)))
    print(file_words.SHEET_STAYS.format(path=orders))
    return ExitCode.DONE


def _named(told: argparse.Namespace) -> Path:
    """Return the copy that was *told*. Raises CoachError where none was."""
    if told.file is None:
        raise CoachError(file_words.NAME_THE_COPY.format(what=told.what))
    path: Path = told.file
    return path
