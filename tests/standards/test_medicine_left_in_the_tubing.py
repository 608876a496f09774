"""Medicine that stays in a set which is not flushed through.

Eur J Hosp Pharm 2010 (Plagge) and J Infus Nurs (both read as abstracts): up to 35% of a 50 to
100 mL bag. Priming volumes of 15 to 27 mL: infusionnurse.org, 11 February 2015 (read).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from coach.orders.dosing import rest_in_tubing
from coach.orders.quantities import Quantity, more, shown
from tests.orders.written import sheet


@pytest.mark.parametrize(
    ("inner", "share"),
    [
        ("15 mL", "30%"),  # the least of the range, of a 50 mL bag (computed)
        ("17.5 mL", "35%"),  # what the laboratory found at most
        ("20 mL", "40%"),  # worked out here
        ("27 mL", "54%"),  # the most of the range (computed)
    ],
)
def test_the_share_of_a_small_bag_is_told(inner: str, share: str) -> None:
    found = rest_in_tubing(
        sheet(("tubing:\n  inner_volume: 3 mL", f"tubing:\n  inner_volume: {inner}"))
    )
    assert shown(found.volume) == inner
    assert shown(found.share) == share
    assert more(Quantity(Decimal(1), "g"), found.dose)
