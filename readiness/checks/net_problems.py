"""What does not fit in a net of level readings, in sentences: what it is, and what to read again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist, median

from readiness.measure.level_net import LevelNet, Loop, Pair
from readiness.measure.levelling import SUSPECT

RISK = 0.001
"""How often a sound net is called unsound: the risk behind SUSPECT."""
OUT_OF_ADJUSTMENT = 5.0
"""A zero error so many times the stated accuracy is a misreading sooner than the level's; common practice, no
published source."""
ALL_WRONG = (
    "The second readings look as if all were typed with the sign of the slope: enter what the level showed after it "
    "was turned, which of an exact level is the first reading with the other sign."
)


@dataclass(frozen=True, slots=True)
class Words:
    """How a place and a number with its unit are said."""

    place: Callable[[str], str]
    show: Callable[[float, str], str]

    def signed(self, value: float, unit: str) -> str:
        """With its sign also where that is plus."""
        return f"{'+' if value >= 0 else ''}{self.show(value, unit)}"

    def run(self, pair: Pair) -> str:
        return f"{self.place(pair.start)} to {self.place(pair.end)}"


@dataclass(frozen=True, slots=True)
class Problems:
    """Sentences, the gravest first, and the numbers of the runs that are suspect."""

    sentences: tuple[str, ...] = ()
    runs: tuple[int, ...] = ()


def net_problems(
    pairs: Sequence[Pair],
    net: LevelNet,
    walks: Sequence[Loop],
    words: Words,
    *,
    u_foot: float,
    stated: Mapping[str, float],
) -> Problems:
    """What does not fit. `stated`: level -> half width in mm/m of the zero error that its accuracy allows."""
    if _all_turned_wrong(pairs, u_foot, stated):
        return Problems((ALL_WRONG,), tuple(k for k, p in enumerate(pairs) if p.turned is not None))
    odd = odd_pairs(pairs, u_foot, stated)
    rest = [walk for walk in walks if is_open(walk) and not set(odd) & set(walk.pairs)]
    worst = net.suspects() if rest else ()
    sentences = [_odd_sentence(pairs, k, u_foot, stated, words) for k in odd]
    if len(worst) == 1:
        sentences.append(_suspect_sentence(pairs, rest, worst[0], words))
    else:
        sentences += [_open_sentence(pairs, walk, worst, words) for walk in rest]
    if not sentences and unlikely(net.chi_square, net.dof):
        sentences.append(_unlikely_sentence(pairs, net, words))
    return Problems(tuple(sentences), (*odd, *(worst if len(worst) == 1 else ())))


# --- the two readings of a run -------------------------------------------------------------------


def odd_pairs(pairs: Sequence[Pair], u_foot: float, stated: Mapping[str, float]) -> tuple[int, ...]:
    """Numbers of the runs whose two readings give another zero error than the same level shows elsewhere.

    The others' median is the measure. Where there is but one other and the two disagree, it is the one
    that lies farther from zero.
    """
    odd: list[int] = []
    for level in dict.fromkeys(p.level for p in pairs):
        zeros = _zeros(pairs, level)
        usual = {k: _usual(zeros, k, stated.get(level)) for k in zeros}
        bad = [k for k in zeros if abs(zeros[k] - usual[k]) > _explained(pairs[k], u_foot)]
        odd += [max(bad, key=lambda k: abs(zeros[k]))] if len(zeros) == 2 and bad else bad
    return tuple(odd)


def _zeros(pairs: Sequence[Pair], level: str) -> dict[int, float]:
    """The zero errors that a level shows, by number of the run read both ways."""
    return {k: p.zero for k, p in enumerate(pairs) if p.level == level and p.zero is not None}


def _usual(zeros: Mapping[int, float], k: int, stated: float | None) -> float:
    """The zero error of a level's other runs; one run alone is held against what its accuracy allows."""
    others = [zero for n, zero in zeros.items() if n != k]
    if others:
        return median(others)
    most = math.inf if stated is None else OUT_OF_ADJUSTMENT * stated
    return max(-most, min(most, zeros[k]))


def _explained(pair: Pair, u_foot: float) -> float:
    """How far in mm/m the zero errors of two pairs may lie apart."""
    return SUSPECT * math.sqrt(2.0) * pair.zero_u(u_foot)


def _all_turned_wrong(pairs: Sequence[Pair], u_foot: float, stated: Mapping[str, float]) -> bool:
    """Whether every second reading looks as if its sign were that of the slope and not what the level showed."""
    both = [p for p in pairs if p.turned is not None]
    if len(both) < 3 or len(odd_pairs(both, u_foot, stated)) < 2:
        return False
    other = [replace(p, turned=-p.turned) for p in both if p.turned is not None]
    return not odd_pairs(other, u_foot, stated)


def _odd_sentence(
    pairs: Sequence[Pair], k: int, u_foot: float, stated: Mapping[str, float], words: Words
) -> str:
    pair = pairs[k]
    zeros = _zeros(pairs, pair.level)
    usual, run = _usual(zeros, k, stated.get(pair.level)), words.run(pair)
    assert pair.turned is not None
    if abs((pair.first - pair.turned) / 2.0 - usual) <= _explained(pair, u_foot):
        return (
            f"The second reading of {run} looks as if typed with the wrong sign: "
            f"{words.signed(-pair.turned, 'mm/m')} would agree with the other runs; read it again."
        )
    return (
        f"The two readings of {run} give the level a zero error of {words.signed(zeros[k], 'mm/m')}, where the "
        f"others give {words.signed(usual, 'mm/m')}: read that run again both ways round."
    )


# --- loops ---------------------------------------------------------------------------------------


def is_open(walk: Loop) -> bool:
    """Whether a walk round misses its start by more than its readings explain."""
    return abs(walk.gap.value) > SUSPECT * walk.gap.u


def _misses(walk: Loop, words: Words) -> str:
    places = ", ".join(words.place(n) for n in walk.nodes)
    return (
        f"The walk {places} misses its start by {words.show(abs(walk.gap.value), 'mm')}, where "
        f"{words.show(SUSPECT * walk.gap.u, 'mm')} would do"
    )


def _suspect_sentence(pairs: Sequence[Pair], walks: Sequence[Loop], k: int, words: Words) -> str:
    """One run explains what is wrong; the walk that misses most is told."""
    walk = max(walks, key=lambda w: abs(w.gap.value) / w.gap.u)
    return f"{_misses(walk, words)}: the run {words.run(pairs[k])} is suspect, read it again both ways round."


def _open_sentence(pairs: Sequence[Pair], walk: Loop, worst: Sequence[int], words: Words) -> str:
    tied = [words.run(pairs[k]) for k in walk.pairs if k in worst]
    if 0 < len(tied) < len(walk.pairs):
        return f"{_misses(walk, words)}: {' or '.join(tied)} is wrong, read them again both ways round."
    return f"{_misses(walk, words)}: one of its runs is wrong; {_next_reading(pairs, walk, words)}."


def _next_reading(pairs: Sequence[Pair], walk: Loop, words: Words) -> str:
    """What tells which run of a walk is wrong: a run across it."""
    nodes = walk.nodes[:-1]
    read = {frozenset((p.start, p.end)) for p in pairs}
    half = len(nodes) // 2
    across = [(nodes[k], nodes[k + half]) for k in range(len(nodes) - half)]
    fresh = [ab for ab in across if frozenset(ab) not in read]
    if len(nodes) < 4 or not fresh:
        return "read all of them again both ways round"
    a, b = fresh[0]
    return f"read the diagonal {words.place(a)} to {words.place(b)} too, which tells on which side of it"


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
