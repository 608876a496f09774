"""The one filter for text from outside: files, the keyboard, the journal, the environment.

Owns the list of characters that never reach a terminal, a record or a page. It must never
change anything else about a text.
"""

from __future__ import annotations

import re

_UNSAFE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f"  # C0 without tab and newline, DEL, C1
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f"  # invisible
    "\u200b-\u200f\u2028-\u202e\u2060-\u206f"  # zero width, separators, direction
    "\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb"
    "\ud800-\udfff"  # lone surrogates cannot be written out
    "\U0001d173-\U0001d17a\U000e0000-\U000e0fff]"
)
REPLACEMENT = "\ufffd"
"""What stands in for a refused character where a text cannot be refused as a whole."""


def unsafe_character(text: str) -> str:
    """Return the first character that must not be shown, as ``U+001B``, or ``""`` if none."""
    found = _UNSAFE.search(text)
    return f"U+{ord(found.group()):04X}" if found else ""


def shown(text: str) -> str:
    """Return *text* with each character that must not be shown replaced by U+FFFD."""
    if text.isascii() and text.isprintable():
        return text  # nearly every text of a record, and five times as quick as the pattern
    return _UNSAFE.sub(REPLACEMENT, text)


def one_line(text: str) -> str:
    """Return *text* made safe and folded to one line: runs of white space become one space."""
    return " ".join(shown(text).split())
