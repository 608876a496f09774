"""A changed sheet takes the place of the old one at one stroke, and only if it is right."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from coach.errors import FileProblems, OrderError
from coach.orders.read import read_sheet
from coach.orders.rows import look_at
from coach.orders.write import Draft, open_draft, save
from tests.person import DEMO

ROOT = Path(__file__).parents[2]
KILLED = """
import os, sys
from pathlib import Path
from coach.orders.write import open_draft, save
whole, left = Path.replace, [int(sys.argv[2])]
def stroke(path, to):
    left[0] -= 1
    if not left[0]:
        os._exit(9)
    return whole(path, to)
Path.replace = stroke
save(open_draft(Path(sys.argv[1])).put("person.initials", "X. Y."))
"""
"""Writes a change, and ends just before one of the renames, as if it was killed."""


@pytest.fixture
def opened(tmp_path: Path) -> Draft:
    """A copy of the demonstration sheet, opened for changing."""
    return open_draft(Path(shutil.copy(DEMO, tmp_path / "orders.yaml")))


def test_the_new_sheet_is_there_and_the_last_one_beside_it(opened: Draft) -> None:
    old = opened.path.read_bytes()
    opened.path.chmod(0o640)
    saved = save(opened.put("person.initials", "X. Y."))
    assert read_sheet(opened.path).person.initials == "X. Y."
    assert opened.path.read_bytes() == old.replace(b"R. V.", b"X. Y.")
    assert saved.kept.read_bytes() == old
    assert sorted(path.name for path in opened.path.parent.iterdir()) == [
        "orders.yaml",
        "orders.yaml.before",
    ]
    assert not saved.changed
    if os.name == "posix":
        assert opened.path.stat().st_mode & 0o777 == 0o640


def test_a_sheet_with_an_error_is_never_written(opened: Draft) -> None:
    old = opened.path.read_bytes()
    wrong = opened.put("medicine.dose", "20 mg").put("hands.wash", "2")
    with pytest.raises(FileProblems) as caught:
        save(wrong)
    assert {row.field for row in caught.value.problems} == {"medicine.dose", "hands.wash"}
    assert opened.path.read_bytes() == old
    assert [path.name for path in opened.path.parent.iterdir()] == ["orders.yaml"]


def test_each_error_is_told_at_its_own_field(opened: Draft) -> None:
    wrong = opened.put("medicine.dose", "20 mg").put("hands.wash", "2").put("line.clamp", "")
    looked = look_at(wrong)
    assert looked.sheet is None
    told = {row.field: row.problems[0].found for row in looked.rows if row.problems}
    assert told["hands.wash"] == '"2"'
    assert told["line.clamp"] == "nothing"
    assert told["medicine.dose"].startswith("20 mg, which would be")
    assert looked.wrong == 3


def test_an_error_of_no_field_is_told_as_well(opened: Draft) -> None:
    text = opened.text.replace("hands:", "feet:\n  wash: 20 s\nhandz:").replace("handz", "hands")
    looked = look_at(Draft(opened.path, opened.opened, text))
    assert [row.field for row in looked.others] == ["feet"]


@pytest.mark.parametrize("stroke", [1, 2])
def test_a_kill_before_a_rename_leaves_the_old_sheet(opened: Draft, stroke: int) -> None:
    command = [sys.executable, "-c", KILLED, str(opened.path), str(stroke)]
    told = subprocess.run(
        command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False
    )
    assert told.returncode == 9
    assert opened.path.read_bytes() == DEMO.read_bytes()
    assert save(open_draft(opened.path).put("person.initials", "Z.")).kept.read_bytes() == (
        DEMO.read_bytes()
    )


def test_what_somebody_else_wrote_meanwhile_is_not_written_over(opened: Draft) -> None:
    opened.path.write_bytes(opened.opened + b"# mine\n")
    with pytest.raises(OrderError, match="meanwhile"):
        save(opened.put("person.initials", "X. Y."))
    assert opened.path.read_bytes() == opened.opened + b"# mine\n"


def test_a_disk_that_takes_nothing_leaves_the_old_sheet(
    opened: Draft, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OrderError, match="no space left"):
        save(opened.put("person.initials", "X. Y."))
    assert opened.path.read_bytes() == opened.opened
    assert [path.name for path in opened.path.parent.iterdir()] == ["orders.yaml"]


def test_a_link_stays_a_link(opened: Draft, tmp_path: Path) -> None:
    link = tmp_path / "link.yaml"
    try:
        link.symlink_to(opened.path)
    except OSError:
        return  # a machine that lets nobody make links has none to keep
    save(open_draft(link).put("person.initials", "X. Y."))
    assert link.is_symlink()
    assert read_sheet(opened.path).person.initials == "X. Y."


def test_the_version_goes_up_only_where_that_is_asked_for(opened: Draft) -> None:
    same = opened.put("person.initials", "X. Y.")
    assert same.sheet().sheet == opened.sheet().sheet
    raised = same.as_next_version(date(2026, 11, 25), "S. Vo").sheet().sheet
    assert (raised.version, raised.date) == (opened.sheet().sheet.version + 1, date(2026, 11, 25))
    with pytest.raises(OrderError, match="whole number"):
        opened.put("sheet.version", "two").as_next_version(date(2026, 11, 25), "S. Vo")
    assert raised.signed_by == "S. Vo"


def test_a_new_version_is_signed_anew(opened: Draft) -> None:
    with pytest.raises(OrderError, match="name of who checked it"):
        opened.put("person.initials", "X. Y.").as_next_version(date(2026, 11, 25), " ")


def test_a_file_that_is_no_sheet_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "orders.yaml"
    with pytest.raises(OrderError, match="cannot be read"):
        open_draft(path)
    path.write_text("a: [", encoding="utf-8")
    with pytest.raises(FileProblems):
        open_draft(path)
