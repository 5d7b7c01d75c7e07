"""What must make sense in a bay: its outline, its marks, and where its things stand."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import dist, hypot
from typing import Literal

from readiness import job
from readiness.checklist import outline
from readiness.checklist.measured import marks_of, placed, shifted, taped
from readiness.checklist.mistakes import near, shortened, shown
from readiness.checklist.nodes import Text
from readiness.checklist.outline import XY
from readiness.checklist.shapes import FAR, MOST_CORNERS, SHORTEST, closed, corners_of
from readiness.checklist.spot import Spot
from readiness.checklist.survey_rules import survey_in
from readiness.checklist.walk import Rules
from readiness.measure.polygon import meet
from readiness.measure.trilateration import Met, TapesApartError

LARGEST = 200.0
"""No bay is longer or wider, m; a longer one is a slip of unit."""
LONGEST_TAPE = 100.0
"""m; common practice, no published source."""
POOREST = 0.25
"""A place by two tapes that is known no better than this standard uncertainty is refused, m."""
MOST_NAMED = 12
"""Marks told where an unknown one is named."""

_CORNER = re.compile(r"corner\s*\d*", re.IGNORECASE)
_OF_A_CAR = re.compile(r"[lr][fr]|(front|rear)\s+mark", re.IGNORECASE)
"""In answers these words name wheels and centre marks of the car."""


# --- names, whatever else is wrong ---------------------------------------------------------------


def marks_named(bay: Spot) -> None:
    """Note marks that take the name of a corner or of a place at a car, and what counts from a mark that is not there."""
    marks = []
    for mark in bay.at("marks").items():
        name = mark.at("name")
        if _CORNER.fullmatch(name.text.strip()):
            name.wrong(
                shown(name.text), "another name", "The corners of the outline have such names already."
            )
            continue
        if _OF_A_CAR.fullmatch(name.text.strip()):
            hint = "In answers that word means a place at the car: say what the mark is, such as 'nail by the door'."
            name.wrong(shown(name.text), "another name", hint)
        if name.text.strip() and name.text not in marks:
            marks.append(name.text)
    corners = [f"corner {k}" for k, _ in enumerate(bay.at("outline").items(), start=1)]
    for thing in bay.at("obstacles").items():
        ends = list(thing.at("taped", "from").items())
        for end in ends:
            if isinstance(end.node, Text) and not end.node.plain and not end.text:
                end.wrong("nothing", "a mark")
        for spot in (*ends, *([thing.at("from")] if thing.has("from") else [])):
            _known(spot, marks, corners)
        if len(ends) == 2 and ends[0].text and ends[0].text == ends[1].text:
            ends[1].wrong(f"{shown(ends[1].text)} again", "two marks")


def _known(spot: Spot, marks: list[str], corners: list[str]) -> None:
    if spot.text and spot.text not in marks and spot.text not in corners:
        there = [shortened(name, 40) for name in marks[:MOST_NAMED]]
        there += ["..."] if len(marks) > MOST_NAMED else []
        there += [f"{corners[0]} to {corners[-1]}"] if corners else []
        hint = near(spot.text.strip().lower(), corners) or near(spot.text, marks)
        expected = f"one of {', '.join(there)}" if there else "a mark of this bay"
        spot.wrong(f"no such mark, {shown(spot.text)}", expected, hint)


# --- a whole bay ---------------------------------------------------------------------------------


def _bay(value: job.Bay, spot: Spot) -> None:
    corners = [(p.x, p.y) for p in value.outline]
    here = spot.at("outline")
    if max((abs(v) for corner in corners for v in corner), default=0.0) > LARGEST:
        here.wrong(f"a corner more than {LARGEST:g} m from 0, 0", f"at most {LARGEST:g} m either way")
        return
    if not closed(value.outline, here, "the bay"):
        return
    if not outline.inside((value.standing.x, value.standing.y), corners):
        spot.at("standing").wrong("a place outside the outline", "a place inside it")
    _things(value, spot, corners)
    if value.survey is not None:
        here = spot.at("survey")
        survey_in(corners, value.survey, here)
        if value.survey.bay not in ("", value.bay):
            here.at("bay").wrong(shown(value.survey.bay), f"this bay, {value.bay}, or nothing")


def _things(bay: job.Bay, spot: Spot, edge: list[XY]) -> None:
    """Note marks and things that lie far off, and tapes that do not tell a place."""
    marks = marks_of(bay)
    for mark, here in zip(bay.marks, spot.at("marks").items(), strict=True):
        if not _near_by([(mark.at.x, mark.at.y)], here, edge, "mark"):
            marks.pop(mark.name, None)
    for thing, here in zip(bay.obstacles, spot.at("obstacles").items(), strict=True):
        if not 0 < len(corners_of(thing)) <= MOST_CORNERS:
            continue
        if thing.taped is not None:
            if thing.taped.marks[0] != thing.taped.marks[1] and set(thing.taped.marks) <= set(marks):
                _taped(thing, thing.taped, here.at("taped"), marks, edge)
        elif not thing.origin or thing.origin in marks:
            _near_by(corners_of(placed(thing, marks)), here, edge, "thing")


def _near_by(corners: list[XY], spot: Spot, edge: list[XY], what: str) -> bool:
    """Floor beyond the outline may hold things too; what lies far from the bay is a slip of unit or sign."""
    low, high = ([f(c[k] for c in edge) for k in (0, 1)] for f in (min, max))
    for x, y in corners:
        if not (low[0] - FAR <= x <= high[0] + FAR and low[1] - FAR <= y <= high[1] + FAR):
            found = f"a {what} at {x:.2f} m, {y:.2f} m, more than {FAR:g} m from the bay"
            spot.wrong(found, "a place in the bay or near it, in its own axes")
            return False
    return True


def _taped(thing: job.Obstacle, by: job.Taped, spot: Spot, marks: Mapping[str, XY], edge: list[XY]) -> None:
    met = _met(by, spot, marks)
    if met is None:
        return
    if met.u > POOREST:
        found = f"tapes almost in line with the marks, which tell the place to {met.u:.2g} m only"
        expected = f"a place known to {POOREST:g} m or better"
        spot.wrong(
            found,
            expected,
            "Use two other marks, so that the tapes cross at the thing nearly at a right angle.",
        )
        return
    allowed = _size(thing) + 2 * met.u
    stands = shifted(thing, *met.at)
    out = _outside(stands, edge) if _near_by(corners_of(stands), spot, edge, "thing") else 0.0
    if out > allowed:
        found = f"a place at {met.at[0]:.2f} m, {met.at[1]:.2f} m, {out:.2f} m outside the outline"
        spot.wrong(found, "a place in the bay or at its edge", _other_side(thing, by, marks, edge, allowed))


def _met(by: job.Taped, spot: Spot, marks: Mapping[str, XY]) -> Met | None:
    """Where the tapes meet; None, with the reason noted, if they do not or are none."""
    tapes = list(zip(by.tapes, spot.at("tapes").items(), strict=True))
    none = [here for tape, here in tapes if not SHORTEST <= tape <= LONGEST_TAPE]
    for here in none:
        here.wrong(shown(here.text), f"more than zero, {LONGEST_TAPE:g} m at most")
    between = dist(*(marks[name] for name in by.marks))
    if between < SHORTEST:
        spot.at("from").wrong("two marks at the same place", "marks apart from one another")
    elif not none:
        try:
            return taped(by, marks)
        except TapesApartError as error:
            _apart(by, spot.at("tapes"), between, error.short)
    return None


def _apart(by: job.Taped, spot: Spot, between: float, short: bool) -> None:
    """Note tapes that do not meet, with the numbers that say why."""
    shorter, longer = sorted(by.tapes)
    if short:
        why = f"{by.tapes[0]:g} m and {by.tapes[1]:g} m do not reach across"
        expected = f"tapes that make {between:.2f} m or more together"
    else:
        why = f"{longer:g} m is more than {between:.2f} m and {shorter:g} m together"
        expected = f"tapes that differ by {between:.2f} m or less"
    found = f"tapes that cannot meet: the marks are {between:.2f} m apart, and {why}"
    spot.wrong(found, expected, "Read both tapes and the places of the marks again.")


def _other_side(
    thing: job.Obstacle, by: job.Taped, marks: Mapping[str, XY], edge: list[XY], allowed: float
) -> str:
    """What to do about a place outside: the other side of the line between the marks may be meant."""
    side: Literal["left", "right"] = "right" if by.side == "left" else "left"
    other = taped(job.Taped(marks=by.marks, tapes=by.tapes, side=side), marks)
    if _outside(shifted(thing, *other.at), edge) > allowed:
        return "Read the tapes again; the lengths of a thing outside count from a mark or a corner (from)."
    return f"On the other side of the line between the marks, side: {side}, it would stand at {other.at[0]:.2f} m, {other.at[1]:.2f} m."


def _size(thing: job.Obstacle) -> float:
    """The longest a thing can be, m."""
    corners = corners_of(thing)
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return hypot(max(xs) - min(xs), max(ys) - min(ys))


def _outside(thing: job.Obstacle, edge: list[XY]) -> float:
    """How far in m a thing lies outside an outline; 0 if any of it lies in."""
    corners, wide = corners_of(thing), 0.0
    if thing.disc is not None:
        corners, wide = [(thing.disc.at.x, thing.disc.at.y)], thing.disc.radius
    if any(outline.inside(c, edge) for c in corners):
        return 0.0
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    borders = list(zip(edge, edge[1:] + edge[:1], strict=True))
    if any(meet(*side, *border) for side in sides for border in borders):
        return 0.0
    return max(0.0, min(outline.away(*side, *border) for side in sides for border in borders) - wide)


BAY_RULES: Rules = {job.Bay: _bay}
