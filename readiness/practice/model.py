"""The words of practice as plain data: what is so, what was seen of it, what a person said, what that was worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

Topic = tuple[str, str]
"""A check, and the side of it; '' where it is of the whole car."""
Place = tuple[str, str, str]
"""A question: check, side, key, as in the journal."""
Said = Literal["pass", "fail", "too_close"]
"""What a person calls a check before the program does."""
Worth = Literal["right", "caught", "missed", "false_alarm"]
"""A sound check passed; a bad one not passed; a bad one passed; a sound one not passed."""

LEVELS = {
    1: "one check, one fault at most",
    2: "the checks of one step",
    3: "half of the car",
    4: "a whole car, one side",
    5: "a whole car, both sides where it has two, up to three faults",
}
"""How much of a car is to be called at each level."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What a person finds who looks, or reads an instrument, or asks."""

    words: str
    """A sentence: 'The gauge shows 33.4 psi.', 'The tailgate is on the first catch.'"""
    typed: str = ""
    """As it would be typed where that is plain, such as the number with its unit; empty where it takes a person to say it."""


@dataclass(frozen=True, slots=True)
class Truth:
    """How one check really stands, by its limits and the true values, without any uncertainty."""

    bad: bool
    near: bool = False
    """So near to its limit that nobody can tell with the best of the shop's instruments."""
    fault: str = ""
    """The fault of the catalogue behind it, if there is one: its id."""
    was: str = ""
    """What was true, one sentence."""
    why: str = ""
    """Why it matters, one sentence."""
    shown_by: tuple[str, ...] = ()
    """Keys of the questions at which a careful person would have found it."""


@dataclass(frozen=True, slots=True)
class Call:
    """What a person says of a check."""

    topic: Topic
    said: Said
    at: datetime


@dataclass(frozen=True, slots=True)
class GoCall:
    """What a person says of a side."""

    side: str
    go: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class Look:
    """One look at something, or one reading of it."""

    place: Place
    instrument: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Mark:
    """What a call was worth, and what there is to say to it."""

    topic: Topic
    title: str
    said: Said
    worth: Worth
    truth: Truth
    engine: str
    """The outcome that the program found from the same answers."""
    unseen: tuple[str, ...] = ()
    """Labels of the questions that would have shown it, and were not looked at, or were answered otherwise than seen."""
    for_nothing: tuple[str, ...] = ()
    """Labels of what was measured more than once although the first reading had decided it."""


@dataclass(frozen=True, slots=True)
class GoMark:
    """What a go or no-go was worth."""

    side: str
    said: bool
    bad: bool
    """Whether anything of the car or the bay was really bad for this side."""
    near: bool = False
    """Whether something was so near to its limit that nobody could tell: then no-go is right, too."""

    @property
    def worth(self) -> Worth:
        if self.bad:
            return "missed" if self.said else "caught"
        return "right" if self.said or self.near else "false_alarm"


@dataclass(frozen=True, slots=True)
class Marked:
    """One exercise as it was called: checks in walking order, sides as the job has them."""

    checks: tuple[Mark, ...]
    sides: tuple[GoMark, ...]


class Exercise(Protocol):
    """One simulated car in one simulated bay. The same seed, level and sheet give the same one to everybody."""

    @property
    def seed(self) -> int: ...

    @property
    def level(self) -> int: ...

    @property
    def sheet(self) -> str:
        """Id of its sheet in the practice shop, as are bay and instruments."""

    @property
    def bay(self) -> str: ...

    @property
    def sides(self) -> tuple[str, ...]: ...

    @property
    def topics(self) -> tuple[Topic, ...]:
        """The checks to be called, in walking order. The rest are given: they are answered already, and truly."""

    def look(
        self, place: Place, instrument: str, nth: int = 0, said: Mapping[Place, str] | None = None
    ) -> Sight:
        """What is seen at a question, by an instrument where one is chosen, at the `nth` look.

        `said` holds the words answered so far, where those decide what a question asks.
        """

    def truth(self) -> Mapping[Topic, Truth]:
        """How each topic really stands."""
