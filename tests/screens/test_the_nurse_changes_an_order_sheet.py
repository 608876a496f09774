"""The order sheet on a screen: every field, what is wrong at the field, and how it is kept."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.widgets import Input

from coach import places, words
from coach.clock import ManualClock
from coach.orders.form import every_field
from coach.orders.read import read_sheet
from coach.orders.write import open_draft
from coach.says import sheet as sheet_words
from coach.screens.orders import PAGE, OrdersApp, OrdersScreen
from coach.screens.orders_field import FieldScreen
from coach.screens.widgets.words import Words
from tests.person import DEMO, MORNING, desk_at
from tests.screens.table import LARGE, NAMED, SIZES, SMALL, Table, cut

EXPLAINED = tuple(path.read_text(encoding="utf-8") for path in places.demo_sheets())
FIELDS = [field for field, _ in every_field()]


@asynccontextmanager
async def nurse_at(
    folder: Path, size: tuple[int, int] = LARGE, changes: tuple[tuple[str, str], ...] = ()
) -> AsyncIterator[Table]:
    """Open a copy of the demonstration sheet, with *changes* to its text, for changing."""
    path = Path(shutil.copy(DEMO, folder / "orders.yaml"))
    text = DEMO.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    clock = ManualClock(MORNING)
    (folder / "desk").mkdir()
    desk = desk_at(folder / "desk", clock=clock)
    with desk.journal:
        app = OrdersApp(open_draft(path), clock, EXPLAINED)
        async with app.run_test(size=size) as pilot:
            at_table = Table(pilot, clock, desk)
            await at_table.settle()
            yield at_table


def sheet_screen(at_table: Table) -> OrdersScreen:
    """Return the list of fields, on top or covered."""
    return next(s for s in at_table.pilot.app.screen_stack if isinstance(s, OrdersScreen))


async def go_to(at_table: Table, field: str) -> None:
    """Mark *field* and open it."""
    screen = sheet_screen(at_table)
    fields = [row.field for row in screen.looked.rows]
    pages, rows = divmod(fields.index(field) - screen.at, PAGE)
    await at_table.press(*["space"] * pages, *["down"] * rows, "enter")
    assert isinstance(at_table.screen, FieldScreen)


async def type_in(at_table: Table, value: str) -> None:
    """Type *value* in place of what stands there, letter by letter as a person would."""
    at_table.screen.query_one(Input).value = ""
    for letter in value:
        at_table.screen.query_one(Input).insert_text_at_cursor(letter)
        await at_table.pilot.pause(0)
    await at_table.settle()


async def test_every_field_stands_in_its_group(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        text = at_table.all_text
        for field in FIELDS:
            assert f" {field.rpartition('.')[2]}" in text, field
        assert "\nflush:\n" in f"\n{text}"
        assert "barrel: 10 mL" in text
        assert words.SHEET_LEFT_OUT in text
        assert at_table.text("place") == words.SHEET_RIGHT
        assert "Worked out: dose, 20 mg/mL × 10 mL = 200 mg" in text


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_is_cut_on_any_of_the_screens(
    tmp_path: Path, size: tuple[int, int], keys_shown: set[str]
) -> None:
    wrong = (
        ("dose: 200 mg", "dose: 20 mg"),
        ("wash: 20 s", "wash: 2"),
        ("hands:", "hands:\n  x: y"),
    )
    async with nurse_at(tmp_path, size, wrong) as at_table:
        for _ in range(14):
            assert cut(at_table.screen) == []
            await at_table.press("space")
            await at_table.look()
        for key in ("enter", "escape", "k", "enter", "a", "enter", "q", "enter", "escape"):
            await at_table.press(key)
            await at_table.look()
            assert cut(at_table.screen) == [], key
    assert keys_shown <= NAMED


async def test_the_marked_field_is_always_in_sight(tmp_path: Path) -> None:
    async with nurse_at(tmp_path, SMALL) as at_table:
        screen = sheet_screen(at_table)
        for key in ["down"] * 15 + ["space"] * 12 + ["up"] * 5:
            await at_table.press(key)
            (line,) = screen.query(".-at").results(Words)
            assert screen.body.region.contains_region(line.region), screen.at
            assert words.SHEET_AT in line.text


async def test_a_wrong_value_is_told_of_as_it_is_typed(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        await go_to(at_table, "flush.barrel")
        assert at_table.text("why") == "The size of the syringe, whatever it holds."
        await type_in(at_table, "10")
        assert at_table.text("asks").startswith('Expected a volume, such as 5 mL; found "10".')
        await type_in(at_table, "10 mL")
        assert at_table.text("asks") == ""


async def test_a_contradiction_is_told_at_the_field_with_both_sides(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        await go_to(at_table, "medicine.dose")
        assert "20 mg/mL × 10 mL = 200 mg" in at_table.text("worked")
        await type_in(at_table, "20 mg")
        assert "Expected 200 mg, as 20 mg/mL × 10 mL = 200 mg" in at_table.text("asks")
        assert at_table.text("worked") == ""
        await at_table.press("enter")
        assert "Expected 200 mg, as 20 mg/mL × 10 mL" in at_table.all_text.replace("\n      ", " ")
        assert at_table.text("place") == "to look at: 1"


async def test_what_is_not_right_yet_is_not_kept(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        old = DEMO.read_bytes()
        await go_to(at_table, "medicine.dose")
        await type_in(at_table, "20 mg")
        await at_table.press("enter", "down", "down", "k")
        screen = sheet_screen(at_table)
        assert at_table.screen is screen
        assert screen.looked.rows[screen.at].field == "medicine.dose"
        assert at_table.text("notice") == words.SHEET_NOT_YET
        await at_table.press("q")
        assert at_table.text("choices") == "1  Leave, and drop the changes"
        await at_table.press("1")
        assert screen.draft.path.read_bytes() == old
        assert not at_table.pilot.app.is_running


@pytest.mark.parametrize(("answer", "version", "day"), [("1", 2, 25), ("2", 1, 20)])
async def test_the_version_goes_up_where_the_nurse_says_so(
    tmp_path: Path, answer: str, version: int, day: int
) -> None:
    async with nurse_at(tmp_path) as at_table:
        await go_to(at_table, "person.initials")
        await type_in(at_table, "X. Y.")
        await at_table.press("enter", "k")
        assert "as version 2, dated 2026-11-25" in at_table.text("choices")
        await at_table.press(answer)
        if answer == "1":
            await at_table.press("enter")
            assert at_table.text("notice") == sheet_words.SIGN_EMPTY
            await type_in(at_table, "S. Vo")
            await at_table.press("enter")
        screen = sheet_screen(at_table)
        sheet = read_sheet(screen.draft.path)
        assert (sheet.sheet.signed_by == "S. Vo") == (answer == "1")
        assert sheet.person.initials == "X. Y."
        assert (sheet.sheet.version, sheet.sheet.date.day) == (version, day)
        assert (tmp_path / "orders.yaml.before").read_bytes() == DEMO.read_bytes()
        assert at_table.text("notice") == words.SHEET_KEPT.format(name="orders.yaml.before")
        assert not screen.draft.changed
        await at_table.press("k")
        assert at_table.text("notice") == words.SHEET_SAME
        await at_table.press("q")
        assert not at_table.pilot.app.is_running


async def test_an_item_can_be_added_and_taken_out(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        for number, allergy in ((2, "latex"), (3, "penicillin: hives")):
            await go_to(at_table, f"allergies[{number}]")
            await type_in(at_table, allergy)
            await at_table.press("enter")
        assert "allergies[4]" in at_table.all_text
        sheet_screen(at_table).at = 0
        await go_to(at_table, "allergies[1]")
        await type_in(at_table, "")
        await at_table.press("enter", "k", "2")
        allergies = read_sheet(tmp_path / "orders.yaml").allergies
        assert allergies == ("latex", "penicillin: hives")
        assert "allergies[4]" not in at_table.all_text


async def test_a_sheet_that_somebody_else_changed_is_left_alone(tmp_path: Path) -> None:
    async with nurse_at(tmp_path) as at_table:
        await go_to(at_table, "person.initials")
        await type_in(at_table, "X. Y.")
        (tmp_path / "orders.yaml").write_text("other: yes\n", encoding="utf-8")
        await at_table.press("enter", "k", "2")
        assert "meanwhile" in at_table.text("notice")
        assert (tmp_path / "orders.yaml").read_text(encoding="utf-8") == "other: yes\n"


async def test_letters_that_cannot_be_shown_or_look_like_a_command_do_no_harm(
    tmp_path: Path,
) -> None:
    async with nurse_at(tmp_path) as at_table:
        await go_to(at_table, "agency")
        await type_in(at_table, "[/ [@click=app.quit]x[/] \x1b[2J")
        await at_table.press("enter")
        assert "[@click=app.quit]x[/]" in at_table.all_text
        assert "\x1b" not in at_table.all_text


async def test_escape_leaves_a_sheet_that_was_not_changed(tmp_path: Path) -> None:
    async with nurse_at(tmp_path, SMALL) as at_table:
        await at_table.press("enter", "escape", "escape")
        assert not at_table.pilot.app.is_running
