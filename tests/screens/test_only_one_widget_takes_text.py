"""Text reaches a screen through one widget, which never reads it as markup."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCREEN = "coach/screens/made_up.py"
WORDS = "coach/screens/widgets/words.py"


def bitten(source: str, name: str) -> bool:
    """Tell whether the linter bans something in *source*, were it the file *name*."""
    ruff = Path(sys.executable).parent / "ruff"
    command = [str(ruff), "check", "--select", "TID251", "--stdin-filename", name, "-"]
    told = subprocess.run(
        command, input=source, cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert told.returncode == 0 or "TID251" in told.stdout, told.stdout + told.stderr
    return told.returncode != 0


@pytest.mark.parametrize(
    "source",
    [
        "from textual.widgets import Static\n",
        "from textual.widgets import Input, Label\n",
        "from textual.widgets import Markdown\n",
        "import textual.widgets\n\nshown = textual.widgets.Static\n",
        "from textual.content import Content\n\nshown = Content.from_markup\n",
        "from rich.text import Text\n\nshown = Text.from_markup\n",
    ],
)
def test_another_way_to_show_text_is_banned(source: str) -> None:
    assert bitten(source, SCREEN)
    assert not bitten(source, WORDS)


def test_what_takes_no_markup_is_allowed() -> None:
    assert not bitten("from textual.widgets import Digits, Input\n", SCREEN)
