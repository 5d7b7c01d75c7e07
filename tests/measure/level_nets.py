"""Invented nets of level readings for the tests: what an exact or a careless person would have read."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import strategies as st

from readiness.measure.level_net import Pair

NODES = "ABCDEFG"
ZEROS = {"level-1": 0.7, "level-2": -0.4}


def read(a, b, heights, length=2.0, zero=0.7, u=0.05, level="level-1", both=True):
    """What a level with this zero error shows between two heights in mm."""
    slope = (heights[b] - heights[a]) / length
    return Pair(a, b, length, slope + zero, -slope + zero if both else None, u, level)


def grid(columns, rows, heights=None, **more):
    """Every neighbour to every neighbour, along and across; nodes are called A1, A2, B1, ..."""
    names = [[f"{chr(65 + i)}{j + 1}" for j in range(rows)] for i in range(columns)]
    heights = heights or {
        n: 3.0 * math.sin(7.0 * k) for k, n in enumerate(n for column in names for n in column)
    }
    along = [(names[i][j], names[i + 1][j]) for i in range(columns - 1) for j in range(rows)]
    across = [(names[i][j], names[i][j + 1]) for i in range(columns) for j in range(rows - 1)]
    return [read(a, b, heights, **more) for a, b in along + across]


def noisy(pairs, chance, u_foot, share=1.0):
    """The same read with errors of reading and of feet that lie a little differently both times, as `Pair` has it.

    `share` of the stated u is how large the errors truly are.
    """
    found, stated, u_foot = [], pairs, share * u_foot
    for p in (replace(p, u=share * p.u) for p in stated):
        one, two = chance.gauss(0, p.u), chance.gauss(0, p.u)
        feet, again = chance.gauss(0, math.sqrt(2) * u_foot) / p.length, chance.gauss(0, u_foot) / p.length
        turned = None if p.turned is None else p.turned + two - feet + again
        found.append(
            replace(p, first=p.first + one + feet + (again if turned is not None else 0.0), turned=turned)
        )
    return [replace(p, u=q.u) for p, q in zip(found, stated, strict=True)]


@st.composite
def nets(draw: st.DrawFn, one_way=True, noise=0.5) -> list[Pair]:
    """A tree over all nodes and a few runs more, by two levels, each read both ways somewhere, some runs one way.

    `noise` in mm/m: how far a reading may be off, or "u": by its own uncertainty.
    """
    joints = [(draw(st.sampled_from(NODES[:k])), NODES[k]) for k in range(1, len(NODES))]
    more = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda p: p[0] != p[1])
    joints += draw(st.lists(more, min_size=2, max_size=8))
    heights = {n: draw(st.floats(-20, 20)) for n in NODES}
    levels = st.sampled_from(sorted(ZEROS))
    pairs = []
    for k, (a, b) in enumerate(joints):
        level = sorted(ZEROS)[k] if k < 2 else draw(levels)
        both = k < 2 or not one_way or draw(st.booleans())
        length, u = draw(st.floats(0.5, 3.0)), draw(st.floats(0.02, 0.5))
        pair = read(a, b, heights, length, ZEROS[level], u, level, both)
        off = st.floats(-1, 1).map(lambda x, size=u if noise == "u" else noise: x * size)
        turned = None if pair.turned is None else pair.turned + draw(off)
        pairs.append(replace(pair, first=pair.first + draw(off), turned=turned))
    return pairs
