"""What a step shows of the job: a row a question, and how far the step is. Plain data, no widget."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.checklist.model import Check, Step
from readiness.checks.kind import SHARED, WORST_FIRST, Part, Question
from readiness.job import Reading


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a form: a question of a check on a side, with what is kept for it."""

    check: Check
    side: str
    question: Question
    readings: tuple[Reading, ...] = ()
    part: Part | None = None
    mean: float | None = None
    """The value that counts: the mean of the readings, in the question's canonical unit."""
    judged_at: tuple[str, str] = ("", "")
    """Check and side of the finding that `part` belongs to."""

    @property
    def answered(self) -> bool:
        return bool(self.readings)

    @property
    def open(self) -> bool:
        return (not self.readings or self.overtaken) and not self.question.optional

    @property
    def overtaken(self) -> bool:
        """Whether an answer that never lapses is of an earlier calibration: it stands there, and another one is wanted."""
        return self.check.lasting and self.part is not None and self.part.outcome == "lapsed"

    @property
    def failing(self) -> bool:
        return self.part is not None and self.part.outcome in ("fail", "too_close")

    @property
    def shows_part(self) -> bool:
        """Whether all there is to see of the part stands in this row; a word has no number line."""
        return self.part is not None and (
            self.question.type == "quantity" or not isinstance(self.part.value, float)
        )

    @property
    def in_words(self) -> bool:
        """Whether its answer is words, of which a number that follows is not shown in its row."""
        return self.question.type == "text" or not self.shows_part

    @property
    def place(self) -> tuple[str, str, str]:
        return self.check.id, self.side, self.question.key

    @property
    def kept_at(self) -> tuple[str, str, str]:
        """Where its answer lies in the journal: of a shared one in no check of its own."""
        return (SHARED, "", self.question.key) if self.question.shared else self.place


@dataclass(frozen=True, slots=True)
class StepState:
    """How far one step is: for the rail."""

    step: Step
    asked: int
    answered: int
    outcome: str
    """'pass' when all its findings count, 'fail' when one says fail, otherwise empty."""
    waived: bool = False
    """Whether something of it was set aside; its questions are then not needed."""


def worse(part: Part | None, than: Part | None) -> bool:
    if part is None:
        return False
    return than is None or WORST_FIRST.index(part.outcome) < WORST_FIRST.index(than.outcome)
