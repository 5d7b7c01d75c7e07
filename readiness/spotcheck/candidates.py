"""Which readings can be taken again, and how likely each is drawn: the more rests on it unseen, the likelier."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from msgspec.structs import replace as changed

from readiness.checklist.model import EVER, Check
from readiness.checks import kinds
from readiness.checks.finding import Visit, find
from readiness.checks.kind import Answer, Part, Place, Question, Scene
from readiness.checks.road_test import KIND as ROAD_TEST
from readiness.checks.walking import Stop, stops
from readiness.job import Event, Reading
from readiness.measure.decide import DEFAULT_FACTOR

NEAR = 2 * DEFAULT_FACTOR
"""Standard uncertainties from a limit within which a reading lies near it: twice the usual guard band."""
COARSE = 1 / 8
"""Share of the zone between the limits that u may be: beyond it, the usual guard bands take two fifths of the zone."""
NEAR_ITS_LIMIT, TOLD, SEEN = "near its limit", "told by somebody", "seen, not measured"
COARSE_TOOL, CHANGED, SET_ASIDE = (
    "coarse for its limits",
    "changed after the first entry",
    "its check was set aside",
)
POINTS: dict[str, float] = {NEAR_ITS_LIMIT: 4, TOLD: 3, SEEN: 1, COARSE_TOOL: 2, CHANGED: 3, SET_ASIDE: 3}
"""What each adds to the weight, which is 1 for any reading. Our own choice, no published source."""

DRIFTS = frozenset({"temperature", "illuminance", "voltage"})
"""What changes by itself within hours. A pressure does too, and is compared as it would be at one temperature."""
STATES = ({"yes", "no"}, {"out", "near"})
"""Answers of which there are two, so that somebody else finds the same or not."""

A_DRIVE_IS = ("car_moved", "got_in", "door_opened", "ignition_cycled")

GONE = "fixed since and not read again"
OVER = "whose time is over, as they change with time"
NO_TOOL = "without an instrument, so that nobody knows how sure they are"
ALONE = "read without what they would be compared by"
CHECKED = "checked before"
"""Why a reading is not drawn, as words after how many of them there are."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that can be taken again."""

    stop: Stop
    what: str
    """'Tyres, left rear pressure'."""
    answer: Answer
    """As it stands: of a series, the mean."""
    weight: float
    why: tuple[str, ...]

    @property
    def last(self) -> Reading:
        return self.answer.readings[-1]


@dataclass(frozen=True, slots=True)
class Candidates:
    """All of a job. `others`: line of a reading that is not drawn -> why."""

    found: tuple[Candidate, ...]
    others: Mapping[int, str]

    def of(self, entry: int) -> Candidate | None:
        return next((c for c in self.found if c.last.number == entry), None)


def candidates(visit: Visit, now: datetime, touched: Collection[Place] = ()) -> Candidates:
    """The readings of the checks before the calibration that can be compared at `now`, in walking order.

    `touched`: places of answers that were not left as first entered. A reading that was voided or fixed is none, nor is a
    state, or what changes by itself, past its hold time: nobody could tell a wrong reading from a change.
    """
    lasting = without_hold(visit)
    found: list[Candidate] = []
    others: dict[int, str] = {}
    parts_of = _Parts(lasting, now)
    for stop in all_stops(lasting, now):
        if not _can_be_compared(stop.question) or stop.place not in lasting.readings:
            continue
        answer = answer_of(lasting, stop, now)
        if why_not := _why_not(visit, lasting, stop, answer, now):
            others[lasting.readings[stop.place][-1].number] = why_not
        else:
            why = tuple(_risks(lasting, stop, answer, parts_of(stop), touched))
            weight = 1 + sum(POINTS[reason] for reason in why)
            found.append(Candidate(stop, what_of(stop), answer, weight, why))
    return Candidates(tuple(found), others)


def without_hold(visit: Visit) -> Visit:
    """The visit as if nothing lapsed with time; what events, fixes and a road test ended, they end all the same."""
    lasting = tuple(changed(c, hold=EVER) for c in visit.checklist.checks)
    events = (*visit.job.events, *_driven(visit))
    return replace(
        visit, checklist=changed(visit.checklist, checks=lasting), job=changed(visit.job, events=events)
    )


def _driven(visit: Visit) -> Iterator[Event]:
    """What a road test brought about: nobody enters that after the calibration."""
    asking = {c.id for c in visit.checklist.checks if c.kind == ROAD_TEST}
    for reading in visit.job.readings:
        if reading.check in asking and reading.question == "made" and reading.value == "yes":
            yield from (Event(event=event, at=reading.at, by=reading.by) for event in A_DRIVE_IS)


def all_stops(visit: Visit, now: datetime) -> list[Stop]:
    """Every question before the calibration, in walking order, each once."""
    found: dict[Place, Stop] = {}
    for step in visit.checklist.steps:
        for stop in stops(visit, step, now):
            found.setdefault(stop.place, stop)
    return list(found.values())


def scene_of(visit: Visit, stop: Stop, now: datetime) -> Scene:
    """With the hold times of this visit, whichever the stop was found in."""
    return visit.scene(visit.checklist.check(stop.check.id), stop.side, now)


def answer_of(visit: Visit, stop: Stop, now: datetime) -> Answer:
    question = stop.question
    return scene_of(visit, stop, now).answer(question.key, accuracy=question.accuracy, shared=question.shared)


def what_of(stop: Stop) -> str:
    """'Tyres, left rear pressure'; 'Bracket, left, tilt'."""
    question, check = stop.question, stop.check
    label = question.label.rstrip(",").replace(": ", " ")
    side = stop.side if check.per_side and stop.side != "single" and not question.shared else ""
    if question.shared or label.casefold().startswith(check.title.casefold()):
        return ", ".join(filter(None, (label, side)))
    return ", ".join(filter(None, (check.title, side, label)))


def _can_be_compared(question: Question) -> bool:
    """A number or a state; a text, or how something was measured, nobody finds a second time."""
    if question.type == "choice":
        return {c.value for c in question.choices} in STATES and bool(question.part)
    return question.type == "quantity"


def _why_not(visit: Visit, lasting: Visit, stop: Stop, answer: Answer, now: datetime) -> str:
    """Why this reading is not drawn; empty where it can be."""
    question = stop.question
    if not answer.ready:
        if answer.missing == "lapsed":
            return f"voided: {answer.problem}"
        return NO_TOOL if answer.readings else GONE
    last = answer.readings[-1].number
    if any(a.entry == last and a.outcome != "not compared" for a in visit.job.again):
        return CHECKED
    drifts = question.type == "choice" or question.measures in DRIFTS
    if drifts and not answer_of(visit, stop, now).ready:
        return OVER
    return "" if _comparable(lasting, stop, now) else ALONE


def _comparable(visit: Visit, stop: Stop, now: datetime) -> bool:
    """Whether what it would be compared by was read: a kind may say `alike(then, again, question)`."""
    key, kind = stop.question.key, kinds()[stop.check.kind]
    if stop.question.shared or not needs_beside(stop):
        return True
    scene = scene_of(visit, stop, now)
    return getattr(kind, "alike")(scene, scene, key) is not None  # noqa: B009


def needs_beside(stop: Stop) -> tuple[str, ...]:
    """Keys of what has to be read with it; a kind may say `read_beside(question)`."""
    says = getattr(kinds()[stop.check.kind], "read_beside", None)
    found: tuple[str, ...] = () if says is None or stop.question.shared else says(stop.question.key)
    return found


# --- how likely ----------------------------------------------------------------------------------


class _Parts:
    """The judged numbers and states of the checks that a stop serves; each check is judged once."""

    def __init__(self, visit: Visit, now: datetime) -> None:
        self._visit, self._now = visit, now
        self._known: dict[tuple[str, str], tuple[Part, ...]] = {}

    def __call__(self, stop: Stop) -> list[Part]:
        return [part for check, side in stop.asked_by for part in self._of(check, side)]

    def _of(self, check: Check, side: str) -> tuple[Part, ...]:
        if (check.id, side) not in self._known:
            self._known[check.id, side] = find(self._visit, check, side, self._now).parts
        return self._known[check.id, side]


def _risks(
    visit: Visit, stop: Stop, answer: Answer, parts: Iterable[Part], touched: Collection[Place]
) -> Iterator[str]:
    mine = [part for part in parts if _rests_on(part, answer)]
    if any(map(_near, mine)):
        yield NEAR_ITS_LIMIT
    grades = {r.evidence for r in answer.readings}
    if "told" in grades:
        yield TOLD
    elif "seen" in grades and stop.question.evidence == "measured":
        yield SEEN
    if any(map(_coarse, mine)):
        yield COARSE_TOOL
    if stop.place in touched or len(answer.readings) > 1:
        yield CHANGED
    if any(
        (w.check, w.side) == (check.id, _side(check.per_side, side))
        for w in visit.job.waivers
        for check, side in stop.asked_by
    ):
        yield SET_ASIDE


def _side(per_side: bool, side: str) -> str:
    return side if per_side else ""


def _rests_on(part: Part, answer: Answer) -> bool:
    return any(r is mine or r == mine for r in part.readings for mine in answer.readings)


def _near(part: Part) -> bool:
    return part.margin is not None and bool(part.u) and abs(part.margin) <= NEAR * (part.u or 0.0)


def _coarse(part: Part) -> bool:
    """Against the zone between both limits; one that is of a size, either way, has twice its limit."""
    if not part.u or part.high is None:
        return False
    zone = part.high - part.low if part.low is not None else 2 * part.high
    return part.u > COARSE * zone
