"""What calls were worth, and what there is to say to each: what was not looked at, what was measured for nothing.

Pure: the same exercise, answers, looks and calls give the same marks. The last call of a check counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from msgspec.structs import replace as changed

from readiness import units
from readiness.checklist.model import Check
from readiness.checks import instruments
from readiness.checks.finding import Finding, Visit, ask, find
from readiness.checks.kind import SHARED, Place, Question
from readiness.job import Reading
from readiness.practice.car import Car
from readiness.practice.filling import said_in
from readiness.practice.model import Call, GoCall, GoMark, Look, Mark, Marked, Said, Topic, Truth, Worth
from readiness.practice.sights import Quantity, found
from readiness.practice.truth import first_sentence

AGREES = 3.0
"""Times what an instrument may be off, by which an answer may differ from what is true and still be what was seen."""


def marked(
    exercise: Car, visit: Visit, looks: Sequence[Look], calls: Sequence[Call], go_calls: Sequence[GoCall], now: datetime,
) -> Marked:  # fmt: skip
    """Every check that was to be called, in walking order, and every side that was called."""
    said = {call.topic: call.said for call in sorted(calls, key=lambda c: c.at)}
    went = {call.side: call.go for call in sorted(go_calls, key=lambda c: c.at)}
    checks = tuple(
        _mark(exercise, visit, looks, topic, said[topic], now) for topic in exercise.topics if topic in said
    )
    sides = tuple(
        GoMark(side, went[side], bad_for(exercise, side), near_for(exercise, side))
        for side in exercise.sides
        if side in went
    )
    return Marked(checks, sides)


def bad_for(exercise: Car, side: str) -> bool:
    """Whether anything at all is really bad for this side, be it to be called or not: the aim counts too."""
    return any(truth.bad for (_, of), truth in exercise.truths.items() if of in ("", side))


def near_for(exercise: Car, side: str) -> bool:
    """Whether anything is so near to its limit that it can only be called too close."""
    return any(truth.near for (_, of), truth in exercise.truths.items() if of in ("", side))


def worth(truth: Truth, said: Said) -> Worth:
    """Too close to call is right where nobody can tell, and never wrong on a bad car."""
    if truth.bad:
        return "missed" if said == "pass" else "caught"
    if said == "pass" or (truth.near and said == "too_close"):
        return "right"
    return "false_alarm"


def _mark(
    exercise: Car, visit: Visit, looks: Sequence[Look], topic: Topic, said: Said, now: datetime
) -> Mark:
    check, side = visit.checklist.check(topic[0]), topic[1]
    finding = find(visit, check, side, now)
    truth = exercise.truths[topic]
    truth = truth if truth.bad else _of_what_was_used(check, finding) or truth
    asked = {(SHARED, "", q.key) if q.shared else (*topic, q.key): q for q in ask(visit, check, side, now)}
    return Mark(
        topic, check.title, said, worth(truth, said), truth, finding.outcome,
        tuple(_unseen(exercise, visit, looks, topic, truth)) if truth.bad and finding.outcome != "fail" else (),
        tuple(q.label for place, q in asked.items() if _for_nothing(visit, looks, topic, place, q, now)),
    )  # fmt: skip


def _of_what_was_used(check: Check, finding: Finding) -> Truth | None:
    """A poor instrument is bad by being used: that is no matter of the car, and only the answers tell. None if none was."""
    if check.kind != instruments.KIND or finding.outcome != "fail" or finding.deciding is None:
        return None
    keys = tuple(dict.fromkeys(r.question for r in finding.deciding.readings))
    return Truth(True, False, "", finding.reason, first_sentence(check.why), keys)


# --- what was not looked at ----------------------------------------------------------------------


def _unseen(exercise: Car, visit: Visit, looks: Sequence[Look], topic: Topic, truth: Truth) -> Iterator[str]:
    """Labels of the questions that show the fault, and were not looked at or answered otherwise than seen.

    Asked only where the answers do not show it: there may be another way to it, such as the laser in place of a survey.
    """
    labels, to_be_called = labels_of(visit), {check for check, _ in exercise.topics}
    looked = {look.place for look in looks}
    for key in truth.shown_by:
        place = _place_of(exercise, topic, key)
        if place[0] not in (SHARED, *to_be_called):  # it was given, and truly
            continue
        if place not in looked or not _as_seen(exercise, visit, place):
            yield labels.get(place) or _plain(key)


def labels_of(visit: Visit) -> dict[Place, str]:
    """The labels of all questions that the visit asks now, by where their answers lie."""
    labels = {}
    for check in visit.checklist.walk():
        for side in visit.job.sides if check.per_side else ("",):
            for q in ask(visit, check, side, visit.last_entry):
                labels[(SHARED, "", q.key) if q.shared else (check.id, side, q.key)] = q.label
    return labels


def _place_of(exercise: Car, topic: Topic, key: str) -> Place:
    """Where the answer lies that shows a fault: in the check itself, with what all share, or in another check."""
    if key == "where":
        return "standing", "", key
    if key == "supply":
        return "power", "", key
    if key == "air" or key.partition(".")[0] in ("kit", "other"):
        return SHARED, "", key
    return (SHARED, "", key) if (SHARED, "", key) in exercise.world.wrong else (*topic, key)


def _plain(key: str) -> str:
    """A key in words, for a question that was never asked because of an answer before it."""
    from readiness.job import WHEEL_NAMES

    return " ".join(WHEEL_NAMES.get(word, word) for word in key.split("."))


def _as_seen(exercise: Car, visit: Visit, place: Place) -> bool:
    """Whether the answer that counts last is what a careful person could have seen."""
    readings = visit.readings.get(place, ())
    if not readings:
        return False
    there, last = found(exercise.world, place, said_in(visit)), readings[-1]
    if isinstance(there, Quantity):
        return abs(float(last.value) - there.true) <= AGREES * _reach(exercise, last, there)
    return last.value == there.answer


def _reach(exercise: Car, reading: Reading, there: Quantity) -> float:
    """How far off a reading may be, by what it was read with."""
    tool = exercise.world.tools.get(reading.instrument)
    if tool is None:
        return max(there.eye, there.step)
    stated = units.accuracy(tool.instrument.accuracy, there.unit, there.true)
    return stated * max(1.0, abs(tool.off)) + units.accuracy(
        tool.instrument.resolution, there.unit, there.true
    )


# --- what was measured for nothing ---------------------------------------------------------------


def _for_nothing(
    visit: Visit, looks: Sequence[Look], topic: Topic, place: Place, question: Question, now: datetime
) -> bool:
    """Whether a number was read more than once although the first reading had decided."""
    if question.type != "quantity" or not _again(visit, looks, place):
        return False
    outcome = _part(find(_with_first(visit, place), visit.checklist.check(topic[0]), topic[1], now), question)
    return outcome in ("pass", "fail")


def _again(visit: Visit, looks: Sequence[Look], place: Place) -> bool:
    """Read more than once by one instrument, with nothing put right in between."""
    if any(f.check in (place[0], SHARED) and f.question in ("", place[2]) for f in visit.job.fixes):
        return False
    by_tool = Counter(look.instrument for look in looks if look.place == place)
    return max(by_tool.values(), default=0) > 1 or len(visit.readings.get(place, ())) > 1


def _with_first(visit: Visit, place: Place) -> Visit:
    """The visit as if nothing had been read again at that place."""
    first = visit.readings.get(place, ())[:1]
    kept = tuple(r for r in visit.job.readings if (r.check, r.side, r.question) != place or r in first)
    return replace(visit, job=changed(visit.job, readings=kept))


def _part(finding: Finding, question: Question) -> str:
    """The outcome of the part that the answer decides; of the whole check where it decides no single one."""
    return next((p.outcome for p in finding.parts if p.key == question.part), finding.outcome)
