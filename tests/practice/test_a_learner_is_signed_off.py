"""Across visits: what each showed, what is missing, the sign-off, what to show again after it."""

from __future__ import annotations

from pathlib import Path
from tempfile import mkdtemp
from unicodedata import category

import pytest

from coach import places
from coach.journal.teaching import Learner, SignOff
from coach.practice.competence import CompetenceSheet, StepRow
from coach.practice.lessons import Lessons, NotYet
from coach.practice.today import show_again_lines
from tests.person import DEMO, desk_at
from tests.practice.school import clock_of, follow, lessons_at, mark_all, meet, pupil, whole_run
from tests.practice.walk import dose_of

TIP = "saline-before-tip-touched"
DAY = 24 * 3_600


def without_heparin(folder: Path) -> Path:
    """Return a demonstration sheet on which no heparin is ordered."""
    text = DEMO.read_text(encoding="utf-8")
    kept = [
        line.replace("ordered: yes", "ordered: no ")
        for line in text.splitlines()
        if not line.startswith(("  strength: 10 units/mL", "  volume: 3 mL", "  heparin_units"))
    ]
    path = folder / "orders.yaml"
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    return path


def row(sheet: CompetenceSheet, step: str) -> StepRow:
    """Return the row of *step*."""
    return next(one for one in sheet.steps if one.step == step)


class Course:
    """Three visits: with help and two failed surprises; better; alone, two times."""

    def __init__(self, folder: Path) -> None:
        """Teach all of it; what was missing after each visit is noted."""
        self.folder = folder
        self.orders = without_heparin(folder)
        self.lessons = lessons_at(folder, self.orders)
        self.learner = self.lessons.add_learner("R. V.", "patient")
        self.missing: list[str] = []
        self._first()
        self._second()
        self._third()

    def _note(self) -> None:
        self.missing.append(self.lessons.missing(self.learner))
        clock_of(self.lessons).move(DAY)

    def _first(self) -> None:
        visit = self.lessons.begin_visit(self.learner, "Nurse Ash")
        rehearsal = self.lessons.begin(visit)
        for name, until in (("bag-cloudy", "wipe-table"), ("table-soiled", "first-soap-or-not")):
            follow(self.lessons, rehearsal, until)
            rehearsal.deal(f"mishap {name}")
            view = follow(
                self.lessons, rehearsal, "lay-bins" if until == "wipe-table" else "lay-bag"
            )
            assert view.step.startswith("lay")
            settled = rehearsal.settle()
            assert settled is not None
            assert not settled.met.is_right
        follow(self.lessons, rehearsal)
        mark_all(rehearsal, {"saline-before-scrub": "hands-on", "tubing-scrub": "reminder"})
        self.lessons.say_back(visit, "tip-touched", ["I scrub the connector again."])
        self._note()

    def _second(self) -> None:
        visit = self.lessons.begin_visit(self.learner, "Nurse Elm")
        whole_run(self.lessons, visit, levels={"saline-before-scrub": "reminder"})
        points = next(q.points for q in self.lessons.questions() if q.id == "tip-touched")
        self.lessons.say_back(visit, "tip-touched", points)
        self._note()

    def _third(self) -> None:
        visit = self.lessons.begin_visit(self.learner, "Nurse Ash")
        whole_run(self.lessons, visit)
        self.missing.append(self.lessons.missing(self.learner))
        whole_run(self.lessons, visit, surprise=TIP)
        self._note()
        self.fourth = self.lessons.begin_visit(self.learner, "Nurse Ash")
        whole_run(self.lessons, self.fourth)
        self.missing.append(self.lessons.missing(self.learner))


@pytest.fixture(scope="module")
def course() -> Course:
    return Course(Path(mkdtemp()))


def test_each_cell_of_the_sheet_after_four_visits(course: Course) -> None:
    _what_is_missing(course)
    sheet = course.lessons.competence(course.learner)
    _levels(sheet)
    _surprises_and_teach_back(sheet)
    _what_comes_next(sheet)


def _what_is_missing(course: Course) -> None:
    """It is said in one line after each rehearsal."""
    every = "alone in a row: 3 more; on another day: 2 more; with a surprise: 1 more"
    assert course.missing == [
        f"Still missing: {every}.",
        f"Still missing: {every}.",
        "Still missing: alone in a row: 2 more; on another day: 1 more; with a surprise: 1 more.",
        "Still missing: alone in a row: 1 more; on another day: 1 more.",
        "Nothing is missing: the rule of the agency holds.",
    ]


def _levels(sheet: CompetenceSheet) -> None:
    """The lowest level of a visit decides."""
    assert [head.visit.nurse for head in sheet.visits] == ["Nurse Ash", "Nurse Elm"] + [
        "Nurse Ash"
    ] * 2
    assert [[v.counts for v in head.verdicts] for head in sheet.visits] == [
        [False], [False], [True, True], [True],
    ]  # fmt: skip
    mended = {"saline-before-scrub": ("hands-on", "reminder", "alone", "alone")}
    mended["tubing-scrub"] = ("reminder", "alone", "alone", "alone")
    for one in sheet.steps:
        assert one.critical
        assert one.levels == mended.get(one.step, ("alone",) * 4), one.step
    assert len(sheet.steps) > 50


def _surprises_and_teach_back(sheet: CompetenceSheet) -> None:
    """Those that were missed stay on it."""
    assert {one.name: one.went for one in sheet.surprises} == {
        "mishap bag-cloudy": ("missed", "", "", ""),
        "mishap table-soiled": ("missed", "", "", ""),
        f"mishap {TIP}": ("", "", "right", ""),
    }
    said = {one.question.id: one.said for one in sheet.said_back}
    assert said["tip-touched"] == (1, 3, None, None)
    assert said["missed"] == (None,) * 4


def _what_comes_next(sheet: CompetenceSheet) -> None:
    """What went worst comes first, with the reason."""
    first = [(one.says, one.reason) for one in sheet.practise_next[:3]]
    assert first[:2] == [
        ("The fluid is cloudy or has bits in it", "missed on 25 November 2026"),
        ("The table got wet or dirty", "missed on 25 November 2026"),
    ]
    assert first[2][1] == "never asked yet"


# Signing off


def test_nobody_signs_before_the_rule_holds(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    learner, visit = pupil(lessons)
    whole_run(lessons, visit, surprise=TIP)
    with pytest.raises(NotYet, match=r"Not signed off\. Still missing: alone in a row: 2 more"):
        lessons.sign_off(learner, "Nurse Ash")
    assert lessons.book.every(SignOff) == ()
    assert lessons.competence(learner).signed is None


def test_a_mark_that_is_corrected_downward_takes_the_sign_off_away_again(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    learner, visit = pupil(lessons)
    first = whole_run(lessons, visit)
    [one] = [one for one in first.to_mark() if one.step == "start-pump"]
    assert "alone in a row: 2 more" in lessons.missing(learner)
    first.mark(one, "reminder")
    assert "alone in a row: 3 more" in lessons.missing(learner)


def test_one_that_was_put_aside_neither_counts_nor_ends_the_row(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    learner, visit = pupil(lessons)
    whole_run(lessons, visit)
    lessons.begin(visit)
    lessons.put_aside()
    stopped = lessons.begin(visit)
    assert meet(stopped, "danger").met.is_right
    stopped.sitting.answer("called")
    mark_all(stopped)
    assert "alone in a row: 2 more" in lessons.missing(learner)
    bad = lessons.begin(visit)
    follow(lessons, bad, "open-port")
    mark_all(bad, {"look-leaks": "not-yet"})
    lessons.put_aside()
    assert "alone in a row: 3 more" in lessons.missing(learner)


def test_two_learners_have_each_a_sheet_of_their_own(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    _, visit = pupil(lessons)
    other = lessons.add_learner("B. V.", "daughter")
    whole_run(lessons, visit, surprise=TIP)
    lessons.say_back(lessons.begin_visit(other, "Nurse Ash"), "tip-touched", [])
    assert [one.name for one in lessons.learners()] == ["R. V.", "B. V."]
    [head] = lessons.competence(other).visits
    assert head.verdicts == ()
    assert "alone in a row: 3 more" in lessons.missing(other)


@pytest.mark.parametrize("name", ["", "  ", "?", "1"])
def test_a_learner_and_a_nurse_have_a_name(tmp_path: Path, name: str) -> None:
    lessons = lessons_at(tmp_path)
    with pytest.raises(NotYet, match="type a name"):
        lessons.add_learner(name, "patient")
    learner = lessons.add_learner("R. V.", "patient")
    with pytest.raises(NotYet, match="type a name"):
        lessons.begin_visit(learner, name)


def test_only_points_that_there_are_can_be_said(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    _, visit = pupil(lessons)
    with pytest.raises(NotYet):
        lessons.say_back(visit, "tip-touched", ["Something else."])
    with pytest.raises(NotYet):
        lessons.say_back(visit, "no-such", [])


# After the sign-off


class Signed:
    """A learner who was signed off with no heparin ordered."""

    def __init__(self, course: Course) -> None:
        """Sign the learner of *course* off."""
        self.folder, self.learner = course.folder, course.learner
        self.row = course.lessons.sign_off(course.learner, "Nurse Ash")
        self.clock = clock_of(course.lessons)
        self.orders = course.orders
        self.lessons = course.lessons

    def by(self, orders: Path) -> Lessons:
        """Return the lessons by another order sheet of the same name."""
        self.lessons.close()
        self.lessons = lessons_at(self.folder, orders, self.clock)
        return self.lessons

    def lines(self, orders: Path) -> tuple[str, ...]:
        """Return what Today says by the sheet *orders*."""
        desk = desk_at(self.folder, orders, self.clock)
        lines = show_again_lines(desk, places.practice_beside(self.folder / "journal.sqlite"))
        desk.journal.close()
        return lines


def test_after_the_sign_off_what_is_new_or_changed_has_to_be_shown_again(course: Course) -> None:
    signed = Signed(course)
    sheet = signed.by(signed.orders).competence(signed.learner)
    assert (sheet.signed, sheet.signed_day) == (signed.row, "28 November 2026")
    assert signed.lessons.to_show_again(signed.learner) == ()
    assert signed.lines(signed.orders) == ()
    _heparin_is_ordered(signed)
    _the_order_changes(signed, "\n  time: 15 s", "\n  time: 20 s", "saline-before-scrub")
    faster = "rate: 100 mL/h          # How fast the pump gives it.\n  infusion_time: 6 min"
    slower = "rate: 200 mL/h          # How fast the pump gives it.\n  infusion_time: 3 min"
    _the_order_changes(signed, slower, faster, "set-rate-type")


def _heparin_is_ordered(signed: Signed) -> None:
    """It asks to be shown in exactly the steps that it adds, and they are signed once shown."""
    again = {step.id for step in signed.by(DEMO).to_show_again(signed.learner)}
    with_it, without = (
        {step.id for step in (*dose.procedure.steps, *dose.procedure.responses)}
        for dose in (dose_of("orders"), dose_of("orders", heparin="not-ordered"))
    )
    assert again == with_it - without
    assert len(again) > 20
    [line] = signed.lines(DEMO)
    assert line.startswith(f"Since R. V. was signed off, {len(again)} steps are new or changed: ")
    assert line.endswith(" more.")
    lessons, learner = signed.lessons, signed.learner
    assert "not yet shown alone as they are now: " in lessons.missing(learner)
    changed = {one.step for one in lessons.competence(learner).steps if one.changed}
    assert changed == again
    with pytest.raises(NotYet):
        lessons.sign_off(learner, "Nurse Elm")
    whole_run(lessons, lessons.begin_visit(learner, "Nurse Elm"))
    lessons.sign_off(learner, "Nurse Elm")
    assert lessons.to_show_again(learner) == ()
    gone = {step.id for step in signed.by(signed.orders).to_show_again(learner)}
    assert gone == without - with_it


def _the_order_changes(signed: Signed, old: str, new: str, some: str) -> None:
    """It asks for the steps that show what was changed, and for no others."""
    text = DEMO.read_text(encoding="utf-8")
    assert old in text
    path = signed.folder / "changed.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    again = {step.id for step in signed.by(path).to_show_again(signed.learner)}
    assert some in again
    assert "clear-table" not in again


def test_today_says_nothing_where_nothing_was_taught_or_the_file_is_no_such(
    tmp_path: Path,
) -> None:
    desk = desk_at(tmp_path)
    path = tmp_path / "practice.sqlite"
    assert show_again_lines(desk, path) == ()
    assert not path.exists()
    path.write_text("no database", encoding="utf-8")
    assert show_again_lines(desk, path) == ()


# The page


def test_the_page_for_the_chart_is_plain_text_of_eighty_columns(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    learner: Learner = lessons.add_learner("R. V. " + "long " * 30, "patient\x1b[2J")
    for nurse in range(6):
        visit = lessons.begin_visit(learner, f"Nurse {nurse}")
        lessons.say_back(visit, "tip-touched", [])
    rehearsal = lessons.begin(visit)
    rehearsal.sitting.done()
    last = rehearsal.last_to_mark()
    assert last is not None
    rehearsal.mark(last, "reminder", 2, "asked what \x07 to do " + "and so on " * 20)
    lessons.put_aside()
    lines = lessons.sheet_lines(learner)
    assert max(len(line) for line in lines) <= 80
    assert not [line for line in lines if any(category(c).startswith("C") for c in line)]
    text = "\n".join(lines)
    assert "No number of rehearsals that is enough has been published" in text
    assert "Still missing: " in text
    assert "asked what" in text
    assert text.count("Steps ") == 2  # six visits are more than fit beside each other
