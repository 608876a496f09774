"""Scripts of answers for plain mode, written down while a person follows a dose."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from coach.clock import ManualClock
from coach.lines import PipedLines
from coach.plain import Plain
from coach.sitting.desk import Desk
from coach.sitting.show import menu_of
from coach.sitting.view import View
from tests.person import DEMO, MORNING, Person, desk_at


@dataclass
class Scribe(Person):
    """A person whose every answer is also written down as a line of a script."""

    script: list[str] = field(default_factory=list)
    spoils: dict[str, str] = field(default_factory=dict)
    """What is said to have gone wrong when a step is first shown."""

    def act(self, view: View) -> None:
        """Do what *view* asks, and write down what would be typed."""
        if view.step in self.spoils:
            self._spoil(self.spoils.pop(view.step))
            return
        told = self.answers.get(view.step, [])
        if view.way in ("question", "stop"):
            name = told[0] if told else view.choices[0].name
            number = [choice.name for choice in view.choices].index(name) + 1
            self.script.append(str(number))
        elif view.way == "reading":
            typed = told[0] if told else self.as_ordered()
            self.script.append(typed)
        else:
            self.script.append("")
        if view.way == "wait":
            self.script.append("")  # once to wait, once to go on
        super().act(view)

    def _spoil(self, name: str) -> None:
        offered = [item.name for group in menu_of(self.sitting) for item in group.items]
        self.script += ["wrong", str(offered.index(name) + 1)]
        self.sitting.went_wrong(name)


def written(
    folder: Path,
    orders: Path = DEMO,
    answers: dict[str, list[str]] | None = None,
    spoils: dict[str, str] | None = None,
) -> list[str]:
    """Return the script of a dose in which *answers* and *spoils* differ from the best."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, orders, clock)
    scribe = Scribe(desk.begin(), clock, answers or {}, spoils=spoils or {})
    scribe.follow()
    desk.journal.close()
    return scribe.script


@cache
def hoped_for() -> tuple[str, ...]:
    """Return the script of the demonstration dose in which all goes well."""
    with TemporaryDirectory() as folder:
        return tuple(written(Path(folder)))


@dataclass
class Told:
    """What a script led to."""

    desk: Desk
    lines: list[str]
    seconds: float

    @property
    def text(self) -> str:
        """The transcript."""
        return "\n".join(self.lines)


def played(folder: Path, script: list[str], orders: Path = DEMO, start: str = "follow") -> Told:
    """Play *script* through plain mode on a clock that the test alone moves."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, orders, clock)
    desk.journal.mark_first_start()
    out = io.StringIO()
    source = io.StringIO("\n".join(script) + "\n")
    Plain(desk, PipedLines(source, clock), out).run(start)
    return Told(desk, out.getvalue().splitlines(), clock.seconds)


def ending(told: Told) -> str:
    """Return how the only dose of the journal ended."""
    (row,) = told.desk.journal.every_sitting()
    return row.ended
