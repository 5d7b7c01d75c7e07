"""What a worksheet says beside its questions: sentences that paper and plain text share."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import groupby

from readiness import __version__, units
from readiness.checks.aim.layout import Row, ahead_behind, left_right
from readiness.checks.clear_area.plan_view import drawn
from readiness.checks.clear_area.things import obstacle_shape
from readiness.checks.kind import Choice, Question
from readiness.checks.picture import bounds
from readiness.checks.words import capital
from readiness.job import Bay, Obstacle, System
from readiness.records.reading_limits import ReadingLimits
from readiness.records.worksheet import Block, Detour, Leg, Line, Worksheet

TICK_LINES = 3
MOST_LETTERS = 42
"""Of all boxes of one question together, with their edges."""
LONGEST_SMALL = 24
"""Letters of a name that still leaves room for another question beside it."""
MOST_NAMES = 6
"""Names told of what else is asked; the rest is counted."""

READING = "Ranges are what counts with the tool named, in brackets the bare limits. Another tool: write which, by the time."
ON_SCREEN = "This page is made for the printer: two columns on A4 or Letter, on both sides of one sheet."
USUAL = {"paper": "Thick frame: the usual answer.", "text": "An asterisk marks the usual answer."}
AGAIN = (
    "Cross nothing out. Here go second readings, what was put right, set aside (and why) or happened meanwhile (car moved, "
    "door opened), and what else was asked, with the number of the line."
)
TYPING = (
    "Typing it in: readiness, then n for a new job. It asks in this order under these headings; the numbers are the paper's "
    "own. An answer counts from when it is typed: type it at once, and read again what is older than its heading allows."
)
IF_WANTED = "if wanted"
NOTHING_ASKED = "Nothing to write: it follows from the other steps."


def title(sheet: Worksheet) -> str:
    return f"Worksheet: {sheet.sheet.title}{sides_of(sheet)}"


def sides_of(sheet: Worksheet) -> str:
    """', left', ', left and right'; empty where there is one calibration only."""
    return "" if sheet.sides == ("single",) else f", {' and '.join(sheet.sides)}"


def more_rows(sheet: Worksheet) -> int:
    """Lines for second readings and for what an answer leads to: as many as two sheets of Letter leave room for."""
    return 4 if len(sheet.sides) > 1 else 9


def about(sheet: Worksheet) -> str:
    """Document, bay and survey in one line."""
    document = sheet.sheet.document
    return " · ".join((f"Procedure {document.reference}", *_bay(sheet)))


def made(sheet: Worksheet) -> str:
    """When it was made, since limits and instruments change."""
    return f"Made by readiness {__version__} on {sheet.at.date()}."


def _bay(sheet: Worksheet) -> Iterator[str]:
    if sheet.bay is None:
        yield "no bay named: its things and its floor survey are not on this paper"
        return
    yield sheet.bay.title
    survey = sheet.bay.survey
    if survey is None:
        yield "its floor is not surveyed"
        return
    until = survey.date + timedelta(days=survey.renew_after)
    word = "good until" if until >= sheet.at.date() else "OUT OF DATE since"
    yield f"floor surveyed {survey.date} by {survey.by}, {word} {until}"


# --- one question --------------------------------------------------------------------------------


def entry_unit(question: Question, system: System) -> str:
    """The unit beside the box; a fraction is written as one."""
    if question.type != "quantity":
        return ""
    return units.entry_unit(question.unit, system) or ("as 3/4" if question.unit == "fraction" else "")


def span(limits: ReadingLimits) -> str:
    """'pass 228–237 (225–240)'; without an instrument the limits alone. The unit stands in the box."""
    own = _span(limits.low, limits.high)
    if limits.undecidable and limits.instrument is not None:
        return f"{own}; {limits.instrument.id} cannot decide it"
    if limits.instrument is None or not limits.counts:
        return own
    return f"pass {_span(limits.counts_from, limits.counts_to)} ({own})"


def passing(limits: ReadingLimits) -> str:
    """What counts, alone: for a box with little room."""
    return _span(limits.counts_from, limits.counts_to) if limits.counts else _span(limits.low, limits.high)


def _span(low: str, high: str) -> str:
    if low and high:
        return f"{low} to {high}" if low.startswith(("-", "\u2212")) else f"{low}\u2013{high}"
    return f"min {low}" if low else f"max {high}"


def short(choice: Choice, among: Sequence[Choice]) -> str:
    """The words of a choice up to where it explains itself, if that tells it from the others."""
    cut = [re.split("[,:;]", c.label)[0] for c in among]
    return re.split("[,:;]", choice.label)[0] if len(set(cut)) == len(cut) else choice.label


def widths(question: Question) -> tuple[int, ...]:
    """Letters that a box for each choice is to be broad, so that its words take three lines; none for numbers and texts."""
    found = []
    for choice in question.choices:
        words = short(choice, question.choices)
        found.append(next(n for n in range(4, len(words) + 5) if len(textwrap.wrap(words, n)) <= TICK_LINES))
    return tuple(
        max(n, max(map(len, short(c, question.choices).split())))
        for n, c in zip(found, question.choices, strict=True)
    )


def inline(question: Question) -> bool:
    """Whether the boxes of its choices leave room for the question beside them."""
    return bool(question.choices) and sum(widths(question)) + 2 * len(question.choices) <= MOST_LETTERS


# --- what several lines share --------------------------------------------------------------------


def in_rows(block: Block) -> list[tuple[Line, ...]]:
    """The lines of a check as they stand on the paper: two in a row where they have room."""
    rows: list[tuple[Line, ...]] = []
    for line in block.lines:
        before = rows[-1] if rows else ()
        if len(before) == 1 and any(fit(before[0], line, block) for fit in (stem, _both_bare, both_small)):
            rows[-1] = (before[0], line)
        else:
            rows.append((line,))
    return rows


def stem(line: Line, other: Line, block: Block) -> str:
    """What the names of two numbers with a hint begin with alike: 'Front mark' of 'Front mark, left rim'; else nothing."""
    if not (_is_number(line) and _is_number(other) and hint_of_two((line, other), block)):
        return ""
    begins = [re.split("[:,] ", x.question.label)[0] for x in (line, other)]
    return begins[0] if begins[0] == begins[1] else ""


def rest(line: Line, begin: str) -> str:
    """The name without what it begins with: 'left rim'."""
    return line.question.label.removeprefix(begin).lstrip(":, ")


def hint_of_two(lines: tuple[Line, ...], block: Block) -> str:
    """The hints of two lines as one: where they differ in single words, the second's stand in brackets."""
    hints = list(dict.fromkeys(h for line in lines if (h := own_hint(line, block))))
    first, second = (hints[0].split(), hints[-1].split()) if hints else ([], [])
    if len(hints) < 2 or len(first) != len(second):
        return "; ".join(hints)
    return " ".join(a if a == b else f"{a} ({b})" for a, b in zip(first, second, strict=True))


def _is_number(line: Line) -> bool:
    return line.question.type == "quantity" and not line.same_as


def _both_bare(line: Line, other: Line, block: Block) -> bool:
    """Two numbers of which all there is to say is said above."""
    return all(_is_number(x) and not own_hint(x, block) for x in (line, other))


def both_small(line: Line, other: Line, block: Block) -> bool:
    """Two short questions with two short answers."""
    return all(
        inline(x.question) and len(x.question.label) <= LONGEST_SMALL and not own_hint(x, block)
        and len(x.question.choices) == 2 for x in (line, other)
    )  # fmt: skip


def notes(block: Block) -> list[tuple[str, str]]:
    """What is said once for several lines of a check: the numbers of the lines, and what."""
    if block.as_on:
        return []
    said: dict[str, list[int]] = {}
    for line in block.lines:
        wanted = (IF_WANTED,) if if_wanted(block) and line.question.optional else ()
        for text in (*wanted, *shared_hint(line, block), *_choices(line)):
            said.setdefault(text, []).append(line.number)
    together: dict[str, list[str]] = {}
    for text, numbers in said.items():
        together.setdefault(ranges(numbers), []).append(text)
    return [(numbers, "; ".join(texts)) for numbers, texts in together.items()]


def if_wanted(block: Block) -> bool:
    """Whether so many lines need no answer that it is said above them."""
    return sum(line.question.optional for line in block.lines) > 2


def own_hint(line: Line, block: Block) -> str:
    """The hint of a line where it is the line's alone."""
    return "" if block.as_on or shared_hint(line, block) else line.question.hint


def shared_hint(line: Line, block: Block) -> tuple[str, ...]:
    hint = _hint(line)
    others = sum(_hint(other) == hint for other in block.lines)
    return (hint,) if hint and others > 1 else ()


def _hint(line: Line) -> str:
    """The hint, told of no thing in particular, so that lines that differ in its name only share it."""
    words = line.question.hint
    name = line.question.label
    small = name[:1].lower() + name[1:]
    return words.replace(f"the {small}", "it").replace(f"the {name}", "it") if small else words


def _choices(line: Line) -> Iterator[str]:
    """What choices mean that were cut short, and what else to write after them; alike ones once."""
    choices = line.question.choices
    detours = {d.choice: d for d in line.detours}
    said: dict[tuple[str, str], list[str]] = {}
    for choice in choices:
        cut = short(choice, choices)
        meaning = choice.label[len(cut) + 1 :].strip()
        more = _more(detours[choice], line) if choice in detours else ""
        if meaning or more:
            said.setdefault((meaning, more), []).append(cut)
    for (meaning, more), names in said.items():
        yield " or ".join(names) + (f": {meaning}" if meaning else "") + (f" ({more})" if more else "")


def _more(detour: Detour, line: Line) -> str:
    """What else to write; of a choice after which more of the same is asked, that it is the same."""
    longest = max(line.detours, key=lambda d: len(d.questions))
    if _holds(longest, detour):
        return f"as far as it is asked, the same as after '{short(longest.choice, line.question.choices)}'"
    return f"write below: {listed(detour, line.question)}"


def _holds(longer: Detour, detour: Detour) -> bool:
    """Whether a detour asks everything that another asks, and more."""
    more = len(longer.questions) > len(detour.questions)
    return more and {_end(q) for q in detour.questions} <= {_end(q) for q in longer.questions}


def _end(question: Question) -> str:
    return question.label.rpartition(": ")[2]


def listed(detour: Detour, question: Question) -> str:
    """What else is asked, by name; what the names have in common stands once."""
    labels = [q.label for q in detour.questions]
    labels = [a for a in dict.fromkeys(labels) if a != question.label and a.rpartition(", ")[0] not in labels]
    pairs = [
        (before, after) if after else ("", before) for before, _, after in (a.partition(": ") for a in labels)
    ]
    ends = {after for _, after in pairs}
    if len(pairs) > 1 and len(ends) == 1:  # one thing at each of several places
        return f"{ends.pop()} at {_first_few([before for before, _ in pairs])}"
    groups = [(before, [after for _, after in group]) for before, group in groupby(pairs, lambda p: p[0])]
    plain = ("", "-", question.label)
    return "; ".join(
        _first_few(after) if before in plain else f"{_lowered(before)}: {', '.join(after)}"
        for before, after in groups
    )


def _first_few(names: Sequence[str]) -> str:
    named = ", ".join(map(_lowered, names[:MOST_NAMES] if len(names) > MOST_NAMES + 1 else names))
    return f"{named} and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES + 1 else named


def _lowered(text: str) -> str:
    """Without the capital that a label begins with; 'LR to LF' and 'X' stay."""
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def ranges(numbers: Sequence[int]) -> str:
    """'11, 15–18'."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs)


def name_of(block: Block) -> str:
    """The heading of a check, as the wizard has it."""
    return block.check.title if block.side in ("", "single") else f"{block.check.title}, {block.side}"


def bare(leg: Leg, block: Block) -> str:
    """The name of a check that asks nothing, with all such sides; empty where it was said of another side already."""
    alike = [b for b in leg.blocks if b.check.id == block.check.id and not b.lines]
    return " and ".join(map(name_of, alike)) if alike[0] is block else ""


def named_by_step(leg: Leg, sheet: Worksheet) -> bool:
    """Whether the heading of the step says all that one of its first check could say."""
    first = leg.blocks[0]
    return len(leg.blocks) == 1 or (
        first.check.title == leg.step.title and not (first.side and len(sheet.sides) > 1)
    )


def holds(block: Block) -> str:
    """'holds 60 min'; empty for what never lapses."""
    if block.check.lasting:
        return ""
    minutes = block.check.hold
    return f"holds {minutes / 60:g} h" if minutes >= 120 and minutes % 60 == 0 else f"holds {minutes:g} min"


def cautions(leg: Leg) -> str:
    """The first sentence of each: the paper is to be read with one eye on the car."""
    said = list(dict.fromkeys(re.split(r"(?<=[.!]) ", c)[0] for c in leg.cautions))
    small = [c.lower() for c in said]
    return " ".join(c for k, c in enumerate(said) if not any(small[k] in o for o in small[:k]))


def late_tools(sheet: Worksheet, block: Block) -> str:
    """Under the check of the instruments those that are out of date, as a sentence; else nothing."""
    late = ", ".join(f"{i.id} since {i.due}" for i in sheet.instruments if i.due < sheet.at.date())
    return f"OUT OF DATE: {late}." if late and block.check.kind == "instruments" else ""


# --- bay and targets -----------------------------------------------------------------------------


def things(bay: Bay | None, system: System) -> str:
    """What stands in the bay and where, as its file has it."""
    if bay is None or not bay.obstacles:
        return ""
    return f"In the bay, from its 0, 0: {'; '.join(_thing(o, system) for o in bay.obstacles)}."


def _thing(thing: Obstacle, system: System) -> str:
    x1, y1, x2, y2 = bounds((drawn("obstacle", obstacle_shape(thing)),))

    def reach(low: float, high: float) -> str:
        a, b = (units.number(v, "m", system, 2) for v in (low, high))
        return a if a == b else f"{a} to {b}"

    unit = units.label("m", system)
    high = f", up to {units.show(thing.height.high, 'm', system, digits=2)}" if thing.height else ""
    metal = {"yes": ", metal", "unknown": ", perhaps metal"}.get(thing.metal, "")
    moves = "" if thing.fixed else ", can be moved"
    return f"{thing.name} x {reach(x1, x2)}, y {reach(y1, y2)} {unit}{high}{metal}{moves}"


def with_plan(sheet: Worksheet) -> Block | None:
    """The check under which the plan, the tapes and what stands in the bay are told: the first clear area."""
    blocks = (b for leg in sheet.legs for b in leg.blocks)
    return next((b for b in blocks if b.check.kind == "clear_area"), None)


def tapes(sheet: Worksheet) -> list[tuple[str, str]]:
    """Each target's name, and its distances across and from each mark."""
    return [_tape(row, sheet.system, len(sheet.sides) > 1) for row in sheet.tapes]


def _tape(row: Row, system: System, several_sides: bool) -> tuple[str, str]:
    def mm(metres: float) -> str:
        return units.tape(abs(metres), system)

    across = f"{mm(row.across)} {left_right(row.across).removesuffix(' of')}" if row.across else "on the line"
    name = f"{capital(row.target)}, {row.side}" if several_sides else capital(row.target)
    legs = (
        f"{mm(t.along)} {ahead_behind(t.along)} the {t.mark} mark"
        + (f" (straight {mm(t.diagonal)})" if row.across else "")
        for t in row.tapes[::-1]
    )
    return name, f"{across}; {'; '.join(legs)}."
