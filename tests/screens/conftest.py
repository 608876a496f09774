"""What the tests of the screens share beside the table."""

from __future__ import annotations

import pytest

from coach.screens.frame import Frame


@pytest.fixture
def keys_shown(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Every key, by the name it is shown under, that any screen of this test has shown."""
    shown: set[str] = set()
    show_keys = Frame.show_keys

    def listening(frame: Frame, *labels: tuple[str, str]) -> None:
        shown.update(key for key, _ in labels)
        show_keys(frame, *labels)

    monkeypatch.setattr(Frame, "show_keys", listening)
    return shown
