"""A sheet is changed field by field: every other byte stays, comments and line ends with it."""

from __future__ import annotations

import difflib
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import FileProblems, OrderError
from coach.nodes import read_bytes
from coach.orders.form import every_field
from coach.orders.patch import comment_of, put, written
from coach.orders.read import sheet_from_bytes
from tests.orders.written import SHEET
from tests.person import DAILY, DEMO

DEMO_TEXT = DEMO.read_text(encoding="utf-8")
DAILY_TEXT = DAILY.read_text(encoding="utf-8")
BY_HAND = """\
# Written by hand.

sheet:   {id: mine, version: 3}   # all on one line
person:
    # Who it is.
    initials: 'A. B.'   # these

    born: "1951-04-02"

allergies:
- latex   # bad
  # the next one is old
- "tape: rash"
doses:
  times: [ "08:00",
           "20:00" ]   # both
bag:
  storage: |
    room
limits:
"""
TEXTS = {"demo": DEMO_TEXT, "daily": DAILY_TEXT, "plain": SHEET, "by hand": BY_HAND}
VALUES = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1).map(
    lambda text: " ".join(text.split())
)


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """Return the lines that are gone, and the lines that are new."""
    told = list(difflib.ndiff(before.splitlines(), after.splitlines()))
    gone = [line[2:] for line in told if line.startswith("- ")]
    return gone, [line[2:] for line in told if line.startswith("+ ")]


def comments(text: str) -> list[str]:
    """Return every comment of *text*, from the # on; none of these texts has one in quotes."""
    return re.findall(r"(?m)(?:^|\s)(#.*)$", text)


@pytest.mark.parametrize("name", TEXTS)
def test_a_field_put_as_it_is_changes_no_byte(name: str) -> None:
    text = TEXTS[name]
    for field, value in written(text).items():
        if value.strip():
            assert put(text, field, value) == text


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("name", TEXTS)
def test_a_changed_field_changes_its_own_place_alone(name: str, end: str) -> None:
    text = TEXTS[name].replace("\n", end)
    for field, value in written(text).items():
        changed = put(text, field, "quite new")
        assert {**written(text), field: "quite new"} == written(changed)
        assert comments(changed) == comments(text)
        before, _, after = changed.partition("quite new")
        before, after = before.removesuffix(" "), after.removeprefix(end)
        assert text.startswith(before.removesuffix('"').removesuffix("'"))
        assert text.endswith(after.removeprefix('"').removeprefix("'"))
        assert value in text or value.strip() in text


@pytest.mark.parametrize("text", [DEMO_TEXT, DAILY_TEXT])
def test_a_field_that_is_taken_out_becomes_a_comment_and_comes_back_as_it_was(text: str) -> None:
    fields = written(text)
    groups = [field.rpartition(".")[0] for field in fields]
    for field, value in fields.items():
        group = field.rpartition(".")[0]
        if "[" in field or (group and groups.count(group) == 1):
            continue  # the last of a group takes the group along
        without = put(text, field, "")
        gone, new = lines_changed(text, without)
        assert [line.replace("# ", "", 1) for line in new] == gone
        assert field not in written(without)
        assert put(without, field, value) == text


def test_a_field_that_waits_in_a_comment_is_taken_from_there() -> None:
    says = "   # Ordered to push the rest through the tubing. May be left out."
    assert lines_changed(DEMO_TEXT, put(DEMO_TEXT, "tubing.flush_through", "4 mL")) == (
        [f"  # flush_through: 3 mL{says}"],
        [f"  flush_through: 4 mL{says}"],
    )


def test_a_new_field_stands_at_the_end_of_its_group() -> None:
    changed = put(DEMO_TEXT, "scrub.short_scrub_signed_by", "A nurse: me")
    assert lines_changed(DEMO_TEXT, changed) == ([], ['  short_scrub_signed_by: "A nurse: me"'])
    assert changed.index("short_scrub") > changed.index("  dry: 6 s")
    assert changed.index("short_scrub") < changed.index("hands:")


def test_a_new_group_comes_with_its_first_field() -> None:
    _, new = lines_changed(SHEET, put(SHEET, "changes.dressing.every", "7 days"))
    assert new == ["changes:", "  dressing:", "    every: 7 days"]


def test_a_group_goes_with_its_last_field() -> None:
    without = put(put(SHEET, "limits.highest_rate", ""), "limits.heparin_units_per_day", "")
    assert without.endswith(
        "# limits:\n  # highest_rate: 200 mL/h\n  # heparin_units_per_day: 300 units\n"
    )
    sheet = sheet_from_bytes(without.encode(), "orders.yaml")
    assert sheet.limits.highest_rate is None


def test_items_of_a_list_come_and_go_in_either_writing() -> None:
    more = put(put(BY_HAND, "allergies[3]", "penicillin"), "doses.times[3]", "23:00")
    assert written(more)["allergies[3]"] == "penicillin"
    assert lines_changed(BY_HAND, more)[1] == [
        "- penicillin",
        '           "20:00", "23:00" ]   # both',
    ]
    fewer = put(put(more, "allergies[1]", ""), "doses.times[1]", "")
    assert "# - latex   # bad" in fewer
    assert [written(fewer)[f"allergies[{n}]"] for n in (1, 2)] == ["tape: rash", "penicillin"]
    none = put(put(fewer, "allergies[2]", ""), "allergies[1]", "")
    assert "allergies: []" in none
    assert comments(none) != []
    assert put(put(DEMO_TEXT, "allergies[1]", ""), "allergies[1]", "x").count("allergies: [x]") == 1


def test_an_empty_group_and_an_empty_file_end_are_filled() -> None:
    assert put(BY_HAND, "limits.highest_rate", "5 mL/h").endswith(
        "limits:\n  highest_rate: 5 mL/h\n"
    )
    assert put("agency: A", "time_zone", "UTC") == "agency: A\ntime_zone: UTC\n"
    assert put("{agency: A}", "person.initials", "B") == "{agency: A, person: {initials: B}}"


def test_what_cannot_be_done_alone_is_left_to_the_hand() -> None:
    with pytest.raises(OrderError, match="by hand"):
        put("limits: none\n", "limits.highest_rate", "5 mL/h")
    with pytest.raises(FileProblems):
        put("a: [", "a", "b")


def test_a_mark_at_the_start_and_letters_of_any_size_are_kept() -> None:
    text = "\ufeff# \U0001f642 mine\nagency: Ünter \U0001f642  # ö\nperson: {initials: A}\n"
    assert put(text, "person.initials", "B") == text.replace("{initials: A}", "{initials: B}")


@given(st.sampled_from(sorted(TEXTS)), st.sampled_from([f for f, _ in every_field()]), VALUES)
def test_any_value_of_any_field_arrives_as_it_was_typed(name: str, field: str, value: str) -> None:
    text = TEXTS[name]
    field = f"{field}[1]" if field in ("allergies", "doses.times") else field
    try:
        changed = put(text, field, value)
    except OrderError:
        assert name == "by hand"
        return
    told = {**written(text), field: value} if value else written(changed)
    told.pop(field.rpartition(".")[0], None)  # an empty group that is filled now
    assert written(changed) == told
    assert len(comments(changed)) >= len(comments(text)) - 1
    read_bytes(changed.encode(), "orders.yaml")


def test_what_is_said_of_a_field_stands_beside_it() -> None:
    assert comment_of(DEMO_TEXT, "medicine.dose") == "Must be strength × volume."
    assert comment_of(DEMO_TEXT, "tubing.flush_through").startswith("Ordered to push")
    assert comment_of(DEMO_TEXT, "limits").startswith("The agency's own limits.")
    assert comment_of(DEMO_TEXT, "sheet") == ""
    assert comment_of(DEMO_TEXT, "allergies").startswith("Each one in words")
    assert comment_of(SHEET, "medicine.dose") == comment_of(SHEET, "tubing.flush_through") == ""
