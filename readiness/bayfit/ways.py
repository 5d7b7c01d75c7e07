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
"""m of spare room for which nobody turns the car round."""

Way = tuple[float, float]
"""Headings from, to, degrees."""


@dataclass(frozen=True, slots=True)
class Best:
    """The best place one way round."""

    pose: Pose
    spare: float
    bound: float
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


def best_place(asked: Demands, ways: tuple[Way, ...], usual: Standing, progress: Progress) -> Best:
    """The better way round; the bay's own where turning gains less than WORTH_TURNING."""
    found = [_best(asked, way, usual, progress) for way in ways]
    if len(found) == 1:
        return found[0]
    own, other = found
    better = other.fits if own.fits != other.fits else other.spare >= own.spare + WORTH_TURNING
    return replace(other, other_way=own.spare) if better else replace(own, other_way=other.spare)


def can_stand(asked: Demands, ways: tuple[Way, ...], progress: Progress) -> bool:
    """Whether there is a place, either way round."""
    return any(
        poses.fits(asked.place, asked.moving, asked.apart, *way, heard=progress.search(0.1)) is not None
        for way in ways
    )


def _best(asked: Demands, way: Way, usual: Standing, progress: Progress) -> Best:
    """The best place with headings within `way`; straight where no other heading is better by more than TOLERANCE."""
    shapes = (asked.place, asked.moving, asked.apart)
    found = poses.best_pose(*shapes, *way, tolerance=TOLERANCE / 2.0, heard=progress.search())
    pose, spare = found.pose, found.spare
    straight = (way[0] + way[1]) / 2.0
    if pose.heading != straight:
        even = poses.best_pose(
            *shapes, straight, straight, tolerance=TOLERANCE / 4.0, heard=progress.search(0.1)
        )
        if even.spare >= found.bound - TOLERANCE:
            pose, spare = even.pose, even.spare
    if spare < 0.0 <= found.bound:  # within the tolerance: the yes or no decides
        decided = poses.fits(*shapes, *way, heard=progress.search(0.1))
        if decided is not None:
            pose, spare = decided, poses.spare(*shapes, decided)[0]
    pose = _rounded(pose)
    there = poses.spare(*shapes, pose)[0]
    spare = there if spare < 0.0 else max(there, 0.0)  # what rounding takes was asked on top (demands.SURE)
    return Best(pose, spare, max(found.bound, spare), turned=_turned(pose, usual))


def _rounded(pose: Pose) -> Pose:
    """As it is kept; the heading above -180 and up to 180 degrees."""
    plain = 180.0 - (180.0 - pose.heading) % 360.0
    kept = rounded(Standing(x=pose.x, y=pose.y, heading=plain))
    return Pose(kept.x, kept.y, kept.heading)


def _turned(pose: Pose, usual: Standing) -> bool:
    return math.cos(math.radians(pose.heading - usual.heading)) < 0.0
