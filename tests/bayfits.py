"""What a search may find for invented bays, made by hand: places, tapes, what binds."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from readiness.bayfit import BayFit, Binding, Chalk, Fit, Mode, Need, Tape
from readiness.checks.picture import Line, Outline
from readiness.job import Bay, Standing
from tests.scenes import BAY

USUAL = Standing(x=2.0, y=2.5, heading=0.0)
CHALK = Chalk(
    (
        Tape("corner 1", "lr", 2.3454),
        Tape("corner 2", "lr", 3.1206),
        Tape("corner 1", "rf", 4.0),
        Tape("corner 2", "rf", 5.25),
    )
)
SHELF = Binding("room-for-the-target", "steel shelf", 0.514, 0.2)
PICTURE = (
    Outline("bay", ((-2.0, -2.5), (8.0, -2.5), (8.0, 2.5), (-2.0, 2.5))),
    Outline("car", ((-0.9, -0.9), (3.6, -0.9), (3.6, 0.9), (-0.9, 0.9))),
    Line("clearance", ((3.6, 0.0), (8.0, 0.0)), "0.31 m"),
)


def fit(mode: Mode = "at_once", spare: float = 0.314, **more: Any) -> Fit:
    """A place with that room to spare; it fits where that is zero or more."""
    told: dict[str, Any] = {
        "fits": spare >= 0.0, "standing": USUAL, "own_marks": False, "turned": False, "most": spare, "bound": spare + 0.001, "binding": (SHELF,),
        "chalk": CHALK, "picture": PICTURE,
    }  # fmt: skip
    return Fit(mode=mode, spare=spare, **{**told, **more})


def bay(number: int, title: str = "") -> Bay:
    return replace(BAY, bay=f"bay-{number}", title=title or f"Bay {number}", standing=USUAL)


def found(number: int, *fits: Fit, title: str = "") -> BayFit:
    return BayFit(f"bay-{number}", title or f"Bay {number}", fits)


BOTH = found(2, fit("left", 0.5), fit("right", 0.4), fit("in_turn", 0.35), fit("at_once", 0.314))
MOVED = found(
    1,
    fit("left", 0.2), fit("right", 0.1, turned=True), fit("in_turn", 0.05, turned=True, moved=("tool trolley",)),
    fit("at_once", -0.2, need=Need(longer=0.301, wider=None)),
)  # fmt: skip
NONE = found(
    3,
    fit("left", 0.02), fit("right", -0.1, need=Need(0.2, 0.1)),
    fit("in_turn", -0.118, need=Need(None, None, (0.118, 0.21)), binding=(Binding("the car", "roof column", 0.082, 0.2),)),
    fit("at_once", -0.42, need=Need(None, None)),
)  # fmt: skip
