"""What compares a PDF with its list notices each fault that is put into one of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from coach.paper import pdf
from coach.paper.pdf import Document, Page
from coach.paper.rows import Box, Part, Row, Trouble
from tests.paper.printed import Printed, overlapping, same_text, split_up

ROWS = tuple(
    Row(number, f"Do the thing called {name}, then look at it.", "", False)
    for number, name in enumerate(("ash", "birch", "cedar", "elm"), 1)
)
LONG = " ".join(["Shut the clamp nearest to your body, then call the nurse."] * 15)


def listed(*rows: Row) -> Document:
    """Return a short list of *rows*, with a box and a trouble."""
    part = Part("Trees", "", rows, (Box("A", "Stop here."),), (Trouble("", ("Rot",), ("Call.",)),))
    return Document("Trees", ("Nurse 555-0100",), "Foot.", (Page("Trees", parts=(part,)),))


def with_layout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, document: Document, changed: tuple[str, str]
) -> Printed:
    """Return *document* printed by a layout of which one thing was *changed*."""
    kept, instead = changed
    home = Path(pdf.__file__).parent
    layout = (home / "list.typ").read_text(encoding="utf-8")
    assert kept in layout
    (tmp_path / "list.typ").write_text(layout.replace(kept, instead), encoding="utf-8")
    (tmp_path / "fonts").symlink_to(home / "fonts")
    monkeypatch.setattr(pdf, "_HERE", tmp_path)
    return Printed(document, "a4")


def test_a_list_without_a_fault_is_the_same() -> None:
    printed = Printed(listed(*ROWS), "a4")
    assert same_text(printed.bodies, printed.document)
    assert split_up(printed.bodies, printed.document) == []
    assert overlapping(printed.pdf.pages[0]) == []


@pytest.mark.parametrize(
    "rows",
    [
        (ROWS[0], replace(ROWS[1], text=ROWS[1].text.replace("then", "than")), *ROWS[2:]),
        (ROWS[0], *ROWS[2:]),
        (ROWS[1], ROWS[0], *ROWS[2:]),
        (*ROWS, ROWS[3]),
        (ROWS[0], replace(ROWS[1], unless="If not: A."), *ROWS[2:]),
    ],
    ids=["changed", "left out", "two swapped", "told twice", "pointer too many"],
)
def test_a_line_is_noticed_that_is(rows: tuple[Row, ...]) -> None:
    printed = Printed(listed(*rows), "a4")
    assert not same_text(printed.bodies, listed(*ROWS))


def test_a_line_printed_over_another_is_noticed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed = ("#let row-gap = 3.2pt", "#let row-gap = -9pt")
    printed = with_layout(tmp_path, monkeypatch, listed(*ROWS), changed)
    assert same_text(printed.bodies, printed.document)
    assert overlapping(printed.pdf.pages[0])


def test_a_step_split_over_two_pages_is_noticed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = listed(*(replace(row, text=f"{row.text} {LONG}") for row in ROWS))
    assert split_up(Printed(document, "a4").bodies, document) == []
    changed = ("breakable: false", "breakable: true")
    printed = with_layout(tmp_path, monkeypatch, document, changed)
    assert len(printed.pdf.pages) > 1
    assert same_text(printed.bodies, document)
    assert len(split_up(printed.bodies, document)) == 1
