"""Each use of a part gives it all its parameters, and no other."""

from __future__ import annotations

from tests.procedure.bundles import only, said

DOSE = "dose.yaml"


def test_a_part_that_does_not_exist_is_told_by_its_file() -> None:
    rows = said((DOSE, "- part: warm\n", "- part: wram\n"))
    assert rows == ("procedures/parts/wram.yaml: expected this file; found no file of that name.",)


def test_a_parameter_that_is_missing_is_told_at_the_use() -> None:
    change = (DOSE, "    with: {round: first}\n", "")
    assert only(change, at="- part: hands") == (
        "field parts[9]: expected a value for <round> under with; found none."
    )


def test_a_parameter_that_is_unknown_is_told_at_the_use() -> None:
    change = (DOSE, "{round: first}", "{round: first, ruond: second}")
    assert only(change, at="- part: hands") == (
        "field parts[9]: expected a parameter that the part takes; "
        'found "ruond". Did you mean "round"?'
    )


def test_a_parameter_that_is_no_text_is_told_once() -> None:
    rows = said((DOSE, "{round: first}", "{round: [first]}"))
    assert [row.split("field ")[1] for row in rows] == [
        "parts[9].with.round: expected some text; found a list."
    ]


def test_two_parameters_that_become_one_field_are_refused() -> None:
    change = (DOSE, "      after: site\n      is: good\n", "      after: hands\n      is: clean\n")
    (row,) = said(change)
    assert row.startswith("procedures/parts/flush.yaml, line ")
    assert row.endswith('.needs.<after>: expected each field once; found "hands" a second time.')
