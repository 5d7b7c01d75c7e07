"""Every question that a job's answers belong to, those included that later answers made needless.

A question may appear only after another was answered, so the checks are asked again after each round
of answers. Nothing lapses and nothing is voided here: whether an answer still counts is for the
judgement; here it is only understood.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime

from msgspec.structs import replace as changed

from readiness.checklist.model import EVER, Check
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Place, Question
from readiness.job import Reading

ONE_BY_ONE = 40
"""Answers to one question after which the others are taken at once: by then they have led to all that they lead to."""


class Asked:
    """The questions of a visit, learnt while its answers are added."""

    def __init__(self, visit: Visit) -> None:
        lasting = tuple(changed(c, hold=EVER, voided_by=()) for c in visit.checklist.checks)
        bare = changed(visit.job, readings=(), fixes=(), events=(), waivers=())
        self._visit = replace(visit, checklist=changed(visit.checklist, checks=lasting), job=bare)
        self.questions: dict[Place, Question] = {}
        """Place of an answer -> its question, as asked last."""
        self.learn()

    @property
    def system(self) -> str:
        return self._visit.shop.units

    def places(self) -> Iterator[tuple[Check, str]]:
        """Each check with each side on which it is asked; '' for the whole job."""
        checklist = self._visit.checklist
        for check in (*checklist.walk(), *checklist.close_walk()):
            for side in self._visit.job.sides if check.per_side else ("",):
                yield check, side

    def add(self, readings: Iterable[Reading]) -> None:
        """Take answers in, and ask again."""
        job = self._visit.job
        self._visit = replace(self._visit, job=changed(job, readings=(*job.readings, *readings)))
        self.learn()

    def learn(self) -> None:
        """Ask every check now."""
        now = max((r.at for r in self._visit.job.readings), default=self._visit.job.opened)
        for check, side in self.places():
            for question in self._questions_of(check, side, now):
                place = (SHARED, "", question.key) if question.shared else (check.id, side, question.key)
                self.questions[place] = question

    def keys(self, check: str, side: str) -> list[str]:
        """Keys that were asked at a place so far."""
        return [q for c, s, q in self.questions if (c, s) == (check, side)]

    def _questions_of(self, check: Check, side: str, now: datetime) -> list[Question]:
        return ask(self._visit, check, side, now)


def asked_for(visit: Visit) -> dict[Place, Question]:
    """The question of each place that this job's readings answer."""
    asked = Asked(visit)
    left = sorted(visit.job.readings, key=lambda r: r.at)
    for turn in range(len(left)):
        known: list[Reading] = []
        later: list[Reading] = []
        seen: set[Place] = set()
        for reading in left:
            place = (reading.check, reading.side, reading.question)
            its_turn = place in asked.questions and (turn >= ONE_BY_ONE or place not in seen)
            (known if its_turn else later).append(reading)
            seen.add(place)
        if not known:
            break
        asked.add(known)
        left = later
    return asked.questions
