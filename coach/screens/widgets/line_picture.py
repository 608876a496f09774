"""The picture of the line, from the bag to the person, in letters.

Owns its drawing: two rows, names over words, a double stroke where two parts are joined and a
gap where they are not; or a list for a window that is too narrow. Colour carries nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach import words
from coach.sitting.view import PartNow

JOINED, APART = " ══ ", "    "


def in_rows(parts: Sequence[PartNow]) -> str:
    """Return the picture as two rows of letters, names above words."""
    names, states = [], []
    for place, part in enumerate(parts):
        width = max(len(part.name), len(part.word))
        last = place == len(parts) - 1
        link = "" if last else JOINED if part.joined else APART
        names.append(part.name.center(width) + " " * len(link))
        states.append(part.word.center(width) + link)
    return f"{''.join(names).rstrip()}\n{''.join(states).rstrip()}"


def in_lines(parts: Sequence[PartNow]) -> str:
    """Return the picture as one line a part, for a narrow window."""
    width = max(len(part.name) for part in parts)
    wide = max(len(part.word) for part in parts)
    lines = []
    for place, part in enumerate(parts):
        link = words.JOINED_BELOW if part.joined else words.NOT_JOINED
        last = place == len(parts) - 1
        lines.append(f"{part.name:{width}}  {part.word:{wide}}  {'' if last else link}".rstrip())
    return "\n".join(lines)
