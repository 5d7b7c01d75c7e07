"""Invented pictures: a bay with all that can stand in it, and any shapes that hypothesis can think of."""

from __future__ import annotations

import math
import random

from hypothesis import strategies as st

from readiness.checks.picture import (
    BEHIND,
    KEEPS_OUT,
    XY,
    Circle,
    Line,
    Outline,
    Picture,
    Shape,
    Spot,
)

CAR = ((3.75, 0.45), (3.3, 0.9), (-0.95, 0.9), (-0.95, -0.9), (3.3, -0.9), (3.75, -0.45))
WHEELS = ((2.8, 0.78), (2.8, -0.78), (0.0, 0.78), (0.0, -0.78))


def placed(p: XY, heading: float, at: XY = (5.0, 2.9)) -> XY:
    """A place beside the car in bay axes; heading in degrees."""
    cos, sin = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    return at[0] + cos * p[0] - sin * p[1], at[1] + sin * p[0] + cos * p[1]


def car(heading: float = 0.0, at: XY = (5.0, 2.9)) -> Picture:
    return (
        Outline("car", tuple(placed(p, heading, at) for p in CAR)),
        *(Spot("wheel", placed(p, heading, at)) for p in WHEELS),
    )


def bay(heading: float = 200.0) -> Picture:
    """A bay with a corner cut out, the car turned in it, every reason of a zone and every role."""

    def zone(name: str, reason, *corners: XY, marked: bool = False) -> Outline:
        return Outline("zone", tuple(placed(p, heading) for p in corners), name, marked, reason=reason)

    return (
        Outline("bay", ((0, 0), (9, 0), (9, 5.5), (6, 5.5), (6, 6.2), (0, 6.2)), "Bay 2"),
        *car(heading),
        zone("rear left", "metal-free", (-1, 0.2), (-3.5, 0.2), (-3.5, 2.6), (-1, 2.6), marked=True),
        zone("ahead", "nothing between", (4, -1), (5, -1), (5, 1), (4, 1)),
        Circle("zone", placed((-2.6, 1.2), heading), 0.9, "round the target", reason="people-free"),
        Circle("zone", placed((1.4, 0), heading), 1.6, "round the car", reason="walking room"),
        Outline("obstacle", ((0, 5.2), (3, 5.2), (3, 6.2), (0, 6.2)), "workbench"),
        Circle("obstacle", (7.8, 1.2), 0.3, "tool trolley", True),
        Line("obstacle", ((9, 0), (9, 5.5)), "wall"),
        Spot("obstacle", (8.2, 4.9), "post", note="Metal, up to 2.00 m."),
        Spot("sensor", placed((-0.8, 0.7), heading), "radar"),
        Spot("target", placed((-2.6, 1.4), heading), "reflector"),
        Spot("mark", (0.5, 0.5), "nail"),
        Spot("height", (1.0, 4.0), "7: 3.1 mm"),
        Line("clearance", (placed((-2.6, 1.2), heading), (7.8, 1.2)), "0.12 m", True),
    )


def crowded(count: int, seed: int = 1) -> Picture:
    """A bay with `count` things of four kinds in it, and five hatched zones."""
    chance = random.Random(seed)
    things: list[Shape] = []
    for k in range(count):
        x, y = chance.uniform(0, 9), chance.uniform(0, 6)
        box = ((x, y), (x + 0.6, y), (x + 0.6, y + 0.4), (x, y + 0.4))
        things.append(
            (
                Circle("obstacle", (x, y), chance.uniform(0.1, 0.5), f"drum {k}"),
                Outline("obstacle", box, f"chest {k}", k % 8 == 1),
                Line("obstacle", ((x, y), (x + 1, y + 0.7)), f"pipe {k}"),
                Spot("obstacle", (x, y), f"post {k}"),
            )[k % 4]
        )
    whole = Outline("zone", ((0, 0), (9, 0), (9, 6), (0, 6)), "whole floor", reason="metal-free")
    return (*bay(20.0), *things, whole)


NUMBERS = st.floats(allow_nan=False, allow_infinity=False) | st.floats(-1e9, 1e9) | st.floats(-20, 20)
PLACES = st.tuples(NUMBERS, NUMBERS)
NAMES = st.text(max_size=40)
ROLES = st.sampled_from(BEHIND)
REASONS = st.sampled_from(["", *KEEPS_OUT])


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    """Any shape of finite numbers, without a point, degenerate, or far beyond any bay."""
    role, name, marked = draw(ROLES), draw(NAMES), draw(st.booleans())
    kind = draw(st.integers(0, 3))
    if kind == 0:
        radius = draw(st.floats(0, allow_infinity=False, allow_nan=False) | st.floats(0, 20))
        return Circle(role, draw(PLACES), radius, name, marked, reason=draw(REASONS))
    if kind == 1:
        return Spot(role, draw(PLACES), name, marked, draw(st.booleans()))
    points = tuple(draw(st.lists(PLACES, max_size=7)))
    if kind == 2:
        return Line(role, points, name, marked)
    return Outline(role, points, name, marked, reason=draw(REASONS))
