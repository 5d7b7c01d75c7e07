"""What does not fit in a net of level readings, in sentences: what it is, and what to read again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist, median
from typing import TYPE_CHECKING

from readiness.measure.levelling import SUSPECT

if TYPE_CHECKING:
    from readiness.measure.level_net import LevelNet, Loop, Pair

RISK = 0.001
"""How often a sound net is called unsound: the risk behind SUSPECT."""


@dataclass(frozen=True, slots=True)
class Words:
    """How a place and a number with its unit are said."""

    place: Callable[[str], str]
    show: Callable[[float, str], str]

    def run(self, pair: Pair) -> str:
        return f"{self.place(pair.start)} to {self.place(pair.end)}"


@dataclass(frozen=True, slots=True)
class Problems:
    """Sentences, the gravest first, and the numbers of the runs that are suspect."""

    sentences: tuple[str, ...] = ()
    runs: tuple[int, ...] = ()


def net_problems(
    pairs: Sequence[Pair], net: LevelNet, loops: Sequence[Loop], words: Words, stated: Mapping[str, float]
) -> Problems:
    """What does not fit. `stated`: level -> half width in mm/m of the zero error that its accuracy allows."""
    odd = {k: _odd_sentence(pairs, k, stated, words) for k in odd_pairs(pairs, stated)}
    rest = [loop for loop in loops if is_open(loop) and not odd.keys() & set(loop.pairs)]
    worst = worst_runs(net)
    sentences = [*odd.values(), *(_open_sentence(pairs, loop, worst, words) for loop in rest)]
    if not sentences and unlikely(net.chi_square, net.dof):
        sentences.append(_unlikely_sentence(pairs, net, words))
    named = worst if rest and len(worst) == 1 else ()
    return Problems(tuple(sentences), tuple(dict.fromkeys((*odd, *named))))


# --- the two readings of a run -------------------------------------------------------------------


def odd_pairs(pairs: Sequence[Pair], stated: Mapping[str, float]) -> tuple[int, ...]:
    """Numbers of the runs whose two readings give another zero error than the same level shows elsewhere.

    The others' median is the measure; where there is but one other and the two disagree, the one that
    lies farther outside what the level's accuracy allows.
    """
    odd: list[int] = []
    for level in dict.fromkeys(p.level for p in pairs):
        zeros = {k: p.zero for k, p in enumerate(pairs) if p.level == level and p.zero is not None}
        off = {k: abs(zero - _usual(zeros, k, stated.get(level))) for k, zero in zeros.items()}
        bad = [k for k in zeros if off[k] > SUSPECT * _u_of_difference(pairs[k])]
        odd += bad if len(zeros) != 2 or not bad else [max(bad, key=lambda k: abs(zeros[k]))]
    return tuple(odd)


def _usual(zeros: Mapping[int, float], k: int, stated: float | None) -> float:
    """The zero error that a level shows in its other runs; one run alone is held against the accuracy."""
    others = [zero for n, zero in zeros.items() if n != k]
    if others:
        return median(others)
    most = math.inf if stated is None else 3.0 * stated
    return max(-most, min(most, zeros[k]))


def _u_of_difference(pair: Pair) -> float:
    """u in mm/m of one pair's zero against that of another of its kind."""
    return pair.u  # (u / sqrt 2) of either


def _odd_sentence(pairs: Sequence[Pair], k: int, stated: Mapping[str, float], words: Words) -> str:
    pair = pairs[k]
    assert pair.turned is not None
    zeros = {n: p.zero for n, p in enumerate(pairs) if p.level == pair.level and p.zero is not None}
    usual = _usual(zeros, k, stated.get(pair.level))
    run, limit = words.run(pair), SUSPECT * _u_of_difference(pair)
    if abs((pair.first - pair.turned) / 2.0 - usual) <= limit:
        return (
            f"The second reading of {run} looks as if typed with the wrong sign: "
            f"{words.show(-pair.turned, 'mm/m')} would agree with the other runs; look at the level again."
        )
    return (
        f"The two readings of {run} give a zero error of {words.show(zeros[k], 'mm/m')}, where the same level has "
        f"{words.show(usual, 'mm/m')} elsewhere: read that run again both ways round."
    )


# --- loops ---------------------------------------------------------------------------------------


def is_open(loop: Loop) -> bool:
    """Whether a walk round misses its start by more than its readings explain."""
    return abs(loop.gap.value) > SUSPECT * loop.gap.u


def worst_runs(net: LevelNet) -> tuple[int, ...]:
    """Numbers of the runs that fit worst, if worse than chance; several where they tie."""
    worst = max((abs(w) for w in net.standardised), default=0.0)
    if worst <= SUSPECT:
        return ()
    return tuple(k for k, w in enumerate(net.standardised) if abs(w) >= worst * (1.0 - 1e-6))


def _open_sentence(pairs: Sequence[Pair], loop: Loop, worst: tuple[int, ...], words: Words) -> str:
    walk = ", ".join(words.place(n) for n in loop.nodes)
    said = (
        f"The walk {walk} misses its start by {words.show(abs(loop.gap.value), 'mm')}, where "
        f"{words.show(SUSPECT * loop.gap.u, 'mm')} would do"
    )
    if len(worst) == 1:
        return f"{said}: the run {words.run(pairs[worst[0]])} is suspect, read it again both ways round."
    return f"{said}: one of its runs is wrong; {_next_reading(pairs, loop, words)}."


def _next_reading(pairs: Sequence[Pair], loop: Loop, words: Words) -> str:
    """What tells which run of a loop is wrong: a run across it."""
    nodes = list(dict.fromkeys(loop.nodes))
    read = {frozenset((p.start, p.end)) for p in pairs}
    half = len(nodes) // 2
    across = [(nodes[k], nodes[k + half]) for k in range(len(nodes) - half)]
    fresh = [ab for ab in across if frozenset(ab) not in read]
    if len(nodes) < 4 or not fresh:
        return "read all of them again both ways round"
    a, b = fresh[0]
    return f"read the diagonal {words.place(a)} to {words.place(b)} too, and that tells which"


# --- the whole net -------------------------------------------------------------------------------


def unlikely(chi_square: float, dof: int) -> bool:
    """Whether the readings fit together worse than their uncertainty explains."""
    return dof > 0 and chi_square > chi_square_limit(dof)


def chi_square_limit(dof: int) -> float:
    """Upper 0.1 % point of chi-square (Wilson and Hilferty 1931, from memory; good to 2 % here)."""
    z, share = NormalDist().inv_cdf(1.0 - RISK), 2.0 / (9.0 * dof)
    return float(dof * (1.0 - share + z * math.sqrt(share)) ** 3)


def _unlikely_sentence(pairs: Sequence[Pair], net: LevelNet, words: Words) -> str:
    worst = max(range(len(pairs)), key=lambda k: abs(net.standardised[k]))
    return (
        f"The level readings as a whole fit together worse than the level explains; {words.run(pairs[worst])} "
        "fits worst, read it again both ways round."
    )
