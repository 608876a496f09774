"""The colours that the screens can have, and which were chosen last.

Owns the one small file that remembers the choice. It must never know a colour.
"""

from __future__ import annotations

from pathlib import Path

DARK = "dark"
THEMES = (DARK, "light", "black-and-white")


def chosen_theme(told: str | None, kept: Path) -> str:
    """Return the theme that was *told* now, which the file *kept* remembers, or told last.

    It is ``dark`` where none ever was. A dose does not wait for colours: what cannot be kept
    holds for this time, and what cannot be read counts as never told.
    """
    try:
        if told is None:
            last = kept.read_text(encoding="ascii").strip()
            return last if last in THEMES else DARK
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept.write_text(f"{told}\n", encoding="ascii")
    except (OSError, UnicodeDecodeError):
        pass  # see above
    return told or DARK
