"""Examples worked out in print, with the printed answers; each source beside its row.

All were read on their pages or in a stored copy of them, except where a row says restated.
Rounding in print: to the nearest tenth, half up.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from coach.orders.going import progress, volume_at
from coach.orders.quantities import (
    Quantity,
    dose_of,
    in_unit,
    rate_of,
    same,
    shown,
    time_of,
    volume_of,
)
from coach.orders.schedule import span
from tests.orders.written import sheet


def of(written: str) -> Quantity:
    """Return the quantity in *written*, such as ``750 mL``."""
    amount, unit = written.split()
    return Quantity(Decimal(amount), unit)


@pytest.mark.parametrize(
    ("volume", "time", "printed"),
    [
        # Convergent Math for Nursing, module 6, practice set 2, problem 2
        ("750 mL", "6 h", "125 mL/h"),
        # manuelsweb.com, IV rate, examples 1 and 2
        ("1000 mL", "8 h", "125 mL/h"),
        ("50 mL", "3 min", "1,000 mL/h"),
        # a nursing-school lesson
        ("1000 mL", "12 h", "83.3 mL/h"),
        # bevinzey.com, example 1
        ("1200 mL", "8 h", "150 mL/h"),
        # pharmacytutor.com, Practice Problem Set: IV Flow Rate Calculations, problem 1
        ("500 mL", "8 h", "62.5 mL/h"),
        # an application exercise to "Fundamentals for Nursing", chapter 48 (restated)
        ("100 mL", "15 min", "400 mL/h"),
        # the same, another edition (restated)
        ("1000 mL", "10 h", "100 mL/h"),
        # nokea.net, book questions 10167: a piggyback
        ("100 mL", "8 h", "12.5 mL/h"),
        # an IV certification script, stuvia.com 10843606: two piggybacks
        ("100 mL", "30 min", "200 mL/h"),
        ("60 mL", "20 min", "180 mL/h"),
        # slideplayer.com 1399705, "Determining delivery rate" (its 71.4 goes on to 71)
        ("500 mL", "7 h", "71.4 mL/h"),
    ],
)
def test_rates_come_out_as_printed(volume: str, time: str, printed: str) -> None:
    assert shown(rate_of(of(volume), of(time))) == printed


def test_an_end_time_comes_out_as_printed() -> None:
    """1,000 mL at 125 mL/h from 14:00 ends at 22:00: learnmath.org, IV infusion time (read)."""
    start = datetime.fromisoformat("2026-11-25T14:00+00:00")
    end = start + span(time_of(of("1000 mL"), of("125 mL/h")))
    assert f"{end:%H:%M}" == "22:00"


@pytest.mark.parametrize(
    ("hours", "printed"),
    [
        # learnmath.org, IV infusion time
        ("3.25", "3 hours 15 minutes"),
        ("6.67", "6 hours 40 minutes"),
    ],
)
def test_decimal_hours_come_out_as_printed(hours: str, printed: str) -> None:
    volume, rate = Quantity(Decimal(hours) * 100, "mL"), of("100 mL/h")
    assert shown(time_of(volume, rate, "min")) == printed


@pytest.mark.parametrize(
    ("dose", "strength", "printed"),
    [
        # OpenStax, Pharmacology for Nurses 2.4, example 2
        ("0.5 mg", "0.25 mg/mL", "2 mL"),
        # the same, basic formula: 20 mg in 2 mL
        ("60 mg", "10 mg/mL", "6 mL"),
        # a textbook's solution page (restated): 1,800 units in an hour
        ("1800 units", "100 units/mL", "18 mL"),
        # an application exercise to "Fundamentals for Nursing", chapter 48 (restated): 0.25
        ("10 mg", "40 mg/mL", "0.3 mL"),
        # Silvestri, Comprehensive Review for NCLEX-RN, chapter 15, question 2 (restated)
        ("400000 units", "300000 units/mL", "1.3 mL"),
        # freezingblue.com 256724, question 5: 0.3 g from 900 mg in 6 mL
        ("0.3 g", "150 mg/mL", "2 mL"),
        # studylib.net 8466170, IV Math Practice, answer 1: 600 units an hour, 12,000 in 250 mL
        ("600 units", "48 units/mL", "12.5 mL"),
        # Pickar, Dosage Calculations, chapter 16 (restated): 850 units an hour, 25,000 in 500 mL
        ("850 units", "50 units/mL", "17 mL"),
        # ehow.co.uk 5625322: 880 units an hour, 40,000 in 1,000 mL
        ("880 units", "40 units/mL", "22 mL"),
        # knowunity.com, dosage calculations: heparin under the skin
        ("3000 units", "5000 units/mL", "0.6 mL"),
        # a numeracy test of 12 May 2008, docsbay.net, questions 5 and 6: 50 mg in 5 mL
        ("500 mcg", "1 mg/mL", "0.5 mL"),
        ("15 mg", "10 mg/mL", "1.5 mL"),
        # Convergent Math for Nursing, module 6, practice set 2, problem 3: 5.625
        ("225 mg", "40 mg/mL", "5.6 mL"),
        # Centennial College, Nursing Test with Solutions, question 3: 125 mg in 4 mL
        ("0.2 g", "31.25 mg/mL", "6.4 mL"),
        # studylib.net 25912294: 20 mg in 5 mL; 50 mg in 1 mL
        ("30 mg", "4 mg/mL", "7.5 mL"),
        ("80 mg", "50 mg/mL", "1.6 mL"),
        # scribd.com 28291745, Calculations Practice Problems, 1, 2 and 4
        ("10 mg", "5 mg/mL", "2 mL"),
        ("40 mg", "10 mg/mL", "4 mL"),
        ("8 mg", "5 mg/mL", "1.6 mL"),
        # an online practice assessment, stuvia.com 4365310, question 1: 10 mg in 5 mL
        ("20 mg", "2 mg/mL", "10 mL"),
    ],
)
def test_volumes_come_out_as_printed(dose: str, strength: str, printed: str) -> None:
    assert shown(volume_of(of(dose), of(strength))) == printed


@pytest.mark.parametrize(
    ("volume", "rate", "printed"),
    [
        # slideplayer.com 1399705: twelve and a half hours
        ("750 mL", "60 mL/h", "12 hours 30 minutes"),
        # a Japanese nursing examination, nursta.jp 865: 10 hours, from 10:00 to about 20:00
        ("500 mL", "50 mL/h", "10 hours"),
    ],
)
def test_times_come_out_as_printed(volume: str, rate: str, printed: str) -> None:
    assert shown(time_of(of(volume), of(rate), "min")) == printed


def test_what_was_given_comes_out_as_printed() -> None:
    """45 mL per hour for 7 hours are 315 mL: slideplayer.com 1399705."""
    assert shown(volume_at(of("45 mL/h"), timedelta(hours=7))) == "315 mL"


def test_a_time_tape_comes_out_as_printed() -> None:
    """1,000 mL over 8 hours, 500 mL at 11:00, so 375 mL at noon: freezingblue.com 256724, 1."""
    order = sheet(
        ("dose: 1 g", "dose: 20 g"),
        ("  volume: 50 mL", "  volume: 1,000 mL"),
        ("rate: 100 mL/h", "rate: 125 mL/h"),
        ("infusion_time: 30 min", "infusion_time: 8 h"),
        ("out_at_most: 6 h", "out_at_most: 10 h"),
    )
    start = datetime.fromisoformat("2026-11-25T07:00+00:00")
    run = (start, start + timedelta(hours=8))
    lefts = [progress(order, (run,), start + timedelta(hours=h)).left for h in (4, 5)]
    assert [shown(left) for left in lefts] == ["500 mL", "375 mL"]


@pytest.mark.parametrize(
    ("strength", "volume", "printed"),
    [
        # an online practice assessment, stuvia.com 9178238: 75 mg are 0.75 mL, to a hundredth
        ("100 mg/mL", "0.75 mL", "75 mg"),
        # coursehero.com p40gt05p, question 25: 7,500 units are 0.75 mL
        ("10000 units/mL", "0.75 mL", "7,500 units"),
        # calculator.city, heparin drip rate: 25,000 units in 250 mL
        ("100 units/mL", "250 mL", "25,000 units"),
    ],
)
def test_doses_come_out_as_printed(strength: str, volume: str, printed: str) -> None:
    assert shown(dose_of(of(strength), of(volume))) == printed


@pytest.mark.parametrize(
    ("one", "unit", "printed"),
    [
        # Convergent Math for Nursing, module 6, practice set 1, problem 2; set 2, problem 4
        ("2.5 g", "mg", "2,500 mg"),
        ("0.375 g", "mcg", "375,000 mcg"),
        # WisTech Open, Nursing Dosage Calculations, answer keys, Basic Metric Conversion 1
        ("2.4 L", "mL", "2,400 mL"),
        ("36 mg", "g", "0.036 g"),
        # an online practice assessment, stuvia.com 4365310, question 2
        ("2000 mcg", "mg", "2 mg"),
        # a numeracy test of 12 May 2008, docsbay.net, questions 1 and 2
        ("500 mg", "g", "0.5 g"),
        ("1.5 L", "mL", "1,500 mL"),
    ],
)
def test_conversions_come_out_as_printed(one: str, unit: str, printed: str) -> None:
    assert shown(in_unit(of(one), unit)) == printed
    assert same(of(one), in_unit(of(one), unit))


@pytest.mark.parametrize(("exact", "printed"), [("1.251", "1.3 mL"), ("1.243", "1.2 mL")])
def test_tenths_are_rounded_half_up_as_printed(exact: str, printed: str) -> None:
    assert shown(volume_of(of(f"{exact} mg"), of("1 mg/mL"))) == printed


def test_a_half_is_rounded_up_where_floats_round_down() -> None:
    """2.5 times 198, over 2.2 and 40, is 5.625; in floats 5.624999999999999 (computed)."""
    dose = Quantity(Decimal("2.5") * 198, "mg")
    strength = Quantity(Decimal("2.2") * 40, "mg/mL")
    assert f"{2.5 * 198 / 2.2 / 40}" == "5.624999999999999"
    assert volume_of(dose, strength) == of("5.6 mL")
    hundredfold = volume_of(Quantity(dose.amount * 10, "mg"), strength)
    assert shown(hundredfold) == "56.3 mL"
