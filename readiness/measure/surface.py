"""Heights at places in plan, with what every independent error does to each of them.

Whatever is asked of a floor (a slope, a step, the height of one place over a plane through others) is a
weighted sum of heights, so its uncertainty follows exactly: the effects of each error add up with
their signs before they are squared (JCGM 100:2008 5.2.2, correlated inputs; clause from memory).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from readiness.measure.plane import THINNEST
from readiness.measure.uncertain import Estimate, Traced

XY = tuple[float, float]
Weights = Mapping[str, float]


@dataclass(frozen=True, eq=False)
class Surface:
    """`places` in m, `heights` in mm, up positive. Compared by identity, so that what is found of it can be kept.

    `effects`: place -> error -> what one standard uncertainty of that error does to the height, in mm.
    An error that stands at several places makes their heights correlated.
    """

    places: Mapping[str, XY]
    heights: Mapping[str, float]
    effects: Mapping[str, Mapping[str, float]]

    def traced(self, weights: Weights) -> Traced:
        """The weighted sum of heights with the errors behind it; weights that add up to 0 give a difference."""
        effects: defaultdict[str, float] = defaultdict(float)
        for name, weight in weights.items():
            for error, size in self.effects[name].items():
                effects[error] += weight * size
        return Traced(math.fsum(w * self.heights[n] for n, w in weights.items()), dict(effects))

    def total(self, weights: Weights) -> Estimate:
        """The weighted sum of heights with its standard uncertainty."""
        return self.traced(weights).estimate

    def joined(self, other: Surface) -> Surface:
        """Both together; errors of equal name are one error."""
        return Surface(
            {**self.places, **other.places},
            {**self.heights, **other.heights},
            {**self.effects, **other.effects},
        )

    def over_plane(self, name: str, others: Sequence[str]) -> Estimate:
        """Height in mm of a place over the least-squares plane through others (or the same)."""
        return _over_plane(self, name, tuple(others))


@lru_cache(maxsize=256)  # the same places of the same floor are asked for again and again
def _over_plane(surface: Surface, name: str, others: tuple[str, ...]) -> Estimate:
    plane = plane_weights({n: surface.places[n] for n in others}, *surface.places[name])
    return surface.total(minus({name: 1.0}, plane))


def plane_weights(places: Mapping[str, XY], x: float, y: float) -> dict[str, float]:
    """What each height counts in the height at (x, y) of the least-squares plane through them.

    The weights add up to 1. Raises ValueError where the places lie on one line or there are none.
    """
    n = len(places)
    if not n:
        raise ValueError("a plane needs heights at three different places, there are none")
    xm = math.fsum(px for px, _ in places.values()) / n
    ym = math.fsum(py for _, py in places.values()) / n
    offs = {name: (px - xm, py - ym) for name, (px, py) in places.items()}
    sxx = sxy = syy = 0.0
    for px, py in offs.values():
        sxx += px * px
        sxy += px * py
        syy += py * py
    det = sxx * syy - sxy * sxy
    if det <= THINNEST * (sxx + syy) ** 2:
        raise ValueError("the points lie on one line: a plane needs a third place beside that line")
    dx, dy = x - xm, y - ym
    b, c = (syy * dx - sxy * dy) / det, (sxx * dy - sxy * dx) / det
    return {name: 1.0 / n + b * px + c * py for name, (px, py) in offs.items()}


def minus(one: Weights, other: Weights) -> dict[str, float]:
    """Weights of the difference of two weighted sums."""
    return {n: one.get(n, 0.0) - other.get(n, 0.0) for n in {**one, **other}}
