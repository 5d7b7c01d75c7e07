"""A simulated car from truth to verdict: drawn, read through the engine's own questions, its limits placed, judged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Literal

import numpy as np
from msgspec.structs import replace as changed

import readiness
from readiness.checklist.checklists import read_checklist
from readiness.checklist.model import Checklist, Decision
from readiness.checks import kinds
from readiness.checks.entry import understood
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Part, Question
from readiness.job import Job, Reading, Shop
from readiness.measure.decide import DEFAULT_FACTOR
from readiness.verdict import Verdict, judge
from tests.scenes import AT
from tests.simulation import area, body, ground, hall, rolling, room
from tests.simulation.limits import limited
from tests.simulation.tools import Shows, Temper, Toolbox
from tests.simulation.topics import ESTIMATED, Bound, Topic, Where

NOW = AT + timedelta(minutes=10)
SOUND = {
    "loop": "level runs that are right, against one another",
    "quick": "a survey that still holds, against a level",
    "tapes": "four tapes that are right, against one another",
}
"""What compares measurements with one another, and is always in order here."""
TWICE = 0.1
"""Share of numbers that are read more than once."""
NOISE = 2.5
"""Where a size is judged, a limit of fewer standard uncertainties than this is put nowhere: both ends of it would count,
and between 1.6 and 2 u a pass is wrong in 10 to 5 %, as its probability of conformity says."""
Sort = Literal["at", "about", "good", "one bad"]
"""Limits at the truth of one part each; within 3 u of it; all well kept; all well kept but one."""

SORTS: tuple[Sort, ...] = (
    "at", "about", "at", "one bad", "one bad", "at", "about", "at", "one bad", "good",
)  # fmt: skip


@cache
def checklist(name: str) -> Checklist:
    """As shipped."""
    folder = Path(readiness.__file__).parents[1] / "checklists"
    return read_checklist(folder / f"{name}.yaml", {n: k.Limits for n, k in kinds().items()})


@dataclass(frozen=True)
class Judged:
    """One part of one finding beside the truth."""

    kind: str
    outcome: str
    depth: float
    """By how many standard uncertainties the truth is within its limits; negative: beyond."""
    at: bool
    """Whether the truth lies exactly at a limit, so that neither pass nor fail is right; of an estimate, whether the
    limit lies where it just passes or fails."""

    @property
    def estimated(self) -> bool:
        return self.kind.endswith(ESTIMATED)


@dataclass(frozen=True)
class Outcome:
    """A car: its parts, and for each side whether anything is really bad and whether it was a go."""

    sort: Sort
    parts: tuple[Judged, ...]
    sides: tuple[tuple[bool, bool], ...]
    odd: tuple[str, ...] = ()
    """Parts without a number that did not pass: the simulation missed a question."""


@dataclass
class Simulated:
    """A car that was read; its limits can be placed, and it can be judged with any guard band."""

    sort: Sort
    chance: np.random.Generator
    truth: Topic
    visit: Visit
    placed: dict[int, float] = field(default_factory=dict)
    """By the number of a bound of the truth, where it was put."""
    aimed: set[Where] = field(default_factory=set)
    """Parts with a limit exactly at their truth."""

    @classmethod
    def drawn(cls, seed: int, number: int, temper: Temper | None = None) -> Simulated:
        """Always the same car of that number. `temper`: all its tools err like this; otherwise each as it likes."""
        chance = np.random.default_rng([seed, number])
        sort = SORTS[number % len(SORTS)]
        clear = (0.02, 1.0) if sort in ("at", "about") else (0.5, 1.5)
        box = Toolbox(chance, f"{seed}/{number}", temper)
        truth, visit = _opened(chance, box, clear)
        made = cls(sort, chance, truth, _answered(visit, truth, box, chance))
        made._place_limits()
        return made

    def judged(self, factor: float | None = None) -> Verdict:
        visit = self.visit
        if factor is not None:
            visit = replace(visit, checklist=changed(visit.checklist, decision=Decision(factor=factor)))
        return judge(visit, NOW)

    def _place_limits(self) -> None:
        found = {where: p for where, p in parts_of(self.visit, judge(self.visit, NOW)).items() if p.u}
        u = {where: part.u for where, part in found.items() if part.u}
        usable = [b for b in self.truth.bounds if any(w in u for w in b.parts) and not b.estimated]
        bad = usable[int(self.chance.integers(len(usable)))] if self.sort == "one bad" else None
        for n, bound in enumerate(self.truth.bounds):
            near = {w: s.much for w, s in bound.parts.items() if w in u}
            if not near:
                continue
            if bound.estimated and self.sort in ("at", "about"):
                self._beside_estimate(n, bound, found)
            elif self.sort in ("at", "about") or bound is bad:
                self._at_one(n, bound, near, u, worst=bound is bad)
            if n not in self.placed:  # all well kept
                kept = max(much + float(self.chance.uniform(5, 9)) * u[w] for w, much in near.items())
                self.placed[n] = min(max(kept, bound.least), bound.most)
        limits = self.truth.wide | {
            (b.check, b.name): b.limit(self.placed[n])
            for n, b in enumerate(self.truth.bounds)
            if n in self.placed
        }
        self.visit = limited(self.visit, limits)

    def _beside_estimate(self, n: int, bound: Bound, found: Mapping[Where, Part]) -> None:
        """The limit a hair more than the guard band over an estimate, or a hair more under it."""
        known = [w for w in bound.parts if w in found]
        where = known[int(self.chance.integers(len(known)))]
        part = found[where]
        assert isinstance(part.value, float)
        assert part.u
        # a ride height is told with the sheet's own, all else as how far it is off
        middle = 0.0 if part.low is None or part.high is None else (part.low + part.high) / 2
        way = 1 if self.chance.integers(2) else -1
        over = abs(part.value - middle) + way * (DEFAULT_FACTOR + 1e-6) * part.u
        if over > NOISE * part.u:
            self.placed[n] = over
            self.aimed.add(where)

    def _at_one(
        self, n: int, bound: Bound, near: Mapping[Where, float], u: Mapping[Where, float], worst: bool
    ) -> None:
        """The limit at the truth of one part, or as far as 3 u from it; of any, or of the worst one."""
        exact = self.sort == "at" or (worst and self.chance.random() < 0.5)
        reach = 0.0 if worst else -3.0
        off = 0.0 if exact else float(self.chance.uniform(reach, 3.0))
        told = {w: much - off * u[w] for w, much in near.items()}
        noise = NOISE if bound.least == 0 else 0.0
        fair = [w for w, at in told.items() if bound.least + noise * u[w] < at <= bound.most]
        if not fair:
            return
        where = max(fair, key=near.__getitem__) if worst else fair[int(self.chance.integers(len(fair)))]
        self.placed[n] = told[where]
        if exact:
            self.aimed.add(where)

    def outcome(self, verdict: Verdict) -> Outcome:
        found = parts_of(self.visit, verdict)
        depths, kinds_ = self._depths({where: part.u for where, part in found.items()})
        parts = tuple(
            Judged(kinds_[w], p.outcome, depths[w], self._at(w, kinds_[w], depths[w]))
            for w, p in found.items()
            if w in depths
        )
        loose = {w: p for w, p in found.items() if w not in depths}
        sound = [*self._compared(found)]
        gone = any(j.outcome != "pass" for j in sound)
        odd = tuple(
            f"{w[0]} {w[2]}: {p.reason}"
            for w, p in loose.items()
            if not (
                p.outcome == "pass" or w[2].partition(".")[0] in SOUND or (gone and p.outcome == "not_done")
            )
        )
        sides = tuple(
            (any(d < 1e-6 for w, d in depths.items() if w[1] in ("", side)), one.verdict == "go")
            for side, one in verdict.sides.items()
        )
        return Outcome(self.sort, (*parts, *sound), sides, odd)

    def _compared(self, found: Mapping[Where, Part]) -> Iterator[Judged]:
        """What compares measurements that are right, and runs of a level that fit together or not."""
        moved = False
        for (_, _, key), part in found.items():
            if (what := key.partition(".")[0]) in ("quick", "tapes"):
                moved = moved or (what == "quick" and part.outcome == "fail")
                yield Judged(SOUND[what], part.outcome, 1.0, False)
        survey = self.visit.bay.survey
        if self.truth.says["floor", "", "source"] == "level" or (survey is not None and survey.runs):
            fit = bool(found["floor", "", "slope_along"].u) or moved
            yield Judged(SOUND["loop"], "pass" if fit else "fail", 1.0, False)

    def _at(self, where: Where, kind: str, depth: float) -> bool:
        return where in self.aimed and (kind.endswith(ESTIMATED) or abs(depth) < 1e-6)

    def _depths(self, u: Mapping[Where, float | None]) -> tuple[dict[Where, float], dict[Where, str]]:
        depths: dict[Where, float] = {}
        kinds_: dict[Where, str] = {}
        for n, bound in enumerate(self.truth.bounds):
            for where, size in bound.parts.items():
                if where not in u or n not in self.placed:
                    continue
                depth = (self.placed[n] - size.much) / (u[where] or 1e-9)
                if where not in depths or depth < depths[where]:
                    depths[where], kinds_[where] = depth, size.kind
        return depths, kinds_


# --- drawing -------------------------------------------------------------------------------------


def _opened(chance: np.random.Generator, box: Toolbox, clear: tuple[float, float]) -> tuple[Topic, Visit]:
    """The truth of a car and its bay, and the visit before anything was answered."""
    car, day = body.drawn(chance), rolling.Day.drawn(chance)
    listed, space = checklist(car.layout), hall.Floorspace.drawn(car, chance)
    truth = day.answers(chance)
    tyres = rolling.Tyres.drawn(car, chance)
    load, loads = rolling.load(car, day, chance)
    moving = ground.Rolling.drawn(tyres.cold, chance)
    ride = {w: float(chance.normal(0, 7)) for w in car.wheels}
    if moving.estimated:
        ride = rolling.sagged(car, loads, moving.tyres(car), moving.stiffness, chance)
    moving = replace(moving, ride=ride)
    heights = {p: float(chance.normal(0, 5)) for p in ground.places(car)}
    sources = ground.SOURCES[:3] if space.taped else ground.SOURCES
    source = sources[int(chance.integers(len(sources)))]
    for topic in (
        tyres.topic(car, day, chance), load, rolling.stance(car, ride, moving.estimated),
        rolling.marks(car, *moving.marks, chance), ground.floor(car, heights, source),
        space.answers(car, chance), ground.floor_read(car, heights, source, chance), ground.aim(car, heights, moving),
        room.light(listed, chance), area.clear_area(car, listed.check("clear_area"), space, clear, chance),
        *(room.singles(c, car.sides, day.air, chance) for c in listed.walk() if c.kind == "readings"),
    ):  # fmt: skip
        truth.take(topic)
    survey = None
    if source.startswith("survey"):
        survey = ground.surveyed(car, heights, box, space.standing, source, chance)
    job = Job(job="simulated", sheet="simulated", bay="simulated", sides=car.sides, opened=AT, by="A. Test")
    shop = Shop(shop="Simulated shop", altitude=day.altitude, people=("A. Test",))
    return truth, Visit(listed, car.sheet, space.bay(survey), shop, box.instruments, job)


# --- answering -----------------------------------------------------------------------------------


def _answered(visit: Visit, truth: Topic, box: Toolbox, chance: np.random.Generator) -> Visit:
    """Every question of every check, in walking order, as questions appear."""
    at = AT
    for check in visit.checklist.walk():
        for side in visit.job.sides if check.per_side else ("",):
            while True:
                taken = {(r.check, r.side, r.question) for r in visit.job.readings}
                fresh: list[Reading] = []
                for question in ask(visit, check, side, AT):
                    where = (SHARED, "", question.key) if question.shared else (check.id, side, question.key)
                    if where in taken:
                        continue
                    fresh += _readings(visit, truth, box, chance, where, question, at)
                if not fresh:
                    break
                visit = replace(visit, job=changed(visit.job, readings=(*visit.job.readings, *fresh)))
    return visit


def _readings(
    visit: Visit, truth: Topic, box: Toolbox, chance: np.random.Generator, where: Where, question: Question,
    at: datetime,
) -> Iterator[Reading]:  # fmt: skip
    said = truth.says.get(where)
    if said is None:
        said = _otherwise(question)
    if said is None:
        return
    again = isinstance(said, Shows) and chance.random() < TWICE
    for nth in range(int(chance.integers(2, 4)) if again else 1):
        if isinstance(said, Shows):
            shown = box.reads(said, question.unit, " ".join(where), nth)
            text, tool = box.typed(shown, question.unit), said.measures
        else:
            text, tool = said, ""
        value, unit = understood(question, text, visit.shop.units)
        yield Reading(
            check=where[0], side=where[1], question=where[2], value=value, unit=unit, text=text, at=at,
            by="A. Test", evidence=question.evidence, instrument=tool,
        )  # fmt: skip


def _otherwise(question: Question) -> str | None:
    """What is not simulated is as it has to be: the document is there, doors are shut."""
    if question.optional:
        return None
    if question.type == "text":
        return question.default or "INV-001"
    if question.type == "choice" and {c.value for c in question.choices} == {"yes", "no"}:
        return "yes"
    return None


def parts_of(visit: Visit, verdict: Verdict) -> dict[Where, Part]:
    """Every part once: those of both sides under '', those of one under its side."""
    of_a_side = {c.id for c in visit.checklist.checks if c.per_side}
    return {
        (finding.check, side if finding.check in of_a_side else "", part.key): part
        for side, one in verdict.sides.items()
        for finding in one.findings
        for part in finding.parts
    }
