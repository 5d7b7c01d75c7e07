"""One simulated car as an exercise: what is to be called, what is seen of it, how it really stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from readiness.practice import looking
from readiness.practice.model import Place, Sight, Topic, Truth
from readiness.practice.sights import Said
from readiness.practice.truth import Placed, truths
from readiness.practice.world import World


@dataclass(frozen=True)
class Car:
    """One exercise: see `model.Exercise`."""

    seed: int
    level: int
    topics: tuple[Topic, ...]
    world: World
    believed: World
    """The same car as somebody takes it to be who does not look: before anything went wrong with it."""
    planted: tuple[Placed, ...]

    @property
    def sheet(self) -> str:
        return self.world.sheet.sheet

    @property
    def bay(self) -> str:
        return self.world.bay.bay

    @property
    def sides(self) -> tuple[str, ...]:
        return self.world.sides

    def look(self, place: Place, instrument: str, nth: int = 0, said: Said | None = None) -> Sight:
        """See `model.Exercise`. `said` holds the words answered so far, where those decide what a question asks."""
        return looking.look(self.world, place, instrument, nth, said)

    def truth(self) -> Mapping[Topic, Truth]:
        return {topic: self.truths[topic] for topic in self.topics}

    @cached_property
    def truths(self) -> dict[Topic, Truth]:
        """Of every check, also of those that are given."""
        return truths(self.world, self.planted)
