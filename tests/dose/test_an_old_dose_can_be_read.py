"""A dose that was kept before a procedure said what a learner is shown is read all the same."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.errors import FileProblems
from coach.journal.rows import sha256_of
from coach.journal.store import Journal
from coach.orders.values import sheet_choices
from coach.procedure.files import Bundle, bundle_of
from coach.procedure.read import read_source
from coach.records.shelf import Shelf
from coach.sitting.desk import Desk
from tests.person import DEMO, MORNING, Person, holds
from tests.screens.classroom import small_procedures


def older(bundle: Bundle) -> Bundle:
    """Return *bundle* as it was written before a mishap said what a learner is shown."""
    told = re.compile(r"(?m)^    seen: .*\n|(?<=, )seen: [^,\n]*, ")
    return {name: told.sub("", text) for name, text in bundle.items()}


def begun(desk: Desk, bundle: Bundle) -> None:
    """Begin a dose on *bundle*, as a program did that was content with it."""
    kept = {"sheet": desk.sheet_raw, "procedure": json.dumps(bundle, sort_keys=True).encode()}
    for kind, raw in kept.items():
        desk.journal.keep_source(kind, sha256_of(raw), raw)
    due = desk.today().due
    assert due is not None
    desk.journal.begin(
        kind="dose",
        sheet_id=desk.sheet.sheet.id,
        sheet_hash=sha256_of(kept["sheet"]),
        procedure_hash=sha256_of(kept["procedure"]),
        due=due,
        choices=sheet_choices(desk.sheet),
        begun=desk.clock.now(),
    )


def test_it_goes_on_is_told_of_and_counts_its_supplies(tmp_path: Path) -> None:
    procedures, clock = small_procedures(tmp_path), ManualClock(MORNING)
    bundle = older(bundle_of(procedures))
    assert bundle != bundle_of(procedures)
    with pytest.raises(FileProblems, match="seen"):
        read_source(bundle)  # a file that is edited now has to say it
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        desk = Desk(DEMO, procedures, journal, clock, holds)
        [pads] = desk.supplies.items()
        desk.supplies.keep("delivered", pads, {"number": "20"})
        begun(desk, bundle)
        sitting = desk.begin()
        Person(sitting, clock).follow("join")
        sitting.went_wrong("touched")
        assert Person(sitting, clock).follow().way == "finished"
        journal.release_dose()
        again = Desk(DEMO, procedures, journal, clock, holds)
        [row] = journal.every_sitting()
        told = [
            moment.mishap.title for moment in Shelf(again).opening.history(row)[1] if moment.mishap
        ]
        assert told == ["The connector touched something"]
        assert again.supplies.unreadable() == 0
        [pads] = again.supplies.items()
        assert pads.number == 18  # scrubbed twice
