"""How often pass and fail were wrong, by kind of part and by car, and whether that is more than the stated risk.

An interval by Clopper and Pearson (1934), from scipy: a rate counts as above 5 % only where 99.9 % one-sided
confidence says so, because kinds that are right at 5 % are many.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from scipy.stats import binomtest

from tests.simulation.cars import Judged, Outcome, Simulated
from tests.simulation.topics import ON_STEP

ALLOWED = 0.05
SURE = 0.999
INSIDE = 4.0
"""Standard uncertainties inside its limit from which a part should pass."""
BESIDE = 3.0
"""A part beyond its limit by more than this is no test of anything."""


@dataclass
class Share:
    """So many of so many."""

    count: int = 0
    of: int = 0

    def add(self, hit: bool) -> None:
        self.count += hit
        self.of += 1

    def plus(self, other: Share) -> Share:
        return Share(self.count + other.count, self.of + other.of)

    @property
    def rate(self) -> float:
        return self.count / self.of if self.of else 0.0

    @property
    def surely(self) -> float:
        """What the rate is at least, with 99.9 % one-sided confidence."""
        if not self.of:
            return 0.0
        test = binomtest(self.count, self.of, ALLOWED, alternative="greater")
        return float(test.proportion_ci(SURE, method="exact").low)

    @property
    def too_often(self) -> bool:
        return self.surely > ALLOWED

    def __str__(self) -> str:
        return f"{100 * self.rate:5.1f} of {self.of:<6d}" if self.of else f"{'-':>5} of {0:<6d}"


@dataclass
class Row:
    """One kind of part. At the limit neither pass nor fail is right, and being wrong is likeliest."""

    at_pass: Share = field(default_factory=Share)
    at_fail: Share = field(default_factory=Share)
    bad_pass: Share = field(default_factory=Share)
    """Truly bad by up to 3 u, and passed."""
    good_fail: Share = field(default_factory=Share)
    """Truly good by up to 3 u, and failed."""
    shy: Share = field(default_factory=Share)
    """Good by 4 u and more, and not passed."""

    def add(self, part: Judged) -> None:
        passed, failed = part.outcome == "pass", part.outcome == "fail"
        if part.estimated:
            self._add_estimate(part)
        elif part.at:
            self.at_pass.add(passed)
            self.at_fail.add(failed)
        elif part.depth < 0:
            if part.depth >= -BESIDE:
                self.bad_pass.add(passed)
        elif part.depth <= BESIDE:
            self.good_fail.add(failed)
        elif part.depth >= INSIDE:
            self.shy.add(not passed)

    def _add_estimate(self, part: Judged) -> None:
        """Of those that just pass, how many are bad; of those that just fail, how many are good."""
        if part.at and part.outcome == "pass":
            self.at_pass.add(part.depth < 0)
        elif part.at and part.outcome == "fail":
            self.at_fail.add(part.depth >= 0)

    @property
    def shares(self) -> dict[str, Share]:
        return {
            "passed at the limit": self.at_pass, "failed at the limit": self.at_fail,
            "passed beyond": self.bad_pass, "failed within": self.good_fail,
        }  # fmt: skip

    def plus(self, other: Row) -> Row:
        return Row(*(getattr(self, n).plus(getattr(other, n)) for n in self.__dataclass_fields__))


@dataclass
class Tally:
    rows: dict[str, Row] = field(default_factory=dict)
    wrong_go: Share = field(default_factory=Share)
    """Sides with something truly bad that were a go; only of cars where all else is well kept."""
    no_go: Share = field(default_factory=Share)
    """Sides with nothing bad, everything 5 u and more within, that were no go."""
    odd: Counter[str] = field(default_factory=Counter)

    def add(self, outcome: Outcome) -> None:
        for part in outcome.parts:
            self.rows.setdefault(part.kind, Row()).add(part)
        for bad, go in outcome.sides if outcome.sort in ("good", "one bad") else ():
            (self.wrong_go if bad else self.no_go).add(go if bad else not go)
        self.odd.update(outcome.odd)

    @property
    def held(self) -> dict[str, Row]:
        """The kinds that are held to the stated risk.

        Where truth and limit are both on a step of the display, what rounding does is no chance: over a step it evens
        out to the stated risk, at its ends it does not (JCGM 100 F.2.2.1 takes it as chance; clause from memory).
        """
        return {kind: row for kind, row in sorted(self.rows.items()) if not kind.endswith(ON_STEP)}

    @property
    def all(self) -> Row:
        total = Row()
        for row in self.held.values():
            total = total.plus(row)
        return total

    def too_often(self) -> Iterator[str]:
        """What is above the stated risk, one line each."""
        shares = {("all", what): share for what, share in self.all.shares.items()}
        shares |= {
            (kind, what): share for kind, row in self.held.items() for what, share in row.shares.items()
        }
        shares["cars with something bad", "a go"] = self.wrong_go
        for (kind, what), share in sorted(shares.items(), key=lambda s: s[0]):
            if share.too_often:
                yield f"{kind}: {what}: {share}, at least {100 * share.surely:.1f} %"

    def table(self) -> str:
        heads = ("passed at limit", "failed at limit", "passed beyond", "failed within", "shy 4 u inside")
        lines = [f"{'% wrong':52}" + "".join(f"{h:>18}" for h in heads)]
        lines += [_line(kind, row) for kind, row in (*self.held.items(), ("all", self.all))]
        lines += ["", "not held to it:"]
        lines += [_line(kind, row) for kind, row in sorted(self.rows.items()) if kind not in self.held]
        lines += ["", f"{'a go although something is bad':52}{self.wrong_go}"]
        return "\n".join([*lines, f"{'no go although all is well kept':52}{self.no_go}"])


def _line(kind: str, row: Row) -> str:
    shares = [f"{s}{'!' if s.too_often else ' '}" for s in row.shares.values()]
    return f"{kind:52}" + "".join(f"{s:>18}" for s in (*shares, f"{row.shy} "))


def tallied(cars: Iterable[Simulated], factor: float | None = None) -> Tally:
    tally = Tally()
    for car in cars:
        tally.add(car.outcome(car.judged(factor)))
    return tally
