"""`coach orders` and `coach schema`: what is told, and what the shell is told."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from coach import words
from coach.errors import ExitCode
from coach.procedure.schema import KINDS
from tests.cli.test_plain_lines_in_a_terminal import Terminal
from tests.cli.test_the_command_line import coach
from tests.person import DAILY, DEMO, changed_sheet


@pytest.mark.parametrize("sheet", [DEMO, DAILY])
def test_a_right_sheet_is_told_with_what_follows_from_it(tmp_path: Path, sheet: Path) -> None:
    told = coach(tmp_path, "orders", "check", str(sheet))
    assert (told.returncode, told.stderr) == (ExitCode.DONE, "")
    assert told.stdout.startswith(f"{sheet}: no errors.\n")
    dose = {DEMO: "20 mg/mL × 10 mL = 200 mg", DAILY: "20 mg/mL × 50 mL = "}[sheet]
    assert f"medicine.dose: dose, {dose}" in told.stdout


def test_all_errors_are_told_at_once_from_the_top_of_the_file_down(tmp_path: Path) -> None:
    changes = {"dose: 200 mg": "dose: 20 mg", "wash: 20 s": "wash: 2", "id: demo": "id: Demo"}
    sheet = changed_sheet(tmp_path, changes)
    told = coach(tmp_path, "orders", "check", str(sheet))
    assert (told.returncode, told.stderr) == (ExitCode.REFUSED, "")
    rows = told.stdout.splitlines()
    assert [row.split("field ")[1].split(":")[0] for row in rows] == [
        "sheet.id",
        "medicine.dose",
        "hands.wash",
    ]
    assert "expected 200 mg, as 20 mg/mL × 10 mL = 200 mg; found 20 mg" in rows[1]
    assert sheet.read_text(encoding="utf-8").count("20 mg\n") == 0
    assert [path.name for path in tmp_path.iterdir()] == ["orders.yaml"]


def test_a_file_of_another_kind_is_told_calmly(tmp_path: Path) -> None:
    path = tmp_path / "orders.yaml"
    path.write_bytes(b"\xff\xfe\x00")
    told = coach(tmp_path, "orders", "check", str(path))
    assert told.returncode == ExitCode.REFUSED
    assert "expected text in UTF-8" in told.stdout
    told = coach(tmp_path, "orders", "edit", str(path))
    assert told.returncode == ExitCode.REFUSED
    assert "expected text in UTF-8" in told.stderr


@pytest.mark.parametrize("what", ["check", "edit"])
def test_a_file_that_is_not_there_is_told(tmp_path: Path, what: str) -> None:
    told = coach(tmp_path, "orders", what, str(tmp_path / "none.yaml"))
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert told.stderr == f"There is no file {tmp_path / 'none.yaml'}.\n"


def test_without_a_screen_a_sheet_is_changed_in_plain_lines(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {})
    typed = "person.initials\nX. Y.\nend\nsame\n"
    told = coach(tmp_path, "orders", "edit", str(sheet), typed=typed)
    assert (told.returncode, told.stderr) == (ExitCode.DONE, "")
    assert "initials: X. Y. " in sheet.read_text(encoding="utf-8")
    unfinished = coach(tmp_path, "orders", "edit", "--plain", str(sheet), typed="person.born\n")
    assert unfinished.stdout.endswith(f"{words.SHEET_UNFINISHED}\n")


def test_a_field_is_changed_by_keys_in_a_real_terminal(tmp_path: Path) -> None:
    sheet = tmp_path / "orders.yaml"
    window = Terminal(tmp_path, "orders", "edit", str(sheet))
    window.until("Up or down")
    os.write(window.master, b"\x1b[B" * 17)
    os.write(window.master, b"\r")
    window.until("medicine.name")
    # A terminal that sends keys in one burst lets letters overtake the keys that erase.
    os.write(window.master, b"\x7f" * 20)
    window.until("found nothing")
    os.write(window.master, b"cefazolin salt")
    window.until("Worked out")
    os.write(window.master, b"\r")
    window.until("Up or down")
    os.write(window.master, b"k")
    window.until("as version 2")
    os.write(window.master, b"1")
    window.until("Who checked")
    os.write(window.master, b"S. Vo")
    window.until("S. Vo")
    os.write(window.master, b"\r")
    window.until("Kept.")
    os.write(window.master, b"q")
    assert window.end() == ExitCode.DONE
    old, new = DEMO.read_text(encoding="utf-8"), sheet.read_text(encoding="utf-8")
    assert (tmp_path / "orders.yaml.before").read_text(encoding="utf-8") == old
    assert "name: cefazolin salt " in new
    assert len([line for line in new.splitlines() if line not in old.splitlines()]) == 4


def test_the_schemas_are_written_for_every_kind_of_file(tmp_path: Path) -> None:
    told = coach(tmp_path, "schema", str(tmp_path / "schemas"))
    assert (told.returncode, told.stderr) == (ExitCode.DONE, "")
    written = {path.name.removesuffix(".schema.json") for path in (tmp_path / "schemas").iterdir()}
    assert written == {"orders", *KINDS}
    assert len(told.stdout.splitlines()) == len(written)
    for path in (tmp_path / "schemas").iterdir():
        Draft202012Validator.check_schema(json.loads(path.read_text(encoding="utf-8")))


def test_a_place_that_takes_no_schemas_is_told(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("", encoding="utf-8")
    told = coach(tmp_path, "schema", str(tmp_path / "taken"))
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert "Traceback" not in told.stderr
