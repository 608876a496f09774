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
from collections.abc import Iterable
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING

from coach import __version__, keys, places, words
from coach.errors import CoachError, ExitCode, FileProblems
from coach.window import SMALLEST

if TYPE_CHECKING:
    from coach.orders.sheet import OrderSheet
    from coach.procedure.files import Bundle
    from coach.proof.finding import Finding
    from coach.sitting.contacts import Contact
    from coach.sitting.desk import Desk

NEW_OBJECTS = 100_000
"""How many there may be before Python looks for garbage: more than a start makes, since looking
after every 700 takes a fifteenth of it and finds next to nothing."""

ABOUT = ("-h", "--help", "--version")
"""What is asked of the program as a whole; any other option belongs to a command."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command that *arguments* name, ``today`` if none; return what the shell is told."""
    gc.set_threshold(NEW_OBJECTS)
    given = sys.argv[1:] if arguments is None else arguments
    if not given or (given[0].startswith("-") and given[0] not in ABOUT):
        given = ["today", *given]
    told = _parser().parse_args(given)
    try:
        return _run(told)
    except CoachError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        return ExitCode.DONE
    except Exception as error:
        # The last resort: a person in the middle of a dose gets one calm sentence, and no
        # traceback with a name or a dose in it.
        return _broken(error, told.to_call)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coach",
        description="Walks you through one ordered IV dose at home, one action at a time.",
        epilog="\n".join((words.HELP_TODAY, "", words.HELP_KEYS, *keys.key_table())),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"coach {__version__}")
    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument("--plain", action="store_true", help="plain lines, for a screen reader")
    shared.add_argument("--journal", type=Path, metavar="FILE", help="the record of doses")
    shared.add_argument(
        "--procedures", type=Path, metavar="FOLDER", help="the agency's own procedures"
    )
    shared.set_defaults(orders=None, to_call=())
    own = argparse.ArgumentParser(add_help=False, parents=[shared])
    own.add_argument("--orders", type=Path, metavar="FILE", help="the order sheet")
    # With its name given, the help is not laid out at every start only to find it.
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", required=True, prog=parser.prog
    )
    commands.add_parser("today", parents=[own], help="what is under way and what is next")
    commands.add_parser("follow", parents=[own], help="go straight to the dose")
    commands.add_parser("demo", parents=[shared], help="try a dose that is all made up")
    _add_prove(commands.add_parser("prove", help="check every state of every kind of dose"))
    return parser


def _add_prove(prove: argparse.ArgumentParser) -> None:
    prove.add_argument(
        "--procedures", type=Path, metavar="FOLDER", help="the agency's own procedures"
    )
    prove.add_argument(
        "--orders", type=Path, metavar="FILE", help="check for the doses of this order sheet alone"
    )
    prove.add_argument("--json", action="store_true", help="the report for another program")
    prove.add_argument(
        "--slips", type=int, choices=(1, 2), default=0, help="with so many false ticks in a dose"
    )
    prove.add_argument("--draw", type=Path, metavar="OUT", help="write a picture of the steps")
    prove.add_argument(
        "--promela", type=Path, metavar="OUT", help="write the models for SPIN to this folder"
    )
    prove.set_defaults(to_call=())


def _run(told: argparse.Namespace) -> ExitCode:
    """Open what was *told*; note in it whom to call as soon as that is known."""
    if told.command == "prove":
        return _prove(told)
    from coach.clock import SystemClock
    from coach.journal.store import Journal
    from coach.sitting.desk import Desk

    demo = told.command == "demo"
    folder = places.data_folder()
    orders = places.demo_orders() if demo else told.orders or folder / places.ORDERS
    if not orders.exists():
        raise CoachError(words.NO_ORDERS.format(path=orders))
    name = places.DEMO_JOURNAL if demo else places.JOURNAL
    with Journal.open(told.journal or folder / name) as journal:
        procedures = told.procedures or places.procedures_folder()
        desk = Desk(orders, procedures, journal, SystemClock(), _first_fault)
        told.to_call = desk.contacts()
        start = "follow" if told.command == "follow" else "today"
        if told.plain or not _can_paint():
            return _in_lines(desk, start)
        from coach.screens.app import run_app

        return run_app(desk, start)


def _prove(told: argparse.Namespace) -> ExitCode:
    """Prove the procedures, and print what was found."""
    from coach.orders.read import read_sheet
    from coach.proof import prove, remembered

    folder = told.procedures or places.procedures_folder()
    try:
        sheet = read_sheet(told.orders) if told.orders else None
        if told.draw:
            told.draw.write_text(prove.picture(folder, sheet), encoding="utf-8")
        if told.promela:
            prove.write_models(folder, told.promela)
        report = prove.prove(folder, sheet, _progress, told.slips)
    except (FileProblems, OSError) as error:
        print(error, file=sys.stderr)
        return ExitCode.COULD_NOT_RUN
    _progress_ends()
    if sheet is not None and report.holds:
        remembered.keep_for(folder, sheet, places.data_folder() / places.PROVED)
    print(report.as_json() if told.json else "\n".join(report.sentences()))
    return ExitCode.DONE if report.holds else ExitCode.REFUSED


def _progress(says: str, percent: int) -> None:
    """Tell somebody who looks on what is done now; a pipe or a file gets the report alone."""
    if sys.stderr.isatty():
        line = words.PROVING.format(says=says, bar=("#" * (percent // 5)).ljust(20, "."))
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
    from coach.lines import PipedLines, TypedLines
    from coach.plain import Plain

    for stream in (sys.stdin, sys.stdout):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # no letter that is typed or told ends a dose
    # Windows cannot wait for a typed line and for time at once.
    typed = sys.stdin.isatty() and sys.platform != "win32"
    lines = TypedLines() if typed else PipedLines(sys.stdin, desk.clock)
    columns = (lambda: shutil.get_terminal_size().columns) if sys.stdout.isatty() else None
    return Plain(desk, lines, sys.stdout, columns).run(start)


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
