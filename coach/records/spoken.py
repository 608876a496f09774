"""How what a record holds is told in words, wherever it is told.

Owns the words for how a dose stands, for a corrected field, and for the end of a day. It must never
change what was said.
"""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo

from coach.records.model import Changed, DoseRecord
from coach.says import doses as words
from coach.says import report as report_words
from coach.says.ahead import DAY_END
from coach.sitting.times import day_and_time, day_in_full, is_midnight

TIMES = ("started", "over")
"""The fields of a correction that are times: when the medicine was started, when it was over."""


def until_in_words(at: datetime, zone: tzinfo) -> str:
    """Return *at* with its year; the midnight after a day is the end of that day."""
    if is_midnight(at, zone):
        return DAY_END.format(day=day_in_full(at - timedelta(minutes=1), zone))
    return f"{day_and_time(at, zone)} {at.astimezone(zone).year}"


def status_in_words(one: DoseRecord) -> str:
    """Return how *one* stands; what less went in of, or nobody knows how much, is not said full."""
    if one.from_paper and one.status == "unknown":
        return report_words.HOW_MUCH_UNKNOWN
    return report_words.SHORT if one.short else report_words.STATUS[one.status]


def correction_in_words(one: Changed, zone: tzinfo) -> tuple[str, str, str]:
    """Return what *one* is of, what stood there, and what it says now, times in *zone*."""

    def told(text: str) -> str:
        if not text:
            return words.NOTHING_SAID
        if one.field in TIMES:
            return day_and_time(datetime.fromisoformat(text), zone)
        if one.field == "given":
            return f"{text} mL"
        return report_words.STATUS.get(text, text) if one.field == "status" else text

    return words.FIELDS.get(one.field, one.field), told(one.said), told(one.says)
