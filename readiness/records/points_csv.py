"""Points of a floor from a table as text: name, x, y, height in columns of any order, named in the first row.

    name;x;y;height mm          comma, semicolon or tab between columns
    A1;0,5;0,8;-1,5             a decimal comma where the columns are not parted by commas
    # notes, blank lines and columns with nothing in them are passed over

x and y are in m and heights in mm, unless the heading or the cell says another unit. The table becomes the same
tree that YAML becomes, so that every mistake is told at its line and column.
"""

from __future__ import annotations

import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterator, Sequence
from datetime import date
from io import BufferedReader
from pathlib import Path
from typing import Any, NamedTuple, cast

from readiness import units
from readiness.checklist.load import in_order
from readiness.checklist.mistakes import UNPRINTABLE, FileMistakes, Mistake, listed, near, shown
from readiness.checklist.nodes import Entries, Items, Node, Text
from readiness.checklist.rules import RULES, TEXTS
from readiness.checklist.spot import Spot
from readiness.checklist.survey_rules import survey_in
from readiness.checklist.walk import INVALID, Walker
from readiness.job import Bay, Survey
from readiness.records.plain_file import NoFile, open_plain

COLUMNS = {"name": "", "x": "m", "y": "m", "height": "mm", "what": ""}
"""Column -> the unit of a bare number in it; 'what' need not be there."""
NEEDED = ("name", "x", "y", "height")
MARKS = {";": "semicolons", "\t": "tabs", ",": "commas"}
MOST_BYTES = 1_000_000
MOST_ROWS = 2_000
LONGEST_ROW = 4_000
"""Characters; a spreadsheet may add many columns with nothing in them."""

PARTED = "columns parted by semicolons, tabs or commas"

_HEADING = re.compile(r"([A-Za-z]+)[\s_/]*[\[(]?\s*([^\])]*?)\s*[\])]?")
_DECIMAL_COMMA = re.compile(r"(?<![0-9.,])([0-9]*),([0-9]+)(?![0-9.,])")
_MARK_LINE = re.compile(r"sep=.")
"""How some spreadsheets begin a table, to say what stands between its columns."""


class Cell(NamedTuple):
    text: str
    column: int


class Head(NamedTuple):
    """Of what the points are a survey."""

    id: str
    bay: Bay
    day: date
    by: str
    instrument: str


def read_points(path: Path, head: Head) -> Survey:
    """The survey that a table of points makes. Raises FileMistakes with all that is wrong."""
    mistakes: list[Mistake] = []
    top = Spot(Text("", 1, 1), "", path, mistakes)
    rows = list(_rows(_text(path), top))
    if mistakes:
        raise FileMistakes(in_order(mistakes))
    if not rows:
        top.wrong("nothing", f"a heading with {listed(NEEDED)}, then a point in each row")
        raise FileMistakes(mistakes)
    heading = _heading(rows, top)
    if len(rows) == 1 and not mistakes:
        hint = "A row that begins with # counts as a note."
        top.wrong("a heading and no points", "a point in each row under the heading", hint)
    if mistakes:
        raise FileMistakes(in_order(mistakes))
    sound = [_is_sound(row, heading, top) for row in rows[1:]]
    if not all(sound):  # what stands in the wrong column says nothing about the points
        raise FileMistakes(in_order(mistakes))
    points = Items(tuple(_point(row, heading, top) for row in rows[1:]), rows[0].line, 1)
    spot = Spot(_survey_tree(head, points), "", path, mistakes)
    survey: Any = Walker(RULES, texts=TEXTS).decode(spot, Survey)
    if survey is not INVALID:
        survey_in([(p.x, p.y) for p in head.bay.outline], survey, spot)
    if mistakes:
        raise FileMistakes(in_order(mistakes))
    return cast(Survey, survey)


# --- rows and cells ------------------------------------------------------------------------------


class Row(NamedTuple):
    line: int
    text: str


def _text(path: Path) -> str:
    def wrong(line: int, column: int, found: str, expected: str, hint: str = "") -> FileMistakes:
        return FileMistakes([Mistake(path, line, column, "file", found, expected, hint)])

    try:
        stream, _ = open_plain(path)
        with BufferedReader(stream) as whole:
            data = whole.read(MOST_BYTES + 1)
    except NoFile as fault:
        raise wrong(0, 0, str(fault.strerror), "a table of points") from None
    except FileNotFoundError:
        raise wrong(0, 0, "no such file", "a table of points") from None
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        raise wrong(0, 0, f"no way to read it ({why})", "a table of points") from fault
    if len(data) > MOST_BYTES:
        raise wrong(0, 0, f"more than {MOST_BYTES} bytes", f"a table of at most {MOST_ROWS} points")
    hint = "Save it as CSV with the encoding UTF-8."
    coding = "utf-16" if data.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8-sig"
    if coding != "utf-16" and b"\0" in data:
        raise wrong(0, 0, "bytes that are no text", "a table of points as text", hint)
    try:
        return data.decode(coding)
    except UnicodeDecodeError as fault:
        before = data[: fault.start].decode(coding, errors="replace")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        found = f"bytes that are no text in {'UTF-16' if coding == 'utf-16' else 'UTF-8'}"
        raise wrong(line, column, found, "text in UTF-8", hint) from None


def _rows(text: str, top: Spot) -> Iterator[Row]:
    """Rows that say something, with their line."""
    count = 0
    for line, row in enumerate(re.split("\r\n|\r|\n", text), 1):
        if not row.strip() or row.lstrip().startswith("#") or (line == 1 and _MARK_LINE.fullmatch(row)):
            continue
        bad = UNPRINTABLE.search(row.replace("\t", " "))
        if bad:
            here = Spot(Text("", line, bad.start() + 1), "", top.file, top.mistakes)
            here.wrong("a character that cannot be shown", "plain text")
            continue
        count += 1
        if count > MOST_ROWS or len(row) > LONGEST_ROW:
            here = Spot(Text("", line, 1), "", top.file, top.mistakes)
            if len(row) > LONGEST_ROW:
                here.wrong(f"a row of {len(row):,} characters", f"at most {LONGEST_ROW:,}")
            else:
                here.wrong(f"more than {MOST_ROWS} rows", "fewer points")
            return
        yield Row(line, row)


def _cells(row: Row, mark: str) -> list[Cell]:
    """The cells of a row; in double quotes a cell may hold the mark, and a quote written twice."""
    cells, at = [], 0
    for cell in _split(row.text, mark):
        bare = cell.strip(" \t" if mark != "\t" else " ")
        column = at + 1 + len(cell) - len(cell.lstrip(" \t" if mark != "\t" else " "))
        if len(bare) >= 2 and bare[0] == bare[-1] == '"':
            bare, column = bare[1:-1].replace('""', '"').strip(), column + 1
        cells.append(Cell(bare, column))
        at += len(cell) + 1
    return cells


def _split(text: str, mark: str) -> Iterator[str]:
    start, quoted, fresh = 0, False, True
    for k, character in enumerate(text):
        again = k > start and text[k - 1] == '"'
        if character == '"' and (quoted or fresh or again):
            quoted = not quoted
        elif character == mark and not quoted:
            yield text[start:k]
            start, fresh = k + 1, True
            continue
        fresh = fresh and (character.isspace() or quoted)
    yield text[start:]


# --- the heading ---------------------------------------------------------------------------------


class Heading(NamedTuple):
    """Which column is which, with the unit of a bare number in it, and what stands between columns."""

    columns: dict[int, tuple[str, str]]
    mark: str
    width: int


def _heading(rows: Sequence[Row], spot: Spot) -> Heading:
    row = rows[0]
    mark = next((m for m in MARKS if m in row.text), ",")
    cells = _cells(row, mark)
    begin = Spot(Text("", row.line, 1), "heading", spot.file, spot.mistakes)
    if not _names_columns(cells, begin):
        return Heading({}, mark, 0)
    columns: dict[int, tuple[str, str]] = {}
    for k, cell in enumerate(cells):
        if not cell.text and not any(_filled(other, mark, k) for other in rows[1:]):
            continue
        here = Spot(Text(cell.text, row.line, cell.column), "heading", spot.file, spot.mistakes)
        found = _column(cell, here)
        if found and found[0] in [name for name, _ in columns.values()]:
            here.wrong(f"the column {shown(found[0])} again", "each column once")
        elif found:
            columns[k] = found
    there = [name for name, _ in columns.values()]
    missing = [name for name in NEEDED if name not in there]
    if missing and not any(m.where == "heading" for m in spot.mistakes):
        begin.wrong(f"no column {listed(missing)}", f"the columns {listed(NEEDED)}, named in the first row")
    return Heading(columns, mark, len(cells))


def _names_columns(cells: Sequence[Cell], begin: Spot) -> bool:
    """Whether it is a heading at all: one that is none, or in one piece, is one mistake."""
    words = [matched[1].lower() for c in cells if (matched := _HEADING.fullmatch(c.text))]
    if len(cells) == 1 and words and words[0] in COLUMNS:
        begin.wrong(f"one column, {shown(cells[0].text)}", PARTED)
        return False
    if not any(near(word, COLUMNS) for word in words):
        what = shown(", ".join(c.text for c in cells))
        begin.wrong(f"{what}, which names no column", f"the columns {listed(NEEDED)}, named in the first row")
        return False
    return True


def _filled(row: Row, mark: str, k: int) -> bool:
    cells = _cells(row, mark)
    return k < len(cells) and bool(cells[k].text)


def _column(cell: Cell, here: Spot) -> tuple[str, str] | None:
    """The column and its unit; None where it is no column that is known."""
    matched = _HEADING.fullmatch(cell.text)
    name, unit = (matched[1].lower(), matched[2]) if matched else (cell.text, "")
    if name not in COLUMNS:
        expected = f"a column: one of {listed(COLUMNS)}"
        here.wrong(shown(cell.text) if cell.text else "nothing", expected, near(name, COLUMNS))
        return None
    usual = COLUMNS[name]
    if not unit:
        return name, usual
    if not usual:
        here.wrong(f"the unit {shown(unit)}", f"no unit: '{name}' is text")
    elif not units.compatible(unit, usual):
        here.wrong(f"the unit {shown(unit)}", "a unit of length such as m, mm, ft or in")
    return name, unit


# --- points --------------------------------------------------------------------------------------


def _is_sound(row: Row, heading: Heading, spot: Spot) -> bool:
    """Whether its cells stand under the heading's: no cell too many, no quote left open."""
    cells = _cells(row, heading.mark)
    here = Spot(Text("", row.line, 1), "row", spot.file, spot.mistakes)
    if opened := next((c for c in cells if _is_open(c.text)), None):
        there = Spot(Text("", row.line, opened.column), "row", spot.file, spot.mistakes)
        there.wrong("a double quote that is not closed in its row", "a double quote at both ends of a cell")
        return False
    if len(cells) > heading.width and any(c.text for c in cells[heading.width :]):
        hint = "With decimal commas, part the columns by semicolons." if heading.mark == "," else ""
        here.wrong(f"{len(cells)} cells", f"{heading.width}, as in the heading", hint)
        return False
    return True


def _is_open(cell: str) -> bool:
    """A quote that begins a cell and has no other end; at the end of a cell it may mean inches."""
    return cell.startswith('"') and cell.count('"') == 1


def _point(row: Row, heading: Heading, spot: Spot) -> Entries:
    cells = _cells(row, heading.mark)
    entries: list[tuple[Text, Node]] = []
    for k, (name, unit) in heading.columns.items():
        cell = cells[k] if k < len(cells) else Cell("", len(row.text) + 1)
        key = Text(name, row.line, cell.column)
        if cell.text or name not in ("height", "what"):
            value = _written(cell.text, unit, heading.mark) if unit else cell.text
            entries.append((key, Text(value, row.line, cell.column, plain=not cell.text)))
        elif name == "height":  # a survey by level has none, a table of points must
            Spot(key, f"row {row.line}.height", spot.file, spot.mistakes).wrong(
                "nothing", f"a height in {unit}"
            )
            entries.append((key, Text("0 mm", row.line, cell.column)))
    return Entries(tuple(entries), row.line, 1)


def _written(text: str, unit: str, mark: str) -> str:
    """A cell as a quantity with its unit, as files have it."""
    if mark != ",":
        text = _DECIMAL_COMMA.sub(r"\1.\2", text)
    bare = bool(text) and not re.search(r"[^0-9\s.,/+-]", text.replace("\N{MINUS SIGN}", "-"))
    return f"{text} {unit}" if bare else text


def _survey_tree(head: Head, points: Items) -> Entries:
    fields = {
        "survey": head.id, "bay": head.bay.bay, "date": head.day.isoformat(), "by": head.by,
        "instrument": head.instrument,
    }  # fmt: skip
    entries: list[tuple[Text, Node]] = [(Text(k, 1, 1), Text(v, 1, 1, False)) for k, v in fields.items()]
    return Entries((*entries, (Text("points", 1, 1), points)), 1, 1)
