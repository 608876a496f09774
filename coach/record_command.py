"""``coach records``: the doses so far, in plain lines or as a visit report; care of the file.

Owns what each of its words does. It must never look into the record itself.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from coach import places, words
from coach.errors import CoachError, ExitCode, FileProblems
from coach.lines import Lines
from coach.record_talk import talk_of
from coach.records.shelf import Shelf
from coach.says import doses as dose_words
from coach.says import records as file_words
from coach.sitting.desk import Desk
from coach.telling import contact_lines
from coach.voice import Gone, Voice, asides


def in_lines(desk: Desk, lines: Lines, columns: Callable[[], int] | None) -> ExitCode:
    """Talk about the doses of *desk* in plain lines, until the person leaves."""
    voice = Voice(lines, sys.stdout, columns)
    whom = tuple(contact_lines(desk.contacts()))
    beside = asides(dose_words.TOLD_AT, whom, lambda: (words.TOLD_NO_LIST,))
    with suppress(Gone, KeyboardInterrupt):
        talk_of(desk, voice.say, lambda: voice.hear_beside(beside))
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
    from coach.says import paper as paper_words

    calls = (paper_words.CALL.format(who=c.who, phone=c.phone) for c in desk.contacts())
    marked = (paper_words.DEMONSTRATION,) if desk.sheet.demonstration else ()
    document = Document(
        title=dose_words.REPORT_TITLE,
        head=(*calls, *marked),
        foot=lines[0],
        pages=(text_pages(dose_words.REPORT_TITLE, filter(None, unwrapped(lines))),),
    )
    write_pdf(told.pdf, pdf_of(document, told.size))
    print(paper_words.WRITTEN.format(path=told.pdf))
    return ExitCode.DONE


def asked(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Do what was *told* of the open record: its report, a look through it, a copy, an export.

    A PDF is always of the report. Raises CoachError where that cannot be done.
    """
    if told.what in ("report", "list"):
        return report(desk, told)
    if told.what == "export":
        return _hand_on(desk, told)
    return _look_through(desk) if told.what == "check" else _copy(desk, told)


def _doses(number: int) -> str:
    return (file_words.ONE_DOSE if number == 1 else file_words.DOSES).format(number=number)


def _look_through(desk: Desk) -> ExitCode:
    from coach.records.care import check, sums_hold
    from coach.sitting.opening import Opening

    opening = Opening(
        desk.sheet, desk.sheet_raw, desk.procedures, desk.journal, desk.clock, desk.first_fault
    )
    found = check(desk.journal, opening)
    if found.wrong:
        print("\n".join((*found.wrong, file_words.KEEP_IT)))
        return ExitCode.REFUSED
    events = file_words.ONE_EVENT if found.events == 1 else file_words.EVENTS
    events = events.format(number=found.events)
    print(file_words.ALL_HOLDS.format(doses=_doses(found.doses), events=events))
    if not sums_hold(desk):
        print(file_words.SUMS_DIFFER)
    return ExitCode.DONE


def _copy(desk: Desk, told: argparse.Namespace) -> ExitCode:
    from coach.records.care import backup

    path = _named(told)
    backup(desk.journal, path, told.replace, desk.sheet.sheet.id)
    print(file_words.COPIED.format(path=path))
    return ExitCode.DONE


def _hand_on(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Write the doses, or the times of those to come, in the form that was *told*."""
    from coach.records.export import handed
    from coach.records.export.reminders import AHEAD
    from coach.says import export as words

    path = told.file or Path(handed.NAMES[told.format].format(release=told.release))
    if told.format == "calendar":
        if told.since or told.until:
            raise CoachError(words.NO_DAYS)
        handed.write(handed.calendar_file(desk, path), told.replace)
        says = [words.CALENDAR_WRITTEN.format(days=AHEAD.days, path=path), words.CALENDAR_PRIVATE]
    else:
        records = handed.records_between(Shelf(desk), told.since, told.until)
        doses = _doses(len(records))
        if told.format == "csv":
            handed.write(handed.table_files(desk, records, path), told.replace)
            columns = handed.columns_beside(path)
            says = [words.TABLE_WRITTEN.format(doses=doses, path=path, columns=columns)]
        else:
            handed.write(handed.fhir_file(desk, records, path, told.release), told.replace)
            says = [words.FHIR_WRITTEN.format(doses=doses, path=path, release=told.release)]
        says.append(words.PRIVATE)
    if desk.sheet.demonstration:
        says.append(words.ALL_INVENTED)
    print("\n".join(says))
    return ExitCode.DONE


def bring_back(journal: Path, orders: Path, told: argparse.Namespace) -> ExitCode:
    """Put the copy that was *told* in the place of the record *journal*, kept by *orders*.

    Raises CoachError where that cannot be done; the record is then as it was.
    """
    from coach.orders.read import read_sheet
    from coach.records.care import restore

    path, sheet = _named(told), ""
    # A record can be brought back before its order sheet is there, or while that has errors.
    with suppress(FileProblems):
        sheet = read_sheet(orders).sheet.id
    aside = restore(journal, path, told.replace, sheet)
    print("\n".join((file_words.BROUGHT_BACK.format(path=path), *aside)))
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
