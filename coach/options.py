"""What can be typed after ``coach``: the commands and their options.

Owns the names of both and their help. It must never do what they ask.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from coach import __version__, keys, words
from coach.errors import ExitCode
from coach.says.records import REPLACES_NOTHING, TAKES_NO_FILE
from coach.themes import THEMES

WITH_A_FILE = ("export", "backup", "restore")
"""What of the records writes or reads a file that is named."""
NO_DATE = "none"
"""What is typed as the date of pieces that have none."""


def read(given: list[str]) -> argparse.Namespace:
    """Return what was *given*; the file of the records may stand behind their options as well.

    Raises SystemExit, once it was said why, where it cannot be read.
    """
    reader = parser()
    told, rest = reader.parse_known_args(given)
    # argparse takes no second word that may be left out once an option stood before it.
    if told.command == "records" and told.file is None and len(rest) == 1 and rest[0][:1] != "-":
        told.file = Path(rest.pop())
    if rest:
        reader.error(f"unrecognized arguments: {' '.join(rest)}")
    if told.command == "records" and told.what not in WITH_A_FILE:
        if told.file is not None:
            reader.exit(ExitCode.COULD_NOT_RUN, f"{TAKES_NO_FILE.format(what=told.what)}\n")
        if told.replace:
            says = REPLACES_NOTHING.format(what=told.what)
            reader.exit(ExitCode.COULD_NOT_RUN, f"{says}\n")
    return told


def parser() -> argparse.ArgumentParser:
    """Return what reads a command line."""
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
    screens = _screens()
    # With its name given, the help is not laid out at every start only to find it.
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", required=True, prog=parser.prog
    )
    _add_doses(commands, shared, own, screens)
    _add_supplies(
        commands.add_parser("supplies", parents=[own], help="what is in stock, and what came")
    )
    _add_records(commands.add_parser("records", parents=[own, screens], help="the doses so far"))
    _add_paper(commands.add_parser("paper", parents=[own], help="a dose as a list to print"))
    _add_prove(commands.add_parser("prove", help="check every state of every kind of dose"))
    _add_orders(
        commands.add_parser(
            "orders", parents=[screens], help="check or change an order sheet, for the nurse"
        )
    )
    schema = commands.add_parser("schema", help="write JSON Schemas, for an editor of the files")
    schema.add_argument("folder", type=Path, metavar="FOLDER", help="where to write them")
    schema.set_defaults(to_call=())
    return parser


def _add_doses(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    shared: argparse.ArgumentParser,
    own: argparse.ArgumentParser,
    screens: argparse.ArgumentParser,
) -> None:
    """Add the commands that open a dose; the demonstration has no sheet of its *own*."""
    commands.add_parser("today", parents=[own, screens], help="what is under way and what is next")
    commands.add_parser("follow", parents=[own, screens], help="go straight to the dose")
    commands.add_parser(
        "checklist", parents=[own, screens], help="the whole dose as a list to tick off"
    )
    commands.add_parser("demo", parents=[shared, screens], help="try a dose that is all made up")
    rehearse = commands.add_parser(
        "rehearse", parents=[own, screens], help="practise a dose with the nurse; none is given"
    )
    rehearse.add_argument(
        "--sheet", action="store_true", help="print the competence sheets, for the chart"
    )


def _screens() -> argparse.ArgumentParser:
    """Return the options of every command that opens screens."""
    screens = argparse.ArgumentParser(add_help=False)
    screens.add_argument("--theme", choices=THEMES, help="the colours of the screens, from now on")
    return screens


def _add_orders(orders: argparse.ArgumentParser) -> None:
    orders.add_argument("what", choices=("check", "edit"))
    orders.add_argument("file", type=Path, metavar="FILE", help="the order sheet")
    orders.add_argument("--plain", action="store_true", help="change it in plain lines")
    orders.set_defaults(to_call=())


def _add_supplies(supplies: argparse.ArgumentParser) -> None:
    supplies.add_argument("--came", nargs=2, metavar=("ITEM", "NUMBER"), help="a delivery")
    supplies.add_argument("--counted", nargs=2, metavar=("ITEM", "NUMBER"), help="a count by hand")
    supplies.add_argument("--why", default="", metavar="WORDS", help="why the count is another")
    supplies.add_argument(
        "--date",
        metavar="DATE",
        help=f"until when they are good, or {NO_DATE}; with a count, which of them it is of",
    )
    supplies.add_argument("--lot", default="", help="the lot of a delivery")


def _add_records(records: argparse.ArgumentParser) -> None:
    records.add_argument(
        "what", nargs="?", default="list",
        choices=("list", "report", "export", "check", "backup", "restore", "forget"),
        help="the list, which is also what no word stands for, or the visit report; write the "
        "doses, or the times of those to come, for other programs; "
        "or look through the record, copy it to FILE, bring it back from FILE, remove it",
    )  # fmt: skip
    records.add_argument(
        "file", nargs="?", type=Path, metavar="FILE",
        help="the copy, with backup and restore; with export, where to write",
    )  # fmt: skip
    records.add_argument(
        "--replace", action="store_true",
        help="put it in the place of a newer record, or of an earlier export",
    )  # fmt: skip
    records.add_argument(
        "--format", choices=("fhir", "csv", "calendar"), default="fhir",
        help="of an export: the doses as FHIR or as a table, or the times of those to come",
    )  # fmt: skip
    records.add_argument(
        "--release", choices=("R5", "R4B"), default="R5", help="of FHIR, for an export"
    )
    records.add_argument(
        "--since", default="", metavar="DATE", help="the first day of an export, such as 3 May 2026"
    )
    records.add_argument("--until", default="", metavar="DATE", help="its last day")
    records.add_argument("--pdf", type=Path, metavar="OUT.pdf", help="the report as a PDF")
    records.add_argument("--size", choices=("a4", "letter"), default="letter", help="of the paper")


def _add_paper(paper: argparse.ArgumentParser) -> None:
    paper.add_argument("out", type=Path, metavar="OUT.pdf", help="the PDF to write")
    paper.add_argument("--size", choices=("a4", "letter"), default="letter", help="of the paper")
    paper.add_argument(
        "--pages",
        choices=("dose", "supplies", "competence", "visit"),
        action="append",
        help="only these pages",
    )


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
