"""Plain shapes in metres that a finding may carry; the terminal and the report draw the same ones.

Car axes: x forward, y left. Roles say what a shape is; how a role looks is each face's business.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Role = Literal["bay", "car", "wheel", "sensor", "target", "zone", "obstacle", "clearance", "height", "here"]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed polygon."""

    role: Role
    points: tuple[XY, ...]
    label: str = ""
    marked: bool = False
    """Drawn with emphasis: this is the shape that fails or binds."""


@dataclass(frozen=True, slots=True)
class Line:
    role: Role
    points: tuple[XY, ...]
    label: str = ""
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    role: Role
    at: XY
    radius: float
    label: str = ""
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """A point with a word or a number beside it."""

    role: Role
    at: XY
    label: str = ""
    marked: bool = False
    hollow: bool = False
    """A place that is known and not looked at yet."""


Shape = Outline | Line | Circle | Spot
Picture = tuple[Shape, ...]
