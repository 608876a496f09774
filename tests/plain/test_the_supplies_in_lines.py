"""The supplies in plain lines, and on the command line."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach import words
from coach.clock import ManualClock
from coach.errors import ExitCode, OrderError
from coach.lines import PipedLines
from coach.plain import Plain
from coach.says import supplies as supply_words
from coach.supplies import item_line, supply_lines, write_down
from tests.cli.test_the_command_line import coach
from tests.journal.desk import raw
from tests.person import DAILY, MORNING, desk_at
from tests.plain.scripts import Told, played


def talked(folder: Path, *script: str) -> Told:
    """Play *script* on Today, with the daily order sheet."""
    return played(folder, [*script, "quit"], DAILY, start="today")


def entries(told: Told) -> list[tuple[str, int, str, str]]:
    """Return what was written down."""
    kept = told.desk.journal.stock.entries()
    return [(entry.item, entry.number, entry.lot, entry.reason) for entry in kept]


def test_a_delivery_and_a_count_are_written_down(tmp_path: Path) -> None:
    came = ("2", "1", "14", "30 Dec 2026", "A7")
    told = talked(tmp_path, "supplies", *came, "2", "2", "13", "one leaked", "")
    assert entries(told) == [("bag", 14, "A7", ""), ("bag", 13, "", "one leaked")]
    assert "2. Bag: not counted yet." in told.lines
    assert any(line.startswith("2. Bag: 14 there. Enough for each dose") for line in told.lines)
    assert "14: good until the end of 30 December 2026. Lot A7." in told.lines
    assert any(line.startswith("2. Bag: 13 there.") for line in told.lines)
    assert told.lines.count(supply_words.STOCK_KEPT) == 2


def test_a_stock_that_lasts_to_the_end_of_a_day_is_told_by_the_day_alone(tmp_path: Path) -> None:
    supplies = desk_at(tmp_path, DAILY).supplies
    midnight = datetime(2026, 11, 26, tzinfo=supplies.desk.zone)
    item = replace(supplies.items()[0], number=2, doses=1, runs_out=midnight, order_by=None)
    assert item_line(supplies, item).endswith("2 there. Enough for each dose before 26 November.")
    later = replace(item, runs_out=midnight + timedelta(hours=8))
    assert item_line(supplies, later).endswith("before 08:00 on 26 November.")


@pytest.mark.parametrize(
    "script",
    [
        ("supplies", ""),
        ("supplies", "2", ""),
        ("supplies", "2", "back", "back"),
        ("supplies", "2", "1", "back", ""),
        ("supplies", "2", "1", "14", "back", ""),
        ("supplies", "2", "1", "14", "30 Dec 2026"),
    ],
)
def test_nothing_is_written_down_before_the_last_answer(
    tmp_path: Path, script: tuple[str, ...]
) -> None:
    assert entries(talked(tmp_path, *script)) == []


def test_an_answer_that_cannot_be_taken_is_asked_for_again(tmp_path: Path) -> None:
    script = ("supplies", "99", "2", "3", "1", "many", "14", "11/12/26", "", "", "")
    told = talked(tmp_path, *script)
    assert entries(told) == [("bag", 14, "", "")]
    assert told.lines.count(words.NOT_KNOWN) == 2
    assert supply_words.STOCK_NUMBER.format(least=1, most="9,999") in told.lines
    assert any("month as a word" in line for line in told.lines)


def test_what_will_be_too_old_is_said_days_ahead(tmp_path: Path) -> None:
    told = talked(tmp_path, "supplies", "2", "1", "16", "28 Nov 2026", "", "")
    assert any("will be too old before their turn comes" in line for line in told.lines)


def test_the_command_line_tells_and_writes_down_the_supplies(tmp_path: Path) -> None:
    orders = ("supplies", "--orders", str(DAILY))
    first = coach(tmp_path, *orders)
    assert first.returncode == ExitCode.DONE
    assert "Bag: not counted yet." in first.stdout
    second = coach(tmp_path, *orders, "--came", "saline syringe", "40", "--lot", "S1")
    assert "Saline syringe: 40 there." in second.stdout
    third = coach(tmp_path, *orders, "--counted", "saline_syringe", "38", "--why", "two dropped")
    assert "Saline syringe: 38 there." in third.stdout


def test_a_count_is_of_the_date_that_is_named_or_refused(tmp_path: Path) -> None:
    desk = desk_at(tmp_path, DAILY)
    for date in ("", "30 Dec 2026"):
        write_down(desk.supplies, "delivered", "bag", {"number": "9", "discard": date})
    counted = {"number": "2", "reason": "one fell"}
    with pytest.raises(OrderError, match="different dates"):
        write_down(desk.supplies, "counted", "bag", counted)
    with pytest.raises(OrderError, match="None with that date"):
        write_down(desk.supplies, "counted", "bag", {**counted, "which": "29 Dec 2026"})
    write_down(desk.supplies, "counted", "bag", {**counted, "which": "30 Dec 2026"})
    write_down(desk.supplies, "counted", "bag", {**counted, "number": "8", "which": ""})
    bag = desk.supplies.item("bag")
    assert bag is not None
    assert [(batch.discard is None, batch.number) for batch in bag.batches] == [
        (False, 2),
        (True, 8),
    ]


def test_a_single_date_is_held_against_the_one_that_is_named(tmp_path: Path) -> None:
    desk = desk_at(tmp_path, DAILY)
    write_down(desk.supplies, "delivered", "bag", {"number": "9", "discard": "30 Dec 2026"})
    counted = {"number": "2", "reason": "one fell"}
    for other in ("29 Dec 2026", ""):
        with pytest.raises(OrderError, match="None with that date"):
            write_down(desk.supplies, "counted", "bag", {**counted, "which": other})


def test_who_has_to_order_now_is_told_the_number(tmp_path: Path) -> None:
    desk = desk_at(tmp_path, DAILY)
    write_down(desk.supplies, "delivered", "pad", {"number": "1"})
    phone = desk.sheet.contacts.pharmacist.phone
    assert any(f"call the pharmacist, {phone}." in line for line in supply_lines(desk.supplies))


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--came", "teapot", "3"), "There is no item called teapot."),
        (("--came", "bag", "some"), "whole number from 1 to 9,999"),
        (("--counted", "bag", "3"), "say why"),
        (("--came", "bag", "3", "--date", "11/12/26"), "month as a word"),
    ],
)
def test_a_wrong_word_on_the_command_line_is_told_and_nothing_is_kept(
    tmp_path: Path, options: tuple[str, ...], says: str
) -> None:
    told = coach(tmp_path, "supplies", "--orders", str(DAILY), *options)
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert says in told.stderr
    assert "Traceback" not in told.stderr
    assert told.stdout == ""


def test_help_for_the_supplies_fits_eighty_columns(tmp_path: Path) -> None:
    told = coach(tmp_path, "supplies", "--help", COLUMNS="80").stdout.splitlines()
    assert max(len(line) for line in told) <= 80


def test_a_record_that_cannot_be_written_to_is_said_calmly(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk, out = desk_at(tmp_path, DAILY, clock), io.StringIO()
    desk.journal.mark_first_start()
    raw(desk.journal).execute(
        "CREATE TRIGGER full BEFORE INSERT ON stock BEGIN SELECT RAISE(ABORT, 'x'); END"
    )
    script = io.StringIO("\n".join(("supplies", "2", "1", "14", "", "", "call", "quit")))
    assert Plain(desk, PipedLines(script, clock), out).run("today") == ExitCode.DONE
    assert "could not be used just now" in out.getvalue()
    assert desk.journal.stock.entries() == ()
