"""What each time of the shipped procedures counts from, and what has to be so for it to run.

Owns the list. The proof does not follow a clock, so it cannot see a time that begins with
something else, or runs on when it should stand still.
"""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase

from coach.procedure.model import SINCE_DUE, Source, Wait, Within

RUNS = {
    "let-it-warm": ("bag", {"bag": ("warming",)}),
    "dry-port": ("bag-port", {"bag-port": ("wet",)}),
    "*-dry": ("connector", {"connector": ("wet",)}),
    "infuse": ("infusion", {"pump": ("running",)}),
}
"""For each wait, the fact that starts it anew, and while what it runs; the first name that fits."""
LIMITS = {"bag-out-*": ("bag", "warming"), "due-*": SINCE_DUE}
"""For each limit, since what it counts."""


def counted_otherwise(source: Source) -> Iterator[str]:
    """Yield the steps of *source* whose time does not count as it should."""
    for step in source.steps + source.responses:
        ask = step.ask
        if isinstance(ask, Wait):
            since, runs = next(found for name, found in RUNS.items() if fnmatchcase(step.id, name))
            if (ask.since, ask.runs_while) != (since, source.table.forbids(runs)):
                yield step.id
        elif isinstance(ask, Within):
            names = LIMITS.items()
            if ask.since != next(found for name, found in names if fnmatchcase(step.id, name)):
                yield step.id
