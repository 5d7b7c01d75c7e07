"""What the screen of a job says, as content: the go / no-go page, how to answer, the sentence under the form."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from readiness import units
from readiness.checks.finding import Finding, Visit
from readiness.checks.kind import WORST_FIRST, Choice
from readiness.checks.words import capital
from readiness.job import Instrument, Job, Outcome, System
from readiness.report.columns import cut
from readiness.report.text import known_by
from readiness.spotcheck.words import notices
from readiness.verdict import SideVerdict, Verdict, Word
from readiness.watch import asks
from readiness.wizard.dialogs import Offer
from readiness.wizard.looks import GLYPHS, STYLES, said
from readiness.wizard.rows import Row

Piece = tuple[str, str]


def go_page(verdict: Verdict, visit: Visit, width: int) -> Content:
    """May I start, and until when; what do I do first; why. `width` in cells."""
    numbers = {check: k for k, check in enumerate(todo(verdict), 1)}
    pieces: list[Piece] = []
    for side in verdict.sides.values():
        pieces += _answer(side, verdict.at, width)
    for side in verdict.sides.values():
        pieces += _first(side, verdict.at, visit, numbers, width)
    pieces += _spot_checks(visit.job, width)
    pieces += _why(verdict, width, visit.shop.units)
    pieces.append(("\nCautions\n", "bold"))
    pieces += [(f"{wrapped('  ' + c, width, 0, 2)}\n", "$text-muted") for c in visit.checklist.cautions]
    return Content.assemble(*pieces)


def _side_name(side: str) -> str:
    return "" if side == "single" else f"{side} side: "


WORDS: dict[Word, tuple[Outcome, str, str]] = {
    "go": ("pass", "GO", "bold $text-success"),
    "go-with-waivers": ("waived", "GO WITH WAIVERS", "bold $text-warning"),
    "no-go": ("fail", "NO-GO", "bold $text-error"),
}
"""The verdict as a word with the glyph of an outcome, and last a colour."""


def _answer(side: SideVerdict, now: datetime, width: int) -> list[Piece]:
    outcome, word, style = WORDS[side.verdict]
    pieces: list[Piece] = [(_side_name(side.side).capitalize(), "bold"), (f"{GLYPHS[outcome]} {word}", style)]
    if side.verdict == "no-go":
        left = sum(not f.counts for f in side.findings)
        pieces.append((f"  {'one check does' if left == 1 else f'{left} checks do'} not pass yet", ""))
    elif side.lapses_at is not None:
        first = next(f.title for f in side.findings if f.lapses_at == side.lapses_at)
        pieces.append((f" until {clock(side.lapses_at)}", "bold"))
        pieces.append((f", {span(side.lapses_at - now)} left\n     {first} lapses first", ""))
    if aside := ", ".join(_by_whom(f) for f in side.waived):
        pieces.append((f"\n     {wrapped('Set aside: ' + aside, width, 5, 5)}", ""))
    return [*pieces, ("\n", "")]


def _by_whom(finding: Finding) -> str:
    return finding.title if finding.waiver is None else f"{finding.title} ({finding.waiver.by})"


FOLLOWS = "Nothing to type: it follows from the others."


def _first(side: SideVerdict, at: datetime, visit: Visit, numbers: dict[str, int], width: int) -> list[Piece]:
    """What is to be put right, in this order; what only follows from it says so."""
    if not side.fix_first:
        return []
    alone = len(visit.job.sides) == 1
    title = "Do first, in this order" if alone else f"Do first for the {side.side} side, in this order"
    pieces: list[Piece] = [(f"\n{title}\n", "bold")]
    findings = [side.finding(check_id) for check_id in side.fix_first]
    for finding in (f for f in findings if not f.untouched):
        follows = finding.outcome == "lapsed" and not asks(visit, visit.checklist.check(finding.check), at)
        text = wrapped(FOLLOWS if follows else finding.remedy, width, 7 + cell_len(finding.title), 5)
        pieces += [(f"  {numbers[finding.check]:>2} ", ""), (finding.title, "bold"), (f"  {text}\n", "")]
    if still := ", ".join(f"{numbers[f.check]} {f.title}" for f in findings if f.untouched):
        pieces.append((f"     {wrapped('Still to answer: ' + still, width, 5, 5)}\n", ""))
    return pieces


def _spot_checks(job: Job, width: int) -> list[Piece]:
    """What somebody found otherwise who took it again, be it after the moment of the verdict, which it does not change."""
    found = [capital(text) for text in notices(job)]
    pieces: list[Piece] = [("\nSpot check\n", "bold")] if found else []
    for text in found:
        pieces.append((f"  {GLYPHS['too_close']} {wrapped(f'{text}.', width, 4, 4)}\n", "bold $text-warning"))
    return pieces


def _why(verdict: Verdict, width: int, system: System) -> list[Piece]:
    """What a person set aside first, then what stands in the way, in whole sentences; what passed after it, a line each."""
    pieces: list[Piece] = [("\nWhy\n", "bold")]
    rows = sorted(_all(verdict), key=lambda row: (row[0].outcome != "waived", row[0].counts))
    for finding, side in rows:
        if not finding.untouched:
            pieces += _finding(finding, side, width, system)
    return pieces


def _all(verdict: Verdict) -> list[tuple[Finding, str]]:
    """Every finding once, with its side where the sides differ."""
    sides = list(verdict.sides.values())
    rows = []
    for k, side in enumerate(sides):
        for finding in side.findings:
            shared = [s for s in sides if any(f is finding for f in s.findings)]
            if shared[0] is side:
                rows.append((finding, "" if len(shared) == len(sides) else f", {sides[k].side}"))
    return rows


MARGIN = 14
"""Cells in front of the sentences of the go / no-go page: the outcome stands there."""
LEAST = 16
"""Cells that a sentence needs of the line of its title."""


def _in_brief(finding: Finding, system: System) -> str:
    """The number nearest to its limit first, so that it is read even where the line is short."""
    part = finding.deciding
    if part is None or not isinstance(part.value, float) or part.margin is None or not part.unit:
        return finding.reason
    value = units.show(part.value, part.unit, system)
    margin = units.show(part.margin, "delta_degC" if part.unit == "degC" else part.unit, system)
    return f"{value}, {margin} to spare: {part.label.rstrip(',')}"


def _finding(finding: Finding, side: str, width: int, system: System) -> list[Piece]:
    title, how = f"{finding.title}{side}", known_by(finding)
    known = f" ({how})" if how else ""
    beside = MARGIN + cell_len(title + known) + 2 <= width - LEAST
    taken = MARGIN + cell_len(title + known if beside else title) + 2
    head: list[Piece] = [
        (f"  {said(finding.outcome):<{MARGIN - 2}}", STYLES[finding.outcome]),
        (title, "bold"),
        (f"{known}  " if beside else "  ", "$text-muted"),
    ]
    if finding.outcome == "pass":
        room, text = max(LEAST, width - taken), _in_brief(finding, system)
        text = text if cell_len(text) <= room else text[: room - 1] + "…"
        return [*head, (f"{text}\n", "")]
    reason = capital(finding.reason.removeprefix(f"{finding.title}: "))
    front = [] if beside or not how else [f"({how})"]  # where there is no room beside the title
    lines = wrapped(" ".join((*front, reason, *finding.notes)), width, taken, MARGIN)
    return [*head, (f"{lines}\n", "")]


def wrapped(text: str, width: int, first: int, rest: int) -> str:
    """Text broken so that its first line begins at cell `first` and the others are indented to `rest`."""
    lines = textwrap.wrap(
        text, max(width, rest + 20), initial_indent="x" * min(first, width - 10), subsequent_indent=" " * rest
    )
    return "\n".join(lines)[min(first, width - 10) :]


def prompt(
    row: Row, instrument: Instrument | None, grade: str, told_by: str, today: date, width: int
) -> Content:
    """The lines under the form: how to answer this question; on what evidence, with which instrument.

    `width` in cells: no choice is parted from its key where a line ends.
    """
    question = row.question
    pieces: list[Piece] = [(capital(question.hint), "$text-muted"), ("\n", "")]
    pieces += choices_said(question.choices, width)
    known = f"told by {told_by}" if told_by else grade
    if question.instrumented:
        known += (
            f" with {tool_line(instrument, today)}" if instrument else "; the shop has no instrument for it"
        )
    late = instrument is not None and question.instrumented and instrument.due < today
    pieces.append((known, "bold $text-warning" if late else "$text-muted"))
    notes = "; ".join(r.note for r in row.readings if r.note)
    pieces.append((f"  note: {notes}" if notes else "", "$text-muted"))
    return Content.assemble(*pieces)


def choices_said(choices: Sequence[Choice], width: int) -> list[Piece]:
    """As many to a line as it holds."""
    pieces: list[Piece] = []
    used = 0
    for choice in choices:
        said = f" {choice.label}"
        size = cell_len(choice.key) + 2 + cell_len(said)
        if used:
            new_line = used + 2 + size > width
            pieces.append(("\n" if new_line else "  ", ""))
            used = 0 if new_line else used + 2
        pieces += [(f"\u00a0{choice.key}\u00a0", "bold reverse"), (said, "")]
        used += size
    return [*pieces, ("\n", "")] if pieces else []


def tool_line(instrument: Instrument, today: date) -> str:
    """An instrument with what it is good to, and whether it may be used today."""
    due = f"due {instrument.due}" if instrument.due >= today else f"OUT OF DATE since {instrument.due}"
    return f"{instrument.title}, ±{instrument.accuracy}, {due}"


def sentence(row: Row, finding: Finding) -> Content:
    """The finding on the current question and the next thing to do; else what is found of its check."""
    part = row.part
    if finding.outcome == "waived":
        return _said(finding.reason, "waived", "")
    if part is None and row.answered and finding.outcome == "pass":
        return Content(finding.reason)
    if (
        part is not None
        and (row.answered or part.outcome != "not_done")
        and (row.failing or not finding.wrong)
    ):
        todo = "" if part.outcome in ("pass", "lapsed") else part.remedy or finding.remedy
        return _said(part.reason, part.outcome, todo)
    return wrong(finding) if finding.wrong else Content("")


def worst_first(findings: Sequence[Finding]) -> list[Finding]:
    return sorted(findings, key=lambda f: WORST_FIRST.index(f.outcome))


def of_step(findings: Sequence[Finding]) -> Content:
    """What a step that asks nothing has found: the worst and what to do about it; what everybody may know after a pass."""
    worst = worst_first(findings)[0]
    notes = " ".join(worst.notes) if worst.outcome == "pass" else ""
    return _said(worst.reason, worst.outcome, notes or worst.remedy)


def wrong(finding: Finding) -> Content:
    return _said(finding.reason, finding.outcome, finding.remedy)


def _said(reason: str, outcome: Outcome, todo: str) -> Content:
    return Content.assemble((reason, STYLES[outcome]), (f" {todo}" if todo else "", "bold"))


def todo(verdict: Verdict) -> list[str]:
    """Check ids in the order in which the go / no-go page numbers them, one list for all sides."""
    sides = verdict.sides.values()
    numbered = [c for s in sides for c in s.fix_first if not s.finding(c).untouched]
    return list(dict.fromkeys([*numbered, *verdict.fix_first]))


def side_offers(sides: tuple[str, ...]) -> list[Offer]:
    """One side or both; the value names them with a blank between."""
    offers = [Offer(s[0], s, f"{s} side") for s in sides]
    return [*offers, Offer("b", " ".join(sides), "both sides")] if len(sides) > 1 else offers


def clock(at: datetime | None) -> str:
    return "--:--" if at is None else at.astimezone().strftime("%H:%M")


def span(length: timedelta) -> str:
    """'1 h 12 min'."""
    minutes = max(0, int(length.total_seconds() // 60))
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def header(
    visit: Visit, person: str, kept: datetime | None, air: float | None, width: int, as_of: str = ""
) -> str:
    """One line: job, car, bay, air; at its right end when the last answer was kept, or as of when the next one counts."""
    parts = [visit.job.job, visit.sheet.title]
    if air is not None:
        parts.append(units.show(air, "degC", visit.shop.units))
    end = f"  kept {clock(kept)} " if kept else f"  {person} "
    end = f"  read at {as_of} " if as_of else end
    room = max(0, width - 1 - cell_len(end))
    bay = visit.bay.title
    names = (
        bay,
        bay.partition(",")[0],
    )  # 'Bay 2' where there is no room for 'Bay 2, the wide one in the middle'
    lines = [" " + "  ".join(p for p in (*parts, name) if p) for name in names]
    line = next((x for x in lines if cell_len(x) <= room), cut(lines[-1], room))
    return set_cell_size(line, room) + end
