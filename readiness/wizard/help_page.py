"""What F1 says of a check: why it matters, how to measure, its limits and where a number comes from."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from textual.content import Content

from readiness.checklist.model import Check
from readiness.checks.afterwards import RESULT
from readiness.checks.finding import Finding, Visit
from readiness.job import VOID_EVENTS
from readiness.wizard.pages import Piece, span
from readiness.wizard.rows import Row

KEYS = """Enter keeps the answer · arrows go up and down · PgUp and PgDn change the step
F2 note · F3 how you know it · F4 instrument · F5 take back the last reading · F6 put right
F7 set aside · F8 metric or US units · F9 something happened · F10 go / no-go
Ctrl+R the record: who answered what, and when · Ctrl+L the plan over the whole screen
Ctrl+E the end of the job: files, report"""


def help_page(
    check: Check, row: Row | None, visit: Visit, working: Sequence[str] = (), keys: str = KEYS
) -> Content:
    """Why the check matters, how to measure, usual mistakes, limits and where they come from.

    `working`: how it was worked out; nobody needs that to act, so it stands here alone. `keys`: what they do there.
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
    if not check.lasting:
        pieces += [
            ("\nHow long it holds\n", "bold"),
            (f"{holds}{', or until ' + ends if ends else ''}.\n", ""),
        ]
    pieces += [("\nCaution\n", "bold")] * bool(check.cautions)
    pieces += [(f"{c.strip()}\n", "") for c in check.cautions]
    pieces += [("\nKeys\n", "bold"), (f"{keys}\n", "")]
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
    from readiness.checklist.results import results_in_words

    rows = limits_in_words(check, visit.shop.units)
    rows += results_in_words(visit.sheet, visit.shop.units) if check.kind == RESULT else []
    by_source: dict[str, list[str]] = {}
    for words, source in rows:
        by_source.setdefault(source, []).append(words)
    pieces: list[Piece] = []
    for source, told in by_source.items():
        pieces.append((f"\nLimits, {source}\n", "bold"))
        pieces += [(f"• {words}\n", "") for words in told]
    return pieces
