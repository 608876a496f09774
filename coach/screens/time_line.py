"""The next 24 hours as one row of text: a cell for each half hour or hour, a letter for each time.

Owns the drawing. What it draws is also said in words beside it, and no colour means anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta, tzinfo

import msgspec

from coach.orders.schedule import DAY
from coach.says import ahead as words
from coach.sitting.ahead import Entry, is_late

LABEL_EVERY = 3
"""Hours from one hour that is written below the row to the next: each label needs room."""


class TimeLine(msgspec.Struct, frozen=True):
    """One row, the hours below it, and what its letters mean."""

    cells: str
    hours: str
    legend: str


def time_line(entries: Iterable[Entry], now: datetime, zone: tzinfo, cells: int) -> TimeLine:
    """Return the 24 hours from *now* on in so many *cells*, 24 or 48, by the clock in *zone*.

    Every cell is as long as the others, whatever the clocks on the wall do meanwhile.
    """
    each = DAY / cells
    begins = _begin(now, zone, each)
    row, used = [words.MARK_NOTHING] * cells, dict[str, str]()
    for entry in entries:
        mark = words.MARKS.get(entry.kind)
        place = (entry.at.astimezone(UTC) - begins) // each
        if mark is None or entry.whole_day or is_late(entry, now, zone) or place >= cells:
            continue
        several = row[place] not in (words.MARK_NOTHING, mark)
        row[place] = words.MARK_SEVERAL if several else mark
        used[mark] = words.AHEAD[entry.kind]
    return TimeLine("".join(row), _hours(begins, zone, each, cells), _legend(row, used))


def _begin(now: datetime, zone: tzinfo, each: timedelta) -> datetime:
    """Return where the cell of *now* begins, in UTC: at a whole or half hour on the wall."""
    local = now.astimezone(zone)
    past = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    return now.astimezone(UTC) - past % each


def _hours(begins: datetime, zone: tzinfo, each: timedelta, cells: int) -> str:
    line = ""
    for place in range(cells):
        local = (begins + place * each).astimezone(zone)
        starts = timedelta(minutes=local.minute) < each and local.hour % LABEL_EVERY == 0
        clear = not line or len(line) < place  # an hour that is left out brings two labels close
        if starts and clear and place + len("00") <= cells:
            line = f"{line:{place}}{local:%H}"
    return line


def _legend(row: Iterable[str], used: Mapping[str, str]) -> str:
    """Return what the letters that stand in *row* mean; those under a plus are named too."""
    said = dict(used)
    if words.MARK_SEVERAL in row:
        said[words.MARK_SEVERAL] = words.MARKS_SEVERAL
    return ", ".join(words.MARK_SAYS.format(mark=mark, what=what) for mark, what in said.items())
