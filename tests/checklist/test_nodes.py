"""The tree of a file: bounds, places, and text that stays text, by either parser."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from readiness.checklist import nodes
from readiness.checklist.mistakes import MOST_MISTAKES, FileMistakes, Mistake
from readiness.checklist.nodes import DEEPEST, MOST_BYTES, MOST_NODES, Entries, Items, Node, Text, parse
from tests.checklist.kinds import BAD, GOOD

LOADERS = [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)]


@pytest.fixture(params=LOADERS, ids=lambda loader: loader.__name__)
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nodes, "LOADER", request.param)


def mistakes(data: bytes | str) -> tuple[Mistake, ...]:
    with pytest.raises(FileMistakes) as caught:
        parse(data.encode() if isinstance(data, str) else data, "x.yaml")
    return caught.value.mistakes


def plain(node: Node) -> object:
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Items):
        return [plain(n) for n in node.items]
    return {k.text: plain(v) for k, v in node.entries}


@pytest.mark.usefixtures("either_parser")
def test_scalars_stay_text() -> None:
    """What YAML 1.1 turns into booleans, base-60 numbers, octals and dates."""
    written = ["no", "on", "y", "12:30", "010", "0x1F", "2,4", "1_0", "1e3", ".inf", "2026-01-02", "~"]
    node = parse("\n".join(f"- {w}" for w in written).encode(), "x.yaml")
    assert plain(node) == written


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("path", sorted(GOOD.rglob("*.yaml")), ids=lambda p: p.stem)
def test_same_text_as_the_plain_loader_and_places_that_point_at_it(path: Path) -> None:
    """Content against yaml.BaseLoader; each place against the line of the file it names."""
    data = path.read_bytes()
    node = parse(data, path)
    assert plain(node) == yaml.load(data, yaml.BaseLoader)
    lines = data.decode().split("\n")

    def look(node: Node) -> None:
        at = lines[node.line - 1][node.column - 1 :]
        if isinstance(node, Text):
            assert at.startswith((node.text[:1], "'", '"', "|", ">"))
        elif isinstance(node, Items):
            assert at.startswith(("- ", "["))
            for item in node.items:
                look(item)
        else:
            assert at.startswith(("{", node.entries[0][0].text))
            for key, value in node.entries:
                look(key)
                look(value)

    look(node)


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("path", sorted(BAD.glob("*.yaml")), ids=lambda p: p.stem)
def test_both_parsers_find_the_same(path: Path) -> None:
    def outcome() -> list[tuple[int, str]] | object:
        try:
            return plain(nodes.read(path))
        except FileMistakes as error:
            return [(m.line, m.found) for m in error.mistakes]

    here = outcome()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nodes, "LOADER", yaml.SafeLoader)
        assert outcome() == here


def test_windows_lines_and_a_mark_at_the_start_change_nothing() -> None:
    data = (GOOD / "corner.yaml").read_bytes()
    assert parse(b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n"), "x.yaml") == parse(data, "x.yaml")


def test_columns_count_characters() -> None:
    node = parse("{größe: ä, b: c}".encode(), "x.yaml")
    assert isinstance(node, Entries)
    assert [(k.column, v.column) for k, v in node.entries if isinstance(v, Text)] == [(2, 9), (12, 15)]


# --- bounds ---------------------------------------------------------------------------------------


def test_a_file_of_two_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    path.write_bytes(b"a: " + b"x" * 2_000_000)
    with pytest.raises(FileMistakes, match=f"expected at most {MOST_BYTES} bytes"):
        nodes.read(path)


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(
    "data", ["[" * 100_000, "{a: " * 20_000, "- " * 50_000], ids=["lists", "maps", "dashes"]
)
def test_deep_nesting(data: str) -> None:
    (only,) = mistakes(data)
    assert only.found == f"more than {DEEPEST} levels inside each other"


@pytest.mark.usefixtures("either_parser")
def test_depth_up_to_the_bound_is_fine() -> None:
    assert isinstance(parse(b"[" * DEEPEST + b"]" * DEEPEST, "x.yaml"), Items)
    assert mistakes("[" * (DEEPEST + 1) + "]" * (DEEPEST + 1))[0].line == 1


@pytest.mark.usefixtures("either_parser")
def test_too_many_entries() -> None:
    (only,) = mistakes("- a\n" * MOST_NODES)
    assert (only.found, only.line) == (f"more than {MOST_NODES} entries", MOST_NODES)


@pytest.mark.usefixtures("either_parser")
def test_an_alias_bomb_is_refused_and_never_grows() -> None:
    """Nine levels of nine aliases each: 9^9 texts where they are followed."""
    rows = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    for before, name in zip("abcdefgh", "bcdefghi", strict=True):
        rows.append(f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]")
    found = mistakes("\n".join(rows))
    assert len(found) == 9 + 8 * 9
    assert (found[0].line, found[0].found) == (1, "the anchor '&a'")
    assert (found[2].where, found[2].found) == ("b[1]", "the alias '*a'")


def test_the_number_of_mistakes_is_bounded() -> None:
    assert len(mistakes("- !t a\n" * 5_000)) == MOST_MISTAKES


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(FileMistakes, match="found something that is not a file"):
        nodes.read(tmp_path / "pipe.yaml")


def messages(data: bytes) -> list[str]:
    try:
        parse(data, "x.yaml")
    except FileMistakes as error:
        return [str(m) for m in error.mistakes] or ["none told"]
    return []


@given(st.binary(max_size=200))
def test_any_bytes_give_a_tree_or_mistakes(data: bytes) -> None:
    assert all(": found " in m and "\n" not in m for m in messages(data))


@given(st.text(alphabet="ab:-[]{}&*!|>'\"%@#?, \n\t\r0\u0085\u2028\ufeff\\", max_size=60))
def test_any_yaml_like_text_gives_a_tree_or_mistakes(text: str) -> None:
    assert all(": found " in m and "\n" not in m for m in messages(text.encode()))


@pytest.mark.parametrize("text", ["a: {x: 15,5 ft}", "a: [2,2 bar, 2.3 bar]", "é: [1,000 mm]", "a: [5,5]"])
def test_a_decimal_comma_inside_brackets_is_refused(text: str) -> None:
    """YAML parts it there: 5,5 mm would be read as two readings, 5 and 5 mm."""
    with pytest.raises(FileMistakes, match="where the comma ends the value inside brackets"):
        parse(text.encode(), "file.yaml")


@pytest.mark.parametrize(
    "text", ["a: [1, 2]", "a: ['5','5']", "a: {x: 1,y: 2}", "a: 2,3 bar", "- 5\n- 5", "a: [5,\n5]"]
)
def test_commas_that_part_values_are_left_alone(text: str) -> None:
    assert parse(text.encode(), "file.yaml")


def test_utf_16_without_its_mark_says_how_to_save() -> None:
    with pytest.raises(FileMistakes, match="Save the file as UTF-8"):
        parse("bay: b".encode("utf-16-le"), "file.yaml")
