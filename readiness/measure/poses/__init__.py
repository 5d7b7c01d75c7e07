"""Where a rigid set of shapes fits best among others that stand still, turned a little or a lot.

Plan geometry only. A pose is a place and a heading; every pair of a moving and a still shape has a gap
that is asked for. The spare room of a pose is the smallest of all clearances less their gaps.
"""

from readiness.measure.poses.exact import spare
from readiness.measure.poses.model import TOLERANCE, Apart, Cancelled, Found, Heard, Moving, Pose
from readiness.measure.poses.search import best_pose, fits

__all__ = [
    "TOLERANCE",
    "Apart",
    "Cancelled",
    "Found",
    "Heard",
    "Moving",
    "Pose",
    "best_pose",
    "fits",
    "spare",
]
