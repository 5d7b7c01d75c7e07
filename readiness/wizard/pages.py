"""What the pages say, as content: the go / no-go page, the help of a check, the sentence under the form."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.finding import Finding, Visit
from readiness.checks.kind import WORST_FIRST, Choice
from readiness.checks.words import capital
from readiness.job import VOID_EVENTS, Instrument, Outcome, System
from readiness.verdict import SideVerdict, Verdict
from readiness.wizard.dialogs import Offer
from readiness.wizard.looks import GLYPHS, STYLES, said
from readiness.wizard.rows import Row

Piece = tuple[str, str]


def go_page(verdict: Verdict, visit: Visit, width: int) -> Content:
    """May I start, and until when; what do I do first; why. `width` in cells."""
    numbers = {check: k for k, check in enumerate(todo(verdict), 1)}
    pieces: list[Piece] = []
    for side in verdict.sides.values():
        pieces += _answer(side, verdict.at)
    for side in verdict.sides.values():
        pieces += _first(side, numbers, width, alone=len(verdict.sides) == 1)
    pieces += _why(verdict, width, visit.shop.units)
    pieces.append(("\nCautions\n", "bold"))
    pieces += [(f"{wrapped('  ' + c, width, 0, 2)}\n", "$text-muted") for c in visit.checklist.cautions]
    return Content.assemble(*pieces)


def in_short(verdict: Verdict) -> str:
    """A job in a list of jobs: '✓ go until 10:11', '14 of 16 checks to do', 'left ✓ 10:14, right ✗'."""
    sides = list(verdict.sides.values())
    if len(sides) == 1:
        return _side_in_short(sides[0])
    return ", ".join(
        f"{s.side} {GLYPHS[_state_of(s)]} {clock(s.lapses_at) if s.lapses_at else ''}".rstrip() for s in sides
    )


def _side_in_short(side: SideVerdict) -> str:
    state, left = _state_of(side), sum(not f.counts for f in side.findings)
    if state == "pass":
        return f"{GLYPHS[state]} go until {clock(side.lapses_at)}"
    if state == "fail":
        wrong = sum(f.outcome in ("fail", "too_close") for f in side.findings)
        return f"{GLYPHS[state]} no-go, {wrong} to put right"
    if state == "lapsed":
        return f"{GLYPHS[state]} lapsed"
    return f"{left} of {len(side.findings)} checks to do"


def _state_of(side: SideVerdict) -> Outcome:
    """One word for a side that is not finished: is something wrong, lapsed, or only not done yet."""
    outcomes = {f.outcome for f in side.findings if not f.counts}
    if outcomes & {"fail", "too_close"}:
        return "fail"
    if "lapsed" in outcomes:
        return "lapsed"
    return "not_done" if outcomes else "pass"


def _side_name(side: str) -> str:
    return "" if side == "single" else f"{side} side: "


def _answer(side: SideVerdict, now: datetime) -> list[Piece]:
    name = _side_name(side.side).capitalize()
    if side.verdict == "go":
        pieces: list[Piece] = [(name, "bold"), (f"{GLYPHS['pass']} GO", "bold $text-success")]
        if side.lapses_at is not None:
            first = next(f.title for f in side.findings if f.lapses_at == side.lapses_at)
            left = span(side.lapses_at - now)
            pieces.append((f" until {clock(side.lapses_at)}", "bold"))
            pieces.append((f", {left} left\n     {first} lapses first", ""))
        return [*pieces, ("\n", "")]
    open_checks = sum(not f.counts for f in side.findings)
    checks = "one check does" if open_checks == 1 else f"{open_checks} checks do"
    return [
        (name, "bold"),
        (f"{GLYPHS['fail']} NO-GO", "bold $text-error"),
        (f"  {checks} not pass yet\n", ""),
    ]


def _first(side: SideVerdict, numbers: dict[str, int], width: int, *, alone: bool) -> list[Piece]:
    if not side.fix_first:
        return []
    title = "Do first, in this order" if alone else f"Do first for the {side.side} side, in this order"
    pieces: list[Piece] = [(f"\n{title}\n", "bold")]
    findings = [side.finding(check_id) for check_id in side.fix_first]
    for finding in (f for f in findings if not f.untouched):
        text = wrapped(finding.remedy, width, 7 + cell_len(finding.title), 5)
        pieces += [(f"  {numbers[finding.check]:>2} ", ""), (finding.title, "bold"), (f"  {text}\n", "")]
    if still := ", ".join(f"{numbers[f.check]} {f.title}" for f in findings if f.untouched):
        pieces.append((f"     {wrapped('Still to answer: ' + still, width, 5, 5)}\n", ""))
    return pieces


def _why(verdict: Verdict, width: int, system: System) -> list[Piece]:
    """What stands in the way first, in whole sentences; what passed after it, a line each."""
    pieces: list[Piece] = [("\nWhy\n", "bold")]
    rows = sorted(_all(verdict), key=lambda row: row[0].counts)
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


def _in_brief(finding: Finding, system: System) -> str:
    """The number nearest to its limit first, so that it is read even where the line is short."""
    part = finding.deciding
    if part is None or not isinstance(part.value, float) or part.margin is None or not part.unit:
        return finding.reason
    value = units.show(part.value, part.unit, system)
    margin = units.show(part.margin, "delta_degC" if part.unit == "degC" else part.unit, system)
    return f"{value}, {margin} to spare: {part.label.rstrip(',')}"


def _finding(finding: Finding, side: str, width: int, system: System) -> list[Piece]:
    known = f" ({finding.evidence})" if finding.evidence else ""
    head: list[Piece] = [
        (f"  {said(finding.outcome):<{MARGIN - 2}}", STYLES[finding.outcome]),
        (f"{finding.title}{side}", "bold"),
        (f"{known}  ", "$text-muted"),
    ]
    taken = MARGIN + cell_len(finding.title + side + known) + 2
    if finding.outcome == "pass":
        room, text = max(10, width - taken), _in_brief(finding, system)
        text = text if cell_len(text) <= room else text[: room - 1] + "…"
        return [*head, (f"{text}\n", "")]
    lines = wrapped(" ".join((finding.reason, *finding.notes)), width, taken, MARGIN)
    return [*head, (f"{lines}\n", "")]


def wrapped(text: str, width: int, first: int, rest: int) -> str:
    """Text broken so that its first line begins at cell `first` and the others are indented to `rest`."""
    lines = textwrap.wrap(
        text, max(width, rest + 20), initial_indent="x" * min(first, width - 10), subsequent_indent=" " * rest
    )
    return "\n".join(lines)[min(first, width - 10) :]


def help_page(check: Check, row: Row | None, visit: Visit, working: Sequence[str] = ()) -> Content:
    """Why the check matters, how to measure, usual mistakes, limits and where they come from.

    `working`: how it was worked out; nobody needs that to act, so it stands here alone.
    """
    told = worked_out(working)
    first = bool(told) and row is None  # what follows from other steps is what one wants to know here
    pieces: list[Piece] = [*told[1:], ("\n", "")] if first else []
    pieces += [("Why\n", "bold"), (f"{check.why.strip()}\n", "")]
    pieces += [("\nHow\n", "bold"), (f"{check.how.strip()}\n", "")]
    if row is not None and row.question.hint:
        pieces.append((f"{row.question.label}: {row.question.hint}.\n", "italic"))
    pieces += [("\nUsual mistakes\n", "bold"), *((f"• {m.strip()}\n", "") for m in check.mistakes)]
    pieces += [("\nWhen it fails\n", "bold"), (f"{check.remedy.strip()}\n", "")]
    pieces += [] if first else told
    pieces += _limits(check, visit)
    holds = span(timedelta(minutes=check.hold))
    ends = ", or ".join(VOID_EVENTS[e] for e in check.voided_by)
    pieces += [("\nHow long it holds\n", "bold"), (f"{holds}{', or until ' + ends if ends else ''}.\n", "")]
    pieces += [("\nCaution\n", "bold")] * bool(check.cautions)
    pieces += [(f"{c.strip()}\n", "") for c in check.cautions]
    pieces += [
        ("\nKeys\n", "bold"),
        ("Enter keeps the answer · arrows go up and down · PgUp and PgDn change the step\n"
         "F2 note · F3 how you know it · F4 instrument · F5 take back the last reading · F6 put right\n"
         "F7 not applicable · F8 metric or US units · F9 something happened · F10 go / no-go\n"
         "Ctrl+L the plan over the whole screen\n", ""),
    ]  # fmt: skip
    return Content.assemble(*pieces)


def working_of(found: Sequence[tuple[str, Finding]]) -> list[str]:
    """How findings of one check, each with its side, were worked out; what is said of both sides stands once."""
    lines: list[str] = []
    for side, finding in found:
        lines += [f"{side.capitalize()} side"] * (len(found) > 1)
        lines += (*finding.notes, *finding.details)
    after = [*lines[1:], ""]
    return [
        line
        for n, line in enumerate(lines)
        if line.startswith(" ") or after[n].startswith(" ") or line not in lines[n + 1 :]
    ]


def worked_out(lines: Sequence[str]) -> list[Piece]:
    """Where a number comes from, line by line; what belongs to the line before it is indented."""
    told = [(f"{x}\n" if x.startswith(" ") else f"• {x}\n", "") for x in lines]
    return [("\n", ""), ("How it was worked out\n", "bold"), *told] if lines else []


def _limits(check: Check, visit: Visit) -> list[Piece]:
    """The limits in force, those of one source together under it."""
    from readiness.checklist.describe import limits_in_words

    by_source: dict[str, list[str]] = {}
    for words, source in limits_in_words(check, visit.shop.units):
        by_source.setdefault(source, []).append(words)
    pieces: list[Piece] = []
    for source, rows in by_source.items():
        pieces.append((f"\nLimits, {source}\n", "bold"))
        pieces += [(f"• {row}\n", "") for row in rows]
    return pieces


def prompt(
    row: Row, instrument: Instrument | None, grade: str, told_by: str, today: date, width: int
) -> Content:
    """The lines under the form: how to answer this question; on what evidence, with which instrument.

    `width` in cells: no choice is parted from its key where a line ends.
    """
    question = row.question
    pieces: list[Piece] = [(capital(question.hint), "$text-muted"), ("\n", "")]
    pieces += _choices(question.choices, width)
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


def _choices(choices: Sequence[Choice], width: int) -> list[Piece]:
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


def header(visit: Visit, person: str, kept: datetime | None, air: float | None, width: int) -> str:
    """One line: job, car, bay, air; at its right end when the last answer was kept."""
    job = visit.job
    parts = [job.job, visit.sheet.title, visit.bay.title]
    if air is not None:
        parts.insert(2, units.show(air, "degC", visit.shop.units))
    end = f"  kept {clock(kept)} " if kept else f"  {person} "
    room = max(0, width - 1 - cell_len(end))
    line = set_cell_size(" " + "  ".join(p for p in parts if p), room)
    return line + end
