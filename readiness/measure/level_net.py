"""A net of level readings between nodes: heights, one zero error for each level, and loops that should close.

A level on a straightedge is laid from node to node, read, turned end for end, and read again. Of an exact
level the second reading is the first with the other sign; half their sum is the level's zero error, half
their difference the slope. Weighted least squares (Mikhail and Ackermann, Observations and Least Squares, 1976)
finds all heights and zero errors at once, so that one-way readings profit from pairs read elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.measure.chance import chi_square_tail
from readiness.measure.graph import joined, short_cycles
from readiness.measure.least_squares import Observation, Solution, UndeterminedError, solved, widening
from readiness.measure.uncertain import Estimate

Unknown = tuple[str, str]
"""("height", node) or ("zero", level)."""
SUSPECT = 3.29
"""Standardised residual beyond which a run is suspect: 0.1 % risk (Baarda), from memory."""


def reversed_pair(r1: float, r2: float) -> tuple[float, float]:
    """Slope and zero error from a level read, turned end for end, and read again, in one unit.

    r1 = slope + zero, r2 = -slope + zero. For readings of equal u, both have u / sqrt 2.
    """
    return (r1 - r2) / 2.0, (r1 + r2) / 2.0


@dataclass(frozen=True, slots=True)
class Pair:
    """One run of the level, read one way or both; lengths in m, readings in mm/m.

    `first` > 0 where the level says that `end` is higher; `turned` is what it showed after the whole
    assembly was turned. `u` is the standard uncertainty of one reading, without the level's zero error.
    """

    start: str
    end: str
    length: float
    first: float
    turned: float | None
    u: float
    level: str

    @property
    def zero(self) -> float | None:
        """Zero error of the level in mm/m; None where it was read one way only."""
        return None if self.turned is None else reversed_pair(self.first, self.turned)[1]

    @property
    def slope(self) -> float:
        """Slope from start up to end in mm/m; read one way, it holds the zero error."""
        return self.first if self.turned is None else reversed_pair(self.first, self.turned)[0]

    @property
    def rise(self) -> float:
        """Height of end over start in mm; read one way, it holds the zero error."""
        return self.length * self.slope

    def rise_u(self, u_foot: float) -> float:
        """u of the rise in mm: L u / sqrt 2 where read both ways, and both feet."""
        read = self.u if self.turned is None else self.u / math.sqrt(2.0)
        return math.hypot(self.length * read, u_foot, u_foot)

    def zero_u(self, u_foot: float) -> float:
        """u of the zero error in mm/m: u / sqrt 2, and feet that did not land alike both times.

        Two feet that land independently of the time before make u_foot / L. In the rise they count as if
        they landed alike: which of the two is nearer to the truth is not known, and each errs to the safe side.
        """
        return math.hypot(self.u / math.sqrt(2.0), u_foot / self.length)


@dataclass(frozen=True, slots=True)
class LevelNet:
    """An adjusted net. Heights in mm over the datum, zero errors of the levels in mm/m.

    `effects`: node -> error -> what one standard uncertainty of it does to the height, in mm; `zero_effects` the
    same of the levels' zero errors, in mm/m. The errors are independent of each other, and together they are the
    whole covariance; the last of them are the zero errors' own. `residuals` are adjusted minus measured rise of each pair in mm,
    `standardised` in units of their own u, 0 where nothing checks a pair; `zero_standardised` the same of the
    pairs' zero errors, None where read one way. `s0` near 1 says that the stated u are right, NaN without
    redundancy. Where it is over 1, every u here is already s0 times as wide (`least_squares.widening`).
    """

    heights: dict[str, float]
    effects: dict[str, dict[str, float]]
    zeros: dict[str, Estimate]
    zero_effects: dict[str, dict[str, float]]
    residuals: tuple[float, ...]
    standardised: tuple[float, ...]
    zero_standardised: tuple[float | None, ...]
    chi_square: float
    dof: int
    s0: float

    def height(self, name: str) -> Estimate:
        """Height of a node over the datum."""
        return Estimate(self.heights[name], math.hypot(*self.effects[name].values()))

    @property
    def probability(self) -> float:
        """How likely readings with the stated u are to fit as badly as these; NaN without redundancy."""
        return chi_square_tail(self.chi_square, self.dof) if self.dof else math.nan

    def suspects(self, limit: float = SUSPECT) -> tuple[int, ...]:
        """Numbers of the pairs whose rise fits worst, if worse than `limit`; all of them if they tie.

        A single loop that does not close cannot say which of its runs is wrong: all tie.
        """
        most = max((abs(w) for w in self.standardised), default=0.0)
        if most <= limit:
            return ()
        return tuple(k for k, w in enumerate(self.standardised) if abs(w) >= most * (1 - 1e-6))


def adjust_levels(
    pairs: Sequence[Pair],
    datum: str,
    *,
    u_foot: float,
    zero_u: Mapping[str, float] | None = None,
    errors: str = "level net",
) -> LevelNet:
    """Adjust a net of level readings; `datum` is the node of height 0.

    `u_foot`: standard uncertainty in mm of how one foot comes to lie. A pair read both ways gives a rise with
    `Pair.rise_u` and a zero error with `Pair.zero_u`; one read one way gives rise + length x zero error.
    `zero_u`: level -> standard uncertainty in mm/m of its zero error from its stated accuracy; it counts only
    for a level of which no pair was read both ways, for a level out of adjustment is why one turns it.
    `errors` begins the names of the errors in `effects`, so that two nets do not share any.

    Raises ValueError, one sentence that says what to do: no pairs, a run from a node to itself, a length or u
    that is not positive, an unknown datum, separate pieces, a zero error that nothing determines.
    """
    check_net(pairs, datum, u_foot=u_foot, zero_u=zero_u)
    levels = tuple(dict.fromkeys(p.level for p in pairs))
    nodes = tuple(n for n in dict.fromkeys(n for p in pairs for n in (p.start, p.end)) if n != datum)
    both_ways = {p.level for p in pairs if p.turned is not None}
    prior = {k: u for k, u in (zero_u or {}).items() if k in levels and k not in both_ways}
    observations = [
        *(_rise(p, datum, u_foot) for p in pairs),
        *(
            Observation({("zero", p.level): 1.0}, p.zero, p.zero_u(u_foot))
            for p in pairs
            if p.zero is not None
        ),
        *(Observation({("zero", k): 1.0}, 0.0, u) for k, u in prior.items()),
    ]
    try:
        # zero errors last: then each is an independent error of its own
        solution = solved(observations, [*(("height", n) for n in nodes), *(("zero", k) for k in levels)])
    except UndeterminedError as gone:
        raise ValueError(_undetermined(pairs, gone.unknown)) from None
    return _net(pairs, datum, solution, errors)


def _rise(pair: Pair, datum: str, u_foot: float) -> Observation[Unknown]:
    parts: dict[Unknown, float] = {
        ("height", node): sign for node, sign in ((pair.end, 1.0), (pair.start, -1.0)) if node != datum
    }
    if pair.turned is None:
        parts["zero", pair.level] = pair.length
    return Observation(parts, pair.rise, pair.rise_u(u_foot))


def _net(pairs: Sequence[Pair], datum: str, solution: Solution[Unknown], errors: str) -> LevelNet:
    wide = widening(solution.s0)
    names = [
        f"{errors}: zero error of {name}" if what == "zero" else f"{errors}: {name}"
        for what, name in solution.values
    ]
    heights, effects = {datum: 0.0}, {datum: dict[str, float]()}
    zeros, zero_effects = dict[str, Estimate](), dict[str, dict[str, float]]()
    for k, ((what, name), value) in enumerate(solution.values.items()):
        row = solution.root[k]
        sizes = {names[j]: wide * row[j] for j in range(k, len(row)) if row[j]}
        if what == "zero":
            zeros[name], zero_effects[name] = Estimate(value, math.hypot(*sizes.values())), sizes
        else:
            heights[name], effects[name] = value, sizes
    of_zeros = iter(solution.standardised[len(pairs) :])
    return LevelNet(
        heights, effects, zeros, zero_effects,
        solution.residuals[: len(pairs)], solution.standardised[: len(pairs)],
        tuple(None if p.turned is None else next(of_zeros) for p in pairs),
        solution.chi_square, solution.dof, solution.s0,
    )  # fmt: skip


def _undetermined(pairs: Sequence[Pair], unknown: object) -> str:
    run = next(((k, p) for k, p in enumerate(pairs, 1) if ("zero", p.level) == unknown), None)
    if run is None:  # a height, in a net that hangs together
        return "the runs differ so widely in their u that they cannot be adjusted together: correct the u"
    k, p = run
    return (
        f"run {k}, {p.start} to {p.end}, was read one way only, and no other reading shows the zero error of "
        f"{p.level}: read {p.start} to {p.end} again turned end for end, or close the loop"
    )


def check_net(
    pairs: Sequence[Pair], datum: str, *, u_foot: float, zero_u: Mapping[str, float] | None = None
) -> None:
    """All that `adjust_levels` refuses but a zero error that nothing determines; needs no adjustment.

    So a net whose runs were all read both ways and that passes this can be adjusted. Raises ValueError.
    """
    _check_pairs(pairs, u_foot)
    for level, u in (zero_u or {}).items():
        if not (u > 0 and math.isfinite(u)):
            raise ValueError(f"the zero error of {level} needs a positive u, not {u:g} mm/m")
    edges = [(p.start, p.end) for p in pairs]
    nodes = {n for edge in edges for n in edge}
    if datum not in nodes:
        raise ValueError(f"no run touches the datum {datum}: the nodes are {', '.join(sorted(nodes))}")
    lost = nodes - joined(edges, [datum])
    if lost:
        raise ValueError(
            f"the runs fall into separate pieces: nothing connects {', '.join(sorted(lost))} to {datum}; "
            "read one more run between the pieces"
        )


def _check_pairs(pairs: Sequence[Pair], u_foot: float) -> None:
    if not pairs:
        raise ValueError("there are no level runs to adjust: read at least one")
    if not (u_foot >= 0 and math.isfinite(u_foot)):
        raise ValueError(f"the u of a foot is 0 mm or more, not {u_foot:g} mm")
    for k, p in enumerate(pairs, 1):
        where = f"run {k}, {p.start} to {p.end},"
        if p.start == p.end:
            raise ValueError(f"run {k} goes from {p.start} to itself: give two different nodes")
        if not (p.length > 0 and math.isfinite(p.length)):
            raise ValueError(f"{where} is {p.length:g} m long: a run needs a length above zero")
        if not (math.isfinite(p.first) and (p.turned is None or math.isfinite(p.turned))):
            raise ValueError(f"{where} needs readings that are numbers")
        if not (p.u > 0 and math.isfinite(p.u)):
            raise ValueError(f"{where} needs a positive u of a reading, not {p.u:g} mm/m")


# --- loops ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed walk over runs: `nodes` begins and ends at the same one, `pairs` are the runs' numbers in between.

    `gap` in mm is by how much the rises miss their start, 0 if all is well. Its u is infinite where it hangs
    on a zero error of which nothing is known.
    """

    nodes: tuple[str, ...]
    pairs: tuple[int, ...]
    gap: Estimate


def loops(
    pairs: Sequence[Pair], *, u_foot: float, zero_u: Mapping[str, float] | None = None
) -> tuple[Loop, ...]:
    """Independent loops of few runs, shortest first: all others are sums of these.

    One-way readings share the zero error of their level: the mean of its pairs read both ways, else 0 with
    the u of `zero_u`. Pieces that do not hang together are looked at alike. Raises ValueError as `adjust_levels`.
    """
    _check_pairs(pairs, u_foot)
    zeros = {level: _zero_of(level, pairs, u_foot, zero_u or {}) for level in {p.level for p in pairs}}
    cycles = short_cycles([(p.start, p.end) for p in pairs])
    return tuple(_loop(pairs, cycle, zeros, u_foot) for cycle in cycles)


def _zero_of(
    level: str, pairs: Sequence[Pair], u_foot: float, zero_u: Mapping[str, float]
) -> Estimate | None:
    weights = {
        k: p.zero_u(u_foot) ** -2 for k, p in enumerate(pairs) if p.level == level and p.zero is not None
    }
    if not weights:
        return Estimate(0.0, zero_u[level]) if level in zero_u else None
    total = math.fsum(weights.values())
    mean = math.fsum(w * (pairs[k].zero or 0.0) for k, w in weights.items()) / total
    return Estimate(mean, total**-0.5)


def _loop(
    pairs: Sequence[Pair], cycle: Sequence[int], zeros: Mapping[str, Estimate | None], u_foot: float
) -> Loop:
    here = pairs[cycle[0]].start
    nodes, gap, shared = [here], 0.0, dict.fromkeys(zeros, 0.0)
    for k in cycle:
        pair = pairs[k]
        sign = 1.0 if pair.start == here else -1.0
        here = pair.end if sign > 0 else pair.start
        nodes.append(here)
        gap += sign * pair.rise
        if pair.turned is None:
            shared[pair.level] += sign * pair.length
    parts = [pairs[k].rise_u(u_foot) for k in cycle]
    for level, length in shared.items():
        zero = zeros[level] or Estimate(0.0, math.inf)
        if abs(length) > 1e-9:
            gap -= length * zero.value
            parts.append(abs(length) * zero.u)
    return Loop(tuple(nodes), tuple(cycle), Estimate(gap, math.hypot(*parts)))
