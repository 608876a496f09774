"""No text of the procedures uses a form that has been misread.

Joint Commission, do-not-use list (read) and possible additions of 2009 (restated).
ISMP, error-prone abbreviations (2021; read or restated).
"""

from __future__ import annotations

import re
from functools import lru_cache

import pytest

from coach.procedure.read import read_source
from coach.proof.lists import read_words
from coach.proof.texts import Text
from coach.proof.words import check_words
from tests.procedure.bundles import changed
from tests.procedure.shipped import FOLDER, SHEETS, filled, open_texts, values_of

JC, JC_2009, ISMP = "Joint Commission", "Joint Commission, 2009", "ISMP"

FORBIDDEN = {
    # a form: its list, how it is found, how it looks
    "U or IU for units": (JC, r"\b(?:U|u|IU|iu)\b", "10 U"),
    "QD, QOD and the like": (JC, r"\b[Qq]\.?(?:[Oo]\.?)?[Dd]\b", "q.d."),
    "a trailing zero": (JC, r"\d\.\d*0(?!\d)", "5.0 mg"),
    "no zero before the point": (JC, r"(?<!\d)\.\d", "give .5 mg"),
    "MS, MSO4, MgSO4": (JC, r"\b(?:MS|MSO4|MgSO4)\b", "MS 2 mg"),  # from memory
    "µg": (ISMP, r"[\u00b5\u03bc]g", "5 \u00b5g"),
    "cc": (ISMP, r"\b[Cc][Cc]\b", "5 cc"),
    "HS, D/C, SC, SQ": (ISMP, r"\b(?:HS|hs|D/C|d/c|SC|SQ|sq)\b", "10 mg SQ"),
    "a unit without a space": (ISMP, r"\d(?:mg|mcg|mL|g|L|units?|h|min|s)\b", "10mg"),
    "a point after a unit": (ISMP, r"\b(?:mg|mcg|mL|h|min)\.(?= [a-z0-9])", "10 mg. daily"),
    "no commas in thousands": (ISMP, r"(?<![\d.-])\d{5,}", "100000 units"),
    "ml and l": (ISMP, r"\b(?:ml|Ml|ML|l)\b", "5 ml"),
    "> and <": (JC_2009, r"[<>]", "> 38 °C"),
    "@": (JC_2009, r"@", "10 mL @ 100 mL/h"),
}


@lru_cache
def shown_by(sheet: str) -> tuple[Text, ...]:
    """Return every text as it is shown for the demonstration sheet called *sheet*."""
    return tuple(filled(text, values_of(sheet)) for text in open_texts())


@pytest.mark.parametrize("form", sorted(FORBIDDEN))
def test_the_form_is_found_where_it_stands(form: str) -> None:
    _, pattern, looks = FORBIDDEN[form]
    assert re.search(pattern, looks)


@pytest.mark.parametrize("form", sorted(FORBIDDEN))
def test_the_check_of_words_finds_the_form(form: str) -> None:
    _, _, looks = FORBIDDEN[form]
    change = ("parts/place.yaml", "Let them dry.", f"See {looks} here.")
    found = check_words(read_source(changed(change)), read_words(FOLDER))
    assert "safe-writing" in {finding.name for finding in found}


@pytest.mark.parametrize("sheet", sorted(SHEETS))
@pytest.mark.parametrize("form", sorted(FORBIDDEN))
def test_no_text_that_is_shown_has_it(form: str, sheet: str) -> None:
    source, pattern, _ = FORBIDDEN[form]
    assert [(source, text) for text in shown_by(sheet) if re.search(pattern, text.words)] == []


@pytest.mark.parametrize("form", sorted(FORBIDDEN))
def test_no_file_has_it_outside_of_its_syntax(form: str) -> None:
    """Notes included; ``<name>`` stands for a parameter, ``>-`` begins a folded text.

    The list of what is never written is left out: it names every form.
    """
    source, pattern, _ = FORBIDDEN[form]
    found = [
        (source, path.name, number, line)
        for path in sorted(FOLDER.rglob("*.yaml"))
        if path.name != "never.yaml"
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if re.search(pattern, re.sub(r"<[a-z_]+>|>-$", "", line))
    ]
    assert found == []
