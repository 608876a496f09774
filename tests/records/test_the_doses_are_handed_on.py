"""What `coach records export` writes: whole, for its owner alone, read back before it stays."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar
from msgspec.structs import replace

from coach import cli
from coach.clock import ManualClock
from coach.errors import CoachError, ExitCode
from coach.journal.records import Correction, Reason
from coach.journal.store import Journal
from coach.options import read
from coach.procedure.compose import compose
from coach.records.export import handed
from coach.records.export.fhir_read import read_bundle
from coach.records.export.table import columns_csv, read_csv
from coach.records.export.terms import RELEASES
from coach.records.model import DoseRecord
from coach.records.shelf import Shelf
from coach.says import export as words
from coach.says import records as file_words
from coach.sitting.desk import Desk
from tests.person import DEMO, MORNING, desk_at
from tests.records.test_a_dose_becomes_a_record import HOUR, given, records_of
from tests.standards.test_fhir_codes import MODELS

EARLIER = b'{"resourceType":"Bundle"}'
"""How an export begins."""


LATER = MORNING + timedelta(hours=2, minutes=14)
"""Some time after the dose on record, when the window of the next one is over."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a record with one dose, made once."""
    folder = tmp_path_factory.mktemp("kept")
    desk, _ = given(folder)
    desk.journal.close()
    return folder / "journal.sqlite"


@pytest.fixture
def home(tmp_path: Path, kept: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the data folder, with a dose on record, and the coach opened some time after it."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("coach.clock.SystemClock", lambda: ManualClock(LATER))
    (tmp_path / "orders.yaml").write_bytes(DEMO.read_bytes())
    shutil.copy(kept, tmp_path)
    return tmp_path


@pytest.fixture
def desk(tmp_path: Path, kept: Path) -> Desk:
    """Return a desk some time after a dose."""
    shutil.copy(kept, tmp_path)
    return desk_at(tmp_path, clock=ManualClock(LATER))


def export(*told: str) -> int:
    """Run the command."""
    return cli.main(["records", "export", *told])


@pytest.mark.parametrize("release", RELEASES)
def test_fhir_has_its_release_in_the_name_and_holds_every_dose(
    home: Path, release: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export("--release", release) == ExitCode.DONE
    path = home / f"doses-fhir-{release}.json"
    assert path.stat().st_mode & 0o777 == 0o600
    assert [one.status for one in read_bundle(path.read_bytes())] == ["completed", "not-done"]
    whole = MODELS[release].model_validate_json(path.read_bytes())
    assert len(whole.entry) > 20, "a reference library takes a dose that was given"
    said = capsys.readouterr().out
    assert f"Wrote 2 doses to {path.name} as FHIR {release}." in said
    assert words.PRIVATE in said
    assert words.ALL_INVENTED in said


def test_a_table_comes_with_its_dictionary(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert export("mine.csv", "--format", "csv") == ExitCode.DONE
    columns = home / "mine-columns.csv"
    assert columns.read_bytes() == columns_csv()
    rows = read_csv((home / "mine.csv").read_bytes())
    assert [row["status"] for row in rows] == ["completed", "not-done"]
    assert (home / "mine.csv").stat().st_mode & 0o777 == 0o600
    assert "mine-columns.csv says what each column holds." in capsys.readouterr().out


def test_a_calendar_is_written_with_what_the_record_tells(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export("--format", "calendar", "times.ics") == ExitCode.DONE
    names = {
        str(one["SUMMARY"]) for one in Calendar.from_ical((home / "times.ics").read_bytes()).events
    }
    assert {words.INVENTED.format(text=words.SUMMARIES[kind]) for kind in words.SUMMARIES} >= names
    assert words.INVENTED.format(text=words.SUMMARIES["batteries"]) in names
    assert words.CALENDAR_PRIVATE in capsys.readouterr().out


def test_only_the_days_that_were_asked_for_are_written(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export("--since", "25 Nov 2026", "--until", "25 Nov 2026", "a.json") == ExitCode.DONE
    assert "Wrote 2 doses" in capsys.readouterr().out
    for days in (("--since", "26 Nov 2026"), ("--until", "24 Nov 2026"), ("--since", "5/6/26")):
        assert export(*days, "b.json") == ExitCode.COULD_NOT_RUN
    assert words.NOTHING_TO_WRITE in capsys.readouterr().err
    assert export("--format", "calendar", "--since", "25 Nov 2026") == ExitCode.COULD_NOT_RUN
    assert words.NO_DAYS in capsys.readouterr().err
    assert sorted(home.glob("*.json")) == [home / "a.json"]
    assert not list(home.glob("*.ics"))


def test_one_dose_is_called_one_and_none_is_no_file(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Journal.open(home / "new.sqlite").close()
    assert export("--journal", str(home / "new.sqlite")) == ExitCode.COULD_NOT_RUN
    assert words.NOTHING_TO_WRITE in capsys.readouterr().err
    assert not list(home.glob("*.json"))
    monkeypatch.setattr("coach.clock.SystemClock", lambda: ManualClock(MORNING + HOUR))
    assert export() == ExitCode.DONE
    assert "Wrote 1 dose to" in capsys.readouterr().out


def test_a_file_is_written_over_only_if_asked_and_only_if_it_is_an_export(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    earlier, other = home / "a.json", home / "journal.sqlite"
    earlier.write_bytes(EARLIER)
    before = other.read_bytes()
    assert export("a.json") == ExitCode.COULD_NOT_RUN
    assert words.THERE_ALREADY.format(path="a.json") in capsys.readouterr().err
    assert earlier.read_bytes() == EARLIER
    assert export("--replace", "a.json") == ExitCode.DONE
    assert read_bundle(earlier.read_bytes())
    assert export("--replace", "journal.sqlite") == ExitCode.COULD_NOT_RUN
    assert words.NO_EXPORT_THERE.format(path=other.name) in capsys.readouterr().err
    assert other.read_bytes() == before
    for taken in (home, home / "nowhere" / "a.json"):
        assert export("--replace", str(taken)) == ExitCode.COULD_NOT_RUN
        assert file_words.NOT_WRITTEN.format(path=taken) in capsys.readouterr().err


def test_a_table_leaves_neither_file_where_one_is_taken(home: Path) -> None:
    (home / "doses-columns.csv").write_text("x", encoding="utf-8")
    assert export("--format", "csv") == ExitCode.COULD_NOT_RUN
    assert not (home / "doses.csv").exists()


def no_file(path: Path, raw: bytes, holds: Callable[[bytes], bool]) -> None:
    """See that a file that does not hold is not left, and that one before it stays."""
    for before in (None, EARLIER):
        if before is not None:
            path.write_bytes(before)
        with pytest.raises(CoachError, match="did not hold the same"):
            handed.write([handed.File(path, raw, holds)], replace=True)
        assert (path.read_bytes() if path.exists() else None) == before
        assert [one.name for one in path.parent.iterdir()] == ([path.name] if before else [])


def test_what_does_not_read_back_as_the_same_is_not_left(tmp_path: Path) -> None:
    def refuses(_: bytes) -> bool:
        raise CoachError(words.NO_EXPORT)

    no_file(tmp_path / "a.json", b"{}", lambda _: False)
    (tmp_path / "a.json").unlink()
    no_file(tmp_path / "a.json", b"{}", refuses)


def test_each_kind_of_file_tells_when_it_was_changed_on_the_way(desk: Desk) -> None:
    records, path = handed.records_between(Shelf(desk), "", ""), Path("x")
    [fhir] = handed.fhir_file(desk, records, path, "R5")
    columns, table = handed.table_files(desk, records, path)
    [calendar] = handed.calendar_file(desk, path)
    for file, old, new in (
        (fhir, b'"not-done"', b'"stopped"'),
        (table, b"not-done", b"stopped"),
        (columns, b"text", b"word"),
        (calendar, b"SEQUENCE:", b"SEQUENCE:0"),
    ):
        assert file.holds(file.raw)
        assert old in file.raw
        assert not file.holds(file.raw.replace(old, new))


def test_a_time_in_the_hour_that_comes_twice_is_read_back_as_the_same(desk: Desk) -> None:
    first, _ = handed.records_between(Shelf(desk), "", "")
    due = datetime(2026, 11, 1, 1, 30, tzinfo=desk.zone)
    twice = [replace(first, due=due), replace(first, id="b", due=due.replace(fold=1))]
    [file] = handed.fhir_file(desk, twice, Path("x"), "R5")
    assert file.holds(file.raw)
    told = [one.due.astimezone(UTC).hour for one in read_bundle(file.raw)]
    assert told == [5, 6]


def test_a_full_disk_leaves_no_file(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    before = sorted(home.iterdir())
    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_bytes", full)
        assert export() == ExitCode.COULD_NOT_RUN
    assert "cannot be written" in capsys.readouterr().err
    assert sorted(home.iterdir()) == before


def test_the_plan_holds_the_steps_of_the_procedure_for_the_sheet_in_its_order(desk: Desk) -> None:
    records = handed.records_between(Shelf(desk), "", "")
    [file] = handed.fhir_file(desk, records, Path("x"), "R5")
    whole = [one["resource"] for one in json.loads(file.raw)["entry"]]
    [plan] = [one for one in whole if one["resourceType"] == "PlanDefinition"]
    opening = records_of(desk)._opening
    steps = compose(opening.source, opening.choices()).steps
    assert [one["title"] for one in plan["action"]] == [step.title for step in steps]
    assert plan["title"] == opening.source.title
    conditions = [one.get("condition", []) for one in plan["action"]]
    assert [len(found) for found in conditions] == [
        bool(step.when) + bool(step.only_if) for step in steps
    ]
    said = {one["expression"]["expression"] for found in conditions for one in found}
    assert {"clamp is present", "spike is covered"} <= said
    table = opening.source.table
    assert all(table.forbids(table.wanted(step.only_if)) == step.only_if for step in steps)
    does = [one["description"] for one in plan["action"]]
    assert not any("{" in text for text in does), "each placeholder has the number of the sheet"
    assert any("10 mL" in text for text in does)
    [device] = [one for one in whole if one["resourceType"] == "Device"]
    assert device["name"][0]["value"] == desk.sheet.pump.card


def exported(desk: Desk) -> tuple[dict[str, dict[str, object]], tuple[DoseRecord, ...]]:
    """Return the doses of a Bundle by their status, and the records read back."""
    [file] = handed.fhir_file(desk, handed.records_between(Shelf(desk), "", ""), Path("x"), "R5")
    rows = [one["resource"] for one in json.loads(file.raw)["entry"]]
    doses = {r["status"]: r for r in rows if r["resourceType"] == "MedicationAdministration"}
    return doses, read_bundle(file.raw)


def test_a_dose_entered_in_error_and_one_never_begun_say_so_with_who_and_why(desk: Desk) -> None:
    doses, [first, missed] = exported(desk)
    assert set(doses) == {"completed", "not-done"}
    assert doses["not-done"]["statusReason"] == [{"text": words.NO_REASON}]
    book = desk.journal.records
    book.keep(
        Correction(
            at=MORNING,
            sitting_id=first.sitting,
            field="status",
            said="completed",
            says="entered-in-error",
            who="Nurse May",
            why="A try",
        )
    )
    book.keep(
        Reason(
            at=MORNING,
            sheet_id=missed.sheet,
            due_utc=missed.due,
            kind="not-done",
            words="I slept",
            who="R. V.",
        )
    )
    doses, [wrong, missed] = exported(desk)
    assert set(doses) == {"entered-in-error", "not-done"}
    assert doses["not-done"]["statusReason"] == [{"text": "I slept"}]
    assert [(one.who, one.why, one.said) for one in wrong.corrections] == [
        ("Nurse May", "A try", "completed")
    ]
    assert [(one.who, one.words) for one in missed.reasons] == [("R. V.", "I slept")]


def test_the_releases_that_can_be_typed_are_those_that_are_known() -> None:
    for release in RELEASES:
        assert read(["records", "export", "--release", release]).release == release
    assert read(["records", "export"]).release == RELEASES[0]
    with pytest.raises(SystemExit):
        read(["records", "export", "--release", "R4"])


@pytest.mark.parametrize(
    "typed",
    [
        ["export", "a", "--format", "csv"],
        ["export", "--format", "csv", "a"],
        ["--format", "csv", "export", "a"],
    ],
)
def test_the_file_may_stand_before_or_behind_the_options(typed: list[str]) -> None:
    told = read(["records", *typed])
    assert (told.what, told.file, told.format) == ("export", Path("a"), "csv")


@pytest.mark.parametrize("typed", [["records", "export", "a", "b"], ["today", "a"]])
def test_what_is_typed_in_vain_is_told(
    typed: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        read(typed)
    assert "unrecognized arguments" in capsys.readouterr().err
