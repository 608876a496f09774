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
        if not text:
            classes = f"{classes} empty"
        super().__init__(shown(text), id=id, classes=classes, markup=False)
        self.text = text

    def say(self, text: str) -> None:
        """Show *text* from now on."""
        if text != self.text:
            self.text = text
            # Textual does not count a second text before the widget has come to rest, and would
            # leave it the height of the first.
            self._layout_updates += 1
            self.update(shown(text))
            self.set_class(not text, "empty")


class Notice(Words):
    """Something to be told, in one row between body and keys that holds a rule meanwhile.

    So that the rest of a large window stays where it is, and is not painted again.
    """

    def say(self, text: str) -> None:
        """Show *text* from now on, or a rule where it is empty."""
        if text != self.text:
            self.text = text
            content = shown(text)
            stays = self.size.height == 1 and content.get_height({}, self.size.width) < 2
            self.update(content, layout=not stays)
            self.set_class(not text, "empty")
