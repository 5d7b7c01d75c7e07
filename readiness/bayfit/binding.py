"""What decides at a place: the tightest pairs with their names."""

from __future__ import annotations

from dataclasses import replace

from readiness.bayfit.demands import Demands
from readiness.bayfit.found import Binding
from readiness.measure.poses import Pose
from readiness.measure.poses.exact import rooms_at

AS_TIGHT = 0.01
"""m; pairs with no more than this above the smallest spare room are named too."""


def binding(asked: Demands, pose: Pose, *others: Binding) -> tuple[Binding, ...]:
    """Pairs as tight as the tightest one, within AS_TIGHT, the tightest first; `others` count as well."""
    found = [*others]
    for room, number in rooms_at(asked.place, asked.moving, asked.apart, pose, AS_TIGHT):
        pair = asked.names(number)
        found.append(replace(pair, clearance=room + pair.asked))
    found.sort(key=_spare)
    tight = [b for b in found if _spare(b) <= _spare(found[0]) + AS_TIGHT]
    named: dict[tuple[str, str, str], Binding] = {}
    for b in tight:  # two feet of one target are one pair, the tighter one
        named.setdefault((b.what, b.side, b.against), b)
    return tuple(named.values())


def _spare(binding: Binding) -> float:
    return binding.clearance - binding.asked
