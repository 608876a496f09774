"""Every text of the procedures is plain, and one that is not is named by its check."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from coach.errors import FileProblems
from coach.procedure.read import read_source
from coach.proof.finding import Finding
from coach.proof.lists import WordLists, read_words
from coach.proof.reading import HIGHEST_GRADE, grade_of
from coach.proof.words import check_words
from tests.procedure.bundles import Change, changed, line_of
from tests.procedure.shipped import FOLDER, SOURCE

LISTS = read_words(FOLDER)

WIPE = "Wipe the table and the keys you will press. Let them dry."
WHY = "A tight joint does not leak."


def found(*changes: Change, lists: WordLists = LISTS) -> tuple[Finding, ...]:
    """Return what is found in the shipped files with each change made."""
    return check_words(read_source(changed(*changes)), lists)


def wiping(text: str) -> Change:
    """Return a change of what one step says to do."""
    return ("parts/place.yaml", WIPE, f'"{text}"')


def names(findings: tuple[Finding, ...]) -> set[str]:
    """Return the checks that found something."""
    return {finding.name for finding in findings}


def test_every_shipped_text_is_plain() -> None:
    assert check_words(SOURCE, LISTS) == ()


@pytest.mark.parametrize(
    ("text", "check"),
    [
        ("Wipe immediately all inside and outside areas of the table anywhere.", "reading-level"),
        (
            "Wipe it and it and it and it and it and it and it and it and it and it and it.",
            "sentence-length",
        ),
        ("The table has to be clean.", "begins-with-an-action"),
        ("Wipe it. Dry it. Clear it.", "one-action"),
        ("Wipe it, then dry it and press it.", "one-action"),
        ("Wipe it with 5.0 mL of water.", "safe-writing"),
        ("Wipe it with 10 cc of water.", "safe-writing"),
        ("Wipe the table with a caustic.", "plain-words"),
        ("Wipe it. " + "Keep it dry. " * 9, "room"),
    ],
)
def test_a_bad_text_is_named_by_its_check_alone(text: str, check: str) -> None:
    problems = found(wiping(text))
    others = names(problems) - {check}
    assert check in names(problems)
    # What is hard to read is so for its long words, and those are not common ones.
    assert others <= ({"plain-words"} if check == "reading-level" else set())


def test_a_finding_says_the_place_the_kind_of_text_and_what_is_wrong() -> None:
    change = wiping("Wipe it with 10 cc of water.")
    (finding,) = found(change)
    assert finding.where
    assert finding.where.file == "procedures/parts/place.yaml"
    assert finding.where.line == line_of(changed(change), "parts/place.yaml", "- id: wipe-table")
    assert finding.says == ("do: “cc” can be misread. Write mL. (ISMP, error-prone abbreviations)")


def test_a_step_that_asks_may_first_say_what_it_asks_about() -> None:
    change = (
        "parts/stop.yaml",
        "do: Look at the pump, and at both clamps, the one on the tubing and the one on your line.",
        "do: The pump is still on you.",
    )
    assert found(change) == ()


def test_a_stop_may_say_to_stop_to_shut_and_to_call_but_no_more() -> None:
    old = "Stop the pump. Shut the clamp nearest to your body. Call the pharmacist."
    new = "Stop the pump. Shut the clamp. Turn it. Call the pharmacist."
    assert names(found(("parts/bag-look.yaml", old, new))) == {"one-action"}


def test_a_part_that_is_used_three_times_is_named_once() -> None:
    change = (
        "parts/flush.yaml",
        "why: You cannot push through a shut clamp.",
        "why: You cannot push through an occluded clamp.",
    )
    assert len(found(change)) == 1


def test_a_value_of_the_order_sheet_counts_as_one_short_word() -> None:
    words = "Wipe {volume} and {volume} and {volume} and {volume} and {volume} and {volume}."
    assert found(wiping(words)) == ()


def test_a_value_leaves_no_unit_without_a_space() -> None:
    assert names(found(wiping("Wipe {volume}mg off."))) >= {"safe-writing"}


def test_what_a_card_is_filled_with_is_counted_too() -> None:
    change = (
        "dose.yaml",
        "some: By the clock {given} of {volume} went in.",
        "some: By the clock {given} of {volume} went in. "
        "I have kept the empty bag and all of the tubing, and can read you the label.",
    )
    assert "room" in names(found(change))


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("dose.yaml", "  body: I feel ill,", "  body: I experience ill,"),
        ("parts/body.yaml", "title: Hives,", "title: Urticaria,"),
        ("parts/load.yaml", "title: Load the bag", "title: Install the bag"),
        ("picture.yaml", "word: spiked,", "word: attached,"),
        ("dose.yaml", "none: No medicine has gone in yet.", "none: No medication has gone in yet."),
    ],
)
def test_texts_beside_the_steps_are_read_too(file: str, old: str, new: str) -> None:
    assert names(found((file, old, new))) == {"plain-words"}


def test_words_are_known_with_an_s_at_the_end_and_in_parts() -> None:
    for word in ("syringe", "syringes", "mL".lower(), "warm-up", "push-up"):
        assert LISTS.knows(word), word
    for word in ("occlusion", "warm-occlusion", "syringess"):
        assert not LISTS.knows(word), word


def test_the_glossary_explains_in_words_that_are_known_themselves() -> None:
    for word, says in LISTS.glossary.items():
        assert grade_of(says) <= HIGHEST_GRADE, word
        assert says.endswith("."), word
        unknown = [w for w in re.findall("[a-z]+", says.lower()) if not LISTS.knows(w)]
        assert unknown == [], word


def copied(folder: Path) -> Path:
    """Return a copy of the shipped word lists within *folder*."""
    shutil.copytree(FOLDER / "words", folder / "words")
    return folder


def refused(folder: Path) -> tuple[str, ...]:
    """Return what is said of the word lists in *folder*."""
    with pytest.raises(FileProblems) as error:
        read_words(folder)
    return tuple(str(row) for row in error.value.problems)


def test_an_agency_adds_a_word_of_its_own(tmp_path: Path) -> None:
    file = copied(tmp_path) / "words" / "glossary.yaml"
    file.write_text(file.read_text("utf-8") + "  caustic: A strong cleaner.\n", "utf-8")
    change = wiping("Wipe the table with a caustic.")
    assert found(change, lists=read_words(tmp_path)) == ()
    assert names(found(change)) == {"plain-words"}


@pytest.mark.parametrize(
    ("name", "written", "says"),
    [
        (
            "common",
            "schema: 1\nlists:\n  - source: mine\n    words: a b a\n",
            "procedures/words/common.yaml, line 4, field lists[1].words:"
            ' expected each word once; found "a" twice.',
        ),
        (
            "common",
            "schema: 1\nlists:\n  - words: Bag\n",
            "procedures/words/common.yaml, line 3, field lists[1].source:"
            " expected this field; found nothing.",
        ),
        (
            "glossary",
            "schema: 1\nsource: mine\nwords:\n  clamp: {}\n",
            "procedures/words/glossary.yaml, line 4, field words.clamp:"
            " expected some text; found a group of fields.",
        ),
        (
            "actions",
            "schema: 1\nsource: mine\nmoves: push\nkeep: leave\n",
            "procedures/words/actions.yaml, line 4, field keep:"
            ' expected one of the fields keeps, moves, schema, source; found "keep".'
            ' Did you mean "keeps"?',
        ),
        (
            "never",
            "schema: 1\nnever:\n  - {forms: [cc], source: mine}\n",
            "procedures/words/never.yaml, line 3, field never[1].write:"
            " expected this field; found nothing.",
        ),
    ],
)
def test_a_wrong_list_is_refused_line_by_line(
    tmp_path: Path, name: str, written: str, says: str
) -> None:
    (copied(tmp_path) / "words" / f"{name}.yaml").write_text(written, "utf-8")
    assert says in refused(tmp_path)


def test_all_that_is_wrong_in_every_list_is_said_at_once(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / "words" / "never.yaml").unlink()
    (folder / "words" / "common.yaml").write_text("schema: 2\nlists: []\n", "utf-8")
    files = {row.split(",")[0].split(":")[0] for row in refused(folder)}
    assert files == {"procedures/words/common.yaml", "procedures/words/never.yaml"}
