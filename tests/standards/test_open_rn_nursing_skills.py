"""Open Resources for Nursing (Open RN), Nursing Skills, 5.16 IV Completion Time (read).

Example 1: 500 mL at 75 mL/h take 6.666667 hours, printed as 6 hours and 40 minutes. The page
multiplies by 0.6667 and so prints 40.02 minutes on the way; its answer is the exact 40.
"""

from __future__ import annotations

from decimal import Decimal

from coach.orders.quantities import Quantity, shown, time_of

BAG, RATE = Quantity(Decimal(500), "mL"), Quantity(Decimal(75), "mL/h")


def test_the_infusion_is_over_after_the_printed_time() -> None:
    assert shown(time_of(BAG, RATE, "min")) == "6 hours 40 minutes"


def test_the_rounded_step_on_the_way_is_not_followed() -> None:
    assert time_of(BAG, RATE, "s") == Quantity(Decimal(24_000), "s")  # 40.02 min would be 24,001.2
