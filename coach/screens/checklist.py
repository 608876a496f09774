"""The whole dose on one list, with the step to do now open in its place.

Owns how the list looks and where its cursor stands. The step itself is shown, answered and
timed as where one step is followed at a time; what each line is comes from the sitting.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable

from textual import events
from textual.screen import Screen
from textual.widget import Widget

from coach import keys
from coach import words as interface
from coach.says import checklist as words
from coach.screens.follow import FollowScreen
from coach.screens.frame import Frame
from coach.screens.step_texts import picture_list
from coach.screens.widgets.words import Words
from coach.sitting.checklist import Line, lines_of, what_is_missing
from coach.sitting.sitting import Sitting
from coach.sitting.view import View

HANG = " " * 6
"""What stands before the second row of a line, so that it begins below its title."""
MARKS = {"done": words.DONE, "again": words.AGAIN, "now": words.NOW, "to-do": words.OPEN}


class ChecklistScreen(FollowScreen):
    """The dose as a list, one line an action."""

    LIST_SAYS = words.KEY_ONE
    GIVE_WAY = (*FollowScreen.GIVE_WAY, keys.LEFT, keys.PICTURE)
    BESIDE = (*FollowScreen.BESIDE, keys.MOVE)

    def __init__(self, sitting: Sitting) -> None:
        """List *sitting*."""
        super().__init__(sitting)
        self.lines: tuple[Line, ...] = ()
        self.listed: tuple[str, int, bool] = ("", -1, False)
        """What the lines were made for: the step, the moment, and whether the dose was over."""
        self.at = ""
        """The step of the line that the cursor stands on; empty while it is the one to do now."""
        self.left_only = False
        self.spot = ("now-line", 0)
        """In which words the cursor stands, and in which row of them."""
        self.gone_to: tuple[object, ...] = ()
        """What was last brought into sight; after that the list is scrolled by hand."""
        self.goes = False
        """Whether that is still to be brought into sight once it is laid out."""

    def parts(self) -> Iterable[Widget]:
        """Return the lines above, the step in its place, and the lines below."""
        yield Words(id="before")
        yield Words(id="now-line")
        yield from super().parts()
        yield Words(id="after")

    def foot(self) -> Iterable[Widget]:
        """Return nothing: the list itself says where one is."""
        return ()

    # Showing

    def _show_along(self, view: View) -> None:
        listed = (view.step, len(self.sitting.moments), self.sitting.over)
        if listed != self.listed:
            self.listed, self.at = listed, ""
            self.lines = lines_of(self.sitting)
        self._show_lines()
        self.say("picture-list", picture_list(view))
        going = (*listed, self.at, self.left_only, self.size, self.aside, view.running)
        if going != self.gone_to:
            self.gone_to, self.goes = going, True
            self.call_after_refresh(self._go_there)

    def _show_lines(self) -> None:
        seen = self._seen()
        now = next((n for n, line in enumerate(seen) if line.state == "now"), len(seen))
        self.spot = ("now-line", 0)
        group = ""
        for name, lines in (
            ("before", seen[:now]),
            ("now-line", seen[now : now + 1]),
            ("after", seen[now + 1 :]),
        ):
            self.say(name, "\n".join(self._rows(name, lines, group)))
            group = lines[-1].group if lines else group

    def _seen(self) -> tuple[Line, ...]:
        if not self.left_only:
            return self.lines
        return tuple(line for line in self.lines if line.state != "done")

    def _rows(self, name: str, lines: Iterable[Line], group: str) -> list[str]:
        """Return *lines* in rows, a heading above each new group; *group* has had its own."""
        rows: list[str] = []
        for line in lines:
            if line.group != group:
                group = line.group
                rows.append(group)
            if line.step == self.at:
                self.spot = (name, len(rows))
            rows += self._row(line)
        return rows

    def _row(self, line: Line) -> list[str]:
        form = words.NOW_AGAIN if line.state == "now" and line.reason else MARKS[line.state]
        text = form.format(title=line.title.rstrip("."), reason=line.reason)
        here = line.step == self.at or (line.state == "now" and not self.at)
        placed = (words.HERE if here else words.ELSEWHERE).format(line=text)
        return textwrap.wrap(placed, self.list_width, subsequent_indent=HANG)

    def _laid_out(self, of: Screen[None]) -> None:
        if self.goes:
            self._go_there()
        super()._laid_out(of)

    def look(self) -> None:
        """Look at the clock; what was laid out by now has been brought into sight."""
        super().look()
        self.goes = False

    def _go_there(self) -> None:
        """Bring the cursor's line, or the step to do now with what is above it, into sight."""
        if not self.is_attached:
            return
        name, row = self.spot
        top = self.query_one(f"#{name}").virtual_region.y + row
        end = top + 1 if self.at else self.query_one("#after").virtual_region.y
        spare = max(0, self.body.size.height - (end - top))
        self.body.scroll_to(y=max(0, top - spare // 2), animate=False, force=True)

    def fit(self) -> None:
        """Leave the reason to its key where a small window has no room; say what is below."""
        if self.is_current and self.small and not self.aside and not self.has_class("tight"):
            top = self.query_one("#now-line").virtual_region.y
            if self.query_one("#after").virtual_region.y - top > self.body.size.height:
                self.add_class("tight")
                self._show_keys()
                self.goes = True
                return
        Frame.fit(self)

    @property
    def unread(self) -> bool:
        """Whether the answers are not all in sight."""
        choices = self.query_one("#choices")
        return not self.body.region.contains_region(choices.region)

    def take_typing(self, *, wanted: bool) -> None:
        """Let keys go to the place to type while the cursor stands on the step to do now."""
        super().take_typing(wanted=wanted and not self.at)

    def _side_keys(self, view: View) -> list[tuple[str, str]]:
        says = words.KEY_ALL if self.left_only else words.KEY_LEFT
        labels = super()._side_keys(view)
        labels.insert(
            labels.index((keys.LEAVE.shown, interface.KEY_LEAVE)), (keys.LEFT.shown, says)
        )
        return labels

    def _answer_keys(self, view: View) -> list[tuple[str, str]]:
        return [("Enter", words.KEY_HERE)] if self.at else super()._answer_keys(view)

    # Keys

    def on_key(self, event: events.Key) -> None:
        """Move the cursor, also while something is typed; else do what the key means."""
        if event.key in keys.MOVE.presses and not self.view.running and not self.too_small:
            event.stop()
            event.prevent_default()
            self._move(1 if event.key == "down" else -1)
        else:
            super().on_key(event)

    def _move(self, by: int) -> None:
        """Go to the line *by* lines further down."""
        seen = self._seen()
        here = [n for n, line in enumerate(seen) if line.step == (self.at or self.view.step)]
        if not here:
            return
        line = seen[min(max(here[0] + by, 0), len(seen) - 1)]
        self.at = "" if line.state == "now" else line.step
        self.notice("")
        self.show()

    def enter(self) -> None:
        """Do what the step to do now asks; on another line say what that waits for."""
        if self.at:
            self.notice(what_is_missing(self.sitting, self.at))
        else:
            super().enter()

    def _give(self, name: str) -> None:
        if self.at:
            self.notice(words.GO_TO_NOW)
        else:
            super()._give(name)

    def letters(self) -> dict[keys.Key, Callable[[], object]]:
        """Return what letters do at one step, and what shows all or only what is left."""
        return {**super().letters(), keys.LEFT: self._show_left}

    def _show_left(self) -> None:
        self.left_only = not self.left_only
        self.at = ""
        self.show()

    def other_way(self) -> FollowScreen:
        """Return the screen of one step at a time."""
        return FollowScreen(self.sitting)
