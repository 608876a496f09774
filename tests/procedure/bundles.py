"""A copy of the shipped files with some text changed, and what is said of it."""

from __future__ import annotations

from coach.errors import FileProblems
from coach.procedure.files import Bundle
from coach.procedure.read import read_source
from tests.procedure.shipped import BUNDLE

Change = tuple[str, str, str]
"""A file, a text that stands in it once, and what takes its place."""


def changed(*changes: Change) -> dict[str, str]:
    """Return the shipped files with each change made."""
    bundle = dict(BUNDLE)
    for name, old, new in changes:
        assert bundle[name].count(old) == 1, f"{old!r} stands {bundle[name].count(old)} times"
        bundle[name] = bundle[name].replace(old, new)
    return bundle


def line_of(bundle: Bundle, name: str, text: str) -> int:
    """Return the line of *name* on which *text* stands first, from 1."""
    return bundle[name][: bundle[name].index(text)].count("\n") + 1


def said_of(bundle: Bundle) -> tuple[str, ...]:
    """Return what is said of *bundle*, a line a problem; nothing if it is taken."""
    try:
        read_source(bundle)
    except FileProblems as refused:
        return tuple(str(row) for row in refused.problems)
    return ()


def said(*changes: Change) -> tuple[str, ...]:
    """Return what is said of the shipped files with each change made."""
    return said_of(changed(*changes))


def only(change: Change, at: str) -> str:
    """Return the one problem that *change* makes, its file and the line of *at* taken off."""
    bundle = changed(change)
    (row,) = said_of(bundle)
    start = f"procedures/{change[0]}, line {line_of(bundle, change[0], at)}, "
    assert row.startswith(start), row
    return row.removeprefix(start)
