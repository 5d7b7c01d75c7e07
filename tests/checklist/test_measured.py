"""Things measured from marks and by two tapes: read as the same things written in bay axes, to 1 mm.

The tapes are worked out here from the true place (the distance of two points), never by what reads them.
"""

from __future__ import annotations

from math import asin, atan2, cos, degrees, dist, hypot, radians, sin
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness import job
from readiness.checklist.files import FileMistakes, read_bay
from readiness.checklist.measured import MARK_U, TAPE_U, in_bay_axes, marks_of
from readiness.checklist.shapes import corners_of
from tests.checklist.kinds import GOOD, linted, told

OUTLINE = [(0.0, 0.0), (12.0, 0.0), (12.0, 7.0), (5.0, 7.0), (5.0, 6.0), (0.0, 6.0)]
MARKS = {"nail": (1.25, 1.5), "door post": (9.5, 0.4), "drain": (6.0, 4.75)}
ALL = {**MARKS, **{f"corner {k}": p for k, p in enumerate(OUTLINE, 1)}}

names = st.sampled_from(sorted(ALL))
places = st.tuples(st.floats(0.5, 11.5), st.floats(0.5, 5.5))
sizes = st.floats(0.05, 2.0)
XY = tuple[float, float]


def text(things: list[str]) -> str:
    corners = "\n".join(f"  - {point(p)}" for p in OUTLINE)
    marks = "\n".join(f"  - {{name: {name}, at: {point(p)}}}" for name, p in MARKS.items())
    standing = "standing: {x: 3 m, y: 3 m}"
    head = f"bay: b\ntitle: Invented\noutline:\n{corners}\nmarks:\n{marks}\n{standing}\nobstacles:\n"
    return head + "".join(f"  - name: thing {k}\n    {thing}\n" for k, thing in enumerate(things, 1))


def point(p: XY) -> str:
    return f"{{x: {p[0]:.9f} m, y: {p[1]:.9f} m}}"


def shapes(at: XY, size: float) -> list[str]:
    """One thing of every shape with its lengths counted so that `at` is (0, 0) of it."""
    x, y = at
    near, far, side = (x, y), (x + size, y - size / 2), (x - size, y - size)
    return [
        f"point: {point(near)}",
        f"disc: {{at: {point(near)}, radius: {size:.9f} m}}",
        f"rectangle: {{corner: {point(near)}, opposite: {point(far)}}}",
        f"wall: {{start: {point(near)}, end: {point(far)}}}",
        f"polygon: [{point(near)}, {point(far)}, {point(side)}]",
    ]


def left_of(a: XY, b: XY, p: XY) -> bool:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0


def crossing_angle(a: XY, b: XY, p: XY) -> float:
    """Degrees between the two tapes at the thing, 90 at most."""
    first, second = (atan2(p[1] - y, p[0] - x) for x, y in (a, b))
    return degrees(abs(asin(sin(first - second))))


def read(folder: Path, things: list[str]) -> tuple[job.Obstacle, ...]:
    path = folder / "bay.yaml"
    path.write_text(text(things), encoding="utf-8", newline="\n")
    return read_bay(path).obstacles


def assert_same_places(found: tuple[job.Obstacle, ...], wanted: tuple[job.Obstacle, ...]) -> None:
    assert len(found) == len(wanted) == 5
    for one, other in zip(found, wanted, strict=True):
        corners = zip(corners_of(one), corners_of(other), strict=True)
        assert max(dist(p, q) for p, q in corners) < 0.001


quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@quick
@given(name=names, place=places, size=sizes)
def test_lengths_from_a_mark_or_corner(tmp_path: Path, name: str, place: XY, size: float) -> None:
    mark = ALL[name]
    away = (place[0] - mark[0], place[1] - mark[1])
    found = read(tmp_path, [f"from: {name}\n    {s}" for s in shapes(away, size)])
    assert_same_places(found, read(tmp_path, shapes(place, size)))
    assert {o.origin for o in found} == {name}
    assert {o.u for o in found} == {0.02}


@quick
@given(first=names, second=names, place=places, size=sizes, u=st.sampled_from([0.0, 0.02, 0.2]))
@example(
    first="corner 1", second="corner 2", place=(4.0, 3.0), size=0.5, u=0.0
)  # 3-4-5 from the first corner
def test_two_tapes(tmp_path: Path, first: str, second: str, place: XY, size: float, u: float) -> None:
    a, b = ALL[first], ALL[second]
    assume(first != second)
    assume(crossing_angle(a, b, place) > 10)  # where they cross flatter the tapes may tell too little
    side = "left" if left_of(a, b, place) else "right"
    tapes = f"{dist(a, place):.9f} m, {dist(b, place):.9f} m"
    taped = f"taped: {{from: [{first}, {second}], tapes: [{tapes}], side: {side}}}\n    u: {u} m"
    found = read(tmp_path, [f"{taped}\n    {s}" for s in shapes((0.0, 0.0), size)])
    assert_same_places(found, read(tmp_path, shapes(place, size)))
    assert all(
        o.taped is not None and o.taped.side == side and o.taped.marks == (first, second) for o in found
    )
    assert all(o.u >= max(u, hypot(TAPE_U, MARK_U) / 2**0.5) for o in found)
    assert all(o.u == u or o.u > 0.02 or u == 0.0 for o in found)


def test_uncertainty_where_the_tapes_cross_at_a_right_angle(tmp_path: Path) -> None:
    """Then each tape tells one direction by itself, and the place is known as each tape is with its mark."""
    taped = "taped: {from: [corner 1, nail], tapes: [1.25 m, 1.5 m], side: right}"
    (thing,) = read(tmp_path, [f"{taped}\n    u: 0 m\n    point: {{x: 0 m, y: 0 m}}"])
    assert thing.point is not None
    assert (thing.point.x, thing.point.y) == pytest.approx((1.25, 0.0))
    assert thing.u == pytest.approx(hypot(TAPE_U, MARK_U), rel=0.02)


def test_a_bay_in_bay_axes_is_left_alone() -> None:
    bay = read_bay(GOOD / "bay.yaml")
    assert in_bay_axes(bay) == bay


def test_what_one_can_measure_from() -> None:
    bay = read_bay(GOOD / "measured.yaml")
    marks = marks_of(bay)
    assert list(marks) == ["nail", "door post", "corner 1", "corner 2", "corner 3", "corner 4"]
    assert (marks["door post"], marks["corner 3"]) == ((5.2, 1.0), (8.0, 5.0))


def test_places_by_hand() -> None:
    """5 m from both ends of an 8 m wall: 3-4-5 twice. A bench from its corner, a rail from a nail."""
    bin_, post, bench, rail, shelf = read_bay(GOOD / "measured.yaml").obstacles
    assert post.point is not None
    assert (post.point.x, post.point.y, post.u) == (pytest.approx(4.0), pytest.approx(3.0), 0.5)
    assert bench.rectangle == job.Rectangle(corner=job.Point(x=7.0, y=4.4), opposite=job.Point(x=8.0, y=5.0))
    assert rail.wall == job.Segment(start=job.Point(x=1.0, y=4.0), end=job.Point(x=2.0, y=4.0))
    assert bin_.disc is not None
    assert dist((bin_.disc.at.x, bin_.disc.at.y), (1, 1)) == pytest.approx(2.31)
    assert dist((bin_.disc.at.x, bin_.disc.at.y), (5.2, 1)) == pytest.approx(3.05)
    assert (bin_.disc.radius, bench.people, shelf.people) == (0.3, True, False)


@quick
@given(first=names, second=names, place=places, turn=st.floats(-180, 180), away=places)
def test_turning_and_shifting_the_whole_bay_turns_and_shifts_what_is_taped(
    tmp_path: Path, first: str, second: str, place: XY, turn: float, away: XY
) -> None:
    """The same tapes and the same side, in a bay drawn in other axes."""

    def drawn(p: XY) -> job.Point:
        c, s = cos(radians(turn)), sin(radians(turn))
        return job.Point(x=away[0] + c * p[0] - s * p[1], y=away[1] + s * p[0] + c * p[1])

    a, b = ALL[first], ALL[second]
    assume(first != second)
    side = "left" if left_of(a, b, place) else "right"
    by = job.Taped(marks=(first, second), tapes=(dist(a, place), dist(b, place)), side=side)
    thing = job.Obstacle(name="t", taped=by, point=job.Point(x=0.0, y=0.0))
    marks = tuple(job.Mark(name=name, at=drawn(p)) for name, p in MARKS.items())
    bay = job.Bay(bay="b", title="", outline=tuple(map(drawn, OUTLINE)), marks=marks,
                  standing=job.Standing(x=0.0, y=0.0), obstacles=(thing,))  # fmt: skip
    (found,) = in_bay_axes(bay).obstacles
    assert found.point is not None
    # within what the tapes can tell: on the line of the marks rounding is as the root of its size
    off = dist((found.point.x, found.point.y), (drawn(place).x, drawn(place).y))
    assert off < 1e-5
    assert replace(found, point=None, u=0) == replace(thing, point=None, u=0)


# --- hostile -------------------------------------------------------------------------------------


def test_thousands_of_corners_are_one_mistake(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    corners = ", ".join(f"{{x: {k % 11}.{k} m, y: {k % 7}.{k} m}}" for k in range(9_000))
    path.write_text(text([f"polygon: [{corners}]"]), encoding="utf-8", newline="\n")
    (mistake,) = linted(path)
    assert told(mistake).endswith("found a list of 9000, expected at most 200 entries")


@pytest.mark.parametrize(
    "length", ["nan m", "inf m", "1e300 m", "9" * 60 + " m", "-" + "9" * 60 + " m", "0x10 m", "m"]
)
@pytest.mark.parametrize("where", ["x", "tape", "radius", "mark"])
def test_lengths_that_are_none_are_told(tmp_path: Path, length: str, where: str) -> None:
    """At each place a clear sentence, whatever arithmetic would make of it."""
    thing = "taped: {from: [nail, drain], tapes: [TAPE, TAPE], side: left}\n    disc: {at: {x: X, y: 0 m}, radius: RADIUS}"
    values = {"x": "0 m", "tape": "4 m", "radius": "0.1 m"} | {where: length}
    for key, value in values.items():
        thing = thing.replace(key.upper(), value)
    whole = text([thing])
    if where == "mark":
        whole = whole.replace("at: {x: 1.250000000 m", f"at: {{x: {length}")
    path = tmp_path / "bay.yaml"
    path.write_text(whole, encoding="utf-8", newline="\n")
    with pytest.raises(FileMistakes) as caught:
        read_bay(path)
    assert all(m.line and m.found and m.expected for m in caught.value.mistakes)
