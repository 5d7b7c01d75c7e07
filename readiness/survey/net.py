"""Which level runs to read between places, so that a walk round comes back to its start almost everywhere."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from math import dist

from readiness.job import SurveyPoint
from readiness.survey.links import Edge, bridges, edges, pieces
from readiness.survey.order import best_gap
from readiness.survey.room import Room
from readiness.survey.surveying import Plan, Run, Surveying

RUNS_A_PLACE = 1.5
"""About so many runs are read for each place."""
MOST_AT_A_PLACE = 4
APART = 0.05
"""m; places nearer than this are one for all that a tape can tell."""
NAME = re.compile(r"[A-Za-z0-9]{1,12}")


def runs(
    nodes: Sequence[SurveyPoint], straightedge: float, room: Room | None = None, keep: Sequence[Run] = ()
) -> tuple[Run, ...]:
    """Level runs between places, none longer than the straightedge in m, in walking order.

    From each place to the next in walking order where that is near enough, then what joins pieces, what
    gives a second way, and the shortest of the rest up to RUNS_A_PLACE. `keep` are runs that stay.
    """
    places = [(n.x, n.y) for n in nodes]
    at = {n.name: k for k, n in enumerate(nodes)}
    possible = _possible(places, straightedge, room)
    kept = {_edge(at[a], at[b]): (a, b) for a, b in keep if a in at and b in at}
    chosen = list(kept) if keep else [e for e in possible if e[1] == e[0] + 1]
    _join(chosen, possible, len(places))
    _close(chosen, possible, len(places))
    _fill(chosen, possible, len(places))
    ordered = sorted(dict.fromkeys(chosen), key=lambda e: (e[1], -e[0]))
    return tuple(kept.get(e, (nodes[e[0]].name, nodes[e[1]].name)) for e in ordered)


def with_node(
    surveying: Surveying, x: float, y: float, what: str = "", *, name: str = "", room: Room | None = None
) -> Plan:
    """The plan with one more place (m, bay axes), put into the way where it costs least, and level runs to it.

    Without a name it gets the next number. Raises ValueError for a name that cannot be, or is there.
    """
    name = name.strip() or free_name(surveying)
    if not NAME.fullmatch(name):
        raise ValueError(
            f"A place is called by up to 12 letters and digits, such as 7 or A3, not '{name[:40]}'."
        )
    if any(n.name == name for n in surveying.nodes):
        raise ValueError(f"There is a place {name} already; take another name.")
    new = SurveyPoint(name=name, x=round(x, 3), y=round(y, 3), what=what)
    near = next((n for n in surveying.nodes if dist((n.x, n.y), (new.x, new.y)) < APART), None)
    if near is not None:
        raise ValueError(f"The place {near.name} lies there already.")
    k = best_gap([(n.x, n.y) for n in surveying.nodes], (new.x, new.y))
    nodes = (*surveying.nodes[:k], new, *surveying.nodes[k:])
    return Plan(nodes, _runs_of(surveying, nodes, room))


def free_name(surveying: Surveying) -> str:
    """The next number that no place has."""
    return str(max((int(n.name) for n in surveying.nodes if n.name.isdecimal()), default=0) + 1)


def without(surveying: Surveying, name: str, room: Room | None = None) -> Plan:
    """The plan with one place left out, its level runs too, and others in their stead where needed."""
    nodes = tuple(n for n in surveying.nodes if n.name != name)
    return Plan(nodes, _runs_of(surveying, nodes, room))


def with_run(surveying: Surveying, run: Run) -> Plan:
    """The plan with one more level run, such as the diagonal that tells which run of a loop is wrong.

    Raises ValueError for a place that is not there, for one and the same, and where the straightedge is too short.
    """
    at = {n.name: (n.x, n.y) for n in surveying.nodes}
    strange = next((name for name in run if name not in at), None)
    if strange is not None:
        raise ValueError(f"There is no place {strange[:40]} on the plan.")
    if run[0] == run[1]:
        raise ValueError(f"A run goes from one place to another, not from {run[0]} to itself.")
    length, longest = dist(at[run[0]], at[run[1]]), surveying.straightedge
    if longest is not None and length > longest + APART:
        raise ValueError(
            f"{run[0]} and {run[1]} lie {length:.2f} m apart and the straightedge is {longest:.2f} m long: add a place "
            "between them first."
        )
    if run in surveying.runs or run[::-1] in surveying.runs:
        return Plan(surveying.nodes, surveying.runs)
    return Plan(surveying.nodes, (*surveying.runs, run))


def without_run(surveying: Surveying, run: Run) -> Plan:
    """The plan with one level run left out."""
    return Plan(surveying.nodes, tuple(r for r in surveying.runs if r != run))


def _runs_of(surveying: Surveying, nodes: Sequence[SurveyPoint], room: Room | None) -> tuple[Run, ...]:
    if surveying.way != "level" or surveying.straightedge is None:
        return ()
    return runs(nodes, surveying.straightedge, room, surveying.runs)


def _edge(i: int, j: int) -> Edge:
    return (i, j) if i < j else (j, i)


def _possible(places: Sequence[tuple[float, float]], longest: float, room: Room | None) -> list[Edge]:
    """Runs in reach, the shortest first; those that something bars only where nothing else joins the places."""
    good = edges(places, longest, room)
    if len(set(pieces(len(places), good))) <= 1:
        return good
    every = edges(places, longest)
    return [*good, *(e for e in every if e not in set(good))]


def _join(chosen: list[Edge], possible: Sequence[Edge], count: int) -> None:
    """Add the shortest runs that join what lies apart (Kruskal)."""
    for i, j in possible:
        piece = pieces(count, chosen)
        if piece[i] != piece[j]:
            chosen.append((i, j))


def _close(chosen: list[Edge], possible: Sequence[Edge], count: int) -> None:
    """Add the shortest runs that give a second way round what hangs on one run."""
    for bridge in bridges(count, chosen):
        rest = [e for e in chosen if e != bridge]
        piece = pieces(count, rest)
        if piece[bridge[0]] == piece[bridge[1]]:
            continue  # a run added for another bridge goes round this one too
        beside = (e for e in possible if e not in chosen and piece[e[0]] != piece[e[1]])
        chosen += [e for e in [next(beside, None)] if e is not None]


def _fill(chosen: list[Edge], possible: Sequence[Edge], count: int) -> None:
    """Add the shortest runs up to RUNS_A_PLACE, none where many meet already."""
    meeting = Counter(k for e in chosen for k in e)
    for i, j in possible:
        if len(chosen) >= RUNS_A_PLACE * count:
            return
        if (i, j) not in chosen and max(meeting[i], meeting[j]) < MOST_AT_A_PLACE:
            chosen.append((i, j))
            meeting.update((i, j))
