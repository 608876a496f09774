"""The headings of the competence sheet: steps of one title can be told apart by them.

Owns how a part that comes more than once is numbered, and steps of one title in one place. Pure.
It must never know a step by name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby

import msgspec

from coach.procedure.model import Step
from coach.says import teaching as says


class Placed(msgspec.Struct, frozen=True):
    """Where a step stands on the sheet."""

    heading: str
    title: str
    """Its title under that heading, numbered where one before it has the same."""
    name: str
    """What tells it from every other step: its title, with the heading where it takes that."""


def placed(
    steps: Sequence[Step], responses: Collection[str], titles: Mapping[str, str]
) -> dict[str, Placed]:
    """Return where each of *steps* stands, by its id, in the order of the sheet.

    That is the order of the list; after it those of the *responses*, each part's together.
    *titles* are filled in.
    """
    counted, found = Counter(titles[step.id] for step in steps), dict[str, Placed]()
    for heading, under in _sections(steps, responses):
        before = Counter[str]()
        for step in under:
            title = titles[step.id]
            before[title] += 1
            form = says.SAME_TITLE if before[title] > 1 else "{title}"
            own = form.format(title=title, number=before[title])
            whole = says.IN_PART.format(title=own, heading=heading)
            found[step.id] = Placed(heading, own, whole if counted[title] > 1 else title)
    return found


def _sections(
    steps: Sequence[Step], responses: Collection[str]
) -> Iterator[tuple[str, Sequence[Step]]]:
    listed = [step for step in steps if step.id not in responses]
    runs = [(part, tuple(some)) for part, some in groupby(listed, key=lambda step: step.part)]
    times, before = Counter(part for part, _ in runs), Counter[str]()
    for part, some in runs:
        before[part] += 1
        once = times[part] == 1
        yield part if once else says.PART_AGAIN.format(part=part, number=before[part]), some
    others = [step for step in steps if step.id in responses]
    for part in dict.fromkeys(step.part for step in others):
        same = tuple(step for step in others if step.part == part)
        yield says.IF_WRONG.format(part=part), same
