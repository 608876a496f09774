"""The least and the most that an order sheet may ask for, each with its source.

Marks: *read* at the publisher; *restated* on another page; *memory*, not confirmed; *practice*,
common without a source. An agency may be stricter than these, never looser. It must never hold
a value that an order sheet should decide.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal

from coach.orders.quantities import Quantity


def _of(amount: str, unit: str) -> Quantity:
    return Quantity(Decimal(amount), unit)


SHORTEST_SCRUB = _of("5", "s")
"""INS Standards 2016 and 2021 (memory): 5 to 15 s by product and connector."""

USUAL_SCRUB = _of("15", "s")
"""Common practice, no source: below this only as an agency's signed setting."""

SHORTEST_DRY: Mapping[str, Quantity] = {
    "70% alcohol": _of("5", "s"),
    "chlorhexidine in alcohol": _of("20", "s"),
    "povidone iodine": _of("360", "s"),
}
"""Drying by product: Am J Infect Control 2018, doi 10.1016/j.ajic.2018.05.007 (the ends, 5 s
and over 6 min, restated); INS 2021 (memory). The products are those of CDC/HICPAC 2011
(restated)."""

LONGEST_MOVE = _of("5", "min")
"""Common practice, no source: nobody scrubs or washes longer, so more is a slip of the pen."""

LONGEST_DRY = _of("15", "min")
"""Am J Infect Control 2018, doi 10.1016/j.ajic.2018.05.007 (restated): the slowest took over 6 min.
Twice that is still believed; more is a slip of the pen."""

SHORTEST_WASH = _of("20", "s")
"""CDC, Handwashing (read): scrub at least 20 s."""

SHORTEST_RUB = _of("20", "s")
"""WHO Guidelines on Hand Hygiene in Health Care, 2009 (restated): a rub takes 20 to 30 s."""

HEPARIN_STRENGTHS = (
    _of("1", "units/mL"),
    _of("10", "units/mL"),
    _of("100", "units/mL"),
)
"""FDA label, NDA 017037 (restated): 10 and 100 units/mL keep a catheter open."""

STRONG_HEPARIN = _of("1000", "units/mL")
"""FDA label change 2007 (restated): vials from here up are for treatment, never for a lock."""

NOT_FOR_INFANTS = _of("100", "units/mL")
"""FDA label, NDA 017037 (restated): not for newborns and infants, so not before one year."""

FLUSH_TIMES = 2
"""INS 2016, 2021 (memory): the least flush is twice the volume of catheter and add-ons."""

SMALLEST_BARREL = _of("10", "mL")
"""INS 2016, 2021 (memory): a syringe of 10 mL width, whatever it holds."""

LOWEST_RATE = _of("0.1", "mL/h")
"""Generic Infusion Pump Hazard Analysis 1.0, 2009, 1.1.2 (restated; a research model)."""

HIGHEST_RATE = _of("999", "mL/h")
"""The same, 1.1.2."""

USUAL_TOLERANCE = _of("5", "%")
"""Generic Infusion Pump Hazard Analysis 1.0, 2009 (restated): the rate within 5% over 72 h."""

WIDEST_TOLERANCE = _of("10", "%")
"""The same: more than 10% off for 15 minutes is an alarm, so a sheet can not let it pass."""

ALARM_AFTER = _of("15", "min")
"""The same: so long it has to be off."""

RATE_FIGURES = 2
"""A rate of so many figures or more may be a rounded one: half of its last place is 5% at most,
which the pump itself may be off (computed)."""

STRENGTH_FIGURES = 3
"""A strength of so many figures or more may be a rounded one: 0.5% at most (computed)."""

SHORTEST_INFUSION = _of("1", "min")
"""Common practice, no source: times are compared to the minute, so a shorter one says nothing."""

LONGEST_TUBING = _of("24", "h")
"""For intermittent use: INS (restated)."""

CONNECTOR_CHANGE = (_of("4", "days"), _of("7", "days"))
"""CDC/HICPAC 2011 (restated): with the set, so not more often than every 96 h, and at least every
7 days."""

DRESSING_CHANGE = (_of("1", "days"), _of("7", "days"))
"""CDC 2011; AHRQ, NBK2632 table 3 (read): transparent every 7 days, gauze every 2. Below a day is a
slip of the pen (common practice, no source)."""

SHORTEST_DELIVERY = _of("1", "days")
"""Common practice, no source: deliveries come by the day; it also bounds every forecast."""

SMALLEST_GAP = timedelta(hours=1)
"""Common practice, no source: no home dose is due more often; it also bounds every schedule."""

LONGEST_TIME = _of("90", "days")
"""A longer time on an order sheet is a slip of the pen; it also bounds every calculation."""

LEAST_SHARE_LEFT = 5
"""What may be left when a dose is over is at most one in so many parts of it: common practice, no
source."""

MOST_THROUGH = 3
"""A flush-through is at most so many times what the tubing holds; more is a slip of the pen: common
practice, no source."""
