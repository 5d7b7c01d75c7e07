"""What every kind of check is made of: questions to ask, a scene to judge, parts to answer with.

A kind is one module or package in this package with four names:

    KIND    its name in YAML
    Limits  a frozen msgspec structure: what `limits:` may say
    ask     (Scene, Limits) -> list of Question, in walking order; may depend on answers so far
    judge   (Scene, Limits) -> Judgement, a pure function
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any, Literal, Protocol, TypeVar

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.picture import Picture
from readiness.checks.reading_u import reading_u
from readiness.checks.source import Source
from readiness.checks.words import clock, happening
from readiness.job import Bay, Evidence, Fix, Instrument, Job, Outcome, Reading, Sheet, Shop, Waiver
from readiness.measure.decide import DEFAULT_FACTOR
from readiness.measure.uncertain import Estimate, series_of

SHARED = "shared"
"""The check name under which answers lie that any check may use (the bay's air temperature)."""

Found = TypeVar("Found")

Place = tuple[str, str, str]
"""Where an answer lies: check, side (or empty), question."""

WORST_FIRST: tuple[Outcome, ...] = ("fail", "too_close", "lapsed", "not_done", "waived", "pass")


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to answer: a single key, the value kept, the words shown."""

    key: str
    value: str
    label: str


YES_NO = (Choice("y", "yes", "yes"), Choice("n", "no", "no"))


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask. `key` is unique within its check (and side)."""

    key: str
    label: str
    type: Literal["quantity", "choice", "text"] = "quantity"
    unit: str = ""
    """Canonical unit of the value kept; what a bare number means follows from the shop's units."""
    measures: str = ""
    """What kind of instrument answers it (a key of units.MEASURES); empty: none needed."""
    low: float | None = None
    high: float | None = None
    """Bounds of the plausible, in `unit`; outside them the entry is refused."""
    choices: tuple[Choice, ...] = ()
    default: str = ""
    """Offered text; Enter accepts it."""
    hint: str = ""
    """One short line: where to put the tool, what the number is."""
    evidence: Evidence = "measured"
    optional: bool = False
    latest: bool = False
    """Of several readings the last one counts, not their mean."""
    shared: bool = False
    about_limits: bool = False
    """It asks about the limits of the whole checklist, so these are to be shown with it."""
    accuracy: float | None = None
    """Half width in `unit` where no instrument is named (a fuel gauge, an eye on a scale)."""
    part: str = ""
    """Key of the part of the finding that this answer decides; its number line stands beside it."""
    fix: str = ""
    """What a fix of it puts right where that is more than this answer: 'front' for 'front.left' and 'front.right'."""
    explain: Callable[[float], str] | None = field(default=None, compare=False)
    """For a number outside the plausible: what it probably is, or an empty string."""
    pattern: Callable[[str], str] | None = field(default=None, compare=False)
    """For text: what is wrong with it, or an empty string."""

    @property
    def instrumented(self) -> bool:
        return self.type == "quantity" and bool(self.measures)


@dataclass(frozen=True, slots=True)
class Part:
    """One number or state of a check, judged."""

    key: str
    label: str
    outcome: Outcome
    reason: str
    value: float | str | None = None
    unit: str = ""
    low: float | None = None
    high: float | None = None
    u: float | None = None
    guard: float | None = None
    p_conform: float | None = None
    margin: float | None = None
    remedy: str = ""
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a kind says: its parts, sentences of information that decide nothing, a picture."""

    parts: tuple[Part, ...]
    notes: tuple[str, ...] = ()
    picture: Picture = ()
    details: tuple[str, ...] = ()
    """How it was worked out, line by line, for who asks: nobody needs it to act."""
    until: datetime | None = None
    """When it ends at the latest, however fresh its readings: what it rests on expires then."""
    rests_on: tuple[Source, ...] = ()  # beside the readings of its parts


@dataclass(frozen=True, slots=True)
class Alike:
    """Two readings of one thing from two hours, each as it would be under the same circumstances."""

    first: Estimate
    again: Estimate
    how: str
    """Under which, as part of a sentence."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The current readings of one question, and why there are none if so."""

    key: str
    readings: tuple[Reading, ...] = ()
    estimate: Estimate | None = None
    """For quantities whose uncertainty is known."""
    missing: Literal["", "not_done", "lapsed"] = ""
    problem: str = ""

    @property
    def word(self) -> str:
        """The latest value of a choice or text; empty when there is none."""
        return str(self.readings[-1].value) if self.readings else ""

    @property
    def ready(self) -> bool:
        return not self.missing


@dataclass(frozen=True, slots=True)
class Happened:
    """A voiding event, and the check whose fix brought it about (empty: it was reported)."""

    event: str
    at: datetime
    by_fix_of: str = ""
    side: str = ""
    """The one to which it happened; empty where it concerns all."""

    def concerns(self, side: str) -> bool:
        """Whether it is of anything on that side, or of the whole car ('')."""
        return not (self.side and side) or self.side == side


@dataclass(frozen=True)
class Scene:
    """All that one check may look at. Nothing in it changes, so what it answered once it answers again."""

    check: Check
    side: str
    sheet: Sheet
    bay: Bay
    shop: Shop
    instruments: Mapping[str, Instrument]
    job: Job
    now: datetime
    readings: Mapping[Place, tuple[Reading, ...]] = field(default_factory=dict)
    """The job's readings by check, side and question, in the order in which they were taken."""
    happened: tuple[Happened, ...] = ()
    factor: float = DEFAULT_FACTOR
    checks: tuple[Check, ...] = ()
    """All checks of the checklist, for a check that looks at the readings of the others."""
    _answers: dict[tuple[str, float | None, bool], Answer] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """Answers worked out so far: several parts of a check ask for the same ones."""
    _found: dict[Callable[[Scene], Any], Any] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _family: dict[tuple[str, str], Scene] = field(default_factory=dict, repr=False, compare=False)
    """The scenes of one visit and moment, by check and side: all share it, so each is there once."""

    def of(self, check: Check, side: str) -> Scene:
        """The scene of a check beside this one. `side` counts only where it is asked once a side."""
        place = (check.id, side if check.per_side else "")
        if place not in self._family:
            self._family[place] = replace(self, check=check, side=place[1])
        return self._family[place]

    def beside(self, kind: str) -> Scene | None:
        """The scene of the first check of another kind in this checklist; None if it has none.

        A check once a visit sees nothing of one side; from a side, a check of both sides is seen.
        """
        check = next((c for c in self.checks if c.kind == kind), None)
        return None if check is None else self.of(check, self.side)

    @cached_property
    def waiver(self) -> Waiver | None:
        """By which this check is set aside; None also where something of it was answered after all since.

        Neither time nor events end it: it is about this car, and holds as long as the job.
        """
        mine = [w for w in self.job.waivers if w.check == self.check.id and w.side == self.side]
        last = max(mine, key=lambda w: w.at, default=None)
        if last is None or any(
            r.check == self.check.id and r.side == self.side and r.at > last.at for r in self.job.readings
        ):
            return None
        return last

    @property
    def set_aside(self) -> bool:
        """Whether a person set this check aside, and nothing of it was answered since."""
        return self.waiver is not None

    def once(self, work_out: Callable[[Scene], Found]) -> Found:
        """What a pure function finds in this scene, worked out once though several checks ask for it."""
        if work_out not in self._found:
            self._found[work_out] = work_out(self)
        found: Found = self._found[work_out]
        return found

    def series(self, key: str) -> tuple[Reading, ...]:
        """Readings of a question that still count: since its last fix, not voided, not past hold."""
        kept, _ = self._current(key, self.check.id, self.side)
        return kept

    def word(self, key: str, *, shared: bool = False) -> str:
        """The latest current value of a choice or text question, empty if there is none."""
        return self.answer(key, shared=shared).word

    def answer(self, key: str, *, accuracy: float | None = None, shared: bool = False) -> Answer:
        """The answer to a question with its uncertainty.

        `accuracy` is the half width used where no instrument is named. Without either, a number
        cannot be judged, and the answer is not ready.
        """
        asked = (key, accuracy, shared)
        if asked not in self._answers:
            self._answers[asked] = self._answered(key, accuracy, shared)
        return self._answers[asked]

    def _answered(self, key: str, accuracy: float | None, shared: bool) -> Answer:
        place = (SHARED, "") if shared else (self.check.id, self.side)
        kept, fresh = self._current(key, *place)
        if not kept:
            return (
                Answer(key, missing="lapsed", problem=self._why_gone(fresh[-1]))
                if fresh
                else Answer(key, missing="not_done")
            )
        if isinstance(kept[-1].value, str):
            return Answer(key, kept[-1:])  # a state is as it was last found; there is no mean of yes and no
        try:
            u = max(reading_u(r, self.instruments, accuracy) for r in kept)
        except units.UnitsError as fault:
            return Answer(key, kept, missing="not_done", problem=str(fault))
        return Answer(key, kept, series_of([float(r.value) for r in kept], u))

    def show(self, value: float, unit: str) -> str:
        """The number with its unit as this shop reads it."""
        return units.show(value, unit, self.shop.units)

    def _current(self, key: str, check: str, side: str) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
        """Readings that count, and those since the last fix whether they still count or not."""
        mine = self.readings.get((check, side, key), ())
        since = self._last_fix(key, check, side) if self.job.fixes else None
        fresh = mine if since is None else tuple(r for r in mine if r.at >= since)
        start = self._counts_from
        if all(r.at >= start for r in fresh):
            return fresh, fresh
        return tuple(r for r in fresh if r.at >= start), fresh

    def _why_gone(self, reading: Reading) -> str:
        """What ended a reading, and when."""
        after = bisect_right(self._voiding, reading.at, key=lambda h: h.at)
        if after == len(self._voiding):
            return f"it was taken at {clock(reading.at, self.now)} and holds {_span(self.check.hold)}"
        first = self._voiding[after]
        return f"{happening(first.event, first.side)} at {clock(first.at, self.now)}"

    @cached_property
    def _voiding(self) -> tuple[Happened, ...]:
        """What ended readings of this check, in the order in which it happened."""
        return tuple(sorted((h for h in self.happened if self._voids(h)), key=lambda h: h.at))

    @cached_property
    def _counts_from(self) -> datetime:
        """Readings before it have been voided, or are older than the hold time."""
        held = self.now - timedelta(minutes=self.check.hold) + timedelta(microseconds=1)
        return max(held, self._voiding[-1].at) if self._voiding else held

    @cached_property
    def _fixes(self) -> tuple[Fix, ...]:
        """Those of this check, or of what all share."""
        return tuple(f for f in self.job.fixes if f.check in (self.check.id, SHARED))

    def _last_fix(self, key: str, check: str, side: str) -> datetime | None:
        times = [
            f.at
            for f in self._fixes
            if f.check == check
            and f.side == side
            and (f.question in ("", key) or key.startswith(f"{f.question}."))
        ]
        return max(times, default=None)

    def _voids(self, happened: Happened) -> bool:
        return (
            happened.event in self.check.voided_by
            and happened.by_fix_of != self.check.id
            and happened.concerns(self.side)
        )


def _span(minutes: float) -> str:
    return f"{minutes / 60:g} h" if minutes % 60 == 0 else f"{minutes:g} min"


class Kind(Protocol):
    """The shape of a module in this package."""

    KIND: str
    Limits: type[Any]

    def ask(self, scene: Scene, limits: Any) -> list[Question]: ...

    def judge(self, scene: Scene, limits: Any) -> Judgement: ...
