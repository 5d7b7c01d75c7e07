"""A reading taken again, against the first: by E_n where both are numbers, as same or not the same where they are states."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from msgspec.structs import replace as changed

from readiness import units
from readiness.checks import kinds
from readiness.checks.entry import in_words
from readiness.checks.finding import Visit
from readiness.checks.kind import Alike, Question
from readiness.checks.reading_u import reading_u
from readiness.job import Again, Agreement, Beside, Compared, Reading
from readiness.measure.decide import SAME, e_n
from readiness.measure.uncertain import Estimate
from readiness.spotcheck.candidates import Candidate, needs_beside, scene_of, without_hold

COVERAGE = 2.0
"""U = 2 u: about 95 %, as the comparison by E_n takes it (ISO 13528, from memory)."""
SHARED_ERROR = (
    "It was the same instrument: an error that it has is in both readings and does not show, so E_n is kinder than it "
    "should be."
)


@dataclass(frozen=True, slots=True)
class Taken:
    """What was read now: the reading itself, and what was read beside it, each with its question."""

    reading: Reading
    beside: tuple[tuple[Question, Reading], ...] = ()


def outcome(visit: Visit, candidate: Candidate, taken: Taken, spot_check: int, now: datetime) -> Again:
    """What came of it, to be kept in the job."""
    stop, reading = candidate.stop, taken.reading
    found = _blank(visit, candidate, reading.by, spot_check, now)
    found = changed(
        found, said=in_words(stop.question, reading), value=reading.value, unit=reading.unit, text=reading.text,
        evidence=reading.evidence, instrument=reading.instrument, note=reading.note,
        beside=tuple(_beside(q, r) for q, r in taken.beside),
    )  # fmt: skip
    if isinstance(reading.value, str):
        same = reading.value == candidate.last.value
        return changed(found, outcome="agrees" if same else "differs")
    compared = _compared(visit, candidate, taken, now)
    if isinstance(compared, str):
        return changed(found, why=compared)
    agrees: Agreement = "agrees" if abs(compared.e_n) <= 1 + SAME else "differs"
    first = {r.instrument for r in candidate.answer.readings}
    shared = bool(reading.instrument) and reading.instrument in first
    return changed(found, outcome=agrees, compared=compared, why=SHARED_ERROR if shared else "")


def left_out(visit: Visit, candidate: Candidate, why: str, by: str, spot_check: int, now: datetime) -> Again:
    """It could not be taken again; who left it out says why."""
    return changed(_blank(visit, candidate, by, spot_check, now), why=why)


def _blank(visit: Visit, candidate: Candidate, by: str, spot_check: int, now: datetime) -> Again:
    first = candidate.last
    return Again(
        spot_check=spot_check, entry=first.number, at=now, by=by, what=candidate.what, outcome="not compared",
        first_said=_first_said(visit, candidate), first_instrument=first.instrument,
    )  # fmt: skip


def _beside(question: Question, reading: Reading) -> Beside:
    return Beside(
        what=question.label, value=reading.value, unit=reading.unit, text=in_words(question, reading),
        instrument=reading.instrument,
    )  # fmt: skip


def _first_said(visit: Visit, candidate: Candidate) -> str:
    """Of a series the mean, which is what counts."""
    readings, estimate = candidate.answer.readings, candidate.answer.estimate
    if len(readings) == 1 or estimate is None:
        return in_words(candidate.stop.question, readings[-1])
    return f"{units.show(estimate.value, readings[-1].unit, visit.shop.units)} (mean of {len(readings)})"


# --- numbers -------------------------------------------------------------------------------------


def _compared(visit: Visit, candidate: Candidate, taken: Taken, now: datetime) -> Compared | str:
    """The comparison; why there is none, where there is none."""
    try:
        pair = _pair(visit, candidate, taken, now)
    except units.UnitsError as fault:
        return f"It cannot be compared: {fault}."
    if pair is None:
        return "It cannot be compared: what a comparison needs beside it is not known of both hours."
    first, again = pair.first, pair.again
    if not math.hypot(first.u, again.u) > 0:
        return "It cannot be compared: neither reading has an uncertainty."
    found = e_n(again.value, first.value, COVERAGE * again.u, COVERAGE * first.u)
    return Compared(
        first=first.value, first_u=COVERAGE * first.u, again=again.value, again_u=COVERAGE * again.u,
        unit=taken.reading.unit, e_n=found, how=pair.how,
    )  # fmt: skip


def _pair(visit: Visit, candidate: Candidate, taken: Taken, now: datetime) -> Alike | None:
    stop, first = candidate.stop, candidate.answer.estimate
    if first is None:
        return None
    if needs_beside(stop):
        then, again = scene_of(without_hold(visit), stop, now), scene_of(visit_again(visit, taken), stop, now)
        alike: Alike | None = getattr(kinds()[stop.check.kind], "alike")(then, again, stop.question.key)  # noqa: B009
        return alike
    u = reading_u(taken.reading, visit.instruments, stop.question.accuracy)
    return Alike(first, Estimate(float(taken.reading.value), u), "")


def visit_again(visit: Visit, taken: Taken) -> Visit:
    """The visit with nothing known but what was read now."""
    return with_nothing_but(visit, [*(r for _, r in taken.beside), taken.reading])


def with_nothing_but(visit: Visit, readings: Sequence[Reading]) -> Visit:
    bare = changed(visit.job, readings=tuple(readings), fixes=(), events=(), waivers=())
    return replace(without_hold(visit), job=bare)
