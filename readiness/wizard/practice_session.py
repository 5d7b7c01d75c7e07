"""One simulated car on the screen: looks, calls, and what they were worth. Knows no widget.

Answers go through the same journal and the same judgement as those of a real job; only the folder is a temporary one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from readiness.checklist.model import Step
from readiness.practice.filling import said_in
from readiness.practice.hidden import hidden
from readiness.practice.model import Call, GoCall, Look, Place, Said, Sight, Topic, Truth
from readiness.verdict import Verdict
from readiness.wizard.rows import Row, StepState
from readiness.wizard.session import Session

if TYPE_CHECKING:
    from readiness.practice.car import Car
    from readiness.practice.model import Marked

CALLS: dict[Said, str] = {"pass": "pass", "fail": "fail", "too_close": "too close to call"}


@dataclass
class PracticeSession(Session):
    """A practice job that is being answered."""

    exercise: Car = field(kw_only=True)
    looks: list[Look] = field(default_factory=list)
    calls: dict[Topic, Call] = field(default_factory=dict)
    go_calls: dict[str, GoCall] = field(default_factory=dict)
    _judged: datetime | None = None
    """When the last side was called: what came later changes no mark."""
    _given: int = 0
    """Number of the last entry that was given."""

    def __post_init__(self) -> None:
        super().__post_init__()
        latest = self.journal.latest
        self._given = latest[0] if latest is not None else 0

    # --- what is hidden --------------------------------------------------------------------------

    @property
    def over(self) -> bool:
        """Whether every side has been called, so that the program may speak."""
        return set(self.go_calls) >= set(self.exercise.sides)

    @property
    def barred(self) -> str:
        if self.over:
            return "This car is called, so nothing more is kept. F10 goes to what it was; Enter there takes the next car."
        return super().barred

    @property
    def closing_steps(self) -> tuple[Step, ...]:
        """Practice ends with the go."""
        return ()

    def verdict(self) -> Verdict:
        found = super().verdict()
        return found if self.over else hidden(found, {*self.exercise.topics, *self._worked_out})

    @property
    def _worked_out(self) -> set[Topic]:
        """The aim: nobody calls it, but it names what turns it, and so would give an answer away."""
        return {(check.id, "") for check in self.visit.checklist.walk() if check.kind == "aim"}

    def state(self, step: Step, verdict: Verdict) -> StepState:
        """As long as the program says nothing, a step stands as it was called."""
        state = super().state(step, verdict)
        mine = self.topics_of(step)
        if self.over or not mine:
            return state
        said = [self.calls[t].said if t in self.calls else "" for t in mine]
        outcome = "fail" if {"fail", "too_close"} & set(said) else "pass" if all(said) else ""
        return StepState(step, state.asked, state.answered, outcome, state.waived)

    def topics_of(self, step: Step) -> list[Topic]:
        """The checks of a step that are to be called, in walking order."""
        topics = set(self.exercise.topics)
        return [place for place in self.places(step) if place in topics]

    def uncalled(self, step: Step) -> list[Topic]:
        return [t for t in self.topics_of(step) if t not in self.calls]

    @property
    def all_uncalled(self) -> list[Topic]:
        return [t for t in self.exercise.topics if t not in self.calls]

    @property
    def missed_out(self) -> list[tuple[Topic, Truth]]:
        """What was bad and nobody called, such as after an early no-go."""
        truths = self.exercise.truth()
        return [(topic, truths[topic]) for topic in self.all_uncalled if truths[topic].bad]

    def given(self, row: Row) -> bool:
        """Whether a row asks nothing of the person: its check is no topic, and it was answered before."""
        return row.answered and not any(t in self.exercise.topics for t in self._asking(row))

    def _asking(self, row: Row) -> tuple[Topic, ...]:
        return ((row.check.id, row.side), row.judged_at)

    def title(self, topic: Topic) -> str:
        check, side = topic
        named = self.visit.checklist.check(check).title
        return f"{named}, {side}" if side not in ("", "single") else named

    # --- what a person does ----------------------------------------------------------------------

    def look(self, row: Row, *, anew: bool = True) -> Sight:
        """Look at what a row asks for, or read its instrument once more; if not `anew`, what it showed last stands."""
        tool = self.instrument(row) if row.question.type == "quantity" else None
        instrument = tool.id if tool is not None else ""
        before = sum(look.place == row.kept_at and look.instrument == instrument for look in self.looks)
        stands = before > 0 and not anew
        if not stands:
            self.looks.append(Look(row.kept_at, instrument, self.clock()))
        return self.exercise.look(row.kept_at, instrument, before - stands, said_in(self.visit))

    def offered(self, row: Row, sight: Sight) -> str:
        """What is put into the field after a look; nothing where the person has to say it, or to mind another unit.

        The unit of the form stands beside the field already.
        """
        if row.question.type == "choice":
            return ""
        unit = self.entry_unit(row.question)
        number = sight.typed.removesuffix(unit).rstrip() if unit else sight.typed
        return number if row.question.type == "text" or not unit or number != sight.typed else ""

    def seen(self, place: Place) -> bool:
        return any(look.place == place for look in self.looks)

    def undo(self) -> str:
        """Only what the person did is taken back, not what was given."""
        latest = self.journal.latest
        if latest is None or latest[0] <= self._given:
            return "There is nothing of yours to take back. Ctrl+K calls a check anew."
        return super().undo()

    def call(self, topic: Topic, said: Said) -> None:
        """What a person says of a check; the last word counts."""
        self.calls[topic] = Call(topic, said, self.clock())

    def why_no_go(self, side: str) -> str:
        """Why a side cannot be called a go, a sentence: a go needs every check called a pass. Else empty."""
        mine = [t for t in self.exercise.topics if t[1] in ("", side)]
        open_ = [self.title(t) for t in mine if t not in self.calls]
        if open_:
            return f"Not called yet: {'; '.join(open_)}. A go needs every check called."
        bad = [f"{self.title(t)} {CALLS[self.calls[t].said]}" for t in mine if self.calls[t].said != "pass"]
        return f"You called {'; '.join(bad)}. Only a pass counts towards a go." if bad else ""

    def call_go(self, side: str, go: bool) -> None:
        """Go or no-go for a side. Raises ValueError for a go that the person's own calls speak against."""
        if go and (why := self.why_no_go(side)):
            raise ValueError(why)
        self.go_calls[side] = GoCall(side, go, self.clock())
        self._judged = self.clock()

    def marked(self) -> Marked:
        """What every call was worth, once all sides are called."""
        from readiness.practice.marking import marked

        assert self._judged is not None
        return marked(
            self.exercise, self.visit, tuple(self.looks), tuple(self.calls.values()), tuple(self.go_calls.values()),
            self._judged,
        )  # fmt: skip
