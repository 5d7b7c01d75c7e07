"""What finished exercises say of a person: caught and missed, right and false alarms, and how sure one can be of it.

Of bad checks and bad cars the share that was caught counts (sensitivity), of sound ones the share that was called so
(specificity), each with Wilson's 95 % interval. A check that is near its limit and called too close is marked as right
before it comes here; only the first go at a car counts.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from readiness.measure.proportion import Share
from readiness.practice.finished import Finished, KeptCall, KeptGo, first_time
from readiness.practice.model import LEVELS, Worth

MASTERED: Final = 0.7
"""What the lower ends of both intervals reach where something is mastered: 9 of 9, or 16 of 17. Our own choice, no published
source; 3 of 3 has 0.44."""
STEP_UP: Final = 0.5
"""What they reach at a level before the next one is advised: better than a coin, 4 of 4. Our own choice, no published source."""
TOP: Final = max(LEVELS)
"""The highest level."""

GO_ON_BAD, PASS_ON_BAD, NO_GO_ON_SOUND, ALARM_ON_SOUND = 10, 3, 2, 1
"""What a wrong call costs. Weights of our own, no published source."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How often each thing happened."""

    caught: int = 0
    missed: int = 0
    right: int = 0
    false_alarms: int = 0

    @classmethod
    def of(cls, worths: Iterable[Worth]) -> Tally:
        n = Counter(worths)
        return cls(n["caught"], n["missed"], n["right"], n["false_alarm"])

    @property
    def bad(self) -> Share:
        """Caught, of the bad ones: sensitivity."""
        return Share(self.caught, self.caught + self.missed)

    @property
    def sound(self) -> Share:
        """Called sound, of the sound ones: specificity."""
        return Share(self.right, self.right + self.false_alarms)

    @property
    def calls(self) -> int:
        return self.bad.of + self.sound.of

    @property
    def mastered(self) -> bool:
        return self.reaches(MASTERED)

    def reaches(self, least: float) -> bool:
        """Whether the lower ends of both intervals do."""
        return min(self.bad.interval[0], self.sound.interval[0]) >= least


@dataclass(frozen=True, slots=True)
class TopicScore:
    """One check, on either side of the car."""

    check: str
    title: str
    tally: Tally
    to_practise: bool = True
    """Whether anything of the catalogue can be wrong there; where not, it can be called, and never mastered."""

    @property
    def need(self) -> float:
        """How much it needs practice: what is missing to certainty at the middles of both intervals, weighted as a wrong call
        costs. A middle is low where much went wrong, and one half where nothing is known. Misses seen count on top.
        """
        bad = 1 - self.tally.bad.middle + (1 - (self.tally.bad.value or 0.0) if self.tally.missed else 0.0)
        return PASS_ON_BAD * bad + ALARM_ON_SOUND * (1 - self.tally.sound.middle)


@dataclass(frozen=True, slots=True)
class Points:
    """Weighted: what was kept of what could have been lost."""

    kept: int
    at_stake: int

    @property
    def share(self) -> float | None:
        return self.kept / self.at_stake if self.at_stake else None


@dataclass(frozen=True, slots=True)
class Score:
    """How a person stands."""

    person: str
    exercises: int
    """Cars met for the first time."""
    repeated: int
    """Exercises with a car met before, which count for nothing."""
    checks: Tally
    goes: Tally
    topics: tuple[TopicScore, ...]
    """Those that need practice most first, the mastered ones last."""
    points: Points
    for_nothing: int
    """Measurements made again although the first had decided."""
    unlooked: int
    """Bad checks passed without a look at what would have shown it."""
    got_past: tuple[tuple[str, int], ...]
    """Faults of the catalogue that were missed, by id, and how often; the most often first."""
    level: int
    """Advised next."""

    @property
    def practise(self) -> TopicScore | None:
        """The topic to practise next; None where all are mastered, or none is there."""
        return next((t for t in self.topics if t.to_practise and not t.tally.mastered), None)

    @property
    def mastered(self) -> bool:
        """The whole of it: sides, and every topic that was ever met."""
        return bool(self.topics) and self.goes.mastered and self.practise is None


def score(
    person: str, results: Iterable[Finished], known: Mapping[str, str] | None = None, top: int = TOP
) -> Score:
    """How a person stands by what is kept. `known`: titles of the checks that there are to practise, met or not, by id;
    without it those that were met are taken to be all."""
    everything = tuple(results)
    firsts = first_time(everything)
    calls = [call for result in firsts for call in result.calls]
    goes = [go for result in firsts for go in result.goes]
    return Score(
        person=person,
        exercises=len(firsts),
        repeated=len(everything) - len(firsts),
        checks=Tally.of(call.worth for call in calls),
        goes=Tally.of(go.worth for go in goes),
        topics=_topics(calls, known or {}),
        points=_points(calls, goes),
        for_nothing=sum(len(call.for_nothing) for call in calls),
        unlooked=sum(call.worth == "missed" and bool(call.unseen) for call in calls),
        got_past=_got_past(calls),
        level=_level(firsts, top),
    )


def _got_past(calls: Iterable[KeptCall]) -> tuple[tuple[str, int], ...]:
    missed = Counter(call.fault for call in calls if call.worth == "missed" and call.fault)
    return tuple(sorted(missed.items(), key=lambda item: (-item[1], item[0])))


def _topics(calls: Iterable[KeptCall], known: Mapping[str, str]) -> tuple[TopicScore, ...]:
    worths: dict[str, list[Worth]] = defaultdict(list, {check: [] for check in known})
    titles = dict(known)
    for call in calls:
        worths[call.check].append(call.worth)
        titles.setdefault(call.check, call.title or call.check)
    topics = (
        TopicScore(check, titles[check], Tally.of(worths[check]), not known or check in known)
        for check in worths
    )
    return tuple(
        sorted(topics, key=lambda t: (not t.to_practise, t.tally.mastered, -t.need, -t.tally.missed, t.title))
    )


def _points(calls: Iterable[KeptCall], goes: Iterable[KeptGo]) -> Points:
    made = [(c.worth, PASS_ON_BAD if c.bad else ALARM_ON_SOUND) for c in calls]
    made += [(g.worth, GO_ON_BAD if g.bad else NO_GO_ON_SOUND) for g in goes]
    return Points(
        sum(weight for worth, weight in made if worth in ("caught", "right")),
        sum(weight for _, weight in made),
    )


def _level(firsts: Iterable[Finished], top: int) -> int:
    """The lowest level not left yet. What was shown on harder cars counts for the easier ones too."""
    done = tuple(firsts)
    for level in range(1, top):
        harder = [result for result in done if result.level >= level]
        checks = Tally.of(call.worth for result in harder for call in result.calls)
        goes = Tally.of(go.worth for result in harder for go in result.goes)
        if not (checks.reaches(STEP_UP) and goes.bad.interval[0] >= STEP_UP):
            return level
    return top
