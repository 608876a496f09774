"""Text on a screen, shown as it is and never read as markup.

Owns the way from a text to a widget: nothing else here makes content. It must never hold a
text of its own.
"""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from coach import clean


def shown(text: str) -> Content:
    """Return *text* as content: brackets stay brackets, no character can move the cursor."""
    return Content(clean.shown(text))


class Words(Static):
    """Some text that takes no room while it is empty."""

    def __init__(self, text: str = "", *, id: str | None = None, classes: str = "") -> None:  # noqa: A002 - the name that Textual gives it
        """Start with *text*."""
        super().__init__(shown(text), id=id, classes=classes, markup=False)
        self.text = text
        self.set_class(not text, "empty")

    def say(self, text: str) -> None:
        """Show *text* from now on."""
        if text != self.text:
            self.text = text
            self.update(shown(text))
            self.set_class(not text, "empty")
