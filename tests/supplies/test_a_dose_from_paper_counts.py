"""A dose that was led by paper counts like any other, once it is written down."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.journal.records import OnPaper
from coach.journal.rows import sha256_of
from coach.orders.read import read_sheet
from coach.orders.supplies import in_all
from coach.sitting.desk import Desk, NotNow
from coach.sitting.opening import Opening
from coach.sitting.reckoning import Reckoning
from tests.dose.test_a_due_time_is_left_free_only_if_nothing_was_given import stopped
from tests.person import DAILY, DEMO, MORNING, PROCEDURES, Person, desk_at, holds
from tests.procedure.shipped import BUNDLE


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(MORNING)


def write_down(desk: Desk, sheet: Path = DEMO) -> None:
    """Write down a dose by *sheet* that was done on paper and is just over."""
    raw, steps, now = sheet.read_bytes(), json.dumps(BUNDLE, sort_keys=True), desk.clock.now().at
    hashes = sha256_of(raw), sha256_of(steps.encode())
    desk.journal.keep_source("sheet", hashes[0], raw)
    desk.journal.keep_source("procedure", hashes[1], steps.encode())
    stands = desk.journal.stock.stands()
    row = OnPaper(
        at=now,
        sheet_id=read_sheet(sheet).sheet.id,
        sheet_hash=hashes[0],
        due=now - timedelta(minutes=1),
        due_utc=now - timedelta(minutes=1),
        begun=now - timedelta(minutes=1),
        ended=now,
        given="",
        gave="Ana",
        pressed="Ana",
        words="",
        procedure_hash=hashes[1],
        sitting_id=stands.sitting,
        seq=stands.seq,
    )
    desk.journal.records.keep(row)


def test_it_uses_what_its_own_order_sheet_asks_for(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    for item in ("bag", "sterile_cap", "heparin_syringe"):
        desk.journal.stock.keep(at=clock.at, kind="delivered", item=item, number=9)
    clock.move(60)
    write_down(desk, DAILY)
    sums = Reckoning(desk).so_far(desk.journal.stock.stands()).sums
    left = {item: in_all(sums.batches(item)) for item in sums.items()}
    assert left["bag"] == 8
    assert left["sterile_cap"] < 9
    assert left["heparin_syringe"] == 9


def test_the_next_dose_after_it_can_be_too_soon(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    assert desk.today().word_for == ""
    write_down(desk, DAILY)
    assert desk.today().word_for == "too-soon"
    with pytest.raises(NotNow, match="begun only a short time ago"):
        desk.begin()


def test_the_tubing_after_it_is_new_as_nobody_knows_how_it_was_left(tmp_path: Path) -> None:
    clock = ManualClock(MORNING - timedelta(hours=6))
    desk = desk_at(tmp_path, DAILY, clock)
    opening = Opening(desk.sheet, desk.sheet_raw, PROCEDURES, desk.journal, clock, holds)
    clock.move((desk.today().opens - clock.at).total_seconds())
    assert Person(desk.begin(), clock).follow().way == "finished"
    clock.move(60)
    assert opening.choices()["tubing"] == "kept"
    clock.move(3600)
    write_down(desk, DAILY)
    assert opening.choices()["tubing"] == "new"


@pytest.mark.parametrize(("trouble", "word"), [("fever", "stopped"), ("danger", "emergency")])
def test_it_lifts_no_stop_before_it(
    tmp_path: Path, clock: ManualClock, trouble: str, word: str
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    stopped(desk, clock, "wipe-table", trouble)
    clock.move(3600)
    write_down(desk, DAILY)
    clock.move(3600)
    today = desk.today()
    assert today.stopped is not None
    assert today.word_for == word
