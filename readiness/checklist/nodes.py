"""Bytes of a YAML file -> a bounded tree of texts, lists and mappings, each with line and column.

The tree is built from parser events, so that size, depth and count are bounded before anything
grows. Every scalar stays text: `no`, `12:30`, `010` and `2,4` mean what the wanted type says later.
Aliases, anchors and tags are refused; nothing here needs them, and an alias can stand for billions.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct

from readiness.checklist.mistakes import (
    MOST_MISTAKES,
    UNPRINTABLE,
    FileMistakes,
    Mistake,
    shortened,
    shown,
)

MOST_BYTES = 1_000_000
DEEPEST = 32
MOST_NODES = 50_000

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The parser of libyaml where it was built in, otherwise the one in Python."""

_FOREIGN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")
"""What no file may hold anywhere; tabs and line ends have their places."""


_NEXT_TO = re.compile("[0-9]{2}")


class Text(Struct, frozen=True):
    """A scalar as it stands; `plain` when it was written without quotes."""

    text: str
    line: int
    column: int
    plain: bool = True


class Items(Struct, frozen=True):
    """A list."""

    items: tuple[Node, ...]
    line: int
    column: int


class Entries(Struct, frozen=True):
    """A mapping, duplicate keys still in it."""

    entries: tuple[tuple[Text, Node], ...]
    line: int
    column: int

    def get(self, key: str) -> Node | None:
        """The value of the first such key, None if there is none."""
        for name, value in self.entries:
            if name.text == key:
                return value
        return None


Node = Text | Items | Entries


def label(node: Node) -> str:
    """What an entry of a list calls itself: its id, name or key; empty if it has none."""
    return _label(node.entries) if isinstance(node, Entries) else ""


def _label(entries: Any) -> str:
    for key, value in entries:
        if key.text in ("id", "name", "key", "sheet") and isinstance(value, Text) and value.text.strip():
            return shortened(value.text, 40)
    return ""


def read(path: Path) -> Node:
    """The tree of a file. Raises FileMistakes when it cannot be read, or is not such YAML."""
    return parse(bytes_of(path), path)


def parse(data: bytes, path: Path | str) -> Node:
    """The tree of a file's bytes; `path` is for messages. Raises FileMistakes."""
    if len(data) > MOST_BYTES:
        raise FileMistakes([Mistake(path, 0, 0, "file", f"{len(data)} bytes", f"at most {MOST_BYTES} bytes")])
    text = _decoded(data, path)
    foreign = _FOREIGN.search(text)
    if foreign:
        line, column = _place(text, foreign.start())
        found = f"the control character U+{ord(foreign.group()):04X}"
        hint = "Save the file as UTF-8." if foreign.group() == "\0" else ""  # most often UTF-16
        raise FileMistakes([Mistake(path, line, column, "file", found, "plain text", hint)])
    return _Builder(path).build(text)


def bytes_of(path: Path) -> bytes:
    """What a file says, up to one byte more than may be parsed. Raises FileMistakes."""
    try:
        if path.exists() and not path.is_file():
            raise FileMistakes([Mistake(path, 0, 0, "file", "something that is not a file", "a YAML file")])
        with path.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise FileMistakes([Mistake(path, 0, 0, "file", "nothing there", "a YAML file")]) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        found = f"no way to read it ({why})"
        raise FileMistakes([Mistake(path, 0, 0, "file", found, "a YAML file")]) from None


def _decoded(data: bytes, path: Path | str) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        hint = "Save the file as UTF-8."
        raise FileMistakes([Mistake(path, 1, 1, "file", "UTF-16 text", "UTF-8 text", hint)])
    try:
        return data.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode("utf-8")
        line, column = _place(before, len(before))
        found = f"the byte 0x{error.object[error.start]:02X}, which is not UTF-8"
        hint = "Save the file as UTF-8."
        raise FileMistakes([Mistake(path, line, column, "file", found, "UTF-8 text", hint)]) from None


def _place(text: str, index: int) -> tuple[int, int]:
    lines = re.split("\r\n|\r|\n", text[:index])
    return len(lines), len(lines[-1]) + 1


# --- from events to the tree ----------------------------------------------------------------------


@dataclass(slots=True)
class _Open:
    """A list or mapping that is not closed yet."""

    line: int
    column: int
    mapping: bool
    values: list[Any] = field(default_factory=list)
    key: Text | None = None

    def awaits_key(self) -> bool:
        return self.mapping and self.key is None

    def add(self, node: Node) -> None:
        if not self.mapping:
            self.values.append(node)
        elif self.key is None:
            assert isinstance(node, Text)
            self.key = node
        else:
            self.values.append((self.key, node))
            self.key = None

    def closed(self) -> Node:
        if self.mapping:
            return Entries(tuple(self.values), self.line, self.column)
        return Items(tuple(self.values), self.line, self.column)


class _Builder:
    def __init__(self, path: Path | str) -> None:
        self.path = path
        self.open: list[_Open] = []
        self.root: Node | None = None
        self.count = 0
        self.documents = 0
        self.before: Any = None
        self.mistakes: list[Mistake] = []

    def build(self, text: str) -> Node:
        try:
            for event in yaml.parse(text, Loader=LOADER):
                self._take(event)
        except yaml.YAMLError as error:
            self.mistakes.append(_syntax(error, text, self.path, self._where()))
        if not self.mistakes and self.root is None:
            self._wrong(1, 1, "an empty file", "keys and values", "Fill it in, or take it away.")
        if self.mistakes:
            raise FileMistakes(self.mistakes)
        assert self.root is not None
        return self.root

    def _take(self, event: Any) -> None:
        line, column = event.start_mark.line + 1, event.start_mark.column + 1
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                self._stop(line, column, "a second document", "one document in a file")
        elif isinstance(event, yaml.AliasEvent):
            self._bound(line, column)
            self._wrong(line, column, f"the alias {shown(f'*{event.anchor}')}", "the value written out")
            self._add(Text("", line, column))
        elif isinstance(event, yaml.NodeEvent):
            self._bound(line, column)
            self._refuse_marks(event, line, column)
            self._begin(event, line, column)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._add(self.open.pop().closed())

    def _begin(self, event: Any, line: int, column: int) -> None:
        if isinstance(event, yaml.ScalarEvent):
            self._add(self._text(event, line, column))
            return
        if self.open and self.open[-1].awaits_key():
            hint = "Text that begins with a bracket or brace needs quotes."
            self._stop(line, column, "a list or mapping as a key", "a word", hint)
        if len(self.open) >= DEEPEST:
            self._stop(line, column, f"more than {DEEPEST} levels inside each other", "fewer")
        self.open.append(_Open(line, column, isinstance(event, yaml.MappingStartEvent)))

    def _text(self, event: Any, line: int, column: int) -> Text:
        plain = bool(event.implicit[0])
        self._refuse_split_number(event, line, column)
        found = UNPRINTABLE.search(event.value.replace("\n", " "))
        if found:
            tab = found.group() == "\t"
            what = "a tab" if tab else f"the control character U+{ord(found.group()):04X}"
            self._wrong(line, column, what, "plain text", "Use spaces." if tab else "")
        return Text(event.value, line, column, plain)

    def _refuse_split_number(self, event: Any, line: int, column: int) -> None:
        """Inside brackets the comma of '2,3 bar' would part it in two, and each may pass for a number."""
        first, self.before = self.before, event
        if first is None or first.style or event.style:
            return
        if not _NEXT_TO.fullmatch(first.value[-1:] + event.value[:1]):
            return
        if event.start_mark.index == first.end_mark.index + 1 and first.end_mark.line + 1 == line:
            found = f"{shown(f'{first.value},{event.value}')}, where the comma ends the value inside brackets"
            expected = "a decimal point, or a space after the comma between two values"
            self._wrong(line, column, found, expected, "Quotes keep a decimal comma: '2,3 bar'.")

    def _add(self, node: Node) -> None:
        if self.open:
            self.open[-1].add(node)
        else:
            self.root = node

    def _bound(self, line: int, column: int) -> None:
        self.count += 1
        if self.count > MOST_NODES:
            self._stop(line, column, f"more than {MOST_NODES} entries", "fewer")

    def _refuse_marks(self, event: Any, line: int, column: int) -> None:
        if event.anchor is not None:
            self._wrong(line, column, f"the anchor {shown(f'&{event.anchor}')}", "a value without one")
        if event.tag is not None:
            hint = "Text that begins with '!' needs quotes."
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self._wrong(line, column, f"the tag {shown(tag)}", "a value without one", hint)

    def _wrong(self, line: int, column: int, found: str, expected: str, hint: str = "") -> None:
        if len(self.mistakes) < MOST_MISTAKES:
            self.mistakes.append(Mistake(self.path, line, column, self._where(), found, expected, hint))

    def _stop(self, line: int, column: int, found: str, expected: str, hint: str = "") -> None:
        self._wrong(line, column, found, expected, hint)
        raise FileMistakes(self.mistakes)

    def _where(self) -> str:
        return "".join(self._steps()).removeprefix(".") or "file"

    def _steps(self) -> Iterator[str]:
        for k, part in enumerate(self.open):
            if part.key is not None:
                yield "." + shortened(part.key.text, 40)
            elif not part.mapping:
                inner = self.open[k + 1] if k + 1 < len(self.open) else None
                name = _label(inner.values) if inner is not None and inner.mapping else ""
                yield f"[{name or len(part.values) + 1}]"


_PROBLEMS = (
    ("mapping values are not allowed", "a ':' where none can be", "one key a line, evenly indented",
     "Text with ': ' in it needs quotes."),
    ("could not find expected ':'", "a key without ':'", "key: value", ""),
    ("found unexpected end of stream", "the end of the file inside quotes", "a closing quote", ""),
    ("exceeded maximum nesting depth", f"more than {DEEPEST} levels inside each other", "fewer", ""),
    ("found undefined alias", "an alias", "the value written out", ""),
    ("unknown escape character", "a '\\' in double quotes", "text without '\\'",
     "Single quotes keep it as it is."),
    ("',' or ']'", "a list without its end", "',' between entries and ']' at the end", ""),
    ("',' or '}'", "a mapping without its end", "',' between entries and '}' at the end", ""),
    ("expected <block end>", "a line that fits no level", "lines of one level evenly indented", ""),
    ("did not find expected key", "a line that fits no level", "lines of one level evenly indented", ""),
    ("did not find expected '-'", "a line that fits no level", "'- ' before each entry, evenly indented", ""),
)  # fmt: skip
"""What the parsers call it, and the words for a person who edits by hand."""


def _syntax(error: yaml.YAMLError, text: str, path: Path | str, where: str) -> Mistake:
    mark = getattr(error, "problem_mark", None)
    problem = str(getattr(error, "problem", None) or error).replace("\n", " ")
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    if "cannot start any token" in problem:
        return _bad_start(text, path, line, column, where)
    for part, found, expected, hint in _PROBLEMS:
        if part in problem:
            return Mistake(path, line, column, where, found, expected, hint)
    return Mistake(path, line, column, where, f"text that is no YAML ({problem})", "YAML")


def _bad_start(text: str, path: Path | str, line: int, column: int, where: str) -> Mistake:
    lines = re.split("\r\n|\r|\n", text)
    rest = lines[line - 1][column - 1 :] if line <= len(lines) else ""
    if rest.startswith("\t"):
        return Mistake(path, line, column, where, "a tab", "spaces", "Indent with spaces only.")
    hint = "Put the text in quotes."
    return Mistake(path, line, column, where, f"{shown(rest[:1])} at the start of a value", "a value", hint)
