"""A pump card explains each key that a step asks for, and no other."""

from __future__ import annotations

import pytest

from coach.errors import FileProblems
from coach.procedure.read import needed_keys, read_pump_card
from tests.procedure.bundles import changed, line_of
from tests.procedure.shipped import BUNDLE, SOURCE

CARD = "pump_cards/demo.yaml"


def card_said(bundle: dict[str, str]) -> tuple[str, ...]:
    """Return what is said of the demonstration pump card in *bundle*."""
    with pytest.raises(FileProblems) as refused:
        read_pump_card(bundle, "demo", needed_keys(SOURCE))
    return tuple(str(row) for row in refused.value.problems)


def test_each_key_that_a_pump_card_leaves_out_is_told() -> None:
    start = "  start:\n    press: Hold the SUN key for three beeps.\n"
    start += "    expect: The screen says FLOW.\n"
    bundle = changed((CARD, start, ""), (CARD, "    expect: The screen says STILL.\n", ""))
    keys, stop = (
        line_of(bundle, CARD, "  batteries:"),
        line_of(bundle, CARD, "    press: Hold the STONE"),
    )
    assert card_said(bundle) == (
        f"procedures/{CARD}, line {keys}, field keys.start: expected this field; found nothing.",
        f"procedures/{CARD}, line {stop}, field keys.stop.expect: "
        "expected this field; found nothing.",
    )


def test_a_key_that_no_step_asks_for_is_told() -> None:
    bundle = changed((CARD, "  look:\n", "  lok:\n"))
    rows = card_said(bundle)
    assert rows[0].endswith('found "lok". Did you mean "look"?')
    assert rows[1].endswith("field keys.look: expected this field; found nothing.")


def test_a_pump_card_without_keys_is_told() -> None:
    head = BUNDLE[CARD].split("keys:")[0]
    (row,) = card_said({**BUNDLE, CARD: head})
    assert row.endswith("field keys: expected this field; found nothing.")
    (row,) = card_said({**BUNDLE, CARD: head + "keys: none\n"})
    assert row.endswith('field keys: expected a group of fields; found "none".')


def test_a_pump_card_that_is_not_there_is_told() -> None:
    with pytest.raises(FileProblems, match="expected this file; found no file of"):
        read_pump_card(BUNDLE, "other", needed_keys(SOURCE))
