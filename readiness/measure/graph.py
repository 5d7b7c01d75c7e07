"""Graphs of named nodes: what hangs together, and independent short closed walks (a minimum cycle basis).

Horton, A polynomial-time algorithm to find the shortest cycle basis of a graph, SIAM J. Comput. 16 (1987), from
memory: every shortest cycle goes out from some node along shortest paths to both ends of one edge. Here first the
neighbourhood of each node is looked at, then twice as far, until there are cycles enough: in a net of squares
the first look finds all. A set of edges is a whole number whose bits are the edges.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

Edge = tuple[str, str]
Beside = dict[str, list[tuple[str, int]]]


def joined(edges: Iterable[Edge], origins: Iterable[str]) -> set[str]:
    """Nodes that a chain of edges joins to one of the origins, which are among them."""
    beside = defaultdict(set)
    for a, b in edges:
        beside[a].add(b)
        beside[b].add(a)
    reached = set(origins)
    fresh = list(reached)
    while fresh:
        fresh = list({n for here in fresh for n in beside[here]} - reached)
        reached.update(fresh)
    return reached


def short_cycles(edges: Sequence[Edge]) -> tuple[tuple[int, ...], ...]:
    """Independent cycles with as few edges as can be, shortest first; every other cycle is a sum of them.

    A cycle is the numbers of its edges in walking order, beginning at the start of its first edge. Parallel
    edges make a cycle of two; an edge from a node to itself is not allowed.
    """
    beside: Beside = defaultdict(list)
    for k, (a, b) in enumerate(edges):
        beside[a].append((b, k))
        beside[b].append((a, k))
    wanted = len(edges) - len(beside) + _pieces(edges, set(beside))
    basis: dict[int, int] = {}
    found: list[int] = []
    reach = 1
    while len(found) < wanted:
        reach *= 2
        found += [cycle for cycle in _candidates(edges, beside, reach) if _is_new(cycle, basis)]
    return tuple(_walk(cycle, edges) for cycle in found)


def _candidates(edges: Sequence[Edge], beside: Beside, reach: int) -> list[int]:
    """Cycles through the neighbourhood of each node, shortest first: the shortest of up to 2 reach + 1 edges."""
    cycles = set()
    for node in beside:
        paths = _paths(node, beside, reach)
        near = {k for n in paths for _, k in beside[n]}
        cycles |= {
            paths[a] ^ paths[b] ^ (1 << k) for k in near for a, b in [edges[k]] if a in paths and b in paths
        }
    return sorted(cycles - {0}, key=lambda c: (c.bit_count(), c))


def _paths(node: str, beside: Beside, reach: int) -> dict[str, int]:
    """Shortest paths, as sets of edges, to the nodes within so many edges."""
    paths = {node: 0}
    fresh = [node]
    for _ in range(reach):
        further = []
        for here in fresh:
            for there, k in beside[here]:
                if there not in paths:
                    paths[there] = paths[here] | 1 << k
                    further.append(there)
        fresh = further
    return paths


def _is_new(cycle: int, basis: dict[int, int]) -> bool:
    """Whether a cycle is no sum of those before; if so it joins the basis (elimination over two elements)."""
    while cycle:
        lead = cycle.bit_length()
        if lead not in basis:
            basis[lead] = cycle
            return True
        cycle ^= basis[lead]
    return False


def _walk(cycle: int, edges: Sequence[Edge]) -> tuple[int, ...]:
    """The edges of a cycle in walking order, from the start of the first."""
    left = {k for k in range(cycle.bit_length()) if cycle >> k & 1}
    k = min(left)
    here, order = edges[k][1], [k]
    left.remove(k)
    while left:
        k = min(k for k in left if here in edges[k])
        a, b = edges[k]
        here = b if here == a else a
        order.append(k)
        left.remove(k)
    return tuple(order)


def _pieces(edges: Sequence[Edge], nodes: set[str]) -> int:
    pieces, left = 0, set(nodes)
    while left:
        left -= joined(edges, [next(iter(left))])
        pieces += 1
    return pieces
