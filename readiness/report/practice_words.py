"""How a person stands in practice, in lines that page and screen share."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from readiness.measure.proportion import Share
from readiness.practice.score import (
    ALARM_ON_SOUND,
    GO_ON_BAD,
    MASTERED,
    NO_GO_ON_SOUND,
    PASS_ON_BAD,
    Score,
    Tally,
    TopicScore,
)
from readiness.report.columns import cells, cut
from readiness.report.text import WIDTH, clean

LONGEST_TITLE, SHORTEST_TITLE = 24, 10
LONGEST_BAR, SHORTEST_BAR = 24, 8
_BESIDE = len("  caught  999 of 999    70 to 100 %  ")
"""Cells of a line without title and bar."""
SAYS_WHAT = (
    "▓ is where the share may really lie, 95 times in 100 (Wilson), ● what was seen. Mastered: both bars wholly from the "
    f"mark at {100 * MASTERED:.0f}\u00a0% on, as with 9 of 9; 3 of 3 may still be 43\u00a0%. Too close to call is right where "
    "the truth is that near to the limit, catches a bad check, and is a false alarm on one that is clearly sound."
)
WEIGHTS = (
    f"Lost: {GO_ON_BAD} points for a go on a bad car, {PASS_ON_BAD} for a bad check passed, {NO_GO_ON_SOUND} for a no-go on a "
    f"sound car, {ALARM_ON_SOUND} for a sound check not passed. Weights and the mark are our own; no published source."
)


def score_lines(
    score: Score, width: int = WIDTH, faults: Mapping[str, str] = MappingProxyType({}), car: int | None = None
) -> list[str]:
    """Everything there is to say of one person, the next thing to do before the figures.

    `faults`: titles by id. `car`: one of the advised level in which the advised check is to be called.
    """
    if not score.exercises:
        return _wrapped(
            f"{clean(score.person)}: no car yet. Each that is finished counts, the first time it is met.",
            width,
        )
    lines = [*_wrapped(_head(score), width), *_wrapped(next_words(score), width)]
    lines += [*_wrapped(_at(car, score.level), width), ""] if car is not None else [""]
    lines += figures(score, width)
    past = ", ".join(
        f"{clean(faults.get(f, f))}{f' ({n} times)' if n > 1 else ''}" for f, n in score.got_past
    )
    lines += ["", *_wrapped(f"Got past: {past}.", width)] if past else []
    unmet = ", ".join(clean(t.title) for t in score.topics if not t.tally.calls)
    lines += ["", *_wrapped(f"Not met yet: {unmet}.", width)] if unmet else []
    return [*lines, "", *_wrapped(SAYS_WHAT, width), *_wrapped(WEIGHTS, width)]


def figures(score: Score, width: int = WIDTH) -> list[str]:
    """Two lines for cars, for all checks, and for each check that was met: what was caught, what was right."""
    met = [t for t in score.topics if t.tally.calls]
    rows = [("Go or no-go", score.goes, "mastered" if score.goes.mastered else "")]
    rows += [("All checks", score.checks, "")] if len(met) > 1 else []  # mastered is a check, not their sum
    rows += [(clean(t.title), t.tally, _state(t, score)) for t in met]
    room = width - _BESIDE
    title = max(SHORTEST_TITLE, min(LONGEST_TITLE, room - SHORTEST_BAR, max(cells(r[0]) for r in rows)))
    return [line for name, tally, state in rows for line in _pair(name, state, tally, title, room - title)]


def next_words(score: Score) -> str:
    """What to practise next, and why."""
    topic = score.practise
    if topic is None:
        return f"Every check is mastered. Practise next: cars of level {score.level}."
    return f"Practise next: {clean(topic.title)} ({_why(topic.tally)}), on cars of level {score.level}."


def _at(car: int, level: int) -> str:
    return f"Car {car} has it: readiness practise --seed {car} --level {level}"


def _why(tally: Tally) -> str:
    if tally.missed:
        return f"{tally.missed} of {tally.bad.of} bad ones missed"
    if tally.false_alarms:
        return f"{tally.false_alarms} of {tally.sound.of} sound ones not passed"
    if not tally.calls:
        return "not met yet"
    return "the only call was right, which is not enough to go by" if tally.calls == 1 else (
        f"{tally.calls} calls, all right, are not enough to go by"
    )  # fmt: skip


def bar(share: Share, width: int) -> str:
    """'├──────│──▓▓▓●▓┤': 0 to 100 %, where the share may lie, what was seen, the mark of mastery."""
    inner = width - 2
    low, high = share.interval
    first, last = _cell(low, inner), _cell(high, inner)
    row = ["▓" if first <= k <= last else "─" for k in range(inner)]
    row[_cell(MASTERED, inner)] = "│"
    if share.value is not None:
        row[_cell(share.value, inner)] = "●"
    return f"├{''.join(row)}┤"


def ends(share: Share) -> str:
    """'70 to 100 %', rounded outwards: never surer than it is."""
    low, high = share.interval
    return f"{math.floor(100 * low + 1e-9)} to {math.ceil(100 * high - 1e-9)} %"


def _head(score: Score) -> str:
    again = f", {score.repeated} more met again, which counts for nothing" if score.repeated else ""
    kept, stake, share = score.points.kept, score.points.at_stake, score.points.share
    points = "" if share is None else f" {kept} of {stake} points kept ({math.floor(100 * share)}\u00a0%)."
    habits = []
    if score.unlooked:
        habits.append(f"passed {score.unlooked} bad {_checks(score.unlooked)} without a look")
    if score.for_nothing:
        habits.append(f"measured {score.for_nothing} times for nothing")
    said = f" {', '.join(habits).capitalize()}." if habits else ""
    cars = "1 car" if score.exercises == 1 else f"{score.exercises} cars"
    return f"{clean(score.person)}: {cars}{again}.{points}{said}"


def _state(topic: TopicScore, score: Score) -> str:
    return "mastered" if topic.tally.mastered else "next" if topic == score.practise else ""


def _pair(name: str, state: str, tally: Tally, title: int, room: int) -> Iterator[str]:
    yield _line(name, "caught", tally.bad, title, room)
    yield _line(f"  {state}" if state else "", "right", tally.sound, title, room)


def _line(name: str, what: str, share: Share, title: int, room: int) -> str:
    shown = cut(name, title)
    head = f"{shown}{' ' * (title - cells(shown))}  {what:<6}  "
    if not share.of:
        return f"{head}none met"
    drawn = f"  {bar(share, min(room, LONGEST_BAR))}" if room >= SHORTEST_BAR else ""
    return f"{head}{share.hits:>3} of {share.of:<3}{drawn}  {ends(share):>11}"


def _cell(share: float, inner: int) -> int:
    return min(inner - 1, int(share * inner))


def _checks(count: int) -> str:
    return "check" if count == 1 else "checks"


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)
