"""A PDF as another library reads it back."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pdfplumber
from pdfminer.pdftypes import resolve1

from coach.paper.pdf import Document, pdf_of
from coach.paper.rows import Part, Trouble

PAPER_HEIGHT = {"a4": 842, "letter": 792}
"""In points (ISO 216 and ANSI/ASME Y14.1)."""
ROUNDING = 0.5
"""Points."""


def squeezed(text: str) -> str:
    """Return *text* without white space: where a line is broken says nothing."""
    return "".join(text.split())


@dataclass
class Printed:
    """One document on one size of paper."""

    document: Document
    size: str

    @cached_property
    def pdf(self) -> Any:
        """The PDF, opened by the other library, which has no types."""
        return pdfplumber.open(io.BytesIO(pdf_of(self.document, self.size)))

    @cached_property
    def bodies(self) -> tuple[str, ...]:
        """What stands on each page in the order of its drawing, without head and foot."""
        head, foot = squeezed("".join(self.document.head)), squeezed(self.document.foot)
        found = []
        for number, page in enumerate(self.pdf.pages, 1):
            text = squeezed("".join(char["text"] for char in page.chars))
            numbered = f"{foot}{number}of{len(self.pdf.pages)}"
            assert text.startswith(head)
            assert text.endswith(numbered)
            found.append(text.removeprefix(head).removesuffix(numbered))
        return tuple(found)

    def fonts(self) -> Iterator[Mapping[str, Any]]:
        """Yield the descriptor of every font."""
        for page in self.pdf.pages:
            for font in resolve1(page.page_obj.resources["Font"]).values():
                below = resolve1(font).get("DescendantFonts")
                one = resolve1(resolve1(below)[0]) if below else resolve1(font)
                yield resolve1(one["FontDescriptor"])


def actions(document: Document) -> Iterator[str]:
    """Yield each action as it has to be found on one page, in one piece."""
    for page in document.pages:
        yield from page.lines
        for part in page.parts:
            yield from _in_part(part)
        for group in page.groups:
            yield from map(_told, group.troubles)


def _in_part(part: Part) -> Iterator[str]:
    yield from (f"{row.number}{row.text}{row.unless}" for row in part.rows)
    yield from (f"{box.letter}{box.text}" for box in part.boxes)
    yield from map(_told, part.troubles)


def _told(trouble: Trouble) -> str:
    titles = "".join(f"{title}." for title in trouble.titles)
    return f"{trouble.letter}{titles}{''.join(trouble.does)}"


def same_text(bodies: Sequence[str], document: Document) -> bool:
    """Tell whether *bodies* are the whole text of *document*, in order, and nothing else."""
    return "".join(bodies) == squeezed("".join(in_order(document)))


def split_up(bodies: Sequence[str], document: Document) -> list[str]:
    """Return each action of *document* that is on no page in one piece."""
    return [one for one in actions(document) if not any(squeezed(one) in body for body in bodies)]


def overlapping(page: Any) -> list[tuple[str, str]]:
    """Return each two words on *page* of which one is printed over the other."""
    found = page.extract_words(keep_blank_chars=True, x_tolerance=2)
    words = sorted(found, key=lambda word: word["top"])
    pairs = []
    for number, one in enumerate(words):
        for other in words[number + 1 :]:
            if other["top"] > one["bottom"]:
                break
            down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
            across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
            if min(down, across) > ROUNDING:
                pairs.append((one["text"], other["text"]))
    return pairs


def in_order(document: Document) -> Iterator[str]:
    """Yield every text of *document* in the order in which it is read."""
    for page in document.pages:
        yield page.title
        yield from page.lines
        for drawn in page.picture:
            yield from (drawn.name, drawn.word)
        for part in page.parts:
            yield f"{part.title}{part.see}"
            yield from _in_part(part)
        for group in page.groups:
            yield group.title
            yield from map(_told, group.troubles)
