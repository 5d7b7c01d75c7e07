"""From a visit to the questions of a check and to its finding."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property

from readiness.checklist.model import Check, Checklist
from readiness.checks import kinds
from readiness.checks.kind import (
    WORST_FIRST,
    Happened,
    Judgement,
    Part,
    Place,
    Question,
    Scene,
)
from readiness.checks.picture import Picture
from readiness.checks.source import Source
from readiness.checks.words import clock
from readiness.job import (
    OF_ONE_SIDE,
    Attached,
    Bay,
    Event,
    Evidence,
    Fix,
    Instrument,
    Job,
    Lifted,
    Outcome,
    Reading,
    Sheet,
    Shop,
    Waiver,
)

EVIDENCE_WEAKEST_FIRST: tuple[Evidence, ...] = ("told", "seen", "measured")


@dataclass(frozen=True)
class Visit:
    """Everything a judgement looks at. The checklist's limits are already those of the sheet."""

    checklist: Checklist
    sheet: Sheet
    bay: Bay
    shop: Shop
    instruments: Mapping[str, Instrument]
    job: Job
    bays: Mapping[str, Bay] = field(default_factory=dict)
    """Those in which the car stood before it came to this one, by id."""
    _latest: Scene | None = field(default=None, init=False, repr=False, compare=False)

    def until(self, now: datetime) -> Visit:
        """The visit as it stood at `now`: later entries are left out, and what they changed or took back is as it was."""
        if max(self.last_entry, self._last_spot_check) <= now:
            return self
        job = _job_until(self.job, now)
        bay = self.bay if job.bay == self.job.bay else self.bays[job.bay]
        return replace(self, job=job, bay=bay)

    @cached_property
    def entered(self) -> tuple[datetime, ...]:
        """When anything was entered about the car or its calibration, in no order: a spot check is about the record."""
        job = self.job
        entries: tuple[Reading | Fix | Event | Waiver | Attached | Lifted, ...]
        entries = (*job.readings, *job.fixes, *job.events, *job.waivers, *job.attached, *job.lifted)
        ended = (job.ended.at,) if job.ended else ()
        return (job.opened, *(e.at for e in entries), *(s.until for s in job.earlier), *ended)

    @cached_property
    def last_entry(self) -> datetime:
        """When the job was last worked on."""
        return max(self.entered)

    @property
    def _last_spot_check(self) -> datetime:
        job = self.job
        return max((job.opened, *(s.at for s in job.spot_checks), *(a.at for a in job.again)))

    @cached_property
    def readings(self) -> dict[Place, tuple[Reading, ...]]:
        found: dict[Place, list[Reading]] = {}
        for r in self.job.readings:
            found.setdefault((r.check, r.side, r.question), []).append(r)
        return {place: tuple(sorted(rs, key=lambda r: r.at)) for place, rs in found.items()}

    @cached_property
    def happened(self) -> tuple[Happened, ...]:
        """Reported events, and those that recorded fixes brought about."""
        reported = [Happened(e.event, e.at, side=e.side) for e in self.job.events]
        by_id = {c.id: c for c in self.checklist.checks}
        brought = [
            Happened(event, f.at, f.check, f.side if event in OF_ONE_SIDE else "")
            for f in self.job.fixes
            if f.check in by_id
            for event in _brought_by(by_id[f.check], f)
        ]
        return (*reported, *brought)

    def scene(self, check: Check, side: str, now: datetime) -> Scene:
        """What a check may look at. The scenes of the last moment asked for are kept: its checks share them."""
        if self._latest is None or self._latest.now != now:
            first = Scene(
                check, side if check.per_side else "", self.sheet, self.bay, self.shop, self.instruments,
                self.job, now, self.readings, self.happened, self.checklist.decision.factor,
                self.checklist.checks,
            )  # fmt: skip
            object.__setattr__(self, "_latest", first)  # kept for speed: no difference shows
            return first.of(check, side)
        return self._latest.of(check, side)


def _brought_by(check: Check, fix: Fix) -> tuple[str, ...]:
    """The events that a fix brings about; a kind may say `fix_brings(question)` where not every fix does."""
    says = getattr(kinds()[check.kind], "fix_brings", None)
    return check.a_fix_is if says is None or says(fix.question) else ()


@dataclass(frozen=True, slots=True)
class Finding:
    """The outcome of one check on one side, with everything a face shows of it.

    Value, limits and uncertainty are those of the part that decided.
    """

    check: str
    kind: str
    title: str
    outcome: Outcome
    reason: str
    remedy: str
    parts: tuple[Part, ...] = ()
    deciding: Part | None = None
    evidence: Evidence | None = None
    lapses_at: datetime | None = None
    notes: tuple[str, ...] = ()
    picture: Picture = ()
    details: tuple[str, ...] = ()
    """How it was worked out, for who asks."""
    waiver: Waiver | None = None
    """Who set it aside, when and why; None for every other outcome."""
    demanded: bool = True
    """False: waived as not applicable, which the checklist foresees."""
    waivable: bool = True
    """False: nobody may set it aside."""
    rests_on: tuple[Source, ...] = ()
    """Beside readings."""

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Of the part that decided; of all parts where that one rests on none of its own."""
        if self.deciding is not None and self.deciding.readings:
            return self.deciding.readings
        return tuple({r.number or id(r): r for p in self.parts for r in p.readings}.values())

    @property
    def untouched(self) -> bool:
        """Whether nothing of it has been answered at all."""
        return self.outcome == "not_done" and bool(self.parts) and not any(p.readings for p in self.parts)

    @property
    def wrong(self) -> bool:
        """Whether something is to be put right, not only answered."""
        return self.outcome in ("fail", "too_close")

    @property
    def counts(self) -> bool:
        """Whether this finding lets the side go, be it with a waiver."""
        return self.outcome == "pass" or (self.outcome == "waived" and self.waivable)


def ask(visit: Visit, check: Check, side: str, now: datetime) -> list[Question]:
    """What a check asks now, in walking order; may grow with the answers given."""
    return kinds()[check.kind].ask(visit.scene(check, side, now), check.limits)


def find(visit: Visit, check: Check, side: str, now: datetime) -> Finding:
    """Judge one check. A kind that raises is reported and never counts as a pass."""
    scene = visit.scene(check, side, now)
    if scene.waiver is not None:
        return _waived(scene, scene.waiver)
    try:
        judgement = kinds()[check.kind].judge(scene, check.limits)
    except Exception as fault:  # a fault in one check must not hide the others, nor pass
        return _broken(check, fault)
    return _finding(check, judgement)


def _finding(check: Check, judgement: Judgement) -> Finding:
    parts = judgement.parts
    if not parts:
        return Finding(check.id, check.kind, check.title, "not_done",
                       f"{check.title}: there was nothing to judge, so it cannot count.", check.remedy)  # fmt: skip
    outcome = _worst(p.outcome for p in parts)
    deciding = _deciding(parts, outcome)
    readings = [r for p in parts for r in p.readings]
    return Finding(
        check.id, check.kind, check.title, outcome, _reason(parts, deciding),
        _remedy(check, deciding), parts, deciding,
        weakest(readings), _lapse(check, readings, judgement.until), judgement.notes, judgement.picture,
        judgement.details, rests_on=judgement.rests_on,
    )  # fmt: skip


def _remedy(check: Check, deciding: Part) -> str:
    """What to do now; a check that was not answered is not yet in need of putting right."""
    if deciding.outcome == "pass":
        return ""
    if deciding.outcome == "not_done":
        return deciding.remedy or "Answer the open questions of this step."
    if deciding.outcome == "lapsed":
        return "Read it again."
    return deciding.remedy or check.remedy


def _worst(outcomes: Iterable[Outcome]) -> Outcome:
    return min(outcomes, key=WORST_FIRST.index)


def _deciding(parts: tuple[Part, ...], outcome: Outcome) -> Part:
    """Of the parts with the worst outcome, the one with the least margin relative to its limits."""
    worst = [p for p in parts if p.outcome == outcome]
    return min(worst, key=lambda p: 1.0 if p.p_conform is None else p.p_conform)


ALIKE: dict[Outcome, tuple[str, str]] = {
    "fail": ("fails too", "fail too"),
    "too_close": ("is too close too", "are too close too"),
    "lapsed": ("has lapsed too", "have lapsed too"),
}


def _reason(parts: tuple[Part, ...], deciding: Part) -> str:
    others = sum(p.outcome == deciding.outcome for p in parts) - 1
    if deciding.outcome == "pass" or others == 0:
        return deciding.reason
    one, several = ALIKE.get(deciding.outcome, ("is not done yet", "are not done yet"))
    return f"{deciding.reason} {others} more {one if others == 1 else several}."


def grades(readings: Iterable[Reading]) -> tuple[Evidence, ...]:
    """Every grade of evidence among readings, the strongest first."""
    there = {r.evidence for r in readings}
    return tuple(grade for grade in reversed(EVIDENCE_WEAKEST_FIRST) if grade in there)


def weakest(readings: Iterable[Reading]) -> Evidence | None:
    """The weakest evidence among readings: told, then seen, then measured; None without any."""
    return min((r.evidence for r in readings), key=EVIDENCE_WEAKEST_FIRST.index, default=None)


def _lapse(check: Check, readings: list[Reading], until: datetime | None) -> datetime | None:
    """When the oldest reading is past its hold time, or what the judgement rests on expires; None without any."""
    held = timedelta(minutes=check.hold)
    ends = [r.at + held for r in readings if not check.lasting] + ([] if until is None else [until])
    return min(ends, default=None)


def demanded(scene: Scene) -> bool:
    """Whether this check is demanded here, so that setting it aside is somebody's word against the checklist.

    Always, unless the checklist says `if_applicable`; a kind may say more with `demanded(scene, limits)`:
    what the sheet gives figures for is demanded all the same.
    """
    if not scene.check.if_applicable:
        return True
    asks_for_it = getattr(kinds()[scene.check.kind], "demanded", None)
    return asks_for_it is not None and bool(asks_for_it(scene, scene.check.limits))


LEAST_REASON = 2
"""Letters or digits that a reason must have at least."""


def not_to_be_set_aside(check: Check) -> str:
    """Why nobody may set a check aside, as a sentence; empty where one may."""
    return (
        "" if check.waivable else f"{check.title} cannot be set aside by anybody: without it there is no go."
    )


def no_reason(reason: str) -> str:
    """Why a text is no reason to set a check aside, as a sentence; empty where it is one."""
    if sum(c.isalnum() for c in reason) >= LEAST_REASON:
        return ""
    return "Say in a few words why: the reason stands with your name in the report."


def _waived(scene: Scene, waiver: Waiver) -> Finding:
    """As it was entered, also where it could not be entered like this today."""
    check, required = scene.check, demanded(scene)
    how = "although it is demanded" if required else "as not applicable"
    who, why = waiver.by.strip() or "somebody unnamed", waiver.reason.strip().rstrip(".")
    barred = "" if check.waivable else " Nobody may set it aside, so there is no go."
    return Finding(
        check.id, check.kind, check.title, "waived",
        f"{check.title}: set aside by {who}, {clock(waiver.at, scene.now)}, {how}: {why or 'no reason given'}.{barred}",
        "" if check.waivable else f"Answer it after all. {check.remedy}",
        waiver=waiver, demanded=required, waivable=check.waivable,
    )  # fmt: skip


def _broken(check: Check, fault: Exception) -> Finding:
    return Finding(
        check.id, check.kind, check.title, "not_done",
        f"{check.title} could not be judged ({type(fault).__name__}: {fault}); it counts as no-go.",
        "Report this with the job's file; check the entries of this step.",
    )  # fmt: skip


def _job_until(job: Job, now: datetime) -> Job:
    from msgspec.structs import replace as changed

    later = next((s for s in job.earlier if s.until > now), None)
    then = {} if later is None else {"sides": later.sides, "bay": later.bay}
    held = [lifted.waiver for lifted in job.lifted if lifted.at > now]
    return changed(
        job,
        **then,
        readings=tuple(r for r in job.readings if r.at <= now),
        fixes=tuple(f for f in job.fixes if f.at <= now),
        events=tuple(e for e in job.events if e.at <= now),
        waivers=tuple(w for w in (*job.waivers, *held) if w.at <= now),
        attached=tuple(a for a in job.attached if a.at <= now),
        ended=job.ended if job.ended is not None and job.ended.at <= now else None,
        lifted=tuple(lifted for lifted in job.lifted if lifted.at <= now),
        earlier=tuple(s for s in job.earlier if s.until <= now),
        spot_checks=tuple(s for s in job.spot_checks if s.at <= now),
        again=tuple(a for a in job.again if a.at <= now),
    )
