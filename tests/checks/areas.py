"""Invented zones, things and visits for the tests of the clear area."""

from __future__ import annotations

from msgspec.structs import replace

from readiness.job import Corridor, Disc, Obstacle, Point, Rectangle, Zone
from tests.scenes import BAY, SHEET, check, judged

TROLLEY = {"name": "trolley", "radius": 0.4, "height": 1.0, "metal": "yes"}
STAND = {"name": "laptop stand", "radius": 0.3, "height": 1.2, "metal": "no", "people": True}
AREA = check("clear_area", {"margin": 0.3, "kit": [TROLLEY, STAND]}, per_side=True, hold=60.0)
BARE = check("clear_area", {"margin": 0.3}, per_side=True)
DISC = Zone(id="disc", disc=Disc(at=Point(x=-3.0, y=1.5), radius=1.0))
PATH = Zone(
    id="path", corridor=Corridor(start=Point(x=-0.8, y=0.7), end=Point(x=-3.0, y=1.5), half_width=0.4)
)
BOX = Zone(id="box", rectangle=Rectangle(corner=Point(x=-4.0, y=0.8), opposite=Point(x=-2.0, y=2.2)))
ZONES = (DISC, PATH, BOX)
NOTHING_ELSE = {"other": "n"}


OUTLINE = tuple(Point(x=x, y=y) for x, y in ((-6, -5), (9, -5), (9, 5), (-6, 5)))


def bay(*obstacles, standing=BAY.standing, **more):
    return replace(BAY, **{"outline": OUTLINE, "obstacles": obstacles, "standing": standing, **more})


def sheet(*zones):
    return replace(SHEET, zones=zones)


def post(x, y, name="post", **more):
    return Obstacle(name=name, point=Point(x=x, y=y), **more)


def area(
    *obstacles, zones=(DISC,), answers=NOTHING_ELSE, one=BARE, side="left", standing=BAY.standing, **more
):
    """What the clear area says of these obstacles, zones and answers; `more` is of the bay."""
    place = bay(*obstacles, standing=standing, **more)
    return judged(one, answers, sheet=sheet(*zones), bay=place, side=side, sides=(side,))


def bin_at(x, y, **more):
    """Answers that name one bin; lengths in m."""
    place = {"other.1.x": f"{x:.4f} m", "other.1.y": f"{y:.4f} m"}
    words = {"other": "y", "other.1.name": "bin", "other.1.metal": "y", "other.1.more": "n"}
    return {**words, **place, **{f"other.1.{k}": v for k, v in more.items()}}


def found_at(judgement, name="bin"):
    """Where the picture has a thing."""
    return next(s for s in judgement.picture if s.role == "obstacle" and s.label == name)
