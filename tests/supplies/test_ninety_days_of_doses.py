"""Ninety days of doses by the engine itself, with things spoiled at random."""

from __future__ import annotations

import random
from collections import Counter
from datetime import datetime
from pathlib import Path

import pytest

from coach.sitting.stock import Item, Supplies
from tests.supplies.season import Season

DAYS = 90
A_WEEK = {
    "battery": 8, "bag": 16, "tubing": 9, "saline_syringe": 32, "pad": 48, "sterile_cap": 16,
}  # fmt: skip
"""What comes each week: a little more than the steps use in it."""
WEEK = 14
"""Doses."""
OFTEN = 6
"""Every so many doses the stock and the forecast are looked at."""


def real_run_out(season: Season, dues: tuple[datetime, ...], item: Item) -> datetime | None:
    """Return the due time of the first dose for which there was not enough, if nothing came."""
    left = item.number or 0
    for due in dues:
        left -= season.used[due][item.key]
        if left < 0:
            return due
    return None


@pytest.mark.parametrize(("seed", "spoils"), [(1, 0.0), (2, 0.01), (3, 0.02), (4, 0.05)])
def test_the_stock_is_what_came_less_what_the_steps_used_and_runs_out_no_sooner_than_told(
    tmp_path: Path, seed: int, spoils: float
) -> None:
    season = Season(tmp_path, random.Random(seed), spoils)
    supplies, dues = Supplies(season.desk), season.dues(DAYS)
    came: Counter[str] = Counter()
    used: Counter[str] = Counter()
    told: dict[int, tuple[Item, ...]] = {}
    for place, due in enumerate(dues):
        if place % WEEK == 0:
            for key, number in A_WEEK.items():
                now = season.clock.now().at
                season.desk.journal.stock.keep(at=now, kind="delivered", item=key, number=number)
            came.update(A_WEEK)
        if place % OFTEN == 0:
            told[place] = supplies.items()
            left = {item.key: item.number for item in told[place]}
            assert left == {key: came[key] - used[key] for key in A_WEEK}
        season.give(due)
        used.update(season.used[due])
    assert {i.key: i.number for i in supplies.items()} == {k: came[k] - used[k] for k in A_WEEK}
    compared = [
        (item.runs_out, real_run_out(season, dues[place:], item))
        for place, items in told.items()
        for item in items
    ]
    ran_out = [(forecast, real) for forecast, real in compared if real is not None]
    assert len(ran_out) > 100
    for forecast, real in ran_out:
        assert forecast is not None
        assert forecast.astimezone(real.tzinfo).date() <= real.date()
    season.desk.journal.close()
