"""What decides at a place: the tightest pairs with their names."""

from __future__ import annotations

from dataclasses import replace

from readiness.bayfit.demands import Demands
from readiness.bayfit.found import Binding
from readiness.measure.plan import moved, reach_beyond, signed_clearance
from readiness.measure.poses import Pose

AS_TIGHT = 0.01
"""m; pairs with no more than this above the smallest spare room are named too."""


def binding(asked: Demands, pose: Pose, *others: Binding) -> tuple[Binding, ...]:
    """Pairs as tight as the tightest one, within AS_TIGHT, the tightest first; `others` count as well."""
    shapes = [moved(p.shape, pose.x, pose.y, pose.heading) for p in asked.parts]
    edge = [
        replace(asked.names(-1 - k), clearance=-reach_beyond(s, asked.place)) for k, s in enumerate(shapes)
    ]
    found = [
        replace(asked.names(k), clearance=signed_clearance(shapes[pair.part], pair.thing.shape))
        for k, pair in enumerate(asked.kept)
    ]
    tightest: dict[tuple[str, str, str], Binding] = {}
    for b in sorted((*edge, *found, *others), key=_spare):
        tightest.setdefault((b.what, b.side, b.against), b)  # two feet of one target are one pair
    least = min(map(_spare, tightest.values()))
    return tuple(b for b in tightest.values() if _spare(b) <= least + AS_TIGHT)


def _spare(binding: Binding) -> float:
    return binding.clearance - binding.asked
