"""Invented cars and bays for the search, small enough to work out by hand.

The body of the test sheet's car reaches from x = -1.0 to 3.6 m and 0.91 m to either side.
"""

from __future__ import annotations

import math

from msgspec.structs import replace

from readiness.bayfit import bay_fit
from readiness.job import Bay, Disc, Obstacle, Point, Rectangle, Standing, Zone
from tests.scenes import SHEET, check, checklist

GUARD = 1.645 * 0.02
"""m; factor of ISO 14253-1 times 20 mm for laying out the car's axes."""
TURN = math.sqrt(2) * (0.02 / math.sqrt(3)) / 2.7
"""Either axle within 20 mm of its mark, 2.7 m apart: standard uncertainty of the heading, radians."""


def guard(lever, of_thing=0.0):
    """What is asked for a car parked within 20 mm, turned about its rear axle by TURN with this lever in m."""
    return 1.645 * math.hypot(0.02, of_thing, TURN * lever)


BODY = math.hypot(3.6, 0.46)
"""m from the rear axle to the corner of the nose."""
BODY_GUARD, BODY_THING_GUARD = guard(BODY), guard(BODY, 0.02)
AHEAD_GUARD, AHEAD_THING_GUARD = guard(5.8), guard(5.0, 0.02)
MARGIN = 0.1
LIST = checklist(check("clear_area", {"margin": MARGIN}))
TWO = checklist(check("clear_area", {"margin": MARGIN}, per_side=True), sides=("left", "right"))
AHEAD = Zone(id="ahead", disc=Disc(at=Point(x=5.0, y=0.0), radius=0.8))
"""With it the car needs 6.8 m from its tail to the zone's far end."""
REAR_CORNER = Zone(id="round-the-reflector", disc=Disc(at=Point(x=-3.0, y=1.5), radius=0.9))


def car(*zones, **more):
    """The test sheet's car with these zones; no targets unless given."""
    return replace(SHEET, zones=zones, **{"targets": (), **more})


def bay_of(*corners, standing, **more):
    outline = tuple(Point(x=x, y=y) for x, y in corners)
    return Bay(bay="bay-1", title="Bay 1", outline=outline, standing=standing, **more)


def box_bay(length, width, *obstacles, standing=None, **more):
    usual = standing or Standing(x=1.5, y=width / 2)
    corners = ((0, 0), (length, 0), (length, width), (0, width))
    return bay_of(*corners, standing=usual, obstacles=obstacles, **more)


def block(name, x1, y1, x2, y2, **more):
    """A rectangle; metal, fixed and without a height unless said."""
    shape = Rectangle(corner=Point(x=x1, y=y1), opposite=Point(x=x2, y=y2))
    return Obstacle(name=name, rectangle=shape, **{"metal": "yes", **more})


def found(bay, sheet, mode="single", **more):
    """The answer for one mode."""
    [fit] = bay_fit(LIST if mode == "single" else TWO, sheet, bay, (mode,), **{"easy": 0.0, **more}).fits
    return fit
