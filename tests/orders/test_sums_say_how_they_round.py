"""Dose, time, rate and volume: exact in decimals, rounded only where a docstring says so."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.quantities import (
    Quantity,
    dose_of,
    rate_of,
    rounded,
    same,
    time_of,
    total,
    volume_of,
)

AMOUNTS = st.decimals(min_value="0.000001", max_value=999_999_999, places=6)


def of(amount: str, unit: str) -> Quantity:
    """Return the quantity of *amount* in *unit*."""
    return Quantity(Decimal(amount), unit)


def test_a_dose_is_strength_times_volume() -> None:
    assert dose_of(of("20", "mg/mL"), of("50", "mL")) == of("1000", "mg")
    assert dose_of(of("0.1", "g/mL"), of("0.3", "mL")) == of("0.03", "g")
    assert dose_of(of("10", "units/mL"), of("0.003", "L")) == of("30", "units")


@given(AMOUNTS, AMOUNTS)
def test_a_dose_is_never_rounded(strength: Decimal, volume: Decimal) -> None:
    found = dose_of(Quantity(strength, "mg/mL"), Quantity(volume, "mL")).amount
    with localcontext() as context:
        context.prec = 100
        assert found == strength * volume


@given(AMOUNTS, AMOUNTS)
def test_no_sum_depends_on_the_decimal_context_around_it(strength: Decimal, rate: Decimal) -> None:
    def sums() -> tuple[Quantity, ...]:
        volume = Quantity(Decimal("123456789.123456"), "mL")
        return (
            dose_of(Quantity(strength, "mg/mL"), volume),
            time_of(volume, Quantity(rate, "mL/h")),
            rate_of(volume, Quantity(rate, "min")),
            total(volume, volume),
        )

    usual = sums()
    with localcontext() as context:
        context.prec, context.rounding = 3, ROUND_DOWN
        found = sums()
    assert found == usual


def test_a_time_is_volume_over_rate_half_up_to_the_unit() -> None:
    assert time_of(of("50", "mL"), of("100", "mL/h")) == of("1800", "s")
    assert time_of(of("50", "mL"), of("100", "mL/h"), "min") == of("30", "min")
    assert time_of(of("1", "mL"), of("8", "mL/min")) == of("8", "s")  # 7.5 s
    assert time_of(of("48", "mL"), of("48", "mL/day"), "h") == of("24", "h")


def test_a_rate_is_volume_over_time_half_up_to_a_tenth() -> None:
    assert rate_of(of("0.25", "L"), of("3", "h")) == of("83.3", "mL/h")
    assert rate_of(of("0.25", "mL"), of("1", "h")) == of("0.3", "mL/h")


def test_minutes_are_rounded_half_up() -> None:
    assert rounded(of("150", "s"), "min") == of("3", "min")
    assert rounded(of("149", "s"), "min") == of("2", "min")


def test_a_sum_is_in_the_unit_of_its_first_part() -> None:
    assert total(of("0.6", "mL"), of("0.0003", "L")) == of("0.9", "mL")
    assert same(total(of("1", "h"), of("30", "min")), of("90", "min"))


def test_nothing_is_divided_by_zero() -> None:
    zero = "^Nothing can be divided by 0\\.$"
    with pytest.raises(OrderError, match=zero):
        time_of(of("5", "mL"), of("0", "mL/h"))
    with pytest.raises(OrderError, match=zero):
        rate_of(of("5", "mL"), of("0", "h"))
    with pytest.raises(OrderError, match=zero):
        volume_of(of("5", "mg"), of("0", "mg/mL"))


def test_units_that_do_not_fit_a_sum_are_refused() -> None:
    with pytest.raises(OrderError, match=r"^5 mL is not a rate\.$"):
        time_of(of("5", "mL"), of("5", "mL"))
    with pytest.raises(OrderError, match=r"^5 mL is not a strength\.$"):
        dose_of(of("5", "mL"), of("5", "mL"))
    with pytest.raises(OrderError, match=r"^5 mL is not a strength\.$"):
        volume_of(of("5", "mg"), of("5", "mL"))
    with pytest.raises(OrderError, match=r"^5 units cannot be given in mg\.$"):
        volume_of(of("5", "units"), of("5", "mg/mL"))
