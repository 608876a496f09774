"""``coach records``: the doses so far, on screens, in plain lines, or as a visit report.

Owns what each of its words does. It must never look into the record itself.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from contextlib import suppress

from coach.errors import ExitCode
from coach.lines import Lines
from coach.record_talk import talk_of
from coach.records.shelf import Shelf
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
