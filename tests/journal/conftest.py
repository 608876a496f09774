from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from coach.journal.store import Journal


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a journal will be; neither it nor its folder exists yet."""
    return tmp_path / "coach" / "journal.db"


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    with Journal.open(path) as opened:
        yield opened
