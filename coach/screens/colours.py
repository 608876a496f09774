"""The colours of the screens, for each theme that can be chosen.

Owns every colour there is. Nothing is told by colour alone, so a screen never asks which one it
has. Each pair in use stands at least 7:1 apart (WCAG 2.2, contrast enhanced; measured in tests).
"""

from __future__ import annotations

from collections.abc import Mapping

from textual.theme import Theme

from coach.themes import DARK


def _theme(name: str, page: str, text: str, edge: str, muted: str) -> Theme:
    cursor = {"background": page, "foreground": text, "text-style": "reverse"}
    return Theme(
        name=name,
        primary=text,
        secondary=edge,
        foreground=text,
        background=page,
        surface=page,
        panel=page,
        dark=name != "light",
        variables={
            "text-muted": muted,
            # In reverse, so that it is seen where there is no colour at all.
            **{f"input-cursor-{part}": value for part, value in cursor.items()},
        },
    )


COLOURS: Mapping[str, Theme] = {
    theme.name: theme
    for theme in (
        _theme(DARK, page="#000000", text="#ffffff", edge="#8fb8de", muted="#c8d0d8"),
        _theme("light", page="#ffffff", text="#000000", edge="#1f4a73", muted="#3a4148"),
        _theme("black-and-white", page="#000000", text="#ffffff", edge="#ffffff", muted="#ffffff"),
    )
}
"""Each theme by its name."""
