"""What is wrong is told with file, line and field, what was expected and what stands there."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import FileProblems
from coach.nodes import MOST_PROBLEMS
from coach.procedure.files import bundle_of
from coach.procedure.read import read_source
from tests.procedure.bundles import Change, changed, line_of, only, said, said_of
from tests.procedure.shipped import BUNDLE

DOSE, FACTS, PICTURE = "dose.yaml", "facts.yaml", "picture.yaml"
PLACE, START, LOOK = "parts/place.yaml", "parts/start.yaml", "parts/bag-look.yaml"

STEP_FIELDS = (
    "amount, ask, beside, critical, do, hands, hold, id, if, lasting, line, needs, pace, pump, "
    "recheck, records, sees, sets, stop, title, type, uses, wait, when, why, within"
)
TIMES = (
    "batteries_every, dry_time, infusion_time, out_at_most, rub_time, scrub_time, tubing_hours, "
    "warm_up, wash_time, window"
)
TITLED = "    group: touched\n    title: My hands"
WIPED = "needs: {place: cleared}"
LAST_ANSWER = 'seen: "The outside of the bag is wet.", sets: {bag-look: bad}}\n  - id: look-colour'
DATE = '30 Nov 2026 14:00."\n      check: outlasts\n'
"""What stands before the times that the first date is held against, and only that one."""


@pytest.mark.parametrize(
    ("new", "row"),
    [
        (
            "needs: {plaice: cleared}",
            'field steps[2].needs.plaice: expected a fact; found "plaice". Did you mean "place"?',
        ),
        (
            "needs: {zzz: cleared}",
            'field steps[2].needs.zzz: expected a fact; found "zzz".',
        ),
        (
            "needs: {place: clear}",
            "field steps[2].needs.place: expected one of unclean, cleared, clean; "
            'found "clear". Did you mean "cleared"?',
        ),
        (
            "needs: {place: []}",
            "field steps[2].needs.place: expected at least one value that is left; found none.",
        ),
        (
            "needs: {place: {not: [unclean, cleared, clean]}}",
            "field steps[2].needs.place: expected at least one value that is left; found none.",
        ),
        (
            "needs: {place: [cleared, cleared]}",
            "field steps[2].needs.place: expected each value once; found one of them twice.",
        ),
        (
            "needs: {place: {nor: unclean}}",
            "field steps[2].needs.place: expected a value, a list of values, or not: with one; "
            "found a group of fields.",
        ),
        (
            "needs: cleared",
            'field steps[2].needs: expected names with values; found "cleared".',
        ),
        (
            "when: {hepairn: ordered}",
            "field steps[2].when.hepairn: expected a choice of the order sheet; "
            'found "hepairn". Did you mean "heparin"?',
        ),
        (
            "when: {heparin: yes}",
            'field steps[2].when.heparin: expected one of ordered, not-ordered; found "yes".',
        ),
        (
            "hands: full",
            'field steps[2].hands: expected one of busy; found "full".',
        ),
        (
            "hold: medicine",
            f'field steps[2].hold: expected one of {TIMES}; found "medicine".',
        ),
        (
            "pace: 8",
            'field steps[2].pace: expected a time, such as 8 s; found "8". '
            "Write a number, a space and s, min, h or days, such as 15 s.",
        ),
        (
            "uses: {pad: two}",
            'field steps[2].uses.pad: expected a whole number; found "two".',
        ),
        (
            "uses: {pad: 010}",
            "field steps[2].uses.pad: expected a whole number without zeros before it; "
            'found "010".',
        ),
        (
            "needz: {place: cleared}",
            f"field steps[2].needz: expected one of the fields {STEP_FIELDS}; "
            'found "needz". Did you mean "needs"?',
        ),
    ],
)
def test_a_field_of_a_step_is_refused_with_what_was_meant(new: str, row: str) -> None:
    assert only((PLACE, WIPED, new), at=new) == row


@pytest.mark.parametrize(
    ("new", "rows"),
    [
        (
            "do: Clear a {tabel} by {nowe}.",
            [
                "expected a known placeholder; found {tabel}.",
                'expected a known placeholder; found {nowe}. Did you mean "now"?',
            ],
        ),
        (
            "do: Lay out {count_pads}.",
            ['expected a known placeholder; found {count_pads}. Did you mean "count_pad"?'],
        ),
        (
            "do: Clear a {table.",
            ['expected each { closed by a }; found "Clear a {table.".'],
        ),
        (
            "do: Clear a <table>.",
            ["expected a parameter that this part takes; found <table>."],
        ),
        ('do: " "', ['expected some text; found " ".']),
        ("do:", ["expected some text; found nothing."]),
        ("do: [Clear, it]", ["expected some text; found a list."]),
    ],
)
def test_the_words_of_a_step_are_refused(new: str, rows: list[str]) -> None:
    change = (PLACE, "do: Clear a table. Keep pets and food away from it.", new)
    line = line_of(changed(change), PLACE, new)
    start = f"procedures/{PLACE}, line {line}, field steps[1].do: "
    assert list(said(change)) == [start + row for row in rows]


def test_a_field_that_is_missing_is_told_at_its_group() -> None:
    row = only((PLACE, "    title: Clear the table\n", ""), at="id: clear-table")
    assert row == "field steps[1].title: expected this field; found nothing."


def test_a_step_that_is_no_group_is_told_once() -> None:
    row = only((PLACE, "steps:\n", "steps:\n  - nothing\n"), at="nothing")
    assert row == 'field steps[1]: expected a group of fields; found "nothing".'


def test_two_ways_of_answering_one_step_are_refused() -> None:
    change = (PLACE, WIPED, WIPED + "\n    hold: wash_time\n    pace: 8 s")
    assert only(change, at="id: wipe-table") == (
        "field steps[2]: expected one way of answering; found hold and pace together."
    )


def test_a_question_with_one_answer_is_refused() -> None:
    no = '        - {id: "no", says: "No, or I am not sure", ' + LAST_ANSWER
    row = only((LOOK, no, "  - id: look-colour"), at="question: Is the bag dry")
    assert row == "field steps[1].ask: expected at least two answers; found 1."


def test_two_answers_of_one_name_are_refused() -> None:
    no = '{id: "no", says: "No, or I am not sure", ' + LAST_ANSWER
    row = only((LOOK, no, no.replace('"no"', '"yes"')), at="question: Is the bag dry")
    assert row == (
        'field steps[1].ask: expected each answer with an id of its own; found "yes" twice.'
    )


def test_a_name_used_twice_is_told_with_its_first_place() -> None:
    change = (PLACE, "id: wipe-table", "id: clear-table")
    lines = changed(change)[PLACE].splitlines()
    first, second = (n for n, line in enumerate(lines, 1) if line == "  - id: clear-table")
    assert said(change) == (
        f"procedures/{PLACE}, line {second}, field id: expected a name that no other has; "
        f'found "clear-table". It stands first at procedures/{PLACE}, line {first}.',
    )


def test_a_mishap_of_the_name_of_another_is_refused() -> None:
    row = only((PLACE, "id: hands-soiled", "id: table-soiled"), at="id: table-soiled\n" + TITLED)
    assert row.startswith('field id: expected a name that no other has; found "table-soiled".')


def test_a_need_that_nothing_sets_is_refused() -> None:
    row = only((PLACE, WIPED, "needs: {bag: cold, spike: touched}"), at="id: wipe-table")
    assert row == (
        'field needs.spike: expected something that an earlier step sets; found "touched".'
    )


def test_a_need_that_only_a_later_step_sets_is_told_with_that_step() -> None:
    row = only((PLACE, WIPED, "needs: {bag-time: holds}"), at="id: wipe-table")
    assert row == (
        'field needs.bag-time: expected something that an earlier step sets; found "holds". '
        "bag-time-again sets it, but comes later."
    )


def test_a_need_that_the_step_itself_sets_is_not_said_to_come_later() -> None:
    change = (START, "needs: {label-discard: good}", "needs: {bag-time: holds}")
    assert only(change, at="id: bag-time-again") == (
        'field needs.bag-time: expected something that an earlier step sets; found "holds".'
    )


@pytest.mark.parametrize(
    ("new", "found"),
    [
        ("read-discrad", '"read-discrad". Did you mean "read-discard"?'),
        ("start-pump", '"start-pump".'),
        ("label-volume-type", '"label-volume-type".'),
    ],
)
def test_a_recheck_has_to_name_a_reading_that_time_can_change(new: str, found: str) -> None:
    change = (START, "recheck: {reading: read-discard,", f"recheck: {{reading: {new},")
    assert only(change, at="id: bag-time-again") == (
        f"field recheck.reading: expected a step with a check of outlasts; found {found}"
    )


def test_a_circumstance_of_an_unknown_step_is_refused() -> None:
    change = (DOSE, "step: batteries-seen", "step: bateries-seen")
    assert only(change, at="choice: batteries") == (
        'field step: expected a step; found "bateries-seen". Did you mean "batteries-seen"?'
    )


def test_a_circumstance_fresh_for_what_is_no_time_is_refused() -> None:
    change = (DOSE, "within: batteries_every", "within: medicine")
    assert only(change, at="within: medicine") == (
        f'field circumstances[2].within: expected one of {TIMES}; found "medicine".'
    )


def test_a_line_of_the_menu_that_is_unknown_is_refused() -> None:
    old = "group: touched\n    title: The table got wet"
    row = only((PLACE, old, old.replace("touched", "tuched")), at="id: table-soiled")
    assert row == (
        'field group: expected a line of the menu; found "tuched". Did you mean "touched"?'
    )


def test_a_date_that_has_to_outlast_what_is_no_time_is_refused() -> None:
    named = f"time: {DATE}      against: "
    change = ("parts/bag-date.yaml", f"{named}[infusion_time]", f"{named}[warm_up, volume]")
    bundle = changed(change)
    line = line_of(bundle, change[0], "[warm_up, volume]")
    assert said_of(bundle) == (
        f"procedures/{change[0]}, line {line}, field steps[1].type.against: "
        f'expected times, {TIMES}; found "volume".',
    )


def test_a_date_that_has_to_outlast_nothing_is_refused() -> None:
    named = f"time: {DATE}"
    change = ("parts/bag-date.yaml", f"{named}      against: [infusion_time]\n", named)
    assert only(change, at="prompt: ") == (
        "field steps[1].type.against: expected this field; found nothing."
    )


@pytest.mark.parametrize("name", [DOSE, FACTS, PICTURE])
def test_a_file_that_everything_rests_on_and_is_not_there_is_told(name: str) -> None:
    bundle = dict(BUNDLE)
    del bundle[name]
    row = f"procedures/{name}: expected this file; found no file of that name."
    assert said_of(bundle) == (row,)


def test_the_three_files_that_all_rests_on_are_told_of_together() -> None:
    assert [row.split(":")[0] for row in said_of({})] == [
        f"procedures/{name}" for name in (DOSE, FACTS, PICTURE)
    ]


def test_an_unknown_version_is_refused() -> None:
    change = (PLACE, "schema: 1\n", "schema: 2\n")
    assert only(change, at="schema: 2") == 'field schema: expected one of 1; found "2".'


@pytest.mark.parametrize(
    ("change", "at", "row"),
    [
        (
            (FACTS, "values: [well, unwell,", "values: [well, well, unwell,"),
            "values: [well, well",
            'field facts.body.values: expected each value once; found "well" twice.',
        ),
        (
            (FACTS, "starts: well\n", "starts: wel\n"),
            "starts: wel\n",
            "field facts.body.starts: "
            "expected one of well, unwell, feverish, in-danger, reacting, very-ill; "
            'found "wel". Did you mean "well"?',
        ),
        (
            (FACTS, "      - {value: cold}\n", ""),
            "- {when: {storage: room}, value: warm}",
            "field facts.bag.starts: expected a last value without when, for all other sheets; "
            "found a list.",
        ),
        (
            (FACTS, "fades: {clean: cleared}", "fades: {clean: cleard}"),
            "fades: {clean: cleard}",
            "field facts.place.fades.clean: expected one of unclean, cleared, clean; "
            'found "cleard". Did you mean "cleared"?',
        ),
        (
            (
                PICTURE,
                "name: You\n    shows:\n      - {word",
                "name: You\n    shows:\n      - {if: {bag: warm}, word",
            ),
            "name: You",
            "field line[7]: expected a last look without if, for all other facts; "
            "found a group of fields.",
        ),
        (
            (DOSE, "idle: 10 min", "idle: 10"),
            "idle: 10\n",
            'field idle: expected a time, such as 8 s; found "10". '
            "Write a number, a space and s, min, h or days, such as 15 s.",
        ),
    ],
)
def test_facts_picture_and_dose_are_refused_at_their_line(
    change: Change, at: str, row: str
) -> None:
    assert only(change, at) == row


def test_a_fact_of_two_parts_is_refused() -> None:
    old = "facts:\n  label-discard:\n"
    change = ("parts/bag-date.yaml", old, "facts:\n  label-name:\n")
    rows = said(change)
    assert any(
        row.startswith("procedures/parts/bag-date.yaml, line ")
        and row.endswith('expected each fact once; found "label-name" a second time.')
        for row in rows
    )


def test_everything_wrong_in_several_files_is_told_at_once() -> None:
    rows = said(
        (PLACE, "why: A clear table", "wy: A clear table"),
        (PLACE, "id: wipe-table", "id: Wipe table"),
        (START, "check: at-most\n      against: volume", "check: at-least\n      against: volume"),
        (FACTS, "starts: well\n", "starts: wel\n"),
        (DOSE, "lead_in: 5 s", "lead_in: soon"),
        ("parts/warm.yaml", "title: Warm the bag\n", "title: Warm the bag\ntitle: Warm it\n"),
    )
    assert {row.split(",")[0] for row in rows} == {
        f"procedures/{name}" for name in (PLACE, START, FACTS, DOSE, "parts/warm.yaml")
    }
    assert len(rows) == 7


def test_a_file_full_of_mistakes_is_told_up_to_a_limit() -> None:
    bundle = changed((PLACE, "steps:\n", "steps:\n" + "  - {a: 1}\n" * 1000))
    assert len(said_of(bundle)) == MOST_PROBLEMS


def test_no_part_of_a_wrong_file_is_used() -> None:
    with pytest.raises(FileProblems) as refused:
        read_source(changed((PLACE, WIPED, "needs: {place: clear}")))
    (problem,) = refused.value.problems
    assert (problem.file, problem.field) == (f"procedures/{PLACE}", "steps[2].needs.place")
    assert problem.column == len("    needs: {place: ") + 1


def test_files_that_are_no_text_are_told_of_together(tmp_path: Path) -> None:
    (tmp_path / "dose.yaml").write_bytes(b"\xff\xfe")
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "warm.yaml").write_bytes(b"title: \xe9\n")
    (tmp_path / "facts.yaml").write_text("schema: 1\n")
    with pytest.raises(FileProblems) as refused:
        bundle_of(tmp_path)
    assert [str(row) for row in refused.value.problems] == [
        "procedures/dose.yaml: expected text in UTF-8 that can be read; found something else.",
        "procedures/parts/warm.yaml: expected text in UTF-8 that can be read; "
        "found something else.",
    ]
