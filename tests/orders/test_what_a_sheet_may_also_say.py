"""Fields that a sheet may leave out: what they mean when they are left out, and their bands."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from coach.orders.quantities import Quantity
from coach.orders.read import sheet_from_bytes
from coach.orders.sheet import Change, Delivery, OrderSheet
from tests.orders.written import ALSO, SHEET, said, said_of, sheet, with_pump, with_tubing

ASK = " Ask the nurse or the pharmacist which one is right."
CHANGE = "connector: {every: 7 days, last: 2026-11-20}"


def of(amount: str, unit: str) -> Quantity:
    """Return the quantity of *amount* in *unit*."""
    return Quantity(Decimal(amount), unit)


def longer(text: str) -> OrderSheet:
    """Return the sheet with *text* below it."""
    return sheet_from_bytes((SHEET + text).encode(), "orders.yaml")


def test_what_is_left_out_is_nothing_or_the_usual() -> None:
    found = sheet()
    assert found.pump.residual == of("0", "mL")
    assert found.pump.keep_open is None
    assert found.pump.tolerance == of("5", "%")
    assert found.tubing.flush_through is None
    assert found.changes.connector is None
    assert found.changes.dressing is None
    assert found.delivery is None


def test_what_is_written_arrives() -> None:
    found = sheet(
        with_pump("residual: 2.5 mL", "keep_open: 0.5 mL/h", "tolerance: 2.5%"),
        with_tubing("flush_through: 3 mL"),
    )
    assert found.pump.residual == of("2.5", "mL")
    assert found.pump.keep_open == of("0.5", "mL/h")
    assert found.pump.tolerance == of("2.5", "%")
    assert found.tubing.flush_through == of("3", "mL")


def test_changes_and_deliveries_arrive() -> None:
    found = longer(ALSO)
    assert found.changes.connector == Change(of("7", "days"), date(2026, 11, 20))
    assert found.changes.dressing == Change(of("2", "days"), date(2026, 11, 19))
    two, none = of("2", "days"), of("0", "days")
    assert found.delivery == Delivery(date(2026, 11, 27), of("7", "days"), two, none)


def test_one_of_the_changes_may_be_left_out() -> None:
    found = longer(f"changes:\n  {CHANGE}\n").changes
    assert found.connector is not None
    assert found.dressing is None


@pytest.mark.parametrize(
    ("field", "row"),
    [
        (
            "residual: 50 mL",
            "pump.residual: expected less than the 50 mL of the dose; found 50 mL." + ASK,
        ),
        (
            "keep_open: 101 mL/h",
            "pump.keep_open: expected at most 100 mL/h, the rate of the dose; "
            "found 101 mL/h." + ASK,
        ),
        (
            "keep_open: 2 mL/day",
            "pump.keep_open: expected a rate that a pump can run, at least 0.1 mL/h; "
            "found 2 mL/day.",
        ),
        ("tolerance: 10.1%", "pump.tolerance: expected at most 10%; found 10.1%."),
        ("tolerance: 0%", 'pump.tolerance: expected more than 0; found "0%".'),
        (
            "tolerance: 5 %",
            'pump.tolerance: expected a share, such as 5%; found "5 %". Write 5%.',
        ),
        (
            "tolerance: 0.05",
            'pump.tolerance: expected a share, such as 5%; found "0.05". '
            "Write a number and %, such as 5%.",
        ),
    ],
)
def test_a_pump_field_that_makes_no_sense_is_told_at_its_line(field: str, row: str) -> None:
    assert said(with_pump(field)) == (f"orders.yaml, line 43, field {row}",)


def test_a_flush_through_is_no_less_than_the_tubing_holds() -> None:
    assert said(with_tubing("flush_through: 3 mL")) == ()
    assert said(with_tubing("flush_through: 2.9 mL")) == (
        "orders.yaml, line 38, field tubing.flush_through: "
        "expected at least 3 mL, what the tubing holds; found 2.9 mL." + ASK,
    )


def test_a_flush_through_is_no_slip_of_the_pen() -> None:
    assert said(with_tubing("flush_through: 9 mL")) == ()
    assert said(with_tubing("flush_through: 9.1 mL")) == (
        "orders.yaml, line 38, field tubing.flush_through: "
        "expected at most 9 mL, as 3 × 3 mL = 9 mL; found 9.1 mL." + ASK,
    )
    holds_much = ("inner_volume: 3 mL", "inner_volume: 20 mL")
    assert said(holds_much, with_tubing("flush_through: 50 mL")) == ()
    assert said(holds_much, with_tubing("flush_through: 51 mL")) == (
        "orders.yaml, line 38, field tubing.flush_through: "
        "expected at most 50 mL, the whole volume of the dose; found 51 mL." + ASK,
    )


def test_tubing_that_would_keep_the_whole_dose_needs_a_flush_through() -> None:
    holds_all = ("inner_volume: 3 mL", "inner_volume: 50 mL")
    assert said(holds_all) == (
        "orders.yaml, line 36, field tubing.inner_volume: expected less than the 50 mL of the "
        "dose, or all of it stays in the tubing; found 50 mL." + ASK,
    )
    assert said(("inner_volume: 3 mL", "inner_volume: 49.9 mL")) == ()
    assert said(holds_all, with_tubing("flush_through: 50 mL")) == ()


def test_a_flush_through_ends_before_the_next_dose() -> None:
    slow = (("rate: 100 mL/h", "rate: 10 mL/h"), ("infusion_time: 30 min", "infusion_time: 5 h"))
    long = (*slow, ("out_at_most: 6 h", "out_at_most: 8 h"))
    holds_much = ("inner_volume: 3 mL", "inner_volume: 30 mL")
    found = said(
        *long, holds_much, ("warm_up: 45 min", "warm_up: 2 h"), with_tubing("flush_through: 50 mL")
    )
    assert found == (
        "orders.yaml, line 38, field tubing.flush_through: "
        "expected warming, infusion and flush-through shorter than the 12 hours between doses; "
        "found 50 mL ÷ 10 mL/h = 5 hours, so 12 hours in all." + ASK,
    )


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        (
            "{every: 7 days, last: 2026-11-20}",
            "{every: 95 h, last: 2026-11-20}",
            "68, field changes.connector.every: expected 4 days to 7 days; found 95 hours.",
        ),
        (
            "{every: 2 days, last: 2026-11-19}",
            "{every: 8 days, last: 2026-11-19}",
            "69, field changes.dressing.every: expected 1 day to 7 days; found 8 days.",
        ),
        (
            "{every: 2 days, last: 2026-11-19}",
            "{every: 2 days, last: 2026-11-21}",
            "69, field changes.dressing.last: expected a date on or before 2026-11-20, the date "
            "of the sheet; found 2026-11-21." + ASK,
        ),
        (
            "{every: 2 days, last: 2026-11-19}",
            "{every: 2 days}",
            "69, field changes.dressing.last: expected this field; found nothing.",
        ),
        (
            "{every: 2 days, last: 2026-11-19}",
            "2 days",
            '69, field changes.dressing: expected a group of fields; found "2 days".',
        ),
        (
            "next: 2026-11-27",
            "next: 2026-11-19",
            "71, field delivery.next: expected a date on or after 2026-11-20, the date of the "
            "sheet; found 2026-11-19." + ASK,
        ),
        (
            "every: 7 days\n  lead",
            "every: 23 h\n  lead",
            "72, field delivery.every: expected at least 1 day; found 23 hours.",
        ),
        (
            "safety: 0 days",
            "safety: 91 days",
            '74, field delivery.safety: expected at most 90 days; found "91 days".',
        ),
        (
            "  lead_time: 2 days\n",
            "",
            "71, field delivery.lead_time: expected this field; found nothing.",
        ),
    ],
)
def test_a_change_or_a_delivery_that_makes_no_sense_is_told(old: str, new: str, row: str) -> None:
    assert ALSO.count(old) == 1
    assert said_of(SHEET + ALSO.replace(old, new)) == (f"orders.yaml, line {row}",)


@pytest.mark.parametrize(
    ("strength", "volume", "rate"),
    [
        ("16.7 mg/mL", "60 mL", "120 mL/h"),  # 1 g in 60 mL is 16.666…
        ("8.33 mg/mL", "120 mL", "240 mL/h"),
    ],
)
def test_a_strength_may_be_rounded_to_three_figures(strength: str, volume: str, rate: str) -> None:
    rows = said(
        ("strength: 20 mg/mL", f"strength: {strength}"),
        ("  volume: 50 mL", f"  volume: {volume}"),
        ("rate: 100 mL/h", f"rate: {rate}"),
        ("  highest_rate: 200 mL/h\n", ""),
    )
    assert rows == ()


@pytest.mark.parametrize("strength", ["17 mg/mL", "16.6 mg/mL", "16.8 mg/mL"])
def test_a_strength_that_is_rounded_further_or_wrongly_is_refused(strength: str) -> None:
    (row,) = said(
        ("strength: 20 mg/mL", f"strength: {strength}"),
        ("  volume: 50 mL", "  volume: 60 mL"),
        ("rate: 100 mL/h", "rate: 120 mL/h"),
    )
    assert "field medicine.dose: " in row


@pytest.mark.parametrize(
    ("rate", "time", "taken"),
    [
        ("83.3 mL/h", "36 min", True),  # 50 mL ÷ 36 minutes is 83.333…
        ("83 mL/h", "36 min", True),
        ("84 mL/h", "36 min", True),  # 35.7 minutes, which is 36 to the minute
        ("0.69 mL/h", "72 h", True),  # 0.694…
        ("0.7 mL/h", "72 h", False),  # one figure says too little
        ("0.68 mL/h", "72 h", False),
    ],
)
def test_a_rate_may_be_rounded_to_two_figures(rate: str, time: str, taken: bool) -> None:
    rows = said(
        ("rate: 100 mL/h", f"rate: {rate}"),
        ("infusion_time: 30 min", f"infusion_time: {time}"),
        ('times: ["09:00", "21:00"]', "every: 6 days\n  first: 2026-11-20T09:00-05:00"),
        ("out_at_most: 6 h", "out_at_most: 80 h"),
    )
    assert (rows == ()) is taken
