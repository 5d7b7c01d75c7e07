"""A worksheet as plain lines, 78 columns wide, for a printer without a browser."""

from __future__ import annotations

from collections.abc import Iterator

from readiness.checks.kind import Question
from readiness.records.worksheet import Block, Leg, Line, Worksheet
from readiness.report import worksheet_lines as asked
from readiness.report import worksheet_words as words
from readiness.report.text import WIDTH, clean, wrapped

BLANK = "_" * 7
INDENT = " " * 5


def worksheet_text(sheet: Worksheet) -> str:
    """Every line of the paper, in the same order; ends in a line end."""
    head = [*wrapped(words.title(sheet)), *wrapped(words.about(sheet)), *wrapped(words.made(sheet)), ""]
    head += [
        f"Job number or plate {BLANK * 2}   Name {BLANK * 2}   Date {BLANK}",
        "",
        *wrapped(f"{words.READING} {words.USUAL['text']}"),
    ]
    legs = [line for leg in sheet.legs for line in _leg(sheet, leg)]
    return "\n".join((*head, *legs, *_end(sheet))) + "\n"


def _leg(sheet: Worksheet, leg: Leg) -> Iterator[str]:
    named = words.named_by_step(leg, sheet)
    yield ""
    yield _headed(leg.step.title.upper(), leg.blocks[0] if named else None)
    if cautions := words.cautions(leg):
        yield from wrapped(f"Caution: {cautions}")
    for block in leg.blocks:
        if block.lines:
            yield from _block(sheet, block, headed=not (named and block is leg.blocks[0]))
        elif (name := words.bare(leg, block)) and not block.as_on:
            yield from wrapped(f"{name}: {words.NOTHING_ASKED} {words.late_tools(sheet, block)}")
            yield from _notes(block)
        if block is words.with_plan(sheet):
            yield from _places(sheet)


def _headed(title: str, block: Block | None) -> str:
    held = words.holds(block) if block is not None and block.lines else ""
    after = f"{held} from __:__" if held else ""
    title = clean(title)
    return f"{title}{after:>{max(len(after) + 1, WIDTH - len(title))}}" if after else title


def _block(sheet: Worksheet, block: Block, *, headed: bool) -> Iterator[str]:
    if headed and any(not line.same_as for line in block.lines):
        yield _headed(words.name_of(block), block)
    yield from _notes(block)
    for line in block.lines:
        yield from _line(sheet, block, line)


def _notes(block: Block) -> Iterator[str]:
    if block.as_on:
        yield f"As on the {block.as_on}."
    elif block.limits:
        yield from wrapped(f"Limits: {'; '.join(block.limits)}.")
    for numbers, text in asked.notes(block):
        yield from wrapped(f"{numbers} {text}.")


def _line(sheet: Worksheet, block: Block, line: Line) -> Iterator[str]:
    question = line.question
    label = f"{line.number:>4} {clean(question.label)}"
    if line.same_as:
        yield f"{label}: as in line {line.same_as}"
        return
    wanted = f" ({asked.IF_WANTED})" if question.optional and not asked.if_wanted(block) else ""
    span = f"  {asked.span(line.limits)}" if line.limits is not None else ""
    yield from _beside(f"{label}{wanted}{span}", _answers(sheet, line))
    if hint := asked.own_hint(line, block):
        yield from wrapped(hint, INDENT)


def _beside(label: str, answers: list[str]) -> Iterator[str]:
    """The answer at the end of the line, or below it where the two do not fit."""
    answer, room = "  ".join(answers), WIDTH - len(label)
    if len(answer) + 2 <= room:
        yield f"{label}{answer:>{room}}"
        return
    yield from wrapped(label.strip(), label[: len(label) - len(label.lstrip())], INDENT)
    for each in answers:
        yield from wrapped(each, INDENT)


def _answers(sheet: Worksheet, line: Line) -> list[str]:
    """Where to write or tick; a choice each."""
    question = line.question
    if question.type == "text":
        return [f"{clean(question.default)} {BLANK * 4}".strip()]
    if question.type == "choice":
        return list(_choices(question))
    tool = clean(line.instrument.id) if line.instrument is not None else ""
    return [f"{BLANK} {asked.entry_unit(question, sheet.system)}  {tool} __:__"]


def _choices(question: Question) -> Iterator[str]:
    """'[ ] y: yes'; the usual answer has an asterisk."""
    for choice in question.choices:
        usual = "*" if choice.value == question.default else ""
        yield f"[ ] {choice.key}{usual}: {asked.short(choice, question.choices)}"


def _places(sheet: Worksheet) -> Iterator[str]:
    for name, said in words.tapes(sheet):
        yield from wrapped(f"{name}: {said}", INDENT)
    if there := words.things(sheet.bay, sheet.system):
        yield from wrapped(there, INDENT)


def _end(sheet: Worksheet) -> Iterator[str]:
    if words.with_plan(sheet) is None:
        yield from _places(sheet)
    yield ""
    yield "MORE"
    yield from wrapped(words.AGAIN)
    for _ in range(words.more_rows(sheet)):
        yield f"  line ____ [ ] again [ ] put right {BLANK * 3} tool {BLANK} __:__"
    yield ""
    yield from wrapped(words.TYPING)
