"""What a worksheet says beside its questions: sentences that paper and plain text share."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

from readiness import __version__, units
from readiness.checks.aim.layout import Row, ahead_behind, left_right
from readiness.checks.clear_area.plan_view import drawn
from readiness.checks.clear_area.things import obstacle_shape
from readiness.checks.picture import bounds
from readiness.checks.words import capital
from readiness.job import Bay, Obstacle, System
from readiness.records.worksheet import Block, Leg, Worksheet

READING = "Ranges are what counts with the tool named, in brackets the bare limits. Another tool: write which, by the time."
ON_SCREEN = "This page is made for the printer: two columns on A4 or Letter, on both sides of one sheet."
USUAL = {"paper": "Thick frame: the usual answer.", "text": "An asterisk marks the usual answer."}
AGAIN = (
    "Cross nothing out. Here go second readings, what was put right, set aside (and why) or happened meanwhile (car moved, "
    "door opened), and what else was asked, with the number of the line."
)
TYPING = (
    "Typing it in: readiness, then n for a new job. It asks in this order under these headings; the numbers are the paper's "
    "own. Ctrl+N says when it was read; read again what is older than its heading allows."
)
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
