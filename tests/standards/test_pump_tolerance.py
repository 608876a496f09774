"""Generic Infusion Pump Hazard Analysis and Safety Requirements 1.0, MS-CIS-08-31, 2009.

A research model (restated). The rate within 5% over 72 h: so a dose takes its time divided by 1.05
to its time divided by 0.95. More than 10% off for 15 minutes is an alarm. No standard sets 5%.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from coach.orders.dosing import time_window
from coach.orders.floors import ALARM_AFTER, USUAL_TOLERANCE, WIDEST_TOLERANCE
from coach.orders.going import look
from coach.orders.quantities import Quantity, shown
from coach.orders.sheet import OrderSheet
from tests.orders.written import AT_ROOM_TEMPERATURE, sheet

START = datetime(2026, 11, 25, tzinfo=UTC)
DAYS = (
    ("dose: 1 g", "dose: 7.2 g"),
    ("  volume: 50 mL", "  volume: 360 mL"),
    ("rate: 100 mL/h", "rate: 5 mL/h"),
    ("infusion_time: 30 min", "infusion_time: 72 h"),
    ('times: ["09:00", "21:00"]', "every: 4 days\n  first: 2026-11-20T09:00-05:00"),
    AT_ROOM_TEMPERATURE,
)


def three_days() -> OrderSheet:
    """Return an order of 360 mL at 5 mL/h, which takes 72 hours."""
    return sheet(*DAYS)


def test_the_defaults_are_those_of_the_model() -> None:
    assert sheet().pump.tolerance == USUAL_TOLERANCE
    assert (shown(USUAL_TOLERANCE), shown(WIDEST_TOLERANCE)) == ("5%", "10%")
    assert shown(ALARM_AFTER) == "15 minutes"


def test_the_time_may_be_shorter_or_longer_by_the_tolerance() -> None:
    shortest, longest = time_window(three_days())
    assert shown(shortest) == "68 hours 34 minutes 17 seconds"  # 72 h ÷ 1.05 (computed)
    assert shown(longest) == "75 hours 47 minutes 22 seconds"  # 72 h ÷ 0.95 (computed)


@pytest.mark.parametrize(
    ("typed", "verdict", "call"),
    [
        ("189", "as-expected", False),  # 171 mL given: 5% less than 180
        ("189.1", "behind", False),
        ("171", "as-expected", False),  # 189 mL given: 5% more
        ("170.9", "ahead", False),
        ("198", "behind", False),  # 162 mL given: 10% less
        ("198.1", "behind", True),
        ("161.9", "ahead", True),
    ],
)
def test_a_reading_half_way_is_held_against_five_and_ten_percent(
    typed: str, verdict: str, call: bool
) -> None:
    at = START + timedelta(hours=36)
    found = look(three_days(), ((START, at),), at, Quantity(Decimal(typed), "mL"), None)
    assert (found.verdict, found.call) == (verdict, call)
