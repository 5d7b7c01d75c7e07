"""What differs between two keep-clear zones of one name, by what it means on the floor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from readiness import units
from readiness.checklist.shapes import ZONE_SHAPES
from readiness.checks.picture import KEEPS_OUT
from readiness.job import HeightBand, Point, Rectangle, System, Zone
from readiness.sheetmaking.telling import Told, amount, apart, changed, moved, name_of, same_number, vector

SHAPE_WORDS = {
    "disc": "a circle", "sector": "a slice of a circle", "rectangle": "a rectangle", "corridor": "a corridor",
    "polygon": "a shape given by its corners",
}  # fmt: skip
ENDS = (("x2", "ahead"), ("x1", "behind"), ("y2", "to the left"), ("y1", "to the right"))


def zone_differs(key: str, a: Zone, b: Zone, system: System) -> Iterator[Told]:
    if a.reason != b.reason:
        was, now = KEEPS_OUT[a.reason], KEEPS_OUT[b.reason]
        yield Told(f"{key}.reason", f"{name_of(key)}: {now} allowed, was {was}", was, now)
    shapes = [next((s for s in ZONE_SHAPES if getattr(z, s) is not None), "") for z in (a, b)]
    if shapes[0] != shapes[1]:
        was, now = (SHAPE_WORDS.get(s, "no shape") for s in shapes)
        yield changed(f"{key}.shape", was, now)
    elif shapes[0]:
        yield from _shape(f"{key}", getattr(a, shapes[0]), getattr(b, shapes[0]), system)
    if _band(a.height) != _band(b.height):
        yield from _height(f"{key}.height", a.height, b.height, system)


def _band(height: HeightBand | None) -> tuple[float, float] | None:
    return None if height is None else (height.low, height.high)


def _height(key: str, a: HeightBand | None, b: HeightBand | None, system: System) -> Iterator[Told]:
    if a is None or b is None:
        was, now = (
            "any height"
            if h is None
            else f"{units.show(h.low, 'm', system)} to {units.show(h.high, 'm', system)}"
            for h in (a, b)
        )
        yield changed(key, was, now)
        return
    for end in ("low", "high"):
        yield from _number(f"{key}.{end}", getattr(a, end), getattr(b, end), "m", system)


def _number(key: str, a: float, b: float, unit: str, system: System) -> Iterator[Told]:
    if not same_number(a, b):
        yield changed(key, *apart(a, b, unit, system))


def _shape(key: str, a: Any, b: Any, system: System) -> Iterator[Told]:
    if isinstance(a, Rectangle):
        yield from _rectangle(key, a, b, system)
        return
    points = [_points(shape) for shape in (a, b)]
    yield from _points_differ(key, points[0], points[1], system)
    if hasattr(a, "half_width") and not same_number(a.half_width, b.half_width):
        wider = 2 * (b.half_width - a.half_width)
        was, now = apart(2 * a.half_width, 2 * b.half_width, "m", system)
        word = "wider" if wider > 0 else "narrower"
        yield Told(f"{key}.width", f"{name_of(key)}: {word} by {amount(wider, system)}", was, now)
    if hasattr(a, "radius"):
        yield from _number(f"{key}.radius", a.radius, b.radius, "m", system)
    for end, word in (("start", "from"), ("end", "to")):
        if isinstance(getattr(a, end, None), float):
            yield from _number(f"{key}.{word}", getattr(a, end), getattr(b, end), "deg", system)


def _points(shape: Any) -> dict[str, Point]:
    """The places that a shape is given by, by what they are called."""
    if isinstance(shape, tuple):
        return {f"corner {n}": p for n, p in enumerate(shape, 1)}
    named = {"at": "middle", "start": "beginning", "end": "end"}
    return {word: p for at, word in named.items() if isinstance(p := getattr(shape, at, None), Point)}


def _points_differ(key: str, a: dict[str, Point], b: dict[str, Point], system: System) -> Iterator[Told]:
    """All of them moved alike is one move."""
    if len(a) != len(b):
        yield changed(f"{key}.corners", str(len(a)), str(len(b)))
    both = [(word, a[word], b[word]) for word in a if word in b]
    first = vector(*both[0][1:])
    if len(a) == len(b) and all(same_vector(vector(p, q), first) for _, p, q in both):
        yield from moved(key, both[0][1], both[0][2], system)
        return
    for word, p, q in both:
        yield from moved(f"{key}.its {word}", p, q, system)


def same_vector(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return all(same_number(a, b) for a, b in zip(one, other, strict=True))


def _rectangle(key: str, a: Rectangle, b: Rectangle, system: System) -> Iterator[Told]:
    """By its four sides, whichever corners it was given by."""
    one, other = _sides(a), _sides(b)
    deltas = {end: other[end] - one[end] for end, _ in ENDS}
    if _alike(deltas["x1"], deltas["x2"]) and _alike(deltas["y1"], deltas["y2"]):
        corners = [Point(x=s["x1"], y=s["y1"]) for s in (one, other)]
        yield from moved(key, corners[0], corners[1], system)
        return
    for end, where in ENDS:
        if not same_number(one[end], other[end]):
            farther = deltas[end] > 0 if end.endswith("2") else deltas[end] < 0
            was, now = apart(one[end], other[end], "m", system)
            word = "farther" if farther else "less far"
            words = f"{name_of(key)}: reaches {amount(deltas[end], system)} {word} {where}"
            yield Told(f"{key}.{where}", words, was, now)


def _alike(a: float, b: float) -> bool:
    return same_number(a, b)


def _sides(r: Rectangle) -> dict[str, float]:
    (x1, x2), (y1, y2) = sorted((r.corner.x, r.opposite.x)), sorted((r.corner.y, r.opposite.y))
    return {"x1": x1, "x2": x2, "y1": y1, "y2": y2}
