"""No dose is begun on steps that do not hold; what held once is not proved again."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from coach import words
from coach.clock import ManualClock
from coach.errors import ExitCode, FileProblems, NotProved
from coach.journal.store import Journal
from coach.orders.read import read_sheet
from coach.orders.sheet import OrderSheet
from coach.procedure.facts import Where
from coach.procedure.files import Bundle, bundle_of
from coach.proof import remembered
from coach.proof.finding import Finding
from coach.proof.remembered import digest, first_fault
from coach.sitting.desk import Desk
from tests.person import DAILY, DEMO, MORNING, PROCEDURES, changed_sheet, desk_at
from tests.proof.small import Change, written

SHEET = read_sheet(DEMO)
FAULT: Change = ("    needs: {connector: ready}\n", "")


def asked(folder: Path, memory: Path, sheet: OrderSheet = SHEET) -> Finding | None:
    """Return what does not hold in *folder* for a dose of *sheet*."""
    return first_fault(bundle_of(folder), folder, sheet, memory)


def fails(bundle: Bundle, folder: Path, sheet: OrderSheet) -> Finding:
    """Stand in for a proof that fails."""
    where = Where("procedures/parts/all.yaml", 17)
    return Finding("scrubbed", "Nothing is joined unless it was scrubbed.", where)


@pytest.fixture
def never_proved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let any proof from here on be an error."""

    def refuse(*_: object) -> None:
        raise AssertionError("it was proved again")

    monkeypatch.setattr(remembered, "check", refuse)


def test_what_holds_has_no_fault(tmp_path: Path) -> None:
    assert asked(written(tmp_path / "own"), tmp_path / "proved") is None


def test_the_first_thing_that_does_not_hold_is_told(tmp_path: Path) -> None:
    fault = asked(written(tmp_path / "own", FAULT), tmp_path / "proved")
    assert fault is not None
    assert fault.name == "scrubbed-before-joining"


def test_what_held_is_not_proved_again(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    folder = written(tmp_path / "own")
    assert asked(folder, tmp_path / "proved") is None
    request.getfixturevalue("never_proved")
    assert asked(folder, tmp_path / "proved") is None


def test_what_did_not_hold_is_never_remembered(tmp_path: Path) -> None:
    asked(written(tmp_path / "own", FAULT), tmp_path / "proved")
    assert not (tmp_path / "proved").exists()


@pytest.mark.usefixtures("never_proved")
@pytest.mark.parametrize("name", ["parts/all.yaml", "rules/safety.yaml"])
def test_a_changed_file_is_proved_anew(tmp_path: Path, name: str) -> None:
    folder, memory = written(tmp_path / "own"), tmp_path / "proved"
    remembered.keep_for(folder, SHEET, memory)
    assert asked(folder, memory) is None
    path = folder / name
    path.write_text(path.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    with pytest.raises(AssertionError, match="proved again"):
        asked(folder, memory)


@pytest.mark.usefixtures("never_proved")
def test_another_kind_of_sheet_is_proved_by_itself(tmp_path: Path) -> None:
    folder, memory = written(tmp_path / "own"), tmp_path / "proved"
    remembered.keep_for(folder, SHEET, memory)
    other = read_sheet(changed_sheet(tmp_path, {"clamp: present": "clamp: none"}))
    with pytest.raises(AssertionError, match="proved again"):
        asked(folder, memory, other)


def test_another_version_of_the_program_proves_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = written(tmp_path)
    before = digest(bundle_of(folder), folder, SHEET)
    monkeypatch.setattr(remembered, "__version__", "another")
    assert digest(bundle_of(folder), folder, SHEET) != before


def test_only_the_owner_can_read_what_was_proved(tmp_path: Path) -> None:
    remembered.keep(tmp_path / "home" / "proved", "0" * 64)
    assert stat.S_IMODE((tmp_path / "home" / "proved").stat().st_mode) == 0o600
    assert [path.name for path in (tmp_path / "home").iterdir()] == ["proved"]


def test_a_damaged_memory_is_as_good_as_none(tmp_path: Path) -> None:
    memory = tmp_path / "proved"
    memory.write_bytes(b"\xff\xfe")
    assert asked(written(tmp_path / "own"), memory) is None
    assert len(memory.read_text(encoding="ascii").split()) == 1


def test_a_memory_that_cannot_be_written_stops_no_dose(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file where a folder would be", encoding="utf-8")
    assert asked(written(tmp_path / "own"), tmp_path / "taken" / "proved") is None


def test_rules_that_cannot_be_read_are_told_as_a_file(tmp_path: Path) -> None:
    folder = written(tmp_path / "own")
    (folder / "rules" / "safety.yaml").write_bytes(b"\xff")
    with pytest.raises(FileProblems, match=r"rules/safety\.yaml"):
        asked(folder, tmp_path / "proved")


def test_a_dose_on_steps_that_do_not_hold_is_refused_with_whom_to_call(tmp_path: Path) -> None:
    journal = Journal.open(tmp_path / "journal.sqlite")
    desk = Desk(DEMO, PROCEDURES, journal, ManualClock(MORNING), fails)
    with pytest.raises(NotProved) as refused:
        desk.begin()
    nurse = desk.sheet.contacts.nurse
    assert str(refused.value) == words.NOT_PROVED.format(
        says="Nothing is joined unless it was scrubbed.",
        at=words.NOT_PROVED_AT.format(where="procedures/parts/all.yaml, line 17"),
        nurse=nurse.name,
        phone=nurse.phone,
    )
    assert refused.value.exit_code == ExitCode.REFUSED
    assert journal.every_sitting() == ()


def test_a_dose_under_way_goes_on_without_another_proof(tmp_path: Path) -> None:
    first = desk_at(tmp_path)
    first.begin()
    first.journal.close()
    journal = Journal.open(tmp_path / "journal.sqlite")
    desk = Desk(DEMO, PROCEDURES, journal, ManualClock(MORNING), fails)
    assert desk.resume().step().title
    assert desk.begin().step().title


@pytest.mark.parametrize("orders", [DEMO, DAILY])
def test_the_shipped_steps_hold_for_the_demonstration(tmp_path: Path, orders: Path) -> None:
    assert asked(PROCEDURES, tmp_path / "proved", read_sheet(orders)) is None
