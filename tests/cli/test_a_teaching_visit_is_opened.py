"""`coach rehearse` opens a teaching visit in lines, and prints the competence sheets."""

from __future__ import annotations

from pathlib import Path

from coach import places
from tests.cli.test_the_command_line import coach
from tests.person import DEMO


def test_a_visit_in_lines_and_then_the_sheet_for_the_chart(tmp_path: Path) -> None:
    given = ("rehearse", "--orders", str(DEMO))
    nobody = coach(tmp_path, *given, "--sheet")
    assert (nobody.returncode, nobody.stdout) == (0, "Nobody learns by this order sheet yet.\n")
    script = "1\nRosa V.\nwife\nAsh\nwords\n1\nback\nback\nquit\n"
    told = coach(tmp_path, *given, "--plain", typed=script)
    assert told.returncode == 0
    assert told.stdout.startswith("This is practice. No real call, no real medicine.\n")
    assert "Kept: 1 of 3 points were said." in told.stdout
    sheet = coach(tmp_path, *given, "--sheet")
    assert sheet.stdout.startswith("Competence sheet\n")
    assert "Learner: Rosa V., wife" in sheet.stdout
    assert "1 of 3" in sheet.stdout
    assert places.practice_beside(tmp_path / places.JOURNAL).is_file()
    assert told.stderr + sheet.stderr == ""
