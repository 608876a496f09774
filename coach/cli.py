"""The front door: reads the command line and opens what it names.

Owns the commands and their exit codes. Each command imports its own modules, so that nothing
heavy is loaded before it is needed. Nothing else writes to standard error.
"""

from __future__ import annotations

import argparse
import gc
import os
import shutil
import sys
from collections.abc import Callable, Iterable
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING

from coach import places, words
from coach.errors import CoachError, ExitCode, FileProblems
from coach.options import NO_DATE, read
from coach.says import proof as proof_words
from coach.themes import chosen_theme
from coach.window import SMALLEST

if TYPE_CHECKING:
    from coach.clock import Clock
    from coach.lines import Lines
    from coach.orders.sheet import OrderSheet
    from coach.procedure.files import Bundle
    from coach.proof.finding import Finding
    from coach.sitting.contacts import Contact
    from coach.sitting.desk import Desk

NEW_OBJECTS = 100_000
"""How many there may be before Python looks for garbage: more than a start makes, since looking
after every 700 takes a fifteenth of it and finds next to nothing."""

OF_A_PATIENT = ("today", "follow", "checklist", "demo", "supplies", "records")
"""The commands of somebody who may need to know whom to call."""

ABOUT = ("-h", "--help", "--version")
"""What is asked of the program as a whole; any other option belongs to a command."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command that *arguments* name, ``today`` if none; return what the shell is told."""
    gc.set_threshold(NEW_OBJECTS)
    given = sys.argv[1:] if arguments is None else arguments
    if not given or (given[0].startswith("-") and given[0] not in ABOUT):
        given = ["today", *given]
    told = read(given)
    try:
        return _run(told)
    except CoachError as error:
        print(error, file=sys.stderr)
        if isinstance(error, FileProblems) and told.command in OF_A_PATIENT:
            _say_whom_to_call(_orders(told))
        return error.exit_code
    except KeyboardInterrupt:
        return ExitCode.DONE
    except BrokenPipeError:
        # Whoever read the lines has seen enough; nothing is left to say to a closed pipe.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ExitCode.DONE
    except Exception as error:
        # The last resort: a person in the middle of a dose gets one calm sentence, and no
        # traceback with a name or a dose in it.
        return _broken(error, told.to_call)


def _run(told: argparse.Namespace) -> ExitCode:
    """Open what was *told*; note in it whom to call as soon as that is known."""
    if told.command == "prove":
        return _prove(told)
    if told.command == "orders":
        return _check(told.file) if told.what == "check" else _edit(told.file, told)
    if told.command == "schema":
        return _write_schemas(told.folder)
    from coach.clock import SystemClock
    from coach.journal.store import Journal
    from coach.sitting.desk import Desk

    folder, orders = places.data_folder(), _orders(told)
    name = places.DEMO_JOURNAL if told.command == "demo" else places.JOURNAL
    path = told.journal or folder / name
    restores = told.command == "records" and told.what == "restore"
    if not restores:
        _look_for(told, orders)
    if restores or (told.command == "records" and told.what == "forget"):
        from coach.record_command import bring_back, take_away

        return bring_back(path, orders, told) if restores else take_away(path, orders)
    with Journal.open(path) as journal:
        desk = Desk(orders, _procedures(told), journal, SystemClock(), _first_fault)
        told.to_call = desk.contacts()
        if told.command in ("supplies", "paper"):
            return _supplies(desk, told) if told.command == "supplies" else _paper(desk, told)
        if told.command == "records" and (told.what != "list" or told.pdf is not None):
            from coach.record_command import asked

            return asked(desk, told)
        if told.command == "rehearse":
            return _rehearse(desk, told)
        start = told.command if told.command in ("follow", "checklist", "records") else "today"
        if told.plain or not _can_paint():
            return _in_lines(desk, start)
        from coach.screens.app import run_app

        return run_app(desk, start, _theme(told))


def _look_for(told: argparse.Namespace, orders: Path) -> None:
    """Raise CoachError where there is no order sheet, or no record that was named to look into."""
    if not orders.exists():
        raise CoachError(words.NO_ORDERS.format(path=orders))
    if told.command == "records" and told.journal and not told.journal.exists():
        raise CoachError(words.NO_RECORD.format(path=told.journal))


def _rehearse(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Open a teaching visit, or print the competence sheets."""
    from random import SystemRandom

    from coach.practice.lessons import Lessons

    path = places.practice_beside(desk.journal.path)
    lessons = Lessons(desk, path, SystemRandom())
    try:
        if told.sheet:
            from coach.practice.visiting import every_sheet

            print("\n".join(every_sheet(lessons)))
            return ExitCode.DONE
        if told.plain or not _can_paint():
            from coach.plain_teaching import Teach

            lines, columns = _lines(desk.clock)
            return Teach(lessons, desk, lines, sys.stdout, columns).teach()
        from coach.screens.rehearse import run_rehearse

        return run_rehearse(lessons, desk.contacts(), _theme(told))
    finally:
        lessons.close()


def _supplies(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Write down what was *told* of the supplies, then print what is there."""
    from coach.supplies import supply_lines, write_down

    supplies = desk.supplies
    for kind, entry in (("delivered", told.came), ("counted", told.counted)):
        if entry is not None:
            typed = {"number": entry[1], "lot": told.lot, "reason": told.why}
            if told.date is not None:
                name = "discard" if kind == "delivered" else "which"
                typed[name] = "" if told.date == NO_DATE else told.date
            write_down(supplies, kind, entry[0], typed)
    print("\n".join(supply_lines(supplies)))
    return ExitCode.DONE


def _paper(desk: Desk, told: argparse.Namespace) -> ExitCode:
    """Write the list of the next dose, and the supplies, as a PDF."""
    from coach.paper.dose import dose_on_paper
    from coach.paper.pdf import pdf_of, write_pdf
    from coach.says import paper as paper_words

    document = dose_on_paper(desk, told.pages or ("dose", "supplies"))
    write_pdf(told.out, pdf_of(document, told.size))
    print(paper_words.WRITTEN.format(path=told.out))
    return ExitCode.DONE


def _prove(told: argparse.Namespace) -> ExitCode:
    """Prove the procedures, and print what was found."""
    from coach.orders.read import read_sheet
    from coach.proof import prove, remembered

    folder = _procedures(told)
    try:
        sheet = read_sheet(told.orders) if told.orders else None
        if told.draw:
            told.draw.write_text(prove.picture(folder, sheet), encoding="utf-8")
        if told.promela:
            prove.write_models(folder, told.promela)
        report = prove.prove(folder, sheet, _progress, told.slips)
    except FileProblems as error:
        print(error, file=sys.stderr)
        return ExitCode.COULD_NOT_RUN
    except OSError as error:
        path = error.filename or told.draw or told.promela
        raise CoachError(words.NOT_WRITTEN.format(path=path)) from error
    _progress_ends()
    if sheet is not None and report.holds:
        remembered.keep_for(folder, sheet, places.data_folder() / places.PROVED)
    print(report.as_json() if told.json else "\n".join(report.sentences()))
    return ExitCode.DONE if report.holds else ExitCode.REFUSED


def _orders(told: argparse.Namespace) -> Path:
    """Return where the order sheet of a patient's command lies."""
    if told.command == "demo":
        return places.demo_orders()
    found: Path = told.orders or places.data_folder() / places.ORDERS
    return found


def _say_whom_to_call(orders: Path) -> None:
    """Say whom a person calls who cannot go on; from a sheet with errors what can be read of it."""
    from coach.orders.rescue import numbers_to_call

    try:
        found = numbers_to_call(orders.read_bytes())
    except OSError:
        found = {}
    for who, number in found.items():
        line = words.CONTACT_BARE.format(who=who.capitalize(), phone=number)
        print(line, file=sys.stderr)
    if not found:
        print(words.CALL_PAPERS, file=sys.stderr)


def _procedures(told: argparse.Namespace) -> Path:
    """Return the folder of the procedures. Raises CoachError if the one that was named is none."""
    folder: Path = told.procedures or places.procedures_folder()
    if not folder.is_dir():
        raise CoachError(words.NO_PROCEDURES.format(path=folder))
    return folder


def _check(path: Path) -> ExitCode:
    """Print everything that is wrong with the order sheet at *path*, or what follows from it."""
    from coach.orders.dosing import workings
    from coach.orders.read import read_sheet

    if not path.exists():
        raise CoachError(words.SHEET_NO_FILE.format(path=path))
    try:
        sheet = read_sheet(path)
    except FileProblems as error:
        rows = sorted(error.problems, key=lambda row: (row.line, row.column))
        print("\n".join(map(str, rows)))
        return ExitCode.REFUSED
    print(words.SHEET_CHECKED.format(path=path))
    for one in workings(sheet):
        print(words.SHEET_WORKED_AT.format(field=one.field, name=one.name, working=one.working))
    return ExitCode.DONE


def _edit(path: Path, told: argparse.Namespace) -> ExitCode:
    """Let the nurse change the order sheet at *path*, in plain lines or on the screen."""
    from coach.clock import SystemClock
    from coach.orders.write import open_draft

    if not path.exists():
        raise CoachError(words.SHEET_NO_FILE.format(path=path))
    draft = open_draft(path)
    if not told.plain and _can_paint():
        from coach.screens.orders import run_orders

        return run_orders(draft, SystemClock(), _explained(), _theme(told))
    from coach.sheet_talk import SheetTalk
    from coach.voice import Gone, Voice

    lines, columns = _lines(SystemClock())
    voice = Voice(lines, sys.stdout, columns)
    try:
        SheetTalk(draft, SystemClock(), _explained(), voice.say, voice.hear_beside).run()
    except Gone:
        voice.say(words.SHEET_UNFINISHED)
    return ExitCode.DONE


def _write_schemas(folder: Path) -> ExitCode:
    """Write a JSON Schema for each kind of file, and tell which files it is for."""
    import json

    from coach.orders.schema import order_schema
    from coach.procedure.schema import procedure_schemas

    found = {"orders": order_schema(_explained()), **procedure_schemas()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, schema in found.items():
            path = folder / f"{name}.schema.json"
            text = json.dumps(schema, indent=2, ensure_ascii=False)
            path.write_text(f"{text}\n", encoding="utf-8")
            print(words.SCHEMA_WRITTEN.format(path=path, what=schema["title"]))
    except OSError as error:
        raise CoachError(words.NOT_WRITTEN.format(path=folder)) from error
    return ExitCode.DONE


def _explained() -> tuple[str, ...]:
    """Return the demonstration sheets, whose comments explain the fields."""
    return tuple(path.read_text(encoding="utf-8") for path in places.demo_sheets())


def _progress(says: str, percent: int) -> None:
    """Tell somebody who looks on what is done now; a pipe or a file gets the report alone."""
    if sys.stderr.isatty():
        line = proof_words.PROVING.format(says=says, bar=("#" * (percent // 5)).ljust(20, "."))
        print(f"\r{line:79}\r", end="", file=sys.stderr, flush=True)


def _progress_ends() -> None:
    """Leave an empty line where the progress was told."""
    if sys.stderr.isatty():
        print(" " * 79, end="\r", file=sys.stderr, flush=True)


def _first_fault(bundle: Bundle, folder: Path, sheet: OrderSheet) -> Finding | None:
    """Return the first thing that does not hold for a dose of *sheet*, proved now or before."""
    from coach.proof.remembered import first_fault

    return first_fault(bundle, folder, sheet, places.data_folder() / places.PROVED)


def _in_lines(desk: Desk, start: str) -> ExitCode:
    from coach.plain import Plain

    lines, columns = _lines(desk.clock)
    if start == "records":
        from coach.record_command import in_lines

        return in_lines(desk, lines, columns)
    return Plain(desk, lines, sys.stdout, columns).run(start)


def _lines(clock: Clock) -> tuple[Lines, Callable[[], int] | None]:
    """Return where typed lines come from, and how to learn how wide a terminal is."""
    from coach.lines import PipedLines, TypedLines

    for stream in (sys.stdin, sys.stdout):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # no letter that is typed or told ends a dose
    # Windows cannot wait for a typed line and for time at once.
    typed = sys.stdin.isatty() and sys.platform != "win32"
    lines = TypedLines() if typed else PipedLines(sys.stdin, clock)
    columns = (lambda: shutil.get_terminal_size().columns) if sys.stdout.isatty() else None
    return lines, columns


def _theme(told: argparse.Namespace) -> str:
    """Return the colours of the screens: as *told* now, or as told last."""
    return chosen_theme(told.theme, places.data_folder() / places.THEME)


def _can_paint() -> bool:
    """Tell whether there is a terminal that can be painted on, and is large enough."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        return False
    size = shutil.get_terminal_size()
    return size.columns >= SMALLEST[0] and size.lines >= SMALLEST[1]


def _broken(error: Exception, to_call: Iterable[Contact]) -> ExitCode:
    """Say calmly that the program itself failed, and keep the traceback for its owner alone."""
    import traceback

    print(words.BROKE, file=sys.stderr)
    for contact in to_call:
        print(words.CONTACT_BARE.format(who=contact.who, phone=contact.phone), file=sys.stderr)
    path = places.data_folder() / places.FAILURE
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        path.unlink(missing_ok=True)  # so that no older file's permissions are taken over
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            traceback.print_exception(error, file=file)
        print(words.BROKE_WHERE.format(path=path), file=sys.stderr)
    except OSError:
        pass  # nowhere to write: the calm sentence has been said
    return ExitCode.COULD_NOT_RUN
