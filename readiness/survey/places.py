"""Which places of a bay's floor to read: wheels and target feet of the cars that stand there, and between."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from readiness.checks import place
from readiness.checks.car import LYING, foot_places, wheel_places
from readiness.checks.picture import XY
from readiness.job import WHEEL_NAMES, Bay, Sheet, Standing, SurveyPoint
from readiness.survey.links import linked
from readiness.survey.order import walked
from readiness.survey.room import Room
from readiness.survey.surveying import BETWEEN, Way

ONE_PLACE = 0.15
"""m; places nearer to one another than this are read as one."""
LOOK_APART = 1.0
"""m; a look at the floor between places is worth taking only this far from them."""
FAR = 2.0
"""m; between wheels and a foot farther off than this, the floor half-way is looked at too."""


class Use(NamedTuple):
    """A sheet that is used in the bay, with the sides that its checklist has."""

    sheet: Sheet
    sides: tuple[str, ...]


class Wanted(NamedTuple):
    """A place that a sheet needs, in bay axes: what stands there, and of which car."""

    thing: str
    car: str
    at: XY


def propose(
    bay: Bay, uses: Sequence[Use], way: Way, straightedge: float | None = None
) -> tuple[SurveyPoint, ...]:
    """The places to read, in walking order and named '1', '2', ... by it, in bay axes.

    Every wheel and target foot of the sheets that lies in the bay, the middle of each car, and the floor on
    the way to far feet; by level, as many more as a straightedge of this length in m needs.
    """
    room = Room(bay)
    spots = _merged([w for w in wanted(bay, uses) if room.holds(w.at)], several=len(uses) > 1)
    places = [at for at, _ in spots]
    places += _looks(bay, uses, places, room)
    if way == "level" and straightedge is not None:
        places = linked(places, straightedge, room)
    what = dict(spots)
    return named([(at, what.get(at, BETWEEN)) for at in (places[k] for k in walked(places))])


def named(spots: Iterable[tuple[XY, str]]) -> tuple[SurveyPoint, ...]:
    """Places in walking order, numbered as one chalks them on the floor."""
    return tuple(SurveyPoint(name=str(n), x=x, y=y, what=what) for n, ((x, y), what) in enumerate(spots, 1))


def wanted(bay: Bay, uses: Iterable[Use]) -> list[Wanted]:
    """Every wheel and target foot of the sheets, wherever they lie."""
    return [w for sheet, sides in uses for w in _of_sheet(bay.standing, sheet, sides)]


def in_bay(standing: Standing, at: XY) -> XY:
    """A place in car axes as one in bay axes, to the millimetre."""
    x, y = place.in_bay(standing, at)
    return round(x, 3), round(y, 3)


def _of_sheet(standing: Standing, sheet: Sheet, sides: tuple[str, ...]) -> Iterator[Wanted]:
    for wheel, at in wheel_places(sheet).items():
        yield Wanted(f"{WHEEL_NAMES[wheel]} wheel", sheet.car, in_bay(standing, at))
    for foot, at in foot_places(sheet, sides).items():
        yield Wanted(foot_words(foot, sides), sheet.car, in_bay(standing, at))


def foot_words(foot: str, sides: tuple[str, ...]) -> str:
    """'foot 1 of the reflector, left side' for a foot as `foot_places` names it."""
    target, n = foot.rsplit(".", 1)
    side = "right" if target.startswith("right.") else "left"
    target = target.removeprefix("right.")
    words = target if n == str(LYING) else f"foot {n} of the {target}"
    return words if sides == ("single",) else f"{words}, {side} side"


# --- places that are one -------------------------------------------------------------------------


def _merged(needs: Sequence[Wanted], *, several: bool) -> list[tuple[XY, str]]:
    """Places with what stands there; those near to one another are one, at the place of the first."""
    groups: list[list[Wanted]] = []
    for need in needs:
        near = next((g for g in groups if math.dist(g[0].at, need.at) < ONE_PLACE), None)
        if near is None:
            groups.append([need])
        else:
            near.append(need)
    return [(group[0].at, _words(group, several)) for group in groups]


def _words(group: Sequence[Wanted], several: bool) -> str:
    """What stands at a place: 'left front wheel of the Tern estate and the Dunlin coupe'."""
    cars: dict[str, dict[str, None]] = {}
    for need in group:
        cars.setdefault(need.thing, {})[need.car] = None
    return "; ".join(
        f"{thing} of the {' and the '.join(owners)}" if several or thing.endswith(" wheel") else thing
        for thing, owners in cars.items()
    )


# --- places between ------------------------------------------------------------------------------


def _looks(bay: Bay, uses: Sequence[Use], places: Sequence[XY], room: Room) -> list[XY]:
    """The middle of each car, and half-way from its wheels to feet that are far off."""
    found: list[XY] = []
    for at in _half_ways(bay.standing, uses, room):
        if room.free(at) and all(math.dist(at, p) >= LOOK_APART for p in (*places, *found)):
            found.append(at)
    return found


def _half_ways(standing: Standing, uses: Sequence[Use], room: Room) -> Iterator[XY]:
    for sheet, sides in uses:
        wheels = list(wheel_places(sheet).values())
        yield in_bay(standing, (sheet.dimensions.wheelbase / 2, 0.0))
        for foot in foot_places(sheet, sides).values():
            near = min(wheels, key=lambda w: math.dist(w, foot))
            if math.dist(near, foot) > FAR and room.holds(in_bay(standing, foot)):
                yield in_bay(standing, ((near[0] + foot[0]) / 2, (near[1] + foot[1]) / 2))
