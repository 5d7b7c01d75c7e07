"""The car in its bay as a picture, in car axes: what it is measured from, and the tapes."""

from __future__ import annotations

from collections.abc import Iterator

from readiness.checks import place
from readiness.checks.car import car_outline, wheel_places
from readiness.checks.kind import Scene
from readiness.checks.picture import Line, Outline, Picture, Spot
from readiness.checks.place import Where, in_car
from readiness.checks.taped_place import TapedPlace


def view(scene: Scene, found: Where, taped: TapedPlace | None = None) -> Picture:
    """The bay, its marks, the car with its wheels, and the tapes where these say where it stands.

    Before anybody has said where it stands, it is drawn where it is to stand.
    """
    bay = scene.bay
    standing = (place.plan_of(scene) if found.missing else None) or found.standing
    corners = tuple(in_car(standing, (p.x, p.y)) for p in bay.outline)
    return (
        Outline("bay", corners, bay.title),
        *(Spot("mark", at, f"corner {k}") for k, at in enumerate(corners, 1)),
        *(Spot("mark", in_car(standing, (m.at.x, m.at.y)), m.name) for m in bay.marks),
        car_outline(scene.sheet),
        *(Spot("wheel", at, hollow=bool(found.missing)) for at in wheel_places(scene.sheet).values()),
        *(_lines(scene, found, taped) if taped is not None and taped.found is not None else ()),
    )


def _lines(scene: Scene, found: Where, taped: TapedPlace) -> Iterator[Line]:
    for tape in taped.tapes:
        yield Line("clearance", (in_car(found.standing, tape.mark), tape.point), scene.show(tape.length, "m"))
