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


@dataclass(frozen=True, slots=True)
class Need:
    """How much longer (along the bay's axis) and wider the place would have to be, other things as they are."""

    longer: float | None
    """Longer alone would do; None: no length does."""
    wider: float | None
    both: tuple[float, float] | None = None
    """Longer and wider together, where neither alone does."""


@dataclass(frozen=True, slots=True)
class Fit:
    """One bay for one mode."""

    mode: Mode
    fits: bool
    standing: Standing
    """The best place found, whether it fits or not."""
    turned: bool
    """Nose the other way than the bay's own standing has it: backed in."""
    spare: float
    """Smallest of clearance less what is asked; negative where it does not fit."""
    bound: float
    """No place has more spare room."""
    binding: tuple[Binding, ...]
    chalk: Chalk
    moved: tuple[str, ...] = ()
    """Movable things that have to go first for this place; fewest. Empty: it fits as things are, or not at all."""
    need: Need | None = None
    """Where it does not fit even with every movable thing gone."""
    picture: Picture = ()


@dataclass(frozen=True, slots=True)
class BayFit:
    bay: str
    title: str
    fits: tuple[Fit, ...]
    """By mode, in the order asked for."""
