"""`coach paper`: a PDF is written whole or not at all, and never over something else."""

from __future__ import annotations

import io
from pathlib import Path

import pdfplumber
import pytest

from coach.errors import CoachError, ExitCode
from coach.paper.pdf import write_pdf
from tests.cli.test_the_command_line import coach
from tests.person import DEMO, as_proved

PDF = b"%PDF-1.7\n"


def test_a_pdf_takes_the_place_of_an_earlier_one(tmp_path: Path) -> None:
    path = tmp_path / "list.pdf"
    write_pdf(path, PDF + b"old")
    write_pdf(path, PDF + b"new")
    assert path.read_bytes() == PDF + b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("kept", [b"", b"schema: 1\n", b"%PD"])
def test_nothing_else_is_written_over(tmp_path: Path, kept: bytes) -> None:
    path = tmp_path / "orders.yaml"
    path.write_bytes(kept)
    with pytest.raises(CoachError, match="is not a PDF"):
        write_pdf(path, PDF)
    assert path.read_bytes() == kept


def test_a_folder_is_no_pdf(tmp_path: Path) -> None:
    with pytest.raises(CoachError, match="is not a PDF"):
        write_pdf(tmp_path, PDF)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(CoachError, match="could not be written: No such file or directory"):
        write_pdf(tmp_path / "none" / "list.pdf", PDF)


def test_the_command_writes_the_dose_and_the_supplies(tmp_path: Path) -> None:
    as_proved(tmp_path)
    out = tmp_path / "list.pdf"
    told = coach(tmp_path, "paper", str(out), "--orders", str(DEMO), "--size", "a4")
    assert (told.returncode, told.stderr) == (ExitCode.DONE, "")
    assert told.stdout == f"{out} is written.\n"
    with pdfplumber.open(io.BytesIO(out.read_bytes())) as pdf:
        assert round(pdf.pages[0].width) == 595
        assert "A dose: cefazolin 200 mg, 10 mL at 200 mL/h" in pdf.pages[0].extract_text()
        assert pdf.pages[-1].extract_text().splitlines()[2].startswith("Supplies, ")
        assert len(pdf.pages) > 2


def test_the_supplies_alone_are_asked_for(tmp_path: Path) -> None:
    as_proved(tmp_path)
    out = tmp_path / "list.pdf"
    told = coach(tmp_path, "paper", str(out), "--orders", str(DEMO), "--pages", "supplies")
    assert (told.returncode, told.stderr) == (ExitCode.DONE, "")
    with pdfplumber.open(io.BytesIO(out.read_bytes())) as pdf:
        assert len(pdf.pages) == 1
        assert round(pdf.pages[0].width) == 612


def test_a_sheet_that_is_not_there_writes_nothing(tmp_path: Path) -> None:
    out = tmp_path / "list.pdf"
    told = coach(tmp_path, "paper", str(out), "--orders", str(tmp_path / "none.yaml"))
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert "none.yaml" in told.stderr
    assert not out.exists()
