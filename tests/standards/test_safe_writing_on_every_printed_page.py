"""No printed page shows a form that has been misread.

Joint Commission, do-not-use list (read) and possible additions of 2009 (restated).
ISMP, error-prone abbreviations (2021; read or restated).
"""

from __future__ import annotations

import re
from pathlib import Path

from coach.clock import ManualClock
from coach.journal.records import Asked
from coach.paper.dose import PAGES, dose_on_paper
from tests.paper.printed import Printed
from tests.person import MORNING, Person, desk_at
from tests.standards.safe_writing import PHONE
from tests.standards.test_safe_writing_of_procedures import FORBIDDEN


def test_a_printed_page_has_no_form_that_can_be_misread(tmp_path: Path) -> None:
    """All pages there are, after a dose, with a question written down."""
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock).follow()
    asked = Asked(at=clock.now().at, sheet_id=desk.sheet.sheet.id, words="May I swim?")
    desk.journal.records.keep(asked)
    pages = Printed(dose_on_paper(desk, PAGES), "a4").pdf.pages
    told = "\n".join(page.extract_text() for page in pages)
    assert "May I swim?" in told
    said = PHONE.sub("", told)
    for form, (source, pattern, _) in FORBIDDEN.items():
        assert not re.search(pattern, said), f"{form} ({source})"


def test_what_stands_on_paper_is_read_as_it_stands(tmp_path: Path) -> None:
    """The check above could fail: a form that is printed is found in what is read back."""
    desk = desk_at(tmp_path)
    desk.journal.records.keep(
        Asked(at=MORNING, sheet_id=desk.sheet.sheet.id, words="Is it 5.0 mg?")
    )
    pages = Printed(dose_on_paper(desk, ("visit",)), "a4").pdf.pages
    _, pattern, _ = FORBIDDEN["a trailing zero"]
    assert re.search(pattern, "\n".join(page.extract_text() for page in pages))
