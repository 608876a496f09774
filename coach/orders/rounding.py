"""Whether two values of an order differ only by the rounding of one of them.

Owns how many figures a rounded value must have to be believed. It must never round a value that
is used: only the one that was written is.
"""

from __future__ import annotations

from decimal import Decimal

from coach.orders.floors import RATE_FIGURES, STRENGTH_FIGURES
from coach.orders.quantities import Quantity, divided, in_unit, product, seconds
from coach.orders.sheet import Medicine

_DAY = Decimal(86_400)
"""Seconds."""


def strength_is_rounded(medicine: Medicine) -> bool:
    """Tell whether the strength is dose over volume, half up to the places it is written with.

    Raises OrderError if dose and strength are of different kinds, or a value is 0.
    """
    strength = medicine.strength
    dose = in_unit(medicine.dose, strength.unit.removesuffix("/mL")).amount
    exact = divided(dose, in_unit(medicine.volume, "mL").amount, _places(strength), keep=False)
    return _figures(strength) >= STRENGTH_FIGURES and exact == strength.amount


def rate_is_rounded(medicine: Medicine) -> bool:
    """Tell whether the rate is volume over time, half up to the places it is written with.

    Raises OrderError if the time is 0.
    """
    rate = medicine.rate
    a_day = in_unit(Quantity(Decimal(1), rate.unit), "mL/day").amount
    top = product(in_unit(medicine.volume, "mL").amount, _DAY)
    bottom = product(seconds(medicine.infusion_time), a_day)
    exact = divided(top, bottom, _places(rate), keep=False)
    return _figures(rate) >= RATE_FIGURES and exact == rate.amount


def _places(quantity: Quantity) -> int:
    return len(f"{quantity.amount:f}".partition(".")[2])


def _figures(quantity: Quantity) -> int:
    """Return with how many figures *quantity* is written, zeros before them not counted."""
    return len(f"{quantity.amount:f}".replace(".", "").lstrip("0"))
