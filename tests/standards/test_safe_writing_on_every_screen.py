"""No screen shows a form that has been misread, whatever it is filled with.

Joint Commission, do-not-use list (read) and possible additions of 2009 (restated).
ISMP, error-prone abbreviations (2021; read or restated).
"""

from __future__ import annotations

import re

import pytest

from coach.screens.pictures import SCENES, SIZES, scene
from coach.screens.widgets.words import Words
from tests.standards.test_safe_writing_of_procedures import FORBIDDEN

MARKED = re.compile(r"(?m)^>")
"""The mark of the field that is chosen, at the start of its line, is no sign for more than."""
PHONE = re.compile(r"\b\d{3}-\d{4}\b")
"""A phone number is no amount."""


@pytest.mark.parametrize("name", sorted(SCENES))
async def test_a_screen_has_no_form_that_can_be_misread(name: str) -> None:
    async with scene(name, SIZES[0]) as app:
        # The key line names keys, such as u, and no amounts.
        said = [words for words in app.screen.query(Words) if words.display and words.id != "keys"]
        shown = "\n".join(words.text for words in said)
    assert shown
    told = MARKED.sub("", PHONE.sub("", shown))
    for form, (source, pattern, _) in FORBIDDEN.items():
        assert not re.search(pattern, told), f"{form} ({source}) in: {told}"
