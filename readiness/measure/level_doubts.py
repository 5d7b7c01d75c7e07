"""What is wrong with a net of level readings: which run, what kind of mistake, what would have agreed.

Two things can be held against a run read both ways: its zero error, which is the level's and so should be that
of the level's other runs, and its rise, which loops of other runs say too. A mistake in one of its two readings
shows in both, a run read from the wrong end in the rise alone. A run in doubt is made so weak that it decides
nothing (its u a thousand times as large), and the rest of the net then says what it should have shown; where
nothing else reaches, that is so uncertain that everything agrees with it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Literal

from readiness.measure.chance import chi_square_tail
from readiness.measure.least_squares import UNCHECKED, widening
from readiness.measure.level_net import SUSPECT, LevelNet, Loop, Pair, adjust_levels
from readiness.measure.uncertain import Estimate

Kind = Literal[
    "sign of first", "sign of turned", "sign of one", "first", "turned", "zero differs",
    "wrong way round", "both signs", "rise differs",
]  # fmt: skip
Explanation = tuple[Kind, tuple[float | None, float | None]]
"""What happened, and the two readings that would agree."""
XY = tuple[float, float]

WEAK = 1000.0
"""How many times its u a run in doubt is given."""
DIFFER, AGREE = 0.001, 0.05
"""Probabilities of chi-square: below the one numbers do not belong together, above the other they may."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A run that does not fit. Readings and zero errors in mm/m, rises in mm.

    What its zero error says, against that of the level's other runs:
      "sign of first", "sign of turned"   that reading with the other sign agrees with all the others
      "sign of one"                       either does: nothing else says which
      "first", "turned"                   that reading is off, the other one agrees
      "both signs"                        both with the other sign agree; its rise alone may say so too
      "zero differs"                      one of the two is off, nothing says which
    What its rise says, against the rest of the net, while its zero error is as it should be:
      "wrong way round"                   read from its end to its start: its readings change places
      "rise differs"                      neither explains it

    `first`, `turned`: readings that would agree with all the others, of "zero differs" and "sign of one" each if
    the other stands; None where there is none. `zero`, `rise`: what the others say, with u; the rise is very uncertain where
    nothing else connects the two nodes. `tied`: all runs that could be the wrong one just as well, itself among them.
    """

    pair: int
    kind: Kind
    first: float | None
    turned: float | None
    zero: Estimate
    rise: Estimate
    tied: tuple[int, ...]


def doubts(
    pairs: Sequence[Pair], datum: str, *, u_foot: float, zero_u: Mapping[str, float] | None = None
) -> tuple[Doubt, ...]:
    """All runs that do not fit, those with a wrong zero error first; empty where the net is sound.

    A run is in doubt by a number 3.29 times its own u (0.1 % risk for each run). From the second run of a level
    on: two that disagree are both named, for neither is the odd one out. Where all second readings were given the
    sign of the slope, all are named. Raises ValueError as `adjust_levels`.
    """
    net = _Net(tuple(pairs), datum, u_foot, zero_u)
    flipped = _all_flipped(pairs, u_foot)
    net = net.having({k: _flipped(pairs[k]) for k in flipped})
    found = [_sign_of_all(net, k, adjusted) for adjusted in [net.adjusted()] for k in flipped]
    odd = odd_zeros(net.pairs, u_foot=u_foot)
    found += _of_zeros(net, odd)
    net = net.mended(found)
    while tied := (adjusted := net.adjusted()).suspects():
        found += [_of_rise(net, adjusted, k, tied) for k in tied]
        net = net.without(tied)
    return tuple(found)


def odd_zeros(pairs: Sequence[Pair], *, u_foot: float) -> tuple[int, ...]:
    """Numbers of the pairs whose zero error is not that of the same level's other pairs.

    Each is held against the median of its level's, which up to half of them may spoil; u of a median of
    n is sqrt(pi / 2n) that of one. Of two that disagree nobody knows which is right: both.
    """
    odd: list[int] = []
    for zeros in _zeros(pairs, u_foot).values():
        middle = median(z.value for z in zeros.values())
        mean_square = math.fsum(z.u**2 for z in zeros.values()) / len(zeros)
        u = math.sqrt(math.pi / 2.0 * mean_square / len(zeros))
        if len(zeros) == 2:  # each lies half their difference from the middle, whose u is half that of it
            odd += zeros if _apart(*zeros.values()) else ()
        else:
            odd += [k for k, z in zeros.items() if _apart(z, Estimate(middle, u))]
    return tuple(sorted(odd))


def diagonal_to_read(
    loop: Loop, places: Mapping[str, XY], longest: float = math.inf
) -> tuple[str, str] | None:
    """The two nodes of a loop between which one more run tells on which side of it the wrong run lies.

    It halves the number of runs as nearly as can be; of equals the shortest. `places` and `longest`, that of
    the straightedge, in m. None where every such run is too long, and in a loop of three runs.
    """
    nodes = loop.nodes[:-1]
    n = len(nodes)
    across = [
        (abs(n - 2 * (j - i)), math.dist(places[nodes[i]], places[nodes[j]]), nodes[i], nodes[j])
        for i in range(n)
        for j in range(i + 2, n)
        if j - i < n - 1
    ]
    fitting = [a for a in across if a[1] <= longest]
    return min(fitting, key=lambda a: a[:2])[2:] if fitting else None


# --- a net with some runs made weak --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Net:
    pairs: tuple[Pair, ...]
    datum: str
    u_foot: float
    zero_u: Mapping[str, float] | None

    def adjusted(self) -> LevelNet:
        return adjust_levels(self.pairs, self.datum, u_foot=self.u_foot, zero_u=self.zero_u)

    def having(self, others: Mapping[int, Pair]) -> _Net:
        """The net with other runs in the place of some."""
        return replace(self, pairs=tuple(others.get(k, p) for k, p in enumerate(self.pairs)))

    def without(self, runs: Iterable[int]) -> _Net:
        """The net in which these runs decide nothing."""
        return self.having({k: self._weak(self.pairs[k]) for k in runs})

    def mended(self, found: Iterable[Doubt]) -> _Net:
        """The net with wrong signs put right, and without the other runs in doubt."""
        right = {
            d.pair: replace(self.pairs[d.pair], first=d.first, turned=d.turned)
            for d in found
            if d.first is not None and d.kind in ("sign of first", "sign of turned", "both signs")
        }
        return self.having(right).without({d.pair for d in found} - set(right))

    def _weak(self, pair: Pair) -> Pair:
        """Its u so large that also the rise, of which the feet may make the most, has it."""
        return replace(pair, u=WEAK * math.sqrt(2.0) * pair.rise_u(self.u_foot) / pair.length)


def _rise_in(net: LevelNet, pair: Pair) -> Estimate:
    return Estimate(net.heights[pair.end] - net.heights[pair.start], math.hypot(*_step(net, pair).values()))


def _apart(one: Estimate, other: Estimate) -> bool:
    return abs(one.value - other.value) > SUSPECT * math.hypot(one.u, other.u)


# --- zero errors ---------------------------------------------------------------------------------


def _zeros(pairs: Sequence[Pair], u_foot: float) -> dict[str, dict[int, Estimate]]:
    """Zero errors by level and number of the pair, read both ways."""
    zeros: defaultdict[str, dict[int, Estimate]] = defaultdict(dict)
    for k, pair in enumerate(pairs):
        if pair.zero is not None:
            zeros[pair.level][k] = Estimate(pair.zero, pair.zero_u(u_foot))
    return zeros


def _of_zeros(net: _Net, odd: Sequence[int]) -> list[Doubt]:
    """One adjustment serves all, unless a level has but two pairs: then each is held against the other."""
    if not odd:
        return []
    of_level = {level: set(zeros) for level, zeros in _zeros(net.pairs, net.u_foot).items()}
    two = {k for zeros in of_level.values() if len(zeros) == 2 for k in zeros}
    rest = net.without(set(odd) - two).adjusted() if set(odd) - two else None
    found = []
    for k in odd:
        said = net.without(set(odd) - two | {k}).adjusted() if k in two or rest is None else rest
        lost = of_level[net.pairs[k].level] <= set(odd) and k not in two
        found.append(_of_zero(net, said, k, lost=lost))
    return found


def _of_zero(net: _Net, rest: LevelNet, k: int, *, lost: bool) -> Doubt:
    """`lost`: no pair of this level is sound, so that nothing says what the readings should have been."""
    pair, zero = net.pairs[k], rest.zeros[net.pairs[k].level]
    rise = _rise_in(rest, pair)
    assert pair.turned is not None
    kind, readings = ("zero differs", (None, None)) if lost else _explained(pair, zero, rise, net.u_foot)
    return Doubt(k, kind, *readings, zero, rise, (k,))


def _explained(pair: Pair, zero: Estimate, rise: Estimate, u_foot: float) -> Explanation:
    """Which mistake makes the two readings agree with what the others say.

    Where none does, another run of its loops is wrong too, and what they say of the rise is worth nothing.
    """
    kind, readings = _mistake(pair, zero, rise, u_foot)
    if readings[0] is None:
        return _mistake(pair, zero, Estimate(rise.value, math.inf), u_foot)
    return kind, readings


def _mistake(pair: Pair, zero: Estimate, rise: Estimate, u_foot: float) -> Explanation:
    """Signs before values."""
    first, turned = pair.first, pair.turned or 0.0

    def fitting(ways: Mapping[Kind, tuple[float, float]]) -> list[Kind]:
        return [kind for kind, readings in ways.items() if _agree(pair, readings, zero, rise, u_foot)]

    signs: dict[Kind, tuple[float, float]] = {
        "sign of turned": (first, -turned),
        "sign of first": (-first, turned),
    }
    fit = fitting(signs)
    if fit:
        return ("sign of one", (-first, -turned)) if len(fit) == 2 else (fit[0], signs[fit[0]])
    if fitting({"both signs": (-first, -turned)}):
        return "both signs", (-first, -turned)
    other = 2.0 * zero.value - turned, 2.0 * zero.value - first
    values: dict[Kind, tuple[float, float]] = {"first": (other[0], turned), "turned": (first, other[1])}
    fit = fitting(values)
    if len(fit) == 1:
        return fit[0], values[fit[0]]
    return "zero differs", other if fit else (None, None)


def _agree(
    pair: Pair, readings: tuple[float, float | None], zero: Estimate, rise: Estimate, u_foot: float
) -> bool:
    other = replace(pair, first=readings[0], turned=readings[1])
    fits = not _apart(Estimate(other.rise, other.rise_u(u_foot)), rise)
    return fits and (other.zero is None or not _apart(Estimate(other.zero, other.zero_u(u_foot)), zero))


def _all_flipped(pairs: Sequence[Pair], u_foot: float) -> tuple[int, ...]:
    """Pairs of the levels of which no two zero errors belong together unless all second readings change sign."""
    flipped: list[int] = []
    for zeros in _zeros(pairs, u_foot).values():
        other = [Estimate(_flipped(pairs[k]).zero or 0.0, z.u) for k, z in zeros.items()]
        if len(zeros) > 2 and _together(zeros.values()) < DIFFER and _together(other) > AGREE:
            flipped += zeros
    return tuple(sorted(flipped))


def _flipped(pair: Pair) -> Pair:
    return replace(pair, turned=None if pair.turned is None else -pair.turned)


def _sign_of_all(net: _Net, k: int, adjusted: LevelNet) -> Doubt:
    pair = net.pairs[k]
    zero, rise = adjusted.zeros[pair.level], _rise_in(adjusted, pair)
    return Doubt(k, "sign of turned", pair.first, pair.turned, zero, rise, (k,))


def _together(values: Collection[Estimate]) -> float:
    """Probability that numbers with a common true value scatter as much."""
    total = math.fsum(v.u**-2 for v in values)
    mean = math.fsum(v.value * v.u**-2 for v in values) / total
    return chi_square_tail(math.fsum(((v.value - mean) / v.u) ** 2 for v in values), len(values) - 1)


# --- rises ---------------------------------------------------------------------------------------


def _of_rise(net: _Net, adjusted: LevelNet, k: int, tied: tuple[int, ...]) -> Doubt:
    pair = net.pairs[k]
    others = _Others(adjusted, pair, k, net.u_foot)
    zero = others.say(adjusted.zeros[pair.level].value, adjusted.zero_effects[pair.level])
    rise = others.say(adjusted.heights[pair.end] - adjusted.heights[pair.start], _step(adjusted, pair))
    first, turned = pair.first, pair.turned
    ways: dict[Kind, tuple[float, float | None]] = {
        "wrong way round": (2.0 * zero.value - first, None) if turned is None else (turned, first),
        "both signs": (-first, None if turned is None else -turned),
    }
    for kind, readings in ways.items():
        if _agree(pair, readings, zero, others.seen, net.u_foot):
            return Doubt(k, kind, *readings, zero, rise, tied)
    slope = rise.value / pair.length
    back = None if turned is None else zero.value - slope
    return Doubt(k, "rise differs", zero.value + slope, back, zero, rise, tied)


class _Others:
    """An adjusted net as it would be had one run not been read.

    With C the covariance of the unknowns, a the run's coefficients, u, v its uncertainty and residual, and
    r = 1 - a C a / u^2: leaving the run out adds C a v / (u^2 r) to the unknowns, and C a (C a)^T / (u^2 r) to
    their covariance (Sherman and Morrison; Cook and Weisberg, Residuals and Influence in Regression, 1982, from
    memory). The stated u count, for it is the run in doubt that widened them.
    """

    def __init__(self, net: LevelNet, pair: Pair, k: int, u_foot: float) -> None:
        self._wide = widening(net.s0) ** 2
        self._run = _step(net, pair)
        if pair.turned is None:
            for error, size in net.zero_effects[pair.level].items():
                self._run[error] = self._run.get(error, 0.0) + pair.length * size
        u2 = pair.rise_u(u_foot) ** 2
        self._left = max(u2 - _product(self._run, self._run) / self._wide, UNCHECKED * u2)
        self._residual = net.residuals[k]
        self.seen = self.say(pair.rise + net.residuals[k], self._run)
        """What the run should have read: rise in mm, and the zero error over its length where read one way."""

    def say(self, value: float, effects: Mapping[str, float]) -> Estimate:
        """A number of the net and its u without the run."""
        shared = _product(effects, self._run) / self._wide
        variance = _product(effects, effects) / self._wide + shared**2 / self._left
        return Estimate(value + shared * self._residual / self._left, math.sqrt(variance))


def _step(net: LevelNet, pair: Pair) -> dict[str, float]:
    """What each error does to the rise between the two nodes of a run."""
    start, end = net.effects[pair.start], net.effects[pair.end]
    return {e: end.get(e, 0.0) - start.get(e, 0.0) for e in {**start, **end}}


def _product(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    return math.fsum(size * other[e] for e, size in one.items() if e in other)
