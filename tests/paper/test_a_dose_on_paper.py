"""The list on paper is the dose of this order sheet, whole, legible and in order."""

from __future__ import annotations

import re
from datetime import UTC
from pathlib import Path

import pytest
from msgspec.structs import replace
from pdfminer.pdftypes import resolve1

from coach.engine import Dose, after_mishap, possible, response_to_do, start, way_ahead
from coach.orders.values import sheet_values, shown_values
from coach.paper.again import Again, Lines, Told
from coach.paper.dose import dose_on_paper, dose_pages
from coach.paper.pdf import PAPERS, Document, Page, pdf_of, text_pages
from coach.paper.rows import Writing
from coach.procedure.compose import compose
from coach.procedure.conditions import fill
from coach.procedure.model import Act, Hold, Stop
from tests.paper.printed import (
    PAPER_HEIGHT,
    Printed,
    actions,
    overlapping,
    same_text,
    split_up,
)
from tests.person import changed_sheet, desk_at
from tests.procedure.shipped import CARD, SHEETS, SOURCE

MOST_PAGES = 8
"""Four sheets of paper, printed on both sides."""
SMALLEST_PRINT = 16
"""Points."""
LINE = 21
"""Points from one line of print to the next, rounded up."""
LINES_LEFT_OVER = 3
"""On the last page, for longer words than those of the demonstration."""
FULLEST = {
    "heparin": "ordered", "clamp": "present", "connector": "positive",
    "storage": "refrigerator", "reuse": "allowed", "mode": "intermittent",
    "tubing": "kept", "batteries": "due", "last": "stopped",
}  # fmt: skip
"""The kind of dose with the most to print."""


def writing_of(kind: dict[str, str]) -> Writing:
    """Return the writing of a dose of *kind* by the demonstration sheet."""
    sheet = SHEETS["orders"]
    dose = Dose(compose(SOURCE, kind), sheet_values(sheet), UTC)
    return Writing(dose, shown_values(sheet), CARD)


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> Document:
    return dose_on_paper(desk_at(tmp_path_factory.mktemp("desk")), ("dose",))


@pytest.fixture(scope="module", params=sorted(PAPERS))
def printed(document: Document, request: pytest.FixtureRequest) -> Printed:
    return Printed(document, request.param)


def test_every_step_of_this_dose_is_a_line_with_its_numbers(document: Document) -> None:
    writing = writing_of({**FULLEST, "reuse": "not-allowed", "connector": "negative",
                          "tubing": "new", "last": "finished"})  # fmt: skip
    procedure = writing.dose.procedure
    steps = tuple(way_ahead(procedure, start(procedure)))
    rows = [row for part in document.pages[0].parts for row in part.rows]
    assert [row.number for row in rows] == list(range(1, len(steps) + 1))
    for row, step in zip(rows, steps, strict=True):
        assert row.text.startswith(fill(step.line or step.do, writing.values))
        if isinstance(step.ask, Hold):
            assert re.search(r"Count slowly to \d+\.", row.text)
        if step.pump:
            assert CARD[step.pump].press in row.text


def test_what_the_coach_would_do_on_a_screen_is_no_line(document: Document) -> None:
    assert not [text for text in actions(document) if re.search(r"Enter|\bcoach|typed", text)]


def test_what_is_not_ordered_is_left_out() -> None:
    told = writing_of({**FULLEST, "heparin": "not-ordered"}).parts
    assert "heparin" not in " ".join(row.text for part in told for row in part.rows).lower()


def test_another_library_reads_the_same_text_in_the_same_order(printed: Printed) -> None:
    assert same_text(printed.bodies, printed.document)


def test_no_action_is_split_across_pages(printed: Printed) -> None:
    assert split_up(printed.bodies, printed.document) == []


def test_a_dose_is_at_most_four_sheets_of_the_paper_that_was_asked_for(printed: Printed) -> None:
    assert len(printed.pdf.pages) <= MOST_PAGES
    assert round(printed.pdf.pages[0].height) == PAPER_HEIGHT[printed.size]


@pytest.mark.parametrize("size", sorted(PAPERS))
def test_so_is_the_fullest_kind_of_dose(document: Document, size: str) -> None:
    writing = writing_of(FULLEST)
    fullest = replace(document, pages=dose_pages(writing, "09:50 on 25 November"))
    pages = Printed(fullest, size).pdf.pages
    assert len(pages) <= MOST_PAGES
    # So many, with room for the words of another order sheet.
    tops = {round(char["top"]) for char in pages[-1].chars}
    foot = max(tops)
    lowest = max(top for top in tops if top < foot - SMALLEST_PRINT)
    assert foot - lowest >= (1 + LINES_LEFT_OVER) * LINE


def test_nothing_overlaps(printed: Printed) -> None:
    assert [pair for page in printed.pdf.pages for pair in overlapping(page)] == []


def test_all_is_inside_of_the_page(printed: Printed) -> None:
    for page in printed.pdf.pages:
        assert page.chars
        assert all(char["x0"] > 20 and char["x1"] < page.width - 20 for char in page.chars)
        assert all(char["top"] > 20 and char["bottom"] < page.height - 15 for char in page.chars)


def test_the_print_is_large_black_and_its_letters_are_in_the_file(printed: Printed) -> None:
    chars = [char for page in printed.pdf.pages for char in page.chars]
    assert min(round(char["size"], 6) for char in chars) >= SMALLEST_PRINT
    assert {tuple(char["non_stroking_color"]) for char in chars} == {(0,)}
    fonts = list(printed.fonts())
    assert fonts
    assert all({"FontFile", "FontFile2", "FontFile3"} & set(font) for font in fonts)


def test_there_is_a_box_to_tick_for_each_action(printed: Printed) -> None:
    boxes = [
        shape
        for page in printed.pdf.pages
        for shape in (*page.rects, *page.curves)
        if round(shape["width"]) == round(shape["height"]) == 13
    ]
    rows = [row for page in printed.document.pages for part in page.parts for row in part.rows]
    assert len(boxes) == len(rows)


def test_the_pdf_is_tagged_and_says_its_language(printed: Printed) -> None:
    catalog = printed.pdf.doc.catalog
    assert resolve1(catalog["MarkInfo"])["Marked"] is True
    assert resolve1(catalog["StructTreeRoot"])["K"]
    assert catalog["Lang"] == b"en"


def test_whom_to_call_stands_on_every_page_and_the_demonstration_is_marked(
    document: Document,
) -> None:
    assert document.head == (
        "Nurse 555-0100", "Pharmacist 555-0101", "Emergency 911", "DEMONSTRATION",
    )  # fmt: skip


def test_the_foot_changes_with_the_sheet(document: Document, tmp_path: Path) -> None:
    foot = r"demo-quick, version 1, 2026-11-20\. Content [0-9a-f]{4} [0-9a-f]{4}\."
    assert re.fullmatch(foot, document.foot)
    sheet = changed_sheet(tmp_path, {"wash: 20 s": "wash: 25 s"})
    changed = dose_on_paper(desk_at(tmp_path, sheet), ("dose",))
    assert changed.foot != document.foot
    assert changed.foot.split("Content")[0] == document.foot.split("Content")[0]


def test_each_pointer_points_to_something(document: Document) -> None:
    rows = [row for part in document.pages[0].parts for row in part.rows]
    seen: dict[str, int] = {}
    for part in document.pages[0].parts:
        last = part.rows[-1].number
        here = {box.letter for box in part.boxes}
        assert not here & set(seen)
        told = " ".join(row.unless for row in part.rows)
        assert set(re.findall(r"If not: ([A-Z]+)\.", told)) == here
        for letter, after in re.findall(r"If not: ([A-Z]+), after (\d+)\.", told):
            assert seen[letter] == int(after)
        seen |= dict.fromkeys(here, last)
        assert all(1 <= int(number) <= len(rows) for number in re.findall(r"\d+", told))
    assert seen


def test_every_question_says_what_to_do_if_it_is_not_so() -> None:
    writing = writing_of(FULLEST)
    for part in writing.parts:
        for row in part.rows:
            step = writing.lines.walked[row.number - 1][1]
            assert bool(row.unless) is (len(step.outcomes) > 1)


def test_each_trouble_is_told_with_every_call_that_it_can_come_to() -> None:
    writing = writing_of(FULLEST)
    procedure = writing.dose.procedure
    told = {
        title: " ".join(trouble.does)
        for troubles in (
            *(group.troubles for group in writing.groups),
            *(part.troubles for part in writing.parts),
        )
        for trouble in troubles
        for title in trouble.titles
    }
    calls = 0
    for state, _ in writing.lines.walked:
        for mishap in possible(procedure, state):
            answer = response_to_do(procedure, after_mishap(procedure, state, mishap).facts)
            if answer is not None and isinstance(answer.ask, Stop):
                calls += 1
                assert fill(answer.do, writing.values) in told[fill(mishap.title, writing.values)]
    assert calls


def test_a_thing_to_do_again_stands_before_what_follows_it() -> None:
    """A pump is let go on only after the lines that come again before that."""
    lines = Lines(compose(SOURCE, FULLEST))
    found = 0
    for _, ways in lines.mishaps():
        for way, _ in ways:
            for place, one in enumerate(way.told):
                if isinstance(one, Again):
                    found += 1
                    after = way.told[place + 1]
                    assert isinstance(after, Told)
                    assert isinstance(after.step.ask, Act)
    assert found


def test_lines_of_text_become_pages_of_their_own(document: Document) -> None:
    lines = [f"Line {number}." for number in range(120)]
    two = replace(document, pages=(text_pages("First", lines), text_pages("Second", ("Last.",))))
    printed = Printed(two, "a4")
    assert same_text(printed.bodies, two)
    assert printed.bodies[-1] == "SecondLast."


def test_no_letter_of_a_name_stops_the_printing_or_is_read_as_markup(document: Document) -> None:
    odd = "Žofia Дмитрий 李雷 #strike[x] *y* _z_ $a$ `b` <c> \\d @e //f"
    printed = Printed(replace(document, pages=(Page(odd, (odd,)),)), "letter")
    assert "#strike[x]*y*_z_$a$`b`<c>\\d@e//f" in printed.bodies[0]
    assert "ŽofiaДмитрий" in printed.bodies[0]


def test_the_same_dose_gives_the_same_text(document: Document) -> None:
    assert len(pdf_of(document, "a4")) == len(pdf_of(document, "a4"))
