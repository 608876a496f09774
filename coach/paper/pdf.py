"""Pages as a PDF: large print, black on white, tagged, each font embedded.

Owns the layout and the writing of the file. It must never make up a word.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

import msgspec

from coach.errors import CoachError
from coach.paper.rows import Group, Part
from coach.says import paper as words
from coach.sitting.view import PartNow

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""The sizes of paper, with their names in the layout."""
_HERE = Path(__file__).parent
_MARK = b"%PDF-"
"""How every PDF begins (ISO 32000-1, 7.5.2)."""


class Page(msgspec.Struct, frozen=True):
    """What stands under one title; it takes as many sheets as it needs."""

    title: str
    lines: tuple[str, ...] = ()
    picture: tuple[PartNow, ...] = ()
    parts: tuple[Part, ...] = ()
    groups: tuple[Group, ...] = ()
    fresh: bool = True
    """Whether it begins on a new sheet."""


class Document(msgspec.Struct, frozen=True):
    """All that is printed."""

    title: str
    head: tuple[str, ...]
    """What stands at the head of every page, side by side."""
    foot: str
    """The line at the foot of every page, beside its number."""
    pages: tuple[Page, ...]


def text_pages(title: str, lines: Iterable[str]) -> Page:
    """Return *lines* under their *title*, for pages of their own."""
    return Page(title, tuple(lines))


def pdf_of(document: Document, paper: str) -> bytes:
    """Return *document* as a PDF on *paper*, a key of PAPERS.

    Raises CoachError if the library for it is not there.
    """
    try:
        import typst
    except ImportError as error:
        raise CoachError(words.NO_LIBRARY) from error
    told = {"paper": PAPERS[paper], **msgspec.to_builtins(document)}
    return typst.compile(
        _HERE / "list.typ",
        sys_inputs={"data": msgspec.json.encode(told).decode()},
        font_paths=[_HERE / "fonts"],
        ignore_system_fonts=True,
        format="pdf",
    )


def write_pdf(path: Path, pdf: bytes) -> None:
    """Write *pdf* to *path*, all of it or nothing.

    Raises CoachError if it cannot be written, or if *path* is something else than a PDF.
    """
    try:
        if path.exists() and not _may_go(path):
            raise CoachError(words.NO_PDF_THERE.format(path=path))
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise CoachError(words.NOT_WRITTEN.format(path=path, why=error.strerror)) from error
    try:
        with os.fdopen(number, "wb") as file:
            file.write(pdf)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except OSError as error:
        with suppress(OSError):
            os.unlink(name)
        raise CoachError(words.NOT_WRITTEN.format(path=path, why=error.strerror)) from error


def _may_go(path: Path) -> bool:
    """Tell whether what is at *path* is an earlier PDF, so that a new one may take its place."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(_MARK)) == _MARK
