"""What became of an answer, in words: for the page of the wizard, plain lines and the report alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime

from readiness.checklist.model import Check
from readiness.checks.entry import as_typed
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Place, Question
from readiness.checks.words import capital
from readiness.job import Reading
from readiness.records.history import Step, Story, of_check
from readiness.report.text import moment

Say = Callable[[Reading], str]
"""How a face shows what was read."""


class Told:
    """What is to be told of the answers of a visit, under the names of their questions.

    What serves several checks is told once, under the first of them that is asked for here.
    """

    def __init__(self, visit: Visit, now: datetime, stories: Mapping[Place, Story]) -> None:
        self._visit, self._now, self._stories = visit, now, stories
        self._told: set[Place] = set()

    def in_short(self, check: Check, side: str) -> list[str]:
        """'Left rear: measured three times, fix in between', a line for each answer that has a story."""
        lines = []
        for story, question in self.of(check, side):
            if story.place not in self._told and story.in_short and not _said_by_its_finding(story):
                name = name_of(story, question).replace(": ", ", ")
                lines.append(f"{capital(name)}: {story.in_short}.")
            self._told.add(story.place)
        return lines

    def of(self, check: Check, side: str) -> Iterator[tuple[Story, Question | None]]:
        """The stories of a check: as a whole, then by question in walking order, then of what is not asked any more."""
        if not self._stories:
            return
        side = side if check.per_side else ""
        asked = {_place(check, side, q): q for q in ask(self._visit, check, side, self._now)}
        mine = {story.place: story for story in of_check(self._stories, check.id, side)}
        whole = (check.id, side, "")
        for place in dict.fromkeys([whole, *asked, *mine]):
            if place in self._stories:
                yield self._stories[place], asked.get(place)


def _place(check: Check, side: str, question: Question) -> Place:
    return (SHARED, "", question.key) if question.shared else (check.id, side, question.key)


def _said_by_its_finding(story: Story) -> bool:
    """A check that was set aside, and nothing more, says so itself."""
    return len(story.steps) == 1 and story.steps[0].what == "set aside"


def name_of(story: Story, question: Question | None) -> str:
    """The question as it is asked; where it is not asked any more, by its key; 'the whole check'."""
    if question is not None:
        return question.label
    return story.place[2] or "the whole check"


def lines(story: Story, beside: datetime, say: Say | None = None) -> list[str]:
    """One line a step: '09:52 Odo Brack: 219 kPa (tyre-gauge-2)', '09:55 Odo Brack put right: inflated'.

    The date stands only where it is another day's than `beside`.
    """
    return [
        f"{moment(step.at, beside)} {step.by or 'somebody unnamed'}{_done(story, step, beside, say or as_typed)}"
        for step in story.steps
    ]


def _done(story: Story, step: Step, beside: datetime, say: Say) -> str:
    back = story.withdrawal(step)
    gone = "" if back is None else f", taken back {moment(back.at, beside)}"
    if step.what == "read":
        return f": {_reading(step, say)}{_then(step, beside)}{gone}"
    if step.what == "withdrawn":
        return f" took back {_taken_back(story, step, beside, say)}{_because(step.text)}"
    verb = {
        "fixed": "put right",
        "noted": "noted",
        "set aside": "set it aside",
        "checked": "checked it again",
    }[step.what]
    return f" {verb}{_because(step.text)}{_then(step, beside)}{gone}"


def _then(step: Step, beside: datetime) -> str:
    """When it took place, where that was not when it was entered."""
    return f", as of {moment(step.then, beside)}" if step.then is not None else ""


def _because(text: str) -> str:
    return f": {text}" if text else ""


def _reading(step: Step, say: Say) -> str:
    """What was read, how it is known, and the note that came with it."""
    reading = step.reading
    assert reading is not None
    known = f"told by {reading.told_by}" if reading.told_by else reading.evidence
    known = reading.instrument if reading.instrument and reading.evidence == "measured" else known
    return f"{say(reading)} ({known})" + (f", note: {reading.note}" if reading.note else "")


def _taken_back(story: Story, step: Step, beside: datetime, say: Say) -> str:
    if step.reading is not None:
        return say(step.reading)
    of = next(s for s in story.steps if s.number == step.of)
    return f"{'the fix' if of.what == 'fixed' else 'the waiver'} of {moment(of.at, beside)}"
