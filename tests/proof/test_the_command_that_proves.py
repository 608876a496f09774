"""``coach prove`` says what it did, and tells the shell how it ended."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from coach import cli, places
from coach.errors import ExitCode
from coach.says import proof as words
from tests.person import DEMO
from tests.proof.small import Change, written

FAULT: Change = ("    needs: {connector: ready}\n", "")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a data folder of one's own."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def proved(folder: Path, *options: str) -> int:
    """Run the command on the procedures in *folder* and return what the shell is told."""
    return cli.main(["prove", "--procedures", str(folder), *options])


def test_what_holds_is_told_with_its_figures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert proved(written(tmp_path)) == ExitCode.DONE
    told = capsys.readouterr()
    holds, figures, elsewhere = told.out.splitlines()
    assert holds == words.PROOF_HOLDS
    assert "Rules that hold: 5. " in figures
    assert figures.startswith("Kinds of order sheet: 2. States: 17.")
    assert elsewhere.endswith("No dose is given twice. It is held by the journal.")
    assert told.err == ""


def test_what_does_not_hold_is_told_with_its_story_and_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert proved(written(tmp_path, FAULT)) == ExitCode.REFUSED
    assert capsys.readouterr().out.startswith("""\
scrubbed-before-joining: Nothing is joined unless it was scrubbed.
  - You wash your hands, until the time is over.
  - You scrub the connector, until the time is over.
  - You say: The connector touched something.
  - You join the syringe.
  - Not one of these was done before it, or it was undone since: “Scrub the connector”.
  See procedures/parts/all.yaml, line 17.
""")


def test_words_are_a_part_of_the_proof(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(tmp_path, ("do: Open the clamp.", "do: Open the obfuscated clamp."))
    assert proved(folder) == ExitCode.REFUSED
    assert capsys.readouterr().out.startswith("plain-words: ")


@pytest.mark.parametrize("name", ["parts/all.yaml", "rules/safety.yaml", "words/never.yaml"])
def test_a_file_that_cannot_be_read_is_no_proof_at_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    folder = written(tmp_path)
    (folder / name).write_text("schema: 9\n", encoding="utf-8")
    assert proved(folder) == ExitCode.COULD_NOT_RUN
    told = capsys.readouterr()
    assert told.out == ""
    assert f"procedures/{name}" in told.err


def test_an_order_sheet_that_is_not_there_is_no_proof_at_all(tmp_path: Path) -> None:
    told = proved(written(tmp_path / "own"), "--orders", str(tmp_path / "none.yaml"))
    assert told == ExitCode.COULD_NOT_RUN


def test_another_program_gets_the_same_report(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert proved(written(tmp_path, FAULT), "--json") == ExitCode.REFUSED
    told = json.loads(capsys.readouterr().out)
    assert told["holds"] is False
    assert {"kinds", "states", "transitions", "proved", "milliseconds"} < told.keys()
    (finding,) = told["findings"]
    assert finding["name"] == "scrubbed-before-joining"
    assert finding["where"] == {"file": "procedures/parts/all.yaml", "line": 17}
    assert finding["story"][-2] == "You join the syringe."


def test_one_sheet_is_proved_for_its_own_kinds_and_remembered(
    tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = written(tmp_path / "own")
    assert proved(folder, "--orders", str(DEMO)) == ExitCode.DONE
    assert "Kinds of order sheet: 1. " in capsys.readouterr().out
    assert stat.S_IMODE((home / places.PROVED).stat().st_mode) == 0o600


def test_what_does_not_hold_for_one_sheet_is_not_remembered(tmp_path: Path, home: Path) -> None:
    folder = written(tmp_path / "own", FAULT)
    assert proved(folder, "--orders", str(DEMO)) == ExitCode.REFUSED
    assert not (home / places.PROVED).exists()


def test_a_picture_is_drawn_of_the_kind_with_the_most_steps(tmp_path: Path) -> None:
    out = tmp_path / "steps.mmd"
    assert proved(written(tmp_path / "own"), "--draw", str(out)) == ExitCode.DONE
    drawn = out.read_text(encoding="utf-8")
    assert drawn.startswith("flowchart TD\n")
    assert "Open the clamp" in drawn


def test_models_for_another_checker_are_written(tmp_path: Path) -> None:
    out = tmp_path / "models"
    assert proved(written(tmp_path / "own"), "--promela", str(out)) == ExitCode.DONE
    assert len(list(out.iterdir())) == 2
