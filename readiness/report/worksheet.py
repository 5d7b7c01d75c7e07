"""A worksheet as one page of HTML, made for the printer: one or two sheets of A4 or Letter, to be clipped to a board.

Two columns, read down the first and then the second. Black lines on white, nothing that a worn printer loses, and
every box high enough for a ballpoint pen.
"""

from __future__ import annotations

from collections.abc import Iterator

from readiness.checks.kind import Choice
from readiness.records.worksheet import Block, Leg, Line, Worksheet
from readiness.report import worksheet_lines as asked
from readiness.report import worksheet_words as words
from readiness.report.markup import Child, Drawing, Element, el, page, text_of
from readiness.report.style import BASE
from readiness.report.svg import svg
from readiness.report.worksheet_style import PAPER

PLAN_WIDTHS = (290.0, 265.0, 240.0, 215.0)
"""Pixels in which the plan is drawn; a deep bay is drawn narrower."""
PLAN_SHOWN = 0.825
"""So much smaller it comes on the paper, its words in a little over 8 pt."""
PLAN_DEEPEST = 215.0
"""Pixels of paper, 96 to an inch."""
SHORT = 130
"""Letters of what is said above a check's lines that need not be torn from them."""
NARROWEST_TICK, LETTER = 9.5, 1.5
"""mm; a box with a word in it, and a letter of 8 pt with room to spare."""


def worksheet_page(sheet: Worksheet) -> str:
    """The whole page. Text of sheet, bay and checklist stays text."""
    legs = [_leg(sheet, leg) for leg in sheet.legs]
    plan = None if words.with_plan(sheet) else _plan(sheet)
    body = [el("main", {"class": "columns"}, el("header", *_head(sheet)), legs, plan, _again(sheet))]
    return page(words.title(sheet), body, css=BASE + PAPER)


def _head(sheet: Worksheet) -> Iterator[Child]:
    yield el("p", {"class": "only-screen"}, words.ON_SCREEN)
    yield el("h1", words.title(sheet))
    yield el("p", words.about(sheet))
    asked = ("Job number or plate", "Name", "Date")
    yield el("div", {"class": "fields"}, [el("div", {"class": "field"}, name) for name in asked])
    yield el("p", words.READING, " ", words.USUAL["paper"])


# --- steps ---------------------------------------------------------------------------------------


def _leg(sheet: Worksheet, leg: Leg) -> Element:
    """A step; what its heading leaves free on its line the cautions take."""
    cautions = words.cautions(leg)
    named = words.named_by_step(leg, sheet)
    return el(
        "section",
        {"class": "leg"},
        el(
            "div",
            {"class": "first"},
            _held(leg.blocks[0]) if named else None,
            el("h2", leg.step.title),
            el("p", {"class": "caution"}, el("b", "Caution: "), cautions) if cautions else None,
        ),
        [
            _block(sheet, block, headed=not (named and block is leg.blocks[0]))
            if block.lines
            else _nothing_asked(sheet, leg, block)
            for block in leg.blocks
        ],
    )


def _held(block: Block) -> Child:
    held = words.holds(block)
    return el("span", {"class": "held"}, f"{held} from __:__") if held and block.lines else None


def _nothing_asked(sheet: Worksheet, leg: Leg, block: Block) -> Element | None:
    """Said once for all sides; of a side for which nothing is left to ask, nothing."""
    name = words.bare(leg, block)
    if not name or block.as_on:
        return None
    late = words.late_tools(sheet, block)
    return el("p", el("b", f"{name}: "), words.NOTHING_ASKED, f" {late} ", *_notes(block))


def _block(sheet: Worksheet, block: Block, *, headed: bool) -> list[Child]:
    return [
        _block_head(block, headed=headed),
        el("ol", [_row(sheet, block, lines) for lines in asked.in_rows(block)]),
        _plan(sheet) if block is words.with_plan(sheet) else None,
    ]


def _block_head(block: Block, *, headed: bool) -> Element | None:
    """Its name, unless the step's says it, and what is said of all its lines; a short one stays with the first line."""
    asks = any(not line.same_as for line in block.lines)
    head = [_held(block), el("h3", words.name_of(block))] if headed and asks else []
    notes = list(_notes(block))
    if not head and not notes:
        return None
    short = len(text_of(notes)) <= SHORT
    return el(
        "div",
        {"class": "head short" if short else "head"},
        head,
        el("p", {"class": "note"}, notes) if notes else None,
    )


def _notes(block: Block) -> Iterator[Child]:
    if block.as_on:
        yield f"As on the {block.as_on}."
    elif block.limits:
        yield el("b", "Limits: ")
        yield f"{'; '.join(block.limits)}. "
    for numbers, text in asked.notes(block):
        yield el("b", numbers)
        yield f" {text}. "


# --- lines ---------------------------------------------------------------------------------------


def _row(sheet: Worksheet, block: Block, lines: tuple[Line, ...]) -> Element:
    if len(lines) == 2:
        small = asked.both_small(lines[0], lines[1], block)
        return _two_small(lines) if small else _two_numbers(sheet, block, lines)
    (line,) = lines
    question = line.question
    what = el("span", {"class": "what"}, *_what(block, line))
    if line.same_as:
        return el(
            "li",
            {"class": "same"},
            _number(line),
            el("span", {"class": "what"}, el("b", question.label), f" as in line {line.same_as}"),
        )
    if question.type == "quantity":
        return el("li", _number(line), what, *_number_boxes(sheet, line))
    if question.type == "text":
        return el(
            "li",
            _number(line),
            el("span", {"class": "what text"}, *_what(block, line)),
            el("span", {"class": "box text"}, question.default),
        )
    if asked.inline(question):
        return el("li", _number(line), what, _ticks(line))
    choices = [_choice(line, c) for c in question.choices]
    return el("li", {"class": "deep"}, _number(line), what, el("span", {"class": "choices"}, choices))


def _number(line: Line) -> Element:
    return el("span", {"class": "no"}, str(line.number))


def _what(block: Block, line: Line) -> Iterator[Child]:
    yield el("b", line.question.label)
    if line.question.optional and not asked.if_wanted(block):
        yield f" ({asked.IF_WANTED})"
    if line.limits is not None:
        yield f" {asked.span(line.limits)}"
    if hint := asked.own_hint(line, block):
        yield f" {hint}"


def _number_boxes(sheet: Worksheet, line: Line) -> Iterator[Child]:
    unit = asked.entry_unit(line.question, sheet.system)
    yield el("span", {"class": "box"}, el("span", {"class": "unit"}, unit))
    tool = line.instrument.id if line.instrument is not None else ""
    yield el("span", {"class": "tool"}, tool, el("span", {"class": "time"}, ":"))


def _two_numbers(sheet: Worksheet, block: Block, lines: tuple[Line, ...]) -> Element:
    """Two numbers that belong together, each in a box that says which it is."""
    tools = dict.fromkeys(line.instrument.id for line in lines if line.instrument is not None)
    first, second = lines
    stem = asked.stem(first, second, block)
    hint = (
        el("span", {"class": "what"}, el("b", stem), f" {asked.hint_of_two(lines, block)}") if stem else None
    )
    return el(
        "li",
        {"class": "two told" if stem else "two"},
        hint,
        [_named_box(sheet, line, asked.rest(line, stem)) for line in lines],
        el("span", {"class": "tool"}, " ".join(tools), el("span", {"class": "time"}, ":")),
    )


def _named_box(sheet: Worksheet, line: Line, name: str) -> Element:
    span = el("span", {"class": "span"}, asked.passing(line.limits)) if line.limits is not None else None
    unit = el("span", {"class": "unit"}, asked.entry_unit(line.question, sheet.system))
    return el("span", {"class": "box named"}, el("span", el("b", f"{line.number} "), name, " ", span), unit)


def _two_small(lines: tuple[Line, ...]) -> Element:
    return el(
        "li",
        {"class": "small"},
        [
            [_number(line), el("span", {"class": "what"}, el("b", line.question.label)), _ticks(line)]
            for line in lines
        ],
    )


def _ticks(line: Line) -> Element:
    choices = line.question.choices
    boxes = zip(choices, asked.widths(line.question), strict=True)
    return el("span", {"class": "ticks"}, [_tick(line, choice, letters) for choice, letters in boxes])


def _tick(line: Line, choice: Choice, letters: int) -> Element:
    word = asked.short(choice, line.question.choices)
    broad = f"width: {max(NARROWEST_TICK, letters * LETTER + 1.8):.1f}mm"
    return el("span", {"class": _frame(line, choice, "tick"), "style": broad}, *_keyed(choice.key, word))


def _choice(line: Line, choice: Choice) -> Element:
    box = el("span", {"class": _frame(line, choice, "key")}, choice.key)
    return el("span", {"class": "choice"}, box, asked.short(choice, line.question.choices))


def _frame(line: Line, choice: Choice, kind: str) -> str:
    return f"{kind} usual" if choice.value == line.question.default else kind


def _keyed(key: str, label: str) -> tuple[Child, ...]:
    """The word with its key standing out, or the key before it where it does not begin with it."""
    if label.lower().startswith(key):
        return el("b", label[: len(key)]), label[len(key) :]
    return el("b", key), f" {label}"


# --- plan ----------------------------------------------------------------------------------------


def _plan(sheet: Worksheet) -> Element:
    """Where everything stands, and tapes to the targets."""
    there = words.things(sheet.bay, sheet.system)
    return el(
        "figure",
        Drawing(_drawing(sheet)),
        el(
            "figcaption",
            [el("p", el("b", f"{name}: "), said) for name, said in words.tapes(sheet)],
            el("p", there) if there else None,
        ),
    )


def _drawing(sheet: Worksheet) -> str:
    title = f"{words.title(sheet)}, from above"
    drawn = [
        svg(sheet.plan, title=title, width=width, system=sheet.system, shown=PLAN_SHOWN)
        for width in PLAN_WIDTHS
    ]
    return next((d for d in drawn if _height(d) <= PLAN_DEEPEST), drawn[-1])


def _height(drawing: str) -> float:
    return float(drawing.split('height="', 1)[1].split('"', 1)[0])


# --- the end -------------------------------------------------------------------------------------


def _again(sheet: Worksheet) -> Element:
    head = ("line", "again", "right", "what, with its unit", "tool", "time")
    blank = el("tr", [el("td", {"class": "tickbox"} if k in (1, 2) else None) for k in range(len(head))])
    return el(
        "section",
        {"class": "leg again"},
        el("p", el("b", "More: "), words.AGAIN),
        el(
            "table",
            {"class": "ruled"},
            el("thead", el("tr", [el("th", {"scope": "col"}, word) for word in head])),
            el("tbody", [blank] * words.more_rows(sheet)),
        ),
        el("p", words.TYPING, " ", words.made(sheet)),
    )
