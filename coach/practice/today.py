"""What the Today screen says of teaching: which steps need to be shown again.

Owns a look at the file of rehearsals that costs nothing where there is none. It must never raise:
a dose does not wait for what is taught.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from coach.errors import CoachError
from coach.says import teaching as says

if TYPE_CHECKING:
    from coach.practice.lessons import Lessons
    from coach.sitting.desk import Desk


def show_again_lines(desk: Desk, path: Path) -> tuple[str, ...]:
    """Return a line for each learner who was signed off by steps that are others now.

    Nothing where the file of rehearsals, at *path*, is not there or cannot be read.
    """
    if not path.is_file():
        return ()
    # Imported once something was taught, so that the Today screen is there sooner.
    from coach.practice.lessons import Lessons

    with suppress(CoachError):
        lessons = Lessons(desk, path, Random())
        try:
            return tuple(_lines(lessons))
        finally:
            lessons.close()
    return ()


def _lines(lessons: Lessons) -> Iterator[str]:
    for learner in lessons.learners():
        again = lessons.to_show_again(learner)
        if again:
            form = says.TO_SHOW if len(again) > 1 else says.TO_SHOW_ONE
            titles = lessons.named(again)
            yield form.format(learner=learner.name, number=len(again), titles=titles)
