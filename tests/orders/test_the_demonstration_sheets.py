"""The two order sheets that ship: invented, marked so, and in agreement with themselves."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.orders.quantities import seconds
from coach.orders.read import read_sheet
from coach.orders.schedule import nearest_due, opens_at, window_of
from coach.orders.values import sheet_choices

DEMO = Path(__file__).parents[2] / "procedures" / "demo"
QUICK = DEMO / "orders.yaml"
DAILY = DEMO / "orders-daily.yaml"
QUICK_SHEET = read_sheet(QUICK)


@pytest.mark.parametrize("path", [QUICK, DAILY], ids=["quick", "daily"])
def test_a_demonstration_sheet_says_that_it_is_one(path: Path) -> None:
    sheet = read_sheet(path)
    assert sheet.demonstration
    assert path.read_text().startswith("# DEMONSTRATION ONLY.")
    assert "(invented)" in sheet.agency
    for contact in (sheet.contacts.nurse, sheet.contacts.pharmacist):
        assert re.fullmatch("555-01[0-9]{2}", contact.phone)


@pytest.mark.parametrize("path", [QUICK, DAILY], ids=["quick", "daily"])
def test_every_field_of_a_demonstration_sheet_is_explained(path: Path) -> None:
    for line in path.read_text().splitlines():
        is_group = re.fullmatch(r" *[a-z]+:", line)
        is_contact = re.match(r"    (name|phone|hours):", line)
        if line and not line.startswith("#") and not is_group and not is_contact:
            assert "#" in line or line.startswith(("agency", "sheet")), line


def test_the_two_sheets_choose_differently() -> None:
    quick, daily = sheet_choices(QUICK_SHEET), sheet_choices(read_sheet(DAILY))
    assert {name for name in quick if quick[name] != daily[name]} == {
        "heparin",
        "connector",
        "reuse",
    }


def test_the_quick_dose_takes_minutes() -> None:
    assert QUICK_SHEET.bag.warm_up is not None
    assert seconds(QUICK_SHEET.bag.warm_up) == 120
    assert seconds(QUICK_SHEET.medicine.infusion_time) == 180


@given(st.datetimes(datetime(2026, 11, 21), datetime(2028, 1, 1), timezones=st.just(UTC)))  # noqa: DTZ001 - hypothesis adds the zone
def test_the_quick_dose_can_be_begun_at_any_moment(now: datetime) -> None:
    due = nearest_due(QUICK_SHEET, now, ())
    assert opens_at(QUICK_SHEET, due) <= now <= window_of(QUICK_SHEET, due)[1]


def test_a_second_quick_dose_follows_within_the_hour() -> None:
    now = datetime(2026, 11, 25, 15, 10, tzinfo=UTC)
    first = nearest_due(QUICK_SHEET, now, ())
    second = nearest_due(QUICK_SHEET, now, {first.astimezone(UTC)})
    assert second.astimezone(UTC) - first.astimezone(UTC) == timedelta(hours=1)
