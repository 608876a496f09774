"""What was wrong in a record is put right beside what stood there; how the dose stands follows."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from msgspec.structs import replace

from coach.clock import ManualClock
from coach.errors import OrderError
from coach.journal.records import OnPaper, PaperCorrection
from coach.orders.quantities import Quantity
from coach.orders.read import read_sheet
from coach.records.drawn import change_lines, dose_lines, row_of, strip, trend_lines
from coach.records.export.fhir_read import read_bundle
from coach.records.export.handed import fhir_file
from coach.records.export.table import rows_of
from coach.records.fitting import see_over, see_started
from coach.records.forms import forms_of
from coach.records.model import DoseRecord
from coach.records.shelf import Shelf
from coach.records.trends import trends_of
from coach.visit import report_of
from tests.dose.test_a_due_time_is_left_free_only_if_nothing_was_given import stopped
from tests.person import MORNING, Person, changed_sheet, desk_at
from tests.records.test_what_is_written_down_beside_a_dose import fill, form, shelf_after

BY = {"who": "Nurse May", "why": "by the chart"}
PAPER = {
    "begun": "25 Nov 2026 10:50",
    "ended": "25 Nov 2026 11:00",
    "amount": "10",
    "gave": "Ana",
    "writes": "Ben",
}


def put_right(shelf: Shelf, record: DoseRecord, name: str, says: str) -> DoseRecord:
    """Put the field *name* of *record* right, and return the record as it stands then."""
    fill(form(forms_of(shelf, record), name), {name: says, **BY})
    return shelf.anew(record)


def from_paper(folder: Path, amount: str = "10") -> tuple[Shelf, DoseRecord]:
    """Return a shelf with a dose from paper, of which *amount* went in, and its record."""
    shelf = shelf_after(folder)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    fill(form(forms_of(shelf, missed), "paper"), {**PAPER, "amount": amount})
    return shelf, shelf.anew(missed)


def stopped_at(folder: Path, step: str, trouble: str) -> tuple[Shelf, DoseRecord]:
    """Return a shelf with a dose that was stopped at *step*, and its record."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    stopped(desk, clock, step, trouble)
    shelf = Shelf(desk)
    [dose] = shelf.day(shelf.today())
    return shelf, dose


def test_every_field_of_a_dose_from_paper_is_put_right_beside_what_stood_there(
    tmp_path: Path,
) -> None:
    shelf, dose = from_paper(tmp_path)
    for name, says in {
        "given": "9.5",
        "started": "25 Nov 2026 10:45",
        "over": "25 Nov 2026 10:58",
        "gave": "Eva",
        "pressed": "Uli",
        "lot": "L-77",
    }.items():
        dose = put_right(shelf, dose, name, says)
    assert dose.flow is not None
    assert dose.flow.until is not None
    times = [at and f"{at.astimezone(shelf.zone):%H:%M}" for at in (dose.begun, dose.ended)]
    assert times == ["10:45", "10:58"], "it was begun and over with its medicine"
    assert (dose.flow.since, dose.flow.until) == (dose.begun, dose.ended)
    assert (dose.given, dose.gave, dose.pressed) == (Quantity(Decimal("9.5"), "mL"), "Eva", "Uli")
    [kept] = shelf.desk.journal.records.every(OnPaper)
    assert (kept.given, kept.gave) == ("10", "Ana"), "what was written down first stays"
    said = " ".join(" ".join((*dose_lines(dose, shelf.zone), *report_of(shelf))).split())
    assert "Nurse May: how much went in said 10 mL, now says 9.5 mL. Why: by the chart" in said
    assert "Corrected by Nurse May on 25 November 2026: who gave it said Ana, now says Eva." in said
    [file] = fhir_file(shelf.desk, (dose,), tmp_path / "out.json", "R5")
    assert file.holds(file.raw)
    [row] = rows_of((dose,), shelf.zone)
    assert "gave: said Ana, now says Eva (Nurse May: by the chart)" in str(row["corrections"])
    silent = replace(dose, corrections=(replace(dose.corrections[0], said=""),))
    [row] = rows_of((silent,), shelf.zone)
    assert ": said nothing, now says " in str(row["corrections"])


def test_a_dose_from_paper_can_have_been_entered_in_error(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path)
    fill(form(forms_of(shelf, dose), "error"), BY)
    dose = shelf.anew(dose)
    assert dose.status == "entered-in-error"
    assert trends_of((dose,), shelf.zone).due == 0
    assert "paper" not in [one.name for one in forms_of(shelf, dose)], "its due time stays taken"


def test_a_later_start_that_was_put_right_counts_for_the_dose_after_it(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path)
    was = shelf.desk.journal.begun_on_paper()
    assert was is not None
    put_right(shelf, dose, "started", "25 Nov 2026 10:55")
    assert shelf.desk.journal.begun_on_paper() == was + timedelta(minutes=5)
    put_right(shelf, dose, "started", "25 Nov 2026 10:40")
    assert shelf.desk.journal.begun_on_paper() == was + timedelta(minutes=5), "the latest one"


def test_a_later_start_of_a_dose_led_here_counts_for_the_dose_after_it_as_well(
    tmp_path: Path,
) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock).follow()
    shelf = Shelf(desk)
    [dose] = shelf.day(shelf.today())
    assert dose.flow is not None
    clock.move((dose.flow.since + timedelta(minutes=30, seconds=30) - clock.now().at).seconds)
    assert desk.today().word_for == ""
    later = (dose.flow.since + timedelta(minutes=2)).astimezone(shelf.zone)
    put_right(shelf, dose, "started", f"{later:%d %b %Y %H:%M}")
    assert desk.today().word_for == "too-soon"


def test_what_is_put_right_of_a_dose_from_paper_is_never_changed(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path)
    put_right(shelf, put_right(shelf, dose, "gave", "Eva"), "gave", "Uli")
    rows = shelf.desk.journal.records.every(PaperCorrection)
    assert [(one.said, one.says) for one in rows] == [("Ana", "Eva"), ("Eva", "Uli")]


def test_what_was_seen_at_the_site_is_put_right_by_the_answers_of_its_step(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    site = form(forms_of(shelf, dose), "site")
    assert site.questions[0].asks == (
        "Which answer is right for the last look? Type its number. “Is the skin calm, and the "
        "dressing dry and stuck down?” 1: Yes. 2: No, or I am not sure."
    )
    with pytest.raises(OrderError, match="number from 1 to 2"):
        site.questions[0].check("3", {})
    was, dose = dose, put_right(shelf, dose, "site", "2")
    [look] = [one for one in dose.looks if one.of == "site"]
    assert (look.says, look.hoped) == ("No, or I am not sure", False)
    assert len(dose.looks) == len(was.looks)
    said = "\n".join(dose_lines(dose, shelf.zone))
    assert "the look at the site said Yes, now says No, or I am not sure." in said
    assert "The look at the body: not well. Before: well." in change_lines(dose, was, shelf.zone)
    [file] = fhir_file(shelf.desk, (dose,), tmp_path / "out.json", "R4B")
    assert file.holds(file.raw)
    assert read_bundle(file.raw)[0].looks == dose.looks
    [back] = [one for one in put_right(shelf, dose, "site", "1").looks if one.of == "site"]
    assert (back.says, back.hoped) == ("Yes", True)


def test_a_dose_that_was_done_to_its_end_is_not_told_as_full_once_less_went_in(
    tmp_path: Path,
) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    less = put_right(shelf, dose, "given", "8")
    assert less.status == "completed", "how it ended was told at the table"
    assert row_of(less, shelf.zone).startswith("/ 10:00 given in part")
    assert strip((less,), shelf.zone) == "25 Nov /"
    found = trends_of((less,), shelf.zone)
    assert (found.given, found.short, found.going) == (0, 1, 0)
    told = "\n".join(trend_lines((less,), shelf.now(), shelf.now(), (), shelf.zone))
    assert "given in part. by the chart" in told
    assert "Given in part: 1." in "\n".join(report_of(shelf))
    none = put_right(shelf, less, "given", "0")
    assert row_of(none, shelf.zone).startswith("- 10:00 not given")
    [file] = fhir_file(shelf.desk, (none,), tmp_path / "out.json", "R5")
    assert file.holds(file.raw)
    assert [one.status for one in read_bundle(file.raw)] == ["not-done"]
    full = put_right(shelf, none, "given", "9")
    assert row_of(full, shelf.zone).startswith("+ 10:00 given in full"), "1 mL may be left"


def test_whether_a_stopped_dose_had_begun_to_go_in_follows_its_volume(tmp_path: Path) -> None:
    shelf, dose = stopped_at(tmp_path, "wipe-table", "fever")
    assert dose.status == "not-done"
    some = put_right(shelf, dose, "given", "3")
    assert some.status == "stopped"
    assert put_right(shelf, some, "given", "0").status == "not-done"


def test_a_dose_that_was_stopped_stays_so_whatever_went_in(tmp_path: Path) -> None:
    shelf, dose = stopped_at(tmp_path, "infuse", "fever")
    assert dose.status == "stopped"
    assert put_right(shelf, dose, "given", "10").status == "stopped"
    assert put_right(shelf, dose, "given", "0").status == "not-done"


@pytest.mark.parametrize(
    ("amount", "status"),
    [("", "unknown"), ("10", "completed"), ("9", "completed"), ("4", "stopped")],
)
def test_how_a_dose_from_paper_stands_is_told_by_its_volume_alone(
    tmp_path: Path, amount: str, status: str
) -> None:
    shelf, dose = from_paper(tmp_path, amount)
    assert dose.status == status
    assert put_right(shelf, dose, "given", "8.9").status == "stopped", "more than 1 mL is missing"
    assert put_right(shelf, dose, "given", "10").status == "completed"
    none = put_right(shelf, dose, "given", "0")
    assert none.status == "not-done"
    assert none.from_paper


def test_a_dose_from_paper_without_its_volume_is_never_told_as_full(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path, "")
    assert row_of(dose, shelf.zone) == ("? 11:00 given, but nobody knows how much, from paper")
    assert "Nobody knows how much went in." in list(dose_lines(dose, shelf.zone))
    found = trends_of((dose,), shelf.zone)
    assert (found.due, found.given, found.going) == (1, 0, 1)
    said = " ".join(" ".join(report_of(shelf)).split())
    assert "11:00 on 25 November: given, but nobody knows how much (from paper)" in said
    [file] = fhir_file(shelf.desk, (dose,), tmp_path / "out.json", "R5")
    assert file.holds(file.raw)
    assert [one.status for one in read_bundle(file.raw)] == ["unknown"]
    full = put_right(shelf, dose, "given", "10")
    assert row_of(full, shelf.zone) == "+ 11:00 given in full, from paper"


def test_less_from_paper_is_told_as_less_from_a_dose_led_here(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path)
    less = put_right(shelf, dose, "given", "4")
    assert row_of(less, shelf.zone) == "/ 11:00 given in part, from paper"
    found = trends_of((less,), shelf.zone)
    assert (found.given, found.stopped, found.short, found.going) == (0, 0, 1, 0)
    assert found.rest == (less,)


NOT_AT_11 = (
    "The dose due at 11:00 on 25 November can start from 10:28 to 11:30 only. Pick the dose that "
    "this was, or call your nurse."
)


@pytest.mark.parametrize(
    "begun", ["24 Nov 2026 10:50", "25 Nov 2026 06:28", "25 Nov 2026 10:27", "25 Nov 2026 11:31"]
)
def test_a_dose_from_paper_is_started_in_the_time_of_its_own_dose(
    tmp_path: Path, begun: str
) -> None:
    shelf = shelf_after(tmp_path)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    for forms, told in ((missed, {}), (None, {"due": "25 Nov 2026 11:00"})):
        paper = form(forms_of(shelf, forms), "paper")
        with pytest.raises(OrderError) as refused:
            fill(paper, {**PAPER, **told, "begun": begun, "ended": "25 Nov 2026 11:32"})
        assert str(refused.value) == NOT_AT_11
    assert shelf.desk.journal.records.every(OnPaper) == ()


@pytest.mark.parametrize(("begun", "ended"), [("10:28", "10:31"), ("11:30", "11:33")])
def test_a_dose_from_paper_can_be_started_up_to_both_ends_of_its_time(
    tmp_path: Path, begun: str, ended: str
) -> None:
    shelf = shelf_after(tmp_path)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    paper = form(forms_of(shelf, missed), "paper")
    day = "25 Nov 2026"
    fill(paper, {**PAPER, "begun": f"{day} {begun}", "ended": f"{day} {ended}"})
    assert shelf.anew(missed).from_paper


def test_a_dose_from_paper_is_over_before_the_next_one(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    paper = form(forms_of(shelf, missed), "paper")
    with pytest.raises(OrderError, match="should be over by 11:33 on 25 November"):
        fill(paper, {**PAPER, "ended": "25 Nov 2026 11:34"})


def test_the_times_of_a_dose_from_paper_are_put_right_within_the_time_of_its_dose(
    tmp_path: Path,
) -> None:
    shelf, dose = from_paper(tmp_path)
    with pytest.raises(OrderError) as refused:
        put_right(shelf, dose, "started", "25 Nov 2026 10:27")
    assert str(refused.value) == NOT_AT_11
    with pytest.raises(OrderError, match="should be over by 11:33"):
        put_right(shelf, dose, "over", "25 Nov 2026 11:34")
    assert shelf.desk.journal.records.every(PaperCorrection) == ()


def test_a_late_start_belongs_to_its_dose_until_the_next_one_opens(tmp_path: Path) -> None:
    sheet = read_sheet(changed_sheet(tmp_path, {"every: 1 h ": "every: 24 h "}))
    due = datetime(2026, 11, 25, 9, tzinfo=ZoneInfo(sheet.time_zone))
    see_started(sheet, due, due + timedelta(hours=5))
    for away in (timedelta(hours=-4), timedelta(hours=24)):
        with pytest.raises(OrderError, match="from 08:28 on 25 November to 08:28 on 26 November"):
            see_started(sheet, due, due + away)


@pytest.mark.parametrize(
    ("changes", "late", "by"),
    [
        ({"every: 1 h ": "every: 8 h "}, "17:00", "16:31"),
        ({}, "11:34", "11:33"),
    ],
)
def test_a_pump_may_have_stood_still_until_the_next_dose_can_be_begun(
    tmp_path: Path, changes: dict[str, str], late: str, by: str
) -> None:
    sheet = read_sheet(changed_sheet(tmp_path, changes))
    hour = 9 if changes else 11
    day = datetime(2026, 11, 25, tzinfo=ZoneInfo(sheet.time_zone))
    due = day.replace(hour=hour)
    at = {
        name: day.replace(hour=int(t[:2]), minute=int(t[3:]))
        for name, t in {"late": late, "by": by}.items()
    }
    see_over(sheet, due, at["by"])
    with pytest.raises(OrderError, match=f"by {by} on 25 November"):
        see_over(sheet, due, at["late"])
