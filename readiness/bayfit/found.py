"""What the search for a bay says, as plain data; lengths in m, headings in degrees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from readiness.checks.picture import Picture
from readiness.job import Standing

Mode = Literal["left", "right", "single", "in_turn", "at_once"]
"""One side; both one after the other without moving the car; both with all targets up at once."""
Headings = Literal["axis", "any"]
"""Within a few degrees of the bay's own heading, either way round; or free."""
Direction = Literal["ahead", "behind", "left", "right"]
"""Seen from the driver's seat of a car that stands the bay's usual way round."""


@dataclass(frozen=True, slots=True)
class Tape:
    """From a mark of the bay to where a wheel's middle comes down on the floor."""

    mark: str
    wheel: str
    length: float


@dataclass(frozen=True, slots=True)
class Chalk:
    """Distances from two marks to two wheels: what a person needs to chalk the place."""

    tapes: tuple[Tape, ...]
    side: Literal["left", "right", ""] = ""
    """Where the wheels lie, looking from the first tape's mark to the other; empty: the other side is no place."""


@dataclass(frozen=True, slots=True)
class Binding:
    """A pair that decides: what of the car's needs, against what in the bay."""

    what: str
    """A zone's id, 'the car', a target's id."""
    against: str
    """An obstacle's name, or 'the edge of the bay'."""
    clearance: float
    asked: float
    """What it has to be at least: margin and guard for uncertainty."""
    movable: bool = False
    side: str = ""
    """The side of the car that `what` belongs to, where there are two; empty for the car itself."""
    zone: bool = False
    """`what` is a zone of the sheet."""


@dataclass(frozen=True, slots=True)
class Need:
    """How much longer (along the bay's axis) and wider the place would have to be, in whole cm.

    The place is cut across its middle and one half moved out with what stands against a wall that moves; all
    else stays where it is, and movable things are gone.
    """

    longer: float | None
    """Longer alone would do; None: no length does."""
    wider: float | None
    both: tuple[float, float] | None = None
    """Longer and wider together, where neither alone does."""
    end: Direction | None = None
    """Where the length is needed; 'ahead' where either end does."""
    hand: Direction | None = None
    """Where the width is needed; 'left' where either side does."""


@dataclass(frozen=True, slots=True)
class Fit:
    """One bay for one mode."""

    mode: Mode
    fits: bool
    """At this place, once the things in `moved` are gone."""
    standing: Standing
    """The place to park at, or the nearest to one: the best, or one hardly worse that is easier (the bay's own, straight)."""
    own_marks: bool
    """That place is the bay's own standing: nothing need be chalked."""
    turned: bool
    """Nose the other way than the bay's own standing has it: backed in."""
    spare: float
    """Smallest of clearance less what is asked; negative where it does not fit."""
    most: float
    """Spare room of the best place this way round."""
    bound: float
    """No place this way round has more; within 2 mm of `most`."""
    binding: tuple[Binding, ...]
    chalk: Chalk
    moved: tuple[str, ...] = ()
    """Movable things that have to go first for this place; fewest. Empty: it fits as things are, or not at all."""
    need: Need | None = None
    """Where it does not fit even with every movable thing gone; `spare` and `binding` are of the bay without them."""
    picture: Picture = ()
    """In car axes, the bay without the things in `moved`."""
    on_marks: float | None = None
    """Spare room where the bay's own standing is, as things are; None: not looked at."""
    other_way: float | None = None
    """Spare room at the best place the other way round; None with headings 'any'."""
    across: bool = False
    """Nearer to a right angle with the bay's own line than to that line; only with headings 'any'."""
    between_sides: float | None = None
    """Only at once: spare room between the targets of one side and the zones of the other, the same at every
    place. Below zero no place helps."""


@dataclass(frozen=True, slots=True)
class BayFit:
    bay: str
    title: str
    fits: tuple[Fit, ...]
    """By mode, in the order asked for."""
