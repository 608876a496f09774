"""Contradictions: each is refused, at its line, with both sides and the working of each."""

from __future__ import annotations

import pytest

from tests.orders.written import AT_ROOM_TEMPERATURE, said

ASK = " Ask the nurse or the pharmacist which one is right."

Pairs = tuple[tuple[str, str], ...]

CASES: dict[str, tuple[Pairs, tuple[str, ...]]] = {
    "a dose that is not strength times volume": (
        (("dose: 1 g", "dose: 2 g"),),
        (
            "line 21, field medicine.dose: "
            "expected 1,000 mg, as 20 mg/mL × 50 mL = 1,000 mg; "
            "found 2 g, which would be 2 g ÷ 20 mg/mL = 100 mL." + ASK,
        ),
    ),
    "a dose of another kind than the strength": (
        (("dose: 1 g", "dose: 5 units"),),
        (
            "line 21, field medicine.dose: "
            "expected 1,000 mg, as 20 mg/mL × 50 mL = 1,000 mg; "
            "found 5 units." + ASK,
        ),
    ),
    "an infusion time that is not volume over rate": (
        (("infusion_time: 30 min", "infusion_time: 45 min"),),
        (
            "line 25, field medicine.infusion_time: "
            "expected 30 minutes, as 50 mL ÷ 100 mL/h = 30 minutes; "
            "found 45 minutes, which would be 50 mL ÷ 45 minutes = 66.7 mL/h." + ASK,
        ),
    ),
    "an infusion too short to be compared": (
        (
            ("infusion_time: 30 min", "infusion_time: 20 s"),
            ("rate: 100 mL/h", "rate: 150 mL/h"),
            ("volume: 50 mL", "volume: 1.2 mL"),
            ("dose: 1 g", "dose: 24 mg"),
            ("left_when_done: 1 mL", "left_when_done: 0.2 mL"),
            ("inner_volume: 3 mL", "inner_volume: 1 mL"),
        ),
        ("line 25, field medicine.infusion_time: expected at least 1 minute; found 20 seconds.",),
    ),
    "a rate below any pump": (
        (
            ("rate: 100 mL/h", "rate: 0.05 mL/h"),
            ("volume: 50 mL", "volume: 0.1 mL"),
            ("infusion_time: 30 min", "infusion_time: 2 h"),
            ("dose: 1 g", "dose: 2 mg"),
            ("left_when_done: 1 mL", "left_when_done: 0 mL"),
            ("inner_volume: 3 mL", "inner_volume: 0.05 mL"),
        ),
        (
            "line 24, field medicine.rate: "
            "expected a rate that a pump can run, 0.1 mL/h to 999 mL/h; "
            "found 0.05 mL/h.",
        ),
    ),
    "a rate above any pump and a limit that is looser": (
        (
            ("rate: 100 mL/h", "rate: 1,000 mL/h"),
            ("infusion_time: 30 min", "infusion_time: 3 min"),
            ("highest_rate: 200 mL/h", "highest_rate: 1,200 mL/h"),
        ),
        (
            "line 24, field medicine.rate: "
            "expected a rate that a pump can run, 0.1 mL/h to 999 mL/h; "
            "found 1,000 mL/h.",
            "line 65, field limits.highest_rate: "
            "expected at most 999 mL/h, as a limit can only be stricter; "
            "found 1,200 mL/h.",
        ),
    ),
    "a rate above the agency limit": (
        (
            ("rate: 100 mL/h", "rate: 250 mL/h"),
            ("infusion_time: 30 min", "infusion_time: 12 min"),
        ),
        (
            "line 24, field medicine.rate: "
            "expected at most 200 mL/h, the agency's highest rate; "
            "found 250 mL/h." + ASK,
        ),
    ),
    "a bag that would pass for empty before the dose": (
        (("left_when_done: 1 mL", "left_when_done: 50 mL"),),
        (
            "line 42, field pump.left_when_done: "
            "expected at most a fifth of the bag's 50 mL, or much of a dose could be missing; "
            "found 50 mL.",
        ),
    ),
    "a window above half the gap": (
        (("window: 1 h", "window: 7 h"),),
        (
            "line 30, field doses.window: "
            "expected at most 6 hours, half of the 12 hours between doses; "
            "found 7 hours." + ASK,
        ),
    ),
    "times of day too close together": (
        (
            ('"09:00", "21:00"', '"23:45", "00:15"'),
            ("window: 1 h", "window: 15 min"),
            AT_ROOM_TEMPERATURE,
            ("rate: 100 mL/h", "rate: 200 mL/h"),
            ("infusion_time: 30 min", "infusion_time: 15 min"),
        ),
        (
            "line 29, field doses.times: "
            "expected at least 1 hour between doses; "
            "found 30 minutes between two of them.",
        ),
    ),
    "an interval too short": (
        (
            ('times: ["09:00", "21:00"]', "every: 59 min\n  first: 2026-11-20T09:00-05:00"),
            ("window: 1 h", "window: 15 min"),
            AT_ROOM_TEMPERATURE,
            ("  heparin_units_per_day: 300 units\n", ""),
        ),
        (
            "line 29, field doses.every: "
            "expected at least 1 hour between doses; "
            "found 59 minutes between two of them.",
        ),
    ),
    "a dose that does not end before the next": (
        (("warm_up: 45 min", "warm_up: 690 min"), ("out_at_most: 6 h", "out_at_most: 12 h")),
        (
            "line 25, field medicine.infusion_time: "
            "expected warming and infusion shorter than the 12 hours between doses; "
            "found 11 hours 30 minutes of warming + 30 minutes of infusion = 12 hours." + ASK,
        ),
    ),
    "a bag that may not stay out until the end of its dose": (
        (("out_at_most: 6 h", "out_at_most: 74 min"),),
        (
            "line 34, field bag.out_at_most: "
            "expected at least 1 hour 15 minutes, as 45 minutes of warming + 30 minutes of "
            "infusion; found 1 hour 14 minutes." + ASK,
        ),
    ),
    "a flush below twice the inner volume": (
        (
            ("saline_before: 10 mL", "saline_before: 1.7 mL"),
            ("saline_after: 10 mL", "saline_after: 1 mL"),
        ),
        (
            "line 44, field flush.saline_before: "
            "expected at least 1.8 mL, as 2 × (0.6 mL + 0.3 mL) = 1.8 mL; "
            "found 1.7 mL." + ASK,
            "line 45, field flush.saline_after: "
            "expected at least 1.8 mL, as 2 × (0.6 mL + 0.3 mL) = 1.8 mL; "
            "found 1 mL." + ASK,
        ),
    ),
    "more in a syringe than it holds": (
        (
            ("saline_after: 10 mL", "saline_after: 12 mL"),
            ("  volume: 3 mL", "  volume: 11 mL"),
        ),
        (
            "line 45, field flush.saline_after: "
            "expected at most 10 mL, what the barrel holds; "
            "found 12 mL." + ASK,
            "line 50, field heparin.volume: "
            "expected at most 10 mL, what the barrel holds; "
            "found 11 mL." + ASK,
        ),
    ),
    "a barrel that is too narrow": (
        (
            ("saline_before: 10 mL", "saline_before: 5 mL"),
            ("saline_after: 10 mL", "saline_after: 5 mL"),
            ("barrel: 10 mL", "barrel: 5 mL"),
        ),
        ("line 46, field flush.barrel: expected a barrel of at least 10 mL; found 5 mL.",),
    ),
    "tubing kept too long": (
        (("hours: 24 h", "hours: 25 h"),),
        ("line 38, field tubing.hours: expected at most 24 hours; found 25 hours.",),
    ),
    "a scrub below the floor even if signed": (
        (("time: 15 s", "time: 4 s\n  short_scrub_signed_by: A doctor"),),
        ("line 54, field scrub.time: expected at least 5 seconds; found 4 seconds.",),
    ),
    "a short scrub that nobody signed": (
        (("time: 15 s", "time: 14 s"),),
        (
            "line 54, field scrub.time: "
            "expected at least 15 seconds, or short_scrub_signed_by with a name; "
            "found 14 seconds and nobody who signed for it.",
        ),
    ),
    "a signature for a scrub that is not short": (
        (("time: 15 s", "time: 15 s\n  short_scrub_signed_by: A doctor"),),
        (
            "line 55, field scrub.short_scrub_signed_by: "
            "expected no such field, as a scrub of 15 seconds is not short; "
            'found "A doctor".',
        ),
    ),
    "hours written where seconds were meant": (
        (("time: 15 s", "time: 15 h"),),
        (
            "line 54, field scrub.time: "
            "expected at most 5 minutes; "
            "found 15 hours. Is the unit right?",
        ),
    ),
    "drying below the floor of the product": (
        (("product: 70% alcohol", "product: povidone iodine"),),
        (
            "line 55, field scrub.dry: "
            "expected at least 6 minutes for povidone iodine; "
            "found 10 seconds.",
        ),
    ),
    "hands washed too short": (
        (
            ("wash: 20 s", "wash: 19 s"),
            ("rub: 20 s", "rub: 10 s"),
        ),
        (
            "line 57, field hands.wash: expected at least 20 seconds; found 19 seconds.",
            "line 58, field hands.rub: expected at least 20 seconds; found 10 seconds.",
        ),
    ),
    "heparin with a heparin allergy": (
        (("allergies: []", "allergies: [latex, Low-weight HEPARIN]"),),
        (
            "line 48, field heparin.ordered: "
            "expected no heparin, as the person is allergic to it; "
            'found "yes", with the allergy "Low-weight HEPARIN".' + ASK,
        ),
    ),
    "another heparin among the allergies": (
        (("allergies: []", "allergies: [enoxaparin]"),),
        (
            "line 48, field heparin.ordered: "
            "expected no heparin, as the person is allergic to it; "
            'found "yes", with the allergy "enoxaparin".' + ASK,
        ),
    ),
    "a medicine among the allergies": (
        (("allergies: []", "allergies: [Cefazolin (rash)]"), ("a medicine", "cefazolin sodium")),
        (
            "line 20, field medicine.name: "
            "expected another medicine, as the person is allergic to it; "
            'found "cefazolin sodium", with the allergy "Cefazolin (rash)".' + ASK,
        ),
    ),
    "a scrub among the allergies": (
        (("allergies: []", "allergies: [Alcohol wipes]"),),
        (
            "line 53, field scrub.product: "
            "expected another product, as the person is allergic to it; "
            'found "70% alcohol", with the allergy "Alcohol wipes".' + ASK,
        ),
    ),
    "heparin after low platelets": (
        (("history: no", "history: yes"),),
        (
            "line 48, field heparin.ordered: "
            "expected no heparin, as it once brought the platelets down; "
            'found "yes", with low_platelets_history "yes".' + ASK,
        ),
    ),
    "heparin far too strong": (
        (
            ("strength: 10 units/mL", "strength: 5,000 units/mL"),
            ("per_day: 300", "per_day: 30,000"),
        ),
        (
            "line 49, field heparin.strength: "
            "expected 1, 10 or 100 units/mL; "
            "found 5,000 units/mL. "
            "Heparin of 1,000 units/mL or more must never be used to lock a line.",
        ),
    ),
    "heparin of an unusual strength": (
        (("strength: 10 units/mL", "strength: 50 units/mL"),),
        (
            "line 49, field heparin.strength: "
            "expected 1, 10 or 100 units/mL; "
            "found 50 units/mL." + ASK,
        ),
    ),
    "strong heparin for a baby": (
        (
            ("strength: 10 units/mL", "strength: 100 units/mL"),
            ("born: 1951-04-02", "born: 2025-11-21"),
            ("  volume: 3 mL", "  volume: 1 mL"),
        ),
        (
            "line 49, field heparin.strength: "
            "expected less than 100 units/mL, as the person is under 1 year old; "
            "found 100 units/mL, born 2025-11-21." + ASK,
        ),
    ),
    "more heparin a day than the limit": (
        (("per_day: 300 units", "per_day: 59 units"),),
        (
            "line 66, field limits.heparin_units_per_day: "
            "expected at least 60 units a day, as 30 units × 2 doses = 60 units; "
            "found 59 units." + ASK,
        ),
    ),
    "a person born after the sheet": (
        (("born: 1951-04-02", "born: 2026-11-21"),),
        (
            "line 5, field sheet.date: "
            "expected a date on or after 2026-11-21, when the person was born; "
            "found 2026-11-20." + ASK,
        ),
    ),
    "heparin where none is ordered": (
        (("ordered: yes", "ordered: no"),),
        (
            "line 49, field heparin.strength: "
            "expected no such field, as no heparin is ordered; "
            'found "10 units/mL".',
            "line 50, field heparin.volume: "
            "expected no such field, as no heparin is ordered; "
            'found "3 mL".',
        ),
    ),
    "warming of a bag that is not cold": (
        (("storage: refrigerator", "storage: room"),),
        (
            "line 33, field bag.warm_up: "
            "expected no such field, as a bag kept at room temperature needs no warming; "
            'found "45 min".',
            "line 34, field bag.out_at_most: "
            "expected no such field, as a bag kept at room temperature may stay out; "
            'found "6 h".',
        ),
    ),
    "hours for tubing used once": (
        (("reuse: allowed", "reuse: not-allowed"),),
        (
            "line 38, field tubing.hours: "
            "expected no such field, as this tubing is used once; "
            'found "24 h".',
        ),
    ),
    "a mode that the coach has no steps for": (
        (("mode: intermittent", "mode: continuous"),),
        (
            "line 26, field medicine.mode: expected intermittent; "
            'found "continuous". The coach can not take you through a continuous infusion yet.',
        ),
    ),
    "no time that a cold bag may be out": (
        (("  out_at_most: 6 h\n", ""),),
        ("line 32, field bag.out_at_most: expected this field; found nothing.",),
    ),
    "no warming of a cold bag": (
        (("  warm_up: 45 min\n", ""),),
        ("line 32, field bag.warm_up: expected this field; found nothing.",),
    ),
    "times and an interval": (
        (('times: ["09:00", "21:00"]', 'times: ["09:00", "21:00"]\n  every: 8 h'),),
        ('line 30, field doses.every: expected no such field, as times are given; found "8 h".',),
    ),
    "an interval without its first dose": (
        (('times: ["09:00", "21:00"]', "every: 8 h"),),
        ("line 29, field doses.first: expected this field; found nothing.",),
    ),
    "a first dose without an interval": (
        (('times: ["09:00", "21:00"]', "first: 2026-11-20T09:00-05:00"),),
        ("line 29, field doses.every: expected this field; found nothing.",),
    ),
    "one time twice": (
        (('"09:00", "21:00"', '"09:00", "21:00", "09:00"'),),
        ('line 29, field doses.times[3]: expected each time once; found "09:00" a second time.',),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_contradiction_is_refused_with_both_sides(case: str) -> None:
    pairs, rows = CASES[case]
    assert said(*pairs) == tuple(f"orders.yaml, {row}" for row in rows)


@pytest.mark.parametrize("slip", ["0.000001 s", "1 s", "59 min"])
def test_the_doses_of_a_day_are_not_counted_out_for_an_interval_too_short(slip: str) -> None:
    rows = said(
        ('times: ["09:00", "21:00"]', f"every: {slip}\n  first: 2026-11-20T09:00-05:00"),
        ("per_day: 300 units", "per_day: 1 units"),
    )
    assert any("field doses.every: expected at least 1 hour between doses" in row for row in rows)
    assert not any("heparin" in row for row in rows)


def test_a_sheet_that_agrees_with_itself_is_taken() -> None:
    assert said() == ()


def test_a_short_scrub_is_taken_with_a_signature() -> None:
    assert said(("time: 15 s", "time: 5 s\n  short_scrub_signed_by: A doctor")) == ()


def test_times_agree_to_the_minute_half_up() -> None:
    nearly = ("infusion_time: 30 min", "infusion_time: 1829 s")
    assert said(nearly) == ()
    assert len(said((nearly[0], "infusion_time: 1830 s"))) == 1


def test_a_window_of_exactly_half_the_gap_is_taken() -> None:
    assert said(("window: 1 h", "window: 6 h")) == ()


def test_a_check_is_left_out_where_its_fields_could_not_be_read() -> None:
    rows = said(("dose: 1 g", "dose: 1"), ("wash: 20 s", "wash: 19 s"))
    assert [row.split(":")[0] for row in rows] == [
        "orders.yaml, line 21, field medicine.dose",
        "orders.yaml, line 57, field hands.wash",
    ]
