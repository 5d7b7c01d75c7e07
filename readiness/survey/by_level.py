"""Heights from level runs: each pair's zero error against the others, loops that close, heights so far."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from readiness import units
from readiness.checks.floor.net_problems import Levelled, Words, net_problems
from readiness.checks.floor.surveyed import U_FOOT, pair_of
from readiness.checks.kind import Part
from readiness.job import Instrument, LevelRun, System
from readiness.measure.level_net import SUSPECT, Loop, Pair, adjust_levels, loops
from readiness.survey.links import pieces
from readiness.survey.readings import Findings, read_of, series
from readiness.survey.surveying import Run, Surveying, run_keys


def findings(surveying: Surveying, instruments: Mapping[str, Instrument], system: System) -> Findings:
    """What is found so far; never raises for what is not read yet."""
    try:
        pairs = read_pairs(surveying, instruments)
    except ValueError as fault:
        return Findings(problems=(str(fault),))
    words = Words(str, lambda value, unit: units.show(value, unit, system))
    places = {n.name: (n.x, n.y) for n in surveying.nodes}
    longest = math.inf if surveying.straightedge is None else surveying.straightedge
    problems: list[str] = []
    suspect: set[str] = set()
    about: dict[Run, str] = {}
    heights: dict[str, float] = {}
    details: list[str] = []
    closed: dict[Run, list[str]] = {}
    for piece in _connected(pairs):
        try:
            net = adjust_levels(piece, piece[0].start, u_foot=U_FOOT)
            walks = loops(piece, u_foot=U_FOOT)
        except ValueError as fault:
            problems.append(str(fault))
            continue
        heights |= _over_lowest(net.heights) if not heights else {}
        found = net_problems(Levelled(piece, net, walks, places, U_FOOT, longest=longest), words)
        problems += (s for s in found.sentences if s not in problems)
        about |= {_run(piece[k]): said for k, said in found.about.items()}
        suspect |= {key for k in found.runs for key in _suspect_keys(piece[k], found.one_of.get(k))}
        for walk in (w for w in walks if math.isfinite(w.gap.u)):
            details.append(_loop_words(walk, words))
            last = max(walk.pairs, key=lambda k: _turn_of(surveying, piece[k]))
            closed.setdefault(_run(piece[last]), []).append(_loop_words(walk, words))
    parts = {
        key: _pair_part(pair, pairs, closed.get(_run(pair), []), about.get(_run(pair), ""), words)
        for pair in pairs
        for key in run_keys(_run(pair))[1:]
    }
    return Findings(parts, tuple(problems), (), frozenset(suspect), heights, tuple(details))


def read_pairs(
    surveying: Surveying, instruments: Mapping[str, Instrument], *, one_way: bool = False
) -> list[Pair]:
    """The runs read both ways round, in planned order; with `one_way` also those read one way.

    Raises ValueError where an instrument is not the shop's, or where the two ways were read with two levels.
    """
    read, found = read_of(surveying), []
    places = {n.name: (n.x, n.y) for n in surveying.nodes}
    for run in surveying.runs:
        first, turned = (read.get(key, ()) for key in run_keys(run))
        if not first or not (turned or one_way):
            continue
        level = first[-1].instrument
        if {r.instrument for r in (*first, *turned)} != {level}:
            raise ValueError(
                f"{run[0]} to {run[1]} was read with two levels: read it both ways round with the same one."
            )
        value = series(first, instruments).value
        back = series(turned, instruments).value if turned else None
        read_run = LevelRun(start=run[0], end=run[1], first=value, turned=back)
        found.append(pair_of(read_run, places, level, instruments))
    return found


def _run(pair: Pair) -> Run:
    return pair.start, pair.end


def _suspect_keys(pair: Pair, which: int | None) -> tuple[str, ...]:
    """The questions of a suspect run: one of them where it is known which reading is wrong."""
    keys = run_keys(_run(pair))
    return keys if which is None else (keys[which],)


def _turn_of(surveying: Surveying, pair: Pair) -> int:
    """Where in the walk the run is read."""
    return surveying.runs.index(_run(pair))


def _connected(pairs: Sequence[Pair]) -> list[list[Pair]]:
    """The pairs of each piece of the net read so far, the largest first."""
    names = list(dict.fromkeys(n for p in pairs for n in _run(p)))
    at = {name: k for k, name in enumerate(names)}
    piece = pieces(len(names), [(at[p.start], at[p.end]) for p in pairs])
    found: dict[int, list[Pair]] = {}
    for pair in pairs:
        found.setdefault(piece[at[pair.start]], []).append(pair)
    return sorted(found.values(), key=len, reverse=True)


def _over_lowest(heights: Mapping[str, float]) -> dict[str, float]:
    lowest = min(heights.values())
    return {name: height - lowest for name, height in heights.items()}


def _loop_words(walk: Loop, words: Words) -> str:
    gap, limit = abs(walk.gap.value), SUSPECT * walk.gap.u
    way = ", ".join(walk.nodes)
    return f"The walk {way} misses its start by {words.show(gap, 'mm')}, where {words.show(limit, 'mm')} would do."


def _pair_part(pair: Pair, pairs: Sequence[Pair], closed: Sequence[str], wrong: str, words: Words) -> Part:
    """What is wrong with this pair; else its zero error against that of its level elsewhere, and loops it closed."""
    zero = pair.zero
    assert zero is not None
    others = sorted(z for p in pairs if p is not pair and p.level == pair.level and (z := p.zero) is not None)
    usual = others[len(others) // 2] if others else None
    w = SUSPECT * math.hypot(pair.zero_u(U_FOOT), pair.zero_u(U_FOOT) if others else 0.0)
    rise = words.show(abs(pair.rise), "mm")
    way = "higher" if pair.rise >= 0 else "lower"
    said = f"Place {pair.end} lies {rise} {way} than {pair.start}; the level's zero error shows as {words.signed(zero, 'mm/m')}"
    said += "." if usual is None else f", elsewhere as {words.signed(usual, 'mm/m')}."
    return Part(
        f"run.{pair.start}-{pair.end}", f"{pair.start} to {pair.end}", "fail" if wrong else "pass",
        wrong or " ".join((said, *closed)), zero, "mm/m", None if usual is None else usual - w,
        None if usual is None else usual + w, pair.zero_u(U_FOOT),
    )  # fmt: skip
