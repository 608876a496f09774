"""The colours of the screens are told once, and remembered."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.options import parser
from coach.themes import DARK, THEMES, chosen_theme


@pytest.mark.parametrize("command", ["today", "follow", "checklist", "demo"])
def test_every_command_with_screens_takes_a_theme(command: str) -> None:
    assert parser().parse_args([command, "--theme", "light"]).theme == "light"
    assert parser().parse_args([command]).theme is None


@pytest.mark.parametrize("theme", THEMES)
def test_what_was_told_last_holds_until_another_is_told(tmp_path: Path, theme: str) -> None:
    kept = tmp_path / "new" / "theme.txt"
    assert chosen_theme(None, kept) == DARK
    assert chosen_theme(theme, kept) == theme
    assert chosen_theme(None, kept) == theme


@pytest.mark.parametrize("damaged", [b"", b"pink", b"\xff\xfe", b"light\ndark"])
def test_a_file_that_cannot_be_read_counts_as_never_told(tmp_path: Path, damaged: bytes) -> None:
    kept = tmp_path / "theme.txt"
    kept.write_bytes(damaged)
    assert chosen_theme(None, kept) == DARK


def test_a_theme_that_cannot_be_kept_holds_for_this_time(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="ascii")
    assert chosen_theme("light", tmp_path / "file" / "theme.txt") == "light"
