"""Every screen there is a picture of, in each size and each theme: measured, not looked at.

Each scene is opened once and the window then made larger, so that this stays cheap; that a step
opened at any size can be read is seen by `test_every_screen_can_be_read`. No scene shows a form
that has been misread, either (`tests/standards/safe_writing.py` has the lists).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import cast

import pytest
import wcag_contrast_ratio
from rich.segment import Segment
from textual.color import Color
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input

from coach import keys
from coach.clock import ManualClock
from coach.screens.colours import COLOURS
from coach.screens.follow import FollowScreen
from coach.screens.frame import GAP, Body, Frame
from coach.screens.pictures import AT, SCENES, scene
from coach.screens.widgets.timer import FREE, FULL, in_great_figures
from coach.screens.widgets.words import Words
from coach.sitting.desk import Desk
from coach.themes import DARK, THEMES
from tests.screens.table import LARGE, NAMED, SMALL, Table, cut, table
from tests.standards.safe_writing import misread

HUGE = (160, 50)
LEAST_CONTRAST = 7
"""WCAG 2.2, success criterion 1.4.6."""

Colour = tuple[int, int, int]
Pair = tuple[str, Colour, Colour]
"""Some text, its colour, and the colour that it stands on."""


def segments(screen: Screen[None]) -> Iterator[Segment]:
    """Yield all that the terminal would be given."""
    for strip in screen._compositor.render_strips():
        yield from strip


def pairs(screen: Screen[None]) -> set[Pair]:
    """Return each pair of letters' and page's colour that is on *screen*, with some of its text."""
    found = set()
    for segment in segments(screen):
        style = segment.style
        if not segment.text.strip() or style is None or style.color is None:
            continue
        assert style.bgcolor is not None
        text, page = style.color.get_truecolor(), style.bgcolor.get_truecolor()
        if style.reverse:
            text, page = page, text
        found.add((segment.text.strip()[:20], (*text,), (*page,)))
    return found


def contrast(pair: Pair) -> float:
    """Return the contrast of *pair* by the reference library."""
    _, text, page = pair
    ratio: float = wcag_contrast_ratio.rgb(
        tuple(part / 255 for part in text), tuple(part / 255 for part in page)
    )
    return ratio


def in_theme(pair: Pair, name: str) -> Pair:
    """Return *pair*, seen in the first theme, as the theme *name* has it.

    Each theme has the same four colours by their uses. Raises KeyError for any other colour.
    """
    text, *colours = pair
    roles = dict(zip(colours_of(DARK), colours_of(name), strict=True))
    page, on_it = (roles[colour] for colour in colours)
    return text, page, on_it


def colours_of(name: str) -> tuple[Colour, ...]:
    """Return the colours of a theme: the page, the text, the edges, and what is muted."""
    theme = COLOURS[name]
    found = (theme.background, theme.foreground, theme.secondary, theme.variables["text-muted"])
    return tuple(Color.parse(str(colour)).rgb for colour in found)


def overlapping(screen: Frame) -> list[str]:
    """Return which words of *screen* lie on one another."""
    body = screen.query_one(Body)
    seen = [
        (words.id or words.text, words.virtual_region)
        for words in body.query(Words)
        if words.display and words.text and words.parent is body
    ]
    return [
        f"{name} and {other}"
        for place, (name, region) in enumerate(seen)
        for other, below in seen[:place]
        if region.overlaps(below)
    ]


def said_on(screen: Screen[None]) -> str:
    """Return all words that show on *screen*, but for the key line: it names no amounts."""
    said = [words.text for words in screen.query(Words) if words.display and words.id != "keys"]
    assert said
    return "\n".join(said)


def named(screen: Frame) -> set[str]:
    """Return the keys that stand in the key line of *screen*."""
    rows = screen.query_one("#keys", Words).text.split("\n")
    return NAMED & {entry.split(" ")[0] for row in rows for entry in row.split(GAP)}


def heard(screen: Frame) -> set[str]:
    """Return the letters that do something at the step on *screen*, while none is typed."""
    if not isinstance(screen, FollowScreen) or screen.view.running:
        return set()
    typing = isinstance(screen.focused, Input)
    return set() if typing else {key.shown for key in screen.letters()}


@pytest.mark.parametrize("name", SCENES)
async def test_a_scene_is_whole_stands_out_and_is_not_misread(
    name: str, keys_shown: set[str]
) -> None:
    found: dict[object, object] = {}
    works: set[str] = set()
    async with scene(name, SMALL) as app:
        at_table = Table(Pilot(app), ManualClock(AT), cast(Desk, None))
        for size in (SMALL, LARGE, HUGE):
            if app.size != size:
                await at_table.resize(size)
            screen = at_table.screen
            if bad := [*cut(screen), *overlapping(screen), *misread(said_on(screen))]:
                found[size] = bad
            if size == SMALL:
                in_small, works = named(screen), heard(screen)
            elif size == LARGE:
                works |= named(screen)
            seen = pairs(screen)
            for theme in COLOURS:
                themed = [in_theme(pair, theme) for pair in seen]
                if faint := [pair for pair in themed if contrast(pair) < LEAST_CONTRAST]:
                    found[theme] = faint
        assert app.animation_level == "none"
        assert not any(typed.display and typed.cursor_blink for typed in screen.query(Input))
    assert found == {}
    assert keys.NURSE.shown in in_small or works <= in_small
    assert keys_shown <= NAMED


@pytest.mark.parametrize("theme", THEMES)
async def test_a_theme_has_its_own_colours_and_no_other(tmp_path: Path, theme: str) -> None:
    async with table(tmp_path, theme=theme) as at_table:
        await at_table.walk("label-strength-type")
        seen = {colour for _, *pair in pairs(at_table.screen) for colour in pair}
        assert seen == set(colours_of(theme))


async def test_with_no_color_the_terminal_keeps_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with table(tmp_path, theme="light") as at_table:
        await at_table.walk("label-strength-type")
        styles = [segment.style for segment in segments(at_table.screen) if segment.style]
        colours = {colour for style in styles for colour in (style.color, style.bgcolor)}
        assert {colour.is_default for colour in colours if colour} == {True}
        typed = at_table.screen.query_one(Input)
        assert typed.has_focus
        assert any(style.reverse for style in styles), "the place to type has to be seen"


async def test_the_figures_grow_in_the_largest_window(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "enter")
        figures, great = (at_table.screen.query_one(name) for name in ("#figures", "#great"))
        assert (figures.display, great.display) == (True, False)
        narrow = at_table.screen.query_one("#sentence").size.height
        await at_table.resize(HUGE)
        assert (figures.display, great.display) == (False, True)
        assert great.size.height > 3
        assert at_table.screen.query_one("#sentence").outer_size.height > narrow + 2


def test_great_figures_are_drawn_by_their_bits() -> None:
    drawn = in_great_figures(47).replace(FULL, "#").replace(FREE, ".").splitlines()
    assert drawn == ["#.#.###", "#.#...#", "###...#", "..#...#", "..#...#"]
