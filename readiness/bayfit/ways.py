"""Ways round: the best place nose first as the bay has it, and turned; or any heading."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from readiness.bayfit.demands import Demands
from readiness.bayfit.found import Headings
from readiness.bayfit.progress import Progress
from readiness.checks.place import rounded
from readiness.job import Standing
from readiness.measure import poses
from readiness.measure.poses import TOLERANCE, Pose

WORTH_TURNING = 0.02
"""m of spare room for which nobody turns the car round; common practice, no published source."""

EASY = 0.05
"""m of spare room for which nobody leaves the bay's own marks, or stands askew; common practice, no published source."""
PLENTY = 0.3
"""m of spare room that is enough at an easier place, however much the best has; common practice, no published source."""

Way = tuple[float, float]
"""Headings from, to, degrees."""


@dataclass(frozen=True, slots=True)
class Best:
    """The place one way round: the best, or one as good that is easier to park at."""

    pose: Pose
    spare: float
    most: float
    """m; spare room of the best place."""
    bound: float
    """m; no place has more."""
    turned: bool = False
    other_way: float | None = None

    @property
    def fits(self) -> bool:
        return self.spare >= 0.0


def ways_round(usual: Standing, headings: Headings, swing: float) -> tuple[Way, ...]:
    """The bay's own way first."""
    h = usual.heading
    if headings == "any":
        return ((h - 180.0, h + 180.0),)
    return ((h - swing, h + swing), (h + 180.0 - swing, h + 180.0 + swing))


def best_place(
    asked: Demands, ways: tuple[Way, ...], usual: Standing, progress: Progress, easy: float = EASY
) -> Best:
    """The better way round; the bay's own where turning gains less than WORTH_TURNING, or where that has plenty.

    A place that is easier to park at may have `easy` m less to spare than the best, or PLENTY.
    """
    found = [_best(asked, way, usual, progress, easy) for way in ways]
    if len(found) == 1:
        return found[0]
    own, other = found
    enough = easy > 0.0 and own.spare >= PLENTY
    gains = not enough and other.most >= own.most + max(WORTH_TURNING, easy)
    better = other.fits if own.fits != other.fits else gains
    return replace(other, other_way=own.most) if better else replace(own, other_way=other.most)


def can_stand(asked: Demands, ways: tuple[Way, ...], progress: Progress) -> bool:
    """Whether there is a place, either way round."""
    return any(
        poses.fits(asked.place, asked.moving, asked.apart, *way, heard=progress.search(0.1)) is not None
        for way in ways
    )


def _best(asked: Demands, way: Way, usual: Standing, progress: Progress, easy: float) -> Best:
    """The best place with headings within `way`, or an easier one."""
    shapes = (asked.place, asked.moving, asked.apart)
    found = poses.best_pose(*shapes, *way, tolerance=TOLERANCE / 2.0, heard=progress.search())
    pose = found.pose
    if found.spare < 0.0 <= found.bound:  # within the tolerance: the yes or no decides
        pose = poses.fits(*shapes, *way, heard=progress.search(0.1)) or pose
    best = _kept(asked, pose)
    middle = (way[0] + way[1]) / 2.0
    straight = poses.best_pose(
        *shapes, middle, middle, tolerance=TOLERANCE / 4.0, heard=progress.search(0.1)
    ).pose
    least = min(best[1], found.bound - TOLERANCE)
    if best[1] >= 0.0:
        least = max(min(least, best[1] - easy, PLENTY if easy else math.inf), 0.0)
    easier = (_kept(asked, p) for p in (*_own(usual, way), straight))
    pose, spare = next((k for k in easier if k[1] >= least), best)
    most = max(best[1], spare)
    return Best(pose, spare, most, max(found.bound, most), turned=_turned(pose, usual))


def _own(usual: Standing, way: Way) -> tuple[Pose, ...]:
    """The bay's own standing, where it lies that way round."""
    middle, half = (way[0] + way[1]) / 2.0, (way[1] - way[0]) / 2.0
    off = 180.0 - (180.0 - (usual.heading - middle)) % 360.0
    return (Pose(usual.x, usual.y, usual.heading),) if abs(off) <= half else ()


def _kept(asked: Demands, pose: Pose) -> tuple[Pose, float]:
    """The place as it is kept, and its spare room."""
    kept = _rounded(pose)
    spare = poses.spare(asked.place, asked.moving, asked.apart, kept)[0]
    was = poses.spare(asked.place, asked.moving, asked.apart, pose)[0]
    # what rounding takes was asked on top (demands.SURE)
    return kept, spare if was < 0.0 else max(spare, 0.0)


def _rounded(pose: Pose) -> Pose:
    """As it is kept; the heading above -180 and up to 180 degrees."""
    plain = 180.0 - (180.0 - pose.heading) % 360.0
    kept = rounded(Standing(x=pose.x, y=pose.y, heading=plain))
    return Pose(kept.x, kept.y, kept.heading)


def _turned(pose: Pose, usual: Standing) -> bool:
    return math.cos(math.radians(pose.heading - usual.heading)) < 0.0
