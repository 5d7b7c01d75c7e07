"""The jobs of a shop as lines for a person and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from readiness.jobstate import JobState, SideState
from readiness.records.listing import JobLine
from readiness.report.columns import columns
from readiness.report.text import clean

HEAD = ("job", "plate", "sheet", "bay", "sides", "by", "opened", "last", "state")
MAY_SHRINK = {0: 14, 1: 10, 2: 6, 3: 6, 5: 6}
"""Columns that give way where the terminal is narrow, and to how many cells: plates less than sheets and people."""
NARROW = 100
MAY_GO = (4, 6)
"""Columns that a terminal of fewer cells than that does without."""


def table(
    lines: Sequence[JobLine], states: Mapping[str, JobState], now: datetime, width: int | None = None
) -> list[str]:
    """A line for each job, those that cannot be read last. Without a width nothing is cut and times are whole."""
    good = [line for line in lines if not _trouble(line, states)]
    rows = [HEAD, *(_row(line, states[line.id], now, short=width is not None) for line in good)]
    if width is not None and width < NARROW:
        rows = [tuple("" if n in MAY_GO else cell for n, cell in enumerate(row)) for row in rows]
    bad = [f"{clean(line.id)}  {clean(_trouble(line, states))}" for line in lines if _trouble(line, states)]
    return [*(columns(rows, width, MAY_SHRINK) if good else ()), *bad]


def said(state: JobState, now: datetime, *, short: bool = False) -> str:
    """How a job stands, in a few words: 'go until 11:30', 'left lapsed; right no-go, 2 to put right'.

    `short`: sides that differ take fewer words, 'left go 11:30, right no-go (2)'.
    """
    if state.problem:
        return f"cannot be judged: {state.problem}"
    ended = state.ended is not None
    sides = [(s.side, _side(s, now, ended=ended)) for s in state.sides]
    first = sides[0][1] if sides else ""
    if all(told == first for _, told in sides):
        told = first
    elif short:
        told = ", ".join(f"{s.side} {_in_brief(s, now, ended=ended)}" for s in state.sides)
    else:
        told = "; ".join(f"{side} {told}" for side, told in sides)
    return told if not ended else f"ended, {told}" if told else "ended"


def when(at: datetime, now: datetime) -> str:
    """The time of today, the day of this year, or else the date; by this machine's clock."""
    local, today = at.astimezone(), now.astimezone().date()
    if local.date() == today:
        return f"{local:%H:%M}"
    return f"{local:%d %b}" if local.year == today.year else f"{local:%Y-%m-%d}"


def as_list(lines: Sequence[JobLine], states: Mapping[str, JobState]) -> list[dict[str, Any]]:
    """The same for programs, one object a job."""
    return [_as_dict(line, states[line.id]) for line in lines]


def _trouble(line: JobLine, states: Mapping[str, JobState]) -> str:
    """Why a journal cannot be read; a job whose sheet or bay is missing can."""
    if line.problem:
        return f"cannot be read: {line.problem}"
    state = states[line.id]
    return f"cannot be judged: {state.problem}" if state.problem else ""


def _row(line: JobLine, state: JobState, now: datetime, *, short: bool) -> tuple[str, ...]:
    times = [when(at, now) if short else f"{at.astimezone():%Y-%m-%d %H:%M}" for at in _times(line)]
    sides = "both" if len(line.sides) == 2 else ", ".join(line.sides)
    return tuple(
        map(
            clean,
            (
                line.id,
                line.plate,
                line.sheet,
                line.bay,
                sides,
                line.by,
                *times,
                said(state, now, short=short),
            ),
        )
    )


def _times(line: JobLine) -> tuple[datetime, datetime]:
    assert line.opened is not None
    assert line.last is not None
    return line.opened, line.last


def _side(side: SideState, now: datetime, *, ended: bool) -> str:
    if ended or side.in_range:
        return ", ".join(said for said in (_ready(side), _closed(side)) if said)
    if side.in_range is False:
        return "result out of range"
    if side.word in ("go", "go-with-waivers"):
        until = f" until {_clock(side.until, now)}" if side.until is not None else ""
        return f"{'go' if side.word == 'go' else 'go with waivers'}{until}"
    if side.word == "lapsed":
        return "lapsed"
    return (
        f"no-go, {side.wrong} to put right"
        if side.wrong
        else f"{side.of - side.done} of {side.of} checks to do"
    )


def _in_brief(side: SideState, now: datetime, *, ended: bool) -> str:
    if ended or side.in_range is not None:
        return _side(side, now, ended=ended)
    words = {"go": "go", "go-with-waivers": "waivers", "no-go": f"no-go ({side.wrong})", "lapsed": "lapsed"}
    until = f" {_clock(side.until, now)}" if side.until is not None else ""
    return f"{words.get(side.word, f'{side.of - side.done} to do')}{until}"


def _ready(side: SideState) -> str:
    """What the side was when its result was read; a plain go needs no word."""
    return {"go": "", "go-with-waivers": "go with waivers"}.get(side.word, "without a go")


def _closed(side: SideState) -> str:
    if side.in_range is None:
        return "" if side.word not in ("go", "go-with-waivers") else "no result"
    if not side.in_range:
        return "out of range"
    return {"open": "in range, close not finished", "wrong": "in range, close not right"}.get(
        side.closed, "in range"
    )


def _clock(at: datetime, now: datetime) -> str:
    local = at.astimezone()
    return f"{local:%H:%M}" if local.date() == now.astimezone().date() else f"{local:%d %b %H:%M}"


def _as_dict(line: JobLine, state: JobState) -> dict[str, Any]:
    told: dict[str, Any] = {"job": line.id, "path": str(line.path)}
    if line.problem:
        return {**told, "problem": line.problem}
    opened, last = _times(line)
    told |= {
        "plate": line.plate, "sheet": line.sheet, "bay": line.bay, "by": line.by, "people": list(line.people),
        "opened": opened.astimezone().isoformat(), "last": last.astimezone().isoformat(),
    }  # fmt: skip
    if state.problem:
        return {**told, "problem": state.problem}
    ended = state.ended
    end = (
        None if ended is None else {"at": ended.at.astimezone().isoformat(), "by": ended.by, "why": ended.why}
    )
    return {
        **told,
        "state": state.word,
        "sides": {s.side: _side_as_dict(s) for s in state.sides},
        "ended": end,
    }


def _side_as_dict(side: SideState) -> dict[str, Any]:
    return {
        "state": side.word, "lapses_at": side.until.astimezone().isoformat() if side.until else None,
        "to_put_right": side.wrong, "done": side.done, "of": side.of, "in_range": side.in_range,
        "close": side.closed or None,
    }  # fmt: skip
