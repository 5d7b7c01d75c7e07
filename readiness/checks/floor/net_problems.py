"""What does not fit in a net of level readings, in sentences: what it is, and what to read again."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from readiness.measure.level_doubts import Doubt, diagonal_to_read, doubts, odd_zeros
from readiness.measure.level_net import SUSPECT, LevelNet, Loop, Pair

RISK = 0.001
"""How often a sound net is called unsound as a whole: the risk behind SUSPECT."""
XY = tuple[float, float]
ALL_WRONG = (
    "All second readings look as if typed with the sign of the slope: enter what the level showed after it was "
    "turned, which of an exact level is the first reading with the other sign."
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
class Levelled:
    """A net of runs with what came of it. `places` and `longest`, the straightedge, in m; `u_foot` in mm."""

    pairs: Sequence[Pair]
    net: LevelNet
    walks: Sequence[Loop]
    places: Mapping[str, XY]
    u_foot: float
    zero_u: Mapping[str, float] | None = None
    longest: float = math.inf

    @property
    def unlikely(self) -> bool:
        """Whether the readings as a whole fit together worse than their uncertainty explains."""
        return self.net.probability < RISK

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        odd = odd_zeros(self.pairs, u_foot=self.u_foot)
        if not (odd or self.unlikely or self.net.suspects()):
            return ()
        return doubts(self.pairs, self.pairs[0].start, u_foot=self.u_foot, zero_u=self.zero_u)


@dataclass(frozen=True, slots=True)
class Problems:
    """Sentences, the gravest first, and the numbers of the runs that are suspect.

    `about`: number of a run -> the sentence that names it. `one_of`: number of a run -> which of its two readings
    it is, 0 the first, 1 the turned one, where that is known.
    """

    sentences: tuple[str, ...] = ()
    runs: tuple[int, ...] = ()
    about: Mapping[int, str] = field(default_factory=dict)
    one_of: Mapping[int, int] = field(default_factory=dict)


def net_problems(levelled: Levelled, words: Words) -> Problems:
    """What does not fit, and what to read again; empty where the net is sound."""
    found = levelled.doubts
    told = tuple(_sentences(levelled, found, words))
    sentences = tuple(sentence for sentence, _ in told)
    if not sentences and levelled.unlikely:
        sentences = (_unlikely_sentence(levelled, words),)
    about = {k: sentence for sentence, runs in reversed(told) for k in runs}
    one_of = {d.pair: _WHICH[d.kind] for d in found if d.kind in _WHICH}
    return Problems(sentences, tuple(sorted({d.pair for d in found})), about, one_of)


_WHICH = {"first": 0, "sign of first": 0, "turned": 1, "sign of turned": 1}


def is_open(walk: Loop) -> bool:
    """Whether a walk round misses its start by more than its readings explain."""
    return abs(walk.gap.value) > SUSPECT * walk.gap.u


def _sentences(
    levelled: Levelled, found: Sequence[Doubt], words: Words
) -> Iterator[tuple[str, tuple[int, ...]]]:
    """What to say, with the numbers of the runs that it is about."""
    both_ways = {k for k, p in enumerate(levelled.pairs) if p.turned is not None}
    flipped = {d.pair for d in found if d.kind == "sign of turned"}
    if len(flipped) > 2 and flipped == both_ways:
        yield ALL_WRONG, tuple(sorted(flipped))
        found = [d for d in found if d.pair not in flipped or d.kind != "sign of turned"]
    told: set[tuple[int, ...]] = set()
    for doubt in found:
        if len(doubt.tied) == 1:
            yield _sentence(levelled.pairs[doubt.pair], doubt, words), (doubt.pair,)
        elif doubt.tied not in told:
            told.add(doubt.tied)
            yield _tied_sentence(levelled, [d for d in found if d.tied == doubt.tied], words), doubt.tied


def _sentence(pair: Pair, doubt: Doubt, words: Words) -> str:
    """One run in doubt: what it looks like, what would agree."""
    run = words.run(pair)
    if doubt.kind in ("sign of first", "sign of turned"):
        which, wanted = ("first", doubt.first) if doubt.kind == "sign of first" else ("second", doubt.turned)
        return (
            f"The {which} reading of {run} looks as if typed with the wrong sign: "
            f"{words.signed(wanted or 0.0, 'mm/m')} would agree; read it again."
        )
    if doubt.kind in ("first", "turned"):
        which, wanted = ("first", doubt.first) if doubt.kind == "first" else ("second", doubt.turned)
        return (
            f"The {which} reading of {run} does not fit the other runs, where about "
            f"{words.signed(wanted or 0.0, 'mm/m')} would agree: read that run again both ways round."
        )
    if doubt.kind == "sign of one":
        return f"One of the two readings of {run} looks as if typed with the wrong sign: read both again."
    if doubt.kind == "zero differs":
        return (
            f"The two readings of {run} give the level a zero error of {words.signed(pair.zero or 0.0, 'mm/m')}, where "
            f"other runs give {words.signed(doubt.zero.value, 'mm/m')}: read that run again both ways round."
        )
    return _rise_sentence(pair, doubt, words)


def _rise_sentence(pair: Pair, doubt: Doubt, words: Words) -> str:
    run = words.run(pair)
    if doubt.kind == "wrong way round":
        back = f"{words.place(pair.end)} to {words.place(pair.start)}"
        return f"The run {run} looks as if it was read from {back}: read it again."
    if doubt.kind == "both signs":
        return f"The run {run} looks as if typed with the wrong signs: read it again both ways round."
    return (
        f"The run {run} is suspect: all other runs together make it rise {words.signed(doubt.rise.value, 'mm')}, its "
        f"own readings {words.signed(pair.rise, 'mm')}. Read it again both ways round."
    )


def _tied_sentence(levelled: Levelled, tied: Sequence[Doubt], words: Words) -> str:
    """Several runs of which each could be the wrong one: those, or what tells which."""
    pairs, runs = levelled.pairs, {d.pair for d in tied}
    guess = _guess(levelled, tied, words)
    walk = next((w for w in levelled.walks if runs & set(w.pairs)), None)
    if walk is None or runs < set(walk.pairs):
        named = _listed([words.run(pairs[k]) for k in sorted(runs)])
        return f"One of the runs {named} is wrong{guess}: read them again both ways round."
    across = diagonal_to_read(walk, levelled.places, levelled.longest)
    return f"{_misses(walk, words)}: one of its runs is wrong{guess}; {_next_reading(across, words)}."


def _guess(levelled: Levelled, tied: Sequence[Doubt], words: Words) -> str:
    """The one run among several that a known slip would explain."""
    slips = [d for d in tied if d.kind in ("wrong way round", "both signs")]
    if len(slips) != 1:
        return ""
    pair = levelled.pairs[slips[0].pair]
    back = f"read from {words.place(pair.end)}"
    slip = back if slips[0].kind == "wrong way round" else "typed with the wrong signs"
    return f" (perhaps {words.run(pair)}, {slip})"


def _misses(walk: Loop, words: Words) -> str:
    places = ", ".join(words.place(n) for n in walk.nodes)
    return (
        f"The walk {places} misses its start by {words.show(abs(walk.gap.value), 'mm')}, where "
        f"{words.show(SUSPECT * walk.gap.u, 'mm')} would do"
    )


def _next_reading(across: tuple[str, str] | None, words: Words) -> str:
    if across is None:
        return "read all of them again both ways round"
    a, b = (words.place(n) for n in across)
    return f"read the diagonal {a} to {b} too, which tells on which side of it"


def _listed(runs: Sequence[str]) -> str:
    return " and ".join((", ".join(runs[:-1]), runs[-1])) if len(runs) > 1 else runs[0]


def _unlikely_sentence(levelled: Levelled, words: Words) -> str:
    pairs, net = levelled.pairs, levelled.net
    zeros = (abs(w) if w is not None else 0.0 for w in net.zero_standardised)
    off = [max(abs(w), z) for w, z in zip(net.standardised, zeros, strict=True)]
    worst = max(range(len(pairs)), key=off.__getitem__)
    return (
        f"The level readings as a whole fit together worse than the level explains; {words.run(pairs[worst])} "
        "fits worst, read it again both ways round."
    )
