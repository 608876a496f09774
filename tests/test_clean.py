"""Nothing that moves a cursor, hides or turns text round gets in; all other text is left alone."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.clean import REPLACEMENT, one_line, shown, unsafe_character

HIDDEN = {
    "NUL": "\x00",
    "bell": "\x07",
    "escape": "\x1b",
    "delete": "\x7f",
    "C1 control sequence introducer": "\x9b",
    "soft hyphen": "\u00ad",
    "zero-width space": "\u200b",
    "right-to-left override": "\u202e",
    "line separator": "\u2028",
    "first strong isolate": "\u2068",
    "byte order mark": "\ufeff",
    "variation selector": "\ufe0f",
    "lone surrogate": "\ud83d",
    "tag letter": "\U000e0041",
    "carriage return": "\r",
}


@pytest.mark.parametrize("name", sorted(HIDDEN))
def test_a_hidden_character_is_named_and_replaced(name: str) -> None:
    character = HIDDEN[name]
    assert unsafe_character(f"a{character}b") == f"U+{ord(character):04X}"
    assert shown(f"a{character}b") == f"a{REPLACEMENT}b"


@pytest.mark.parametrize(
    "text", ["", "plain", "38 °C", "½ × ÷ ≤ –", "Ærøskøbing", "日本語", "a\tb\nc"]
)
def test_text_that_can_be_shown_is_left_alone(text: str) -> None:
    assert unsafe_character(text) == ""
    assert shown(text) == text


@given(st.text(st.characters(codec=None)))
def test_what_is_shown_is_safe_and_as_long_as_before(text: str) -> None:
    once = shown(text)
    assert unsafe_character(once) == ""
    assert shown(once) == once
    assert len(once) == len(text)
    assert all(new in (old, REPLACEMENT) for old, new in zip(text, once, strict=True))


@given(st.characters())
def test_every_control_and_every_turn_of_direction_is_hidden(character: str) -> None:
    control = unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp")
    turns = unicodedata.bidirectional(character) in (
        *("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"),
    )
    if (control or turns) and character not in "\t\n":
        assert unsafe_character(character)


@given(st.text())
def test_one_line_has_no_line_ends_and_no_double_spaces(text: str) -> None:
    line = one_line(text)
    assert len(line.splitlines()) <= 1
    assert "  " not in line
    assert line == line.strip()
    assert one_line(line) == line
