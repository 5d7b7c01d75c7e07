"""The questions of a worksheet in words: ranges, choices, which lines share a row, and what is said of several at once."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby

from readiness import units
from readiness.checks.kind import Choice, Question
from readiness.job import System
from readiness.records.reading_limits import ReadingLimits
from readiness.records.worksheet import Block, Detour, Line

TICK_LINES = 3
MOST_LETTERS = 42
"""Of all boxes of one question together, with their edges."""
LONGEST_SMALL = 24
"""Letters of a name that still leaves room for another question beside it."""
MOST_NAMES = 6
"""Names told of what else is asked; the rest is counted."""
IF_WANTED = "if wanted"


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
