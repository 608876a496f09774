"""What is not clean is handled before the hands are washed, and not between two joinings."""

from __future__ import annotations

from pathlib import Path

from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit


def test_the_bin_the_pump_and_the_batteries_come_before_the_washing(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="lay-bag")
    washed = person.seen.index("first-take-soap")
    for step in ("lay-bins", "lay-pump", "lay-batteries", "batteries-seen"):
        assert person.seen.index(step) < washed


def test_a_used_syringe_is_dropped_with_no_touching(tmp_path: Path) -> None:
    person = sit(tmp_path)
    assert "Do not touch the bin." in person.follow(until="saline-before-bin").do


def test_the_pump_is_taken_along_to_the_sink_while_it_is_joined(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow()
    seen = person.seen
    second = seen.index("second-soap-or-not")
    assert seen.index("tube-clamp-shut") < seen.index("take-along") < second
    assert second < seen.index("part-tubing")
