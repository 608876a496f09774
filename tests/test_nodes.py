"""YAML arrives as it was written, or is refused at its line; nothing is guessed."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.clean import unsafe_character
from coach.errors import FileProblems
from coach.nodes import (
    DEEPEST,
    LARGEST_FILE,
    MOST_PROBLEMS,
    Bad,
    Fields,
    Node,
    Problems,
    boolean,
    list_of,
    nearest,
    one_of,
    read_bytes,
    read_file,
    text,
    whole,
)


def node_of(written: str) -> Node:
    """Return the root node of *written*."""
    return read_bytes(written.encode(), "a.yaml")


def said(written: str | bytes) -> list[str]:
    """Return what is said of *written*, a line a problem."""
    with pytest.raises(FileProblems) as refused:
        read_bytes(written if isinstance(written, bytes) else written.encode(), "a.yaml")
    return [str(row) for row in refused.value.problems]


def scalar(written: str) -> Node:
    """Return the node of *written* as the value of one field."""
    root = node_of(f"field: {written}\n")
    assert isinstance(root.value, dict)
    return root.value["field"]


@pytest.mark.parametrize(
    "written",
    [
        "12:30",
        "7:30",
        "07:30",
        "19:30",
        "no",
        "No",
        "off",
        "on",
        "yes",
        "y",
        "true",
        "null",
        "~",
        "010",
        "0o10",
        "0x1F",
        "1_000",
        "1,000",
        "2.50",
        "1e3",
        ".5",
        ".inf",
        ".nan",
        "+1",
        "2026-11-25",
        "2026-11-25T08:00-05:00",
        "=",
        "<<",
        "0.9%",
        "mL/h",
    ],
)
def test_a_scalar_arrives_as_it_was_written(written: str) -> None:
    assert scalar(written).value == written
    assert scalar(f'"{written}"').value == written
    assert scalar(f"'{written}'").value == written


@given(st.from_regex(r"[0-9a-z][0-9a-z_.:+-]{0,12}[0-9a-z]", fullmatch=True))
def test_any_plain_word_arrives_as_it_was_written(written: str) -> None:
    assert scalar(written).value == written


def test_nothing_written_is_empty_and_no_value_stands_for_it() -> None:
    assert scalar("").value == ""
    assert scalar("").told == "nothing"


def test_lines_are_folded_or_kept_as_yaml_says() -> None:
    folded = node_of("field: >-\n  one\n  two\n")
    assert isinstance(folded.value, dict)
    assert text(folded.value["field"]) == "one two"


def test_each_node_knows_its_line_its_column_and_its_field() -> None:
    root = node_of("a:\n  b:\n    - {c: x}\n    - {c: y, d: [1, z]}\n")
    assert isinstance(root.value, dict)
    b = root.value["a"].value
    assert isinstance(b, dict)
    items = b["b"].value
    assert isinstance(items, list)
    second = items[1].value
    assert isinstance(second, dict)
    d = second["d"].value
    assert isinstance(d, list)
    assert (d[1].line, d[1].column, d[1].field) == (4, 21, "a.b[2].d[2]")
    assert (items[0].line, items[0].column, items[0].field) == (3, 7, "a.b[1]")
    assert (root.line, root.field) == (1, "")


@pytest.mark.parametrize(
    ("written", "rows"),
    [
        (
            "a: 1\nb: 2\na: 3\n",
            ['line 3, field a: expected each field once; found "a" a second time, first on line 1'],
        ),
        (
            "g:\n  a: 1\n  'a': 3\n",
            [
                "line 3, field g.a: expected each field once; "
                'found "a" a second time, first on line 2'
            ],
        ),
        (
            "a: &x 1\nb: *x\n",
            [
                "line 1, field a: expected no anchor; found &x",
                "line 2, field b: expected the value written out; found an alias, *x",
            ],
        ),
        ("a: &x [1]\n", ["line 1, field a: expected no anchor; found &x"]),
        (
            "a: !!int 3\n",
            ['line 1, field a: expected no tag; found "tag:yaml.org,2002:int"'],
        ),
        ("a: !run {b: c}\n", ['line 1, field a: expected no tag; found "!run"']),
        ("a: 1\n---\nb: 2\n", ["line 2: expected one document; found a second one, after ---"]),
        ("? [a, b]\n: c\n", ["line 1: expected a name before the colon; found a list"]),
        (
            'a: "\\x1b[2J"\n',
            ["line 1, field a: expected text that can be shown; found the hidden character U+001B"],
        ),
        (
            "a: one\nb: \x1b[2J\n",
            ["line 2: expected text that can be shown; found the hidden character U+001B"],
        ),
        (
            "a: x\nb:\n  c: y\u202ez\n",
            [
                "line 3, field b.c: expected text that can be shown; "
                "found the hidden character U+202E"
            ],
        ),
        (
            "a: x\u200by\n",
            ["line 1, field a: expected text that can be shown; found the hidden character U+200B"],
        ),
        (
            '"a\\u200b": x\n',
            ["line 1: expected text that can be shown; found the hidden character U+200B"],
        ),
        (
            "a: 1\n\tb: 2\n",
            ["line 2: expected well-formed YAML; found a tab. Use spaces before a field"],
        ),
        (
            'a: 1\nb: "x\n',
            [
                "line 3: expected well-formed YAML; found something that does not fit there. Look "
                "at this line and the ones above it: a colon, a quote, a bracket or the spaces "
                "before a field may be wrong or missing"
            ],
        ),
        ("", ["expected fields with values; found an empty file"]),
        ("# only a comment\n", ["expected fields with values; found an empty file"]),
    ],
)
def test_what_is_refused_is_told_with_its_line(written: str, rows: list[str]) -> None:
    expected = [f"a.yaml{', ' if row.startswith('line') else ': '}{row}." for row in rows]
    assert said(written) == expected


def test_bytes_that_are_no_text_are_told_with_their_line() -> None:
    assert said(b"a: 1\nb: \xff\n") == [
        "a.yaml, line 2: expected text in UTF-8; found bytes that are not."
    ]
    assert said("a: 1\n".encode("utf-16")) == [
        "a.yaml, line 1: expected text in UTF-8; found bytes that are not."
    ]


def test_a_file_that_is_too_large_is_refused_unread() -> None:
    assert said(b"#" * (LARGEST_FILE + 1)) == [
        "a.yaml: expected at most 1 MB of text; found a larger file."
    ]
    assert said(b"#" * LARGEST_FILE) == [
        "a.yaml: expected fields with values; found an empty file."
    ]


def test_levels_within_levels_are_taken_to_a_limit() -> None:
    assert node_of("[" * DEEPEST + "]" * DEEPEST)
    (row,) = said("[" * (DEEPEST + 1) + "]" * (DEEPEST + 1))
    assert row.endswith("expected at most 40 levels; found more of them within each other.")
    assert len(said("[" * 100_000)) == 1
    assert len(said("- " * 100_000)) == 1


def test_all_that_is_wrong_in_one_file_is_told_at_once() -> None:
    assert len(said("a: &x 1\na: 2\nb: !!str c\nd: \u200b\ne: [1\n")) == 5


def test_no_more_is_told_than_anybody_reads() -> None:
    assert len(said("".join(f"a{n}: &x 1\n" for n in range(1000)))) == MOST_PROBLEMS


@given(st.binary(max_size=300))
def test_any_bytes_give_a_node_or_problems(raw: bytes) -> None:
    node_or_problems(raw)


YAML_PIECES = (
    *("a", ": ", "- ", "\n", "  ", "[", "]", "{", "}", ",", '"', "'", "&x ", "*x", "!!int ", "? "),
    *("|", ">", "#", "---\n", "...\n", "%YAML 1.1\n", "\t", "\x1b", "\u202e", "\ufeff", "\\x00"),
)


@given(st.lists(st.sampled_from(YAML_PIECES), max_size=40))
def test_any_pieces_of_yaml_give_a_node_or_problems(pieces: list[str]) -> None:
    node_or_problems("".join(pieces).encode())


def node_or_problems(raw: bytes) -> None:
    """Read *raw*; anything but a node without hidden text, or problems in words, fails."""
    found = tried(raw)
    if isinstance(found, Node):
        assert not any(unsafe_character(part) for part in texts_in(found))
        return
    assert found.problems
    assert not unsafe_character(str(found))
    lines = raw.decode(errors="replace").splitlines()
    assert all(0 <= row.line <= len(lines) + 1 for row in found.problems)


def tried(raw: bytes) -> Node | FileProblems:
    """Return what reading *raw* gives, or is refused with."""
    try:
        return read_bytes(raw, "a.yaml")
    except FileProblems as refused:
        return refused


def texts_in(node: Node) -> list[str]:
    """Return every key and scalar under *node*."""
    if isinstance(node.value, dict):
        return [*node.value, *(t for child in node.value.values() for t in texts_in(child))]
    if isinstance(node.value, list):
        return [t for child in node.value for t in texts_in(child)]
    return [node.value]


def test_a_file_that_cannot_be_read_is_told_by_its_name(tmp_path: Path) -> None:
    for path, found in ((tmp_path / "none.yaml", "no file of that name"), (tmp_path, "a folder")):
        with pytest.raises(FileProblems) as refused:
            read_file(path, "orders.yaml")
        assert str(refused.value) == (
            f"orders.yaml: expected a file that can be read; found {found}."
        )


def test_a_file_is_read_under_its_own_name_if_no_other_is_given(tmp_path: Path) -> None:
    path = tmp_path / "orders.yaml"
    path.write_text("a: 12:30\n")
    assert read_file(path).file == str(path)
    assert read_file(path, "sheet").file == "sheet"


@pytest.mark.parametrize(("written", "meant"), [("yes", True), ("no", False)])
def test_yes_and_no_are_the_only_words_for_true_and_false(written: str, meant: bool) -> None:
    assert boolean(scalar(written)) is meant


@pytest.mark.parametrize("written", ["true", "Yes", "on", "1", "", "[yes]"])
def test_no_other_word_is_taken_for_true_or_false(written: str) -> None:
    with pytest.raises(Bad, match="expected one of yes, no"):
        boolean(scalar(written))


@given(st.integers(0, 999_999_999))
def test_a_whole_number_is_read_as_written(number: int) -> None:
    assert whole(scalar(str(number))) == number


@pytest.mark.parametrize("written", ["010", "-1", "1.0", "1e3", "1_000", "0x1", "１", "", "9" * 10])
def test_no_other_form_is_a_whole_number(written: str) -> None:
    with pytest.raises(Bad, match="expected a whole number"):
        whole(scalar(written))


def test_a_text_is_never_empty_and_has_single_spaces() -> None:
    assert text(scalar('" a   b "')) == "a b"
    for written in ("", '" "', "[a]", "{a: b}"):
        with pytest.raises(Bad, match="expected some text"):
            text(scalar(written))


def test_a_near_word_is_offered_and_a_far_one_is_not() -> None:
    assert nearest("hepairn", ["heparin", "saline"]) == 'Did you mean "heparin"?'
    assert nearest("zzz", ["heparin", "saline"]) == ""
    with pytest.raises(Bad, match=r'expected one of open, shut; found "opn"\. Did you mean "open"'):
        one_of("open", "shut")(scalar("opn"))


def test_each_bad_item_of_a_list_is_told_and_the_good_ones_are_kept() -> None:
    problems = Problems()
    assert list_of(whole, problems)(scalar("[1, x, 3, y]")) == (1, 3)
    assert [row.field for row in problems.rows] == ["field[2]", "field[4]"]
    with pytest.raises(Bad, match="expected a list; found a group of fields"):
        list_of(whole, problems)(scalar("{a: b}"))


def test_a_problem_is_kept_once() -> None:
    problems = Problems()
    for _ in range(2):
        problems.add(scalar("x").problem("something else"))
    assert len(problems.rows) == 1


def test_unknown_and_missing_fields_are_told_and_known_ones_are_read() -> None:
    problems = Problems()
    fields = Fields(node_of("volume: 3\nrat: 5\n"), frozenset({"volume", "rate"}), problems)
    assert fields.required("volume", whole, 0) == 3
    assert fields.required("rate", whole, 7) == 7
    assert fields.optional("rate", whole, 8) == 8
    assert "volume" in fields
    assert "rate" not in fields
    with pytest.raises(FileProblems) as refused:
        problems.raise_if_any()
    assert [str(row) for row in refused.value.problems] == [
        'a.yaml, line 2, field rat: expected one of the fields rate, volume; found "rat". '
        'Did you mean "rate"?',
        "a.yaml, line 1, field rate: expected this field; found nothing.",
    ]
