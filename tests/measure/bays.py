"""Invented bays with cars among them, and a search that only samples: an outside check of the search for poses."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from readiness.measure.pieces import Convex, pieces
from readiness.measure.plan import (
    Area,
    BoxAt,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    SegmentAt,
    Shape,
    mirrored,
    moved,
)
from readiness.measure.poses import Apart, Moving, Pose, spare
from readiness.measure.poses.cover import outside
from readiness.measure.poses.parts import Part, parts


@dataclass(frozen=True)
class Bay:
    place: Area
    moving: tuple[Moving, ...]
    apart: tuple[Apart, ...]
    low: float = -3.0
    high: float = 3.0

    @property
    def asked(self) -> tuple[Area, tuple[Moving, ...], tuple[Apart, ...], float, float]:
        return self.place, self.moving, self.apart, self.low, self.high

    def spare(self, pose: Pose) -> float:
        return spare(self.place, self.moving, self.apart, pose)[0]


# --- invented bays -------------------------------------------------------------------------------


def a_bay(seed: int, things: int = 8, *, small: float = 1.0) -> Bay:
    """About 10 x 7 m; every third with a corner cut out, every seventh with a slanted wall; things mostly by the walls."""
    r = random.Random(seed)
    long, wide = r.uniform(9, 11), r.uniform(5.5, 8)
    place = [(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)]
    if seed % 3 == 0:
        a, b = r.uniform(1, 3), r.uniform(0.5, 1.5)
        place[2:3] = [(long, wide - b), (long - a, wide - b), (long - a, wide)]
    elif seed % 7 == 0:
        place[0] = (r.uniform(0, 2), r.uniform(0, 0.5))
    moving = _car(r, small, with_sector=seed % 4 == 1, with_polygon=seed % 4 == 2)
    apart = []
    for _ in range(things):
        thing, gap = _thing(r, long, wide, small), r.uniform(0.1, 0.3) * small
        apart += [Apart(k, thing, gap) for k in range(len(moving)) if k == 0 or r.random() < 0.8]
    return Bay(Area(tuple(place)), moving, tuple(apart))


def _car(r: random.Random, small: float, *, with_sector: bool, with_polygon: bool) -> tuple[Moving, ...]:
    """A body of 4.7 x 1.83 m, and what has to be clear at its left rear corner: corridor, target, bumper."""
    way = math.radians(r.uniform(110, 170))
    x, y = -0.9 + 2.5 * math.cos(way), 0.8 + 2.5 * math.sin(way) * r.choice([0.4, 0.7])
    zones: list[tuple[Shape, float]] = [
        (BoxAt(-1.0, -0.915, 3.7, 0.915), 0.05),
        (Capsule(-0.9, 0.8, x, y, 0.5 * small), 0.02),
        (DiscAt(x, y, 0.9 * small), 0.0),
        (BoxAt(-2.0, -0.5, -1.0, 0.5), 0.0),
        (PointAt(x - 0.2, y + 0.1), 0.0),
    ]
    if with_sector:
        zones.append((SectorAt(-0.9, 0.8, 1.5, 100, r.choice([200, 320])), 0.0))
    if with_polygon:
        zones.append((Area(((-1, 0), (-2.2, 0.2), (-2.2, 1.6), (-1, 1.6), (-1.4, 0.8))), 0.0))
    return tuple(Moving(*zone) for zone in zones)


def _thing(r: random.Random, long: float, wide: float, small: float) -> Shape:
    x, y = r.uniform(0, long), r.uniform(0, wide)
    if r.random() < 0.85:
        deep = r.uniform(0, 0.9 if small == 1 else 0.35)
        x, y = r.choice([(x, deep), (x, wide - deep), (deep, y), (long - deep, y)])
    turn = r.choice([0.0, 90.0, r.uniform(0, 360)])
    arm = r.uniform(0.3, 0.9) * small
    thin = arm / 3
    kind = r.randrange(6)
    if kind == 0:
        return PointAt(x, y)
    if kind == 1:
        return DiscAt(x, y, r.uniform(0.05, 0.3) * small)
    if kind == 2:
        return SegmentAt(x, y, x + r.uniform(-1, 1) * small, y + r.uniform(-0.3, 0.3) * small)
    if kind == 3:
        return moved(BoxAt(0, 0, r.uniform(0.2, 1) * small, r.uniform(0.2, 0.6) * small), x, y, turn)
    if kind == 4:
        angle = Area(((0, 0), (arm, 0), (arm, thin), (thin, thin), (thin, arm), (0, arm)))
        return moved(angle, x, y, turn)
    channel = [
        (0, 0),
        (arm, 0),
        (arm, arm),
        (2 * thin, arm),
        (2 * thin, thin),
        (thin, thin),
        (thin, arm),
        (0, arm),
    ]
    return moved(Area(tuple(channel)), x, y, turn)


def odd_bay(seed: int) -> Bay:
    """Stars of every kind within a star, sectors up to nearly whole discs, headings narrow, wide or free."""
    r = random.Random(seed)
    moving, apart = [], []
    for _ in range(r.randint(1, 4)):
        moving.append(Moving(_odd(r, r.uniform(-2, 2), r.uniform(-2, 2), 1.2), r.uniform(-0.3, 0.3)))
    for _ in range(r.randint(0, 6)):
        thing = _odd(r, r.uniform(-4, 4), r.uniform(-4, 4), 0.8)
        apart += [Apart(k, thing, r.uniform(0, 0.3)) for k in range(len(moving)) if r.random() < 0.7]
    middle, half = r.uniform(-180, 180), r.choice([0, 3, 20, 180])
    return Bay(_star(r, 0, 0, 5.0), tuple(moving), tuple(apart), middle - half, middle + half)


def _odd(r: random.Random, x: float, y: float, size: float) -> Shape:
    start = r.uniform(-180, 180)
    return r.choice(
        [
            _star(r, x, y, size),
            DiscAt(x, y, r.uniform(0, size)),
            Capsule(x, y, x + r.uniform(-1, 1), y + r.uniform(-1, 1), r.uniform(0, size / 2)),
            SectorAt(x, y, r.uniform(0.3, 1.2) * size, start, start + r.uniform(10, 359)),
            PointAt(x, y),
            BoxAt(x, y, x + size, y + size / 3),
        ]
    )


def _star(r: random.Random, x: float, y: float, size: float) -> Area:
    n = r.randint(3, 8)
    arms = [r.uniform(0.3, 1.0) * size for _ in range(n)]
    turns = [math.tau * k / n for k in range(n)]
    return Area(tuple((x + a * math.cos(t), y + a * math.sin(t)) for a, t in zip(arms, turns, strict=True)))


def turned(bay: Bay, x: float, y: float, heading: float) -> Bay:
    """The whole bay elsewhere."""
    place = moved(bay.place, x, y, heading)
    assert isinstance(place, Area)
    apart = tuple(replace(a, still=moved(a.still, x, y, heading)) for a in bay.apart)
    return replace(bay, place=place, apart=apart, low=bay.low + heading, high=bay.high + heading)


def reflected(bay: Bay) -> Bay:
    """The bay in a mirror along its x axis."""
    place = mirrored(bay.place)
    assert isinstance(place, Area)
    moving = tuple(replace(m, shape=mirrored(m.shape)) for m in bay.moving)
    apart = tuple(replace(a, still=mirrored(a.still)) for a in bay.apart)
    return Bay(place, moving, apart, -bay.high, -bay.low)


# --- sampling ------------------------------------------------------------------------------------


def sampled(bay: Bay, across: int = 24, headings: int = 9, refined: int = 6) -> tuple[float, Pose]:
    """The best of a grid of poses, the best few of them refined without derivatives (Nelder and Mead 1965, scipy).

    The few lie apart, so that each climbs a hill of its own; only the highest is climbed to the top.
    """
    xs, ys = zip(*bay.place.points, strict=True)
    x, y = (
        v.ravel()
        for v in np.meshgrid(np.linspace(min(xs), max(xs), across), np.linspace(min(ys), max(ys), across))
    )
    found: list[tuple[float, Pose]] = []
    for heading in np.linspace(bay.low, bay.high, headings):
        values = rough(bay, x, y, float(heading))
        found += [
            (float(values[k]), Pose(float(x[k]), float(y[k]), float(heading)))
            for k in np.argsort(-values)[:16]
        ]
    found.sort(key=lambda f: -f[0])
    step, turn = (
        max(max(xs) - min(xs), max(ys) - min(ys)) / (across - 1),
        (bay.high - bay.low) / (headings - 1),
    )
    starts: list[Pose] = []
    for _, pose in found:
        if len(starts) < refined and all(_far(pose, other, 2.5 * step, 2.5 * turn) for other in starts):
            starts.append(pose)
    hills = [_refined(bay, pose, 0.2, 2e-3, 45) for pose in starts]
    return _refined(bay, max(hills, key=lambda f: f[0])[1], 0.02, 1e-5, 150)


def _far(a: Pose, b: Pose, step: float, turn: float) -> bool:
    return math.dist((a.x, a.y), (b.x, b.y)) > step or abs(a.heading - b.heading) > turn


def _refined(bay: Bay, start: Pose, size: float, fine: float, most: int) -> tuple[float, Pose]:
    """The best pose found with at most so many steps from one, to so many m."""

    def pose(v) -> Pose:
        return Pose(float(v[0]), float(v[1]), float(np.clip(start.heading + 20 * v[2], bay.low, bay.high)))

    def worse(v) -> float:
        return -bay.spare(pose(v))

    at = np.array([start.x, start.y, 0.0])
    corners = at + size * np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    how = {"initial_simplex": corners, "xatol": fine, "fatol": fine / 10, "maxiter": most}
    at = minimize(worse, at, method="Nelder-Mead", options=how).x
    return bay.spare(pose(at)), pose(at)


def coarse(shape: Shape) -> tuple[Convex | Part, ...]:
    """Its convex pieces; those of a sector, for speed, up to 1 cm too large."""
    return pieces(shape, 0.01) if isinstance(shape, SectorAt) else parts(shape)


def rough(bay: Bay, x, y, heading: float):
    """Spare room at many places by brute force: all corners against all sides, and all sides as dividing lines."""
    planes, pockets = outside(bay.place.core)
    c, s = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    turned = [
        [
            (np.array([(c * p[0] - s * p[1], s * p[0] + c * p[1]) for p in piece.corners]), piece.radius)
            for piece in coarse(m.shape)
        ]
        for m in bay.moving
    ]
    least = np.full(x.shape, np.inf)
    for convex, m in zip(turned, bay.moving, strict=True):
        for a, radius in convex:
            for p, q in planes:
                n = np.array([p[1] - q[1], q[0] - p[0]]) / math.dist(p, q)
                out = (a @ n).max() + n[0] * (x - p[0]) + n[1] * (y - p[1])
                least = np.minimum(least, -out - radius - m.inside)
            for pocket in pockets:
                least = np.minimum(least, _apart(a, np.array(pocket), x, y) - radius - m.inside)
    for pair in bay.apart:
        for a, radius in turned[pair.moving]:
            for still in coarse(pair.still):
                room = _apart(a, np.array(still.corners), x, y) - radius - still.radius - pair.gap
                least = np.minimum(least, room)
    return least


def _apart(a, b, x, y):
    """Distance of two convex polygons, the first at many places; where they overlap, minus the shortest way out."""
    beside = np.full(x.shape, np.inf)
    for p in a:
        beside = np.minimum(beside, _to_sides(x + p[0], y + p[1], b))
    for q in b:
        beside = np.minimum(beside, _to_sides(q[0] - x, q[1] - y, a))
    normals = [n for shape in (a, b) for n in _normals(shape)]
    if not normals:
        return beside
    across = [
        np.maximum((a @ n).min() + n @ (x, y) - (b @ n).max(), (b @ n).min() - (a @ n).max() - n @ (x, y))
        for n in normals
    ]
    divided = np.max(across, axis=0)
    return np.where(divided > 0, beside, divided)


def _to_sides(x, y, corners):
    least = np.full(np.shape(x), np.inf)
    for p, q in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        e = q - p
        length2 = e @ e
        t = np.clip(((x - p[0]) * e[0] + (y - p[1]) * e[1]) / length2, 0, 1) if length2 else 0.0
        least = np.minimum(least, np.hypot(x - p[0] - t * e[0], y - p[1] - t * e[1]))
    return least


def _normals(corners):
    if len(corners) < 2:
        return
    for p, q in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        e = q - p
        yield np.array([e[1], -e[0]]) / math.hypot(*e)
