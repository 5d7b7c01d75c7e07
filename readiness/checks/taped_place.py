"""Where the car stands by four tapes: from two marks of the bay to the two wheels of one side or end.

The tapes go to the floor beside a tyre, straight under its hub, on the outer side: nobody reaches the middle of
the contact. How far apart the two wheels then come out, against the sheet, tells whether the tapes agree.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from string import ascii_lowercase, digits

from readiness.checklist.measured import marks_of
from readiness.checks.car import wheel_places
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.job import Bay, Reading, Sheet
from readiness.measure.plan import Area, PointAt, signed_clearance
from readiness.measure.taped_pose import Posed, TapeTo, pose_from_tapes, suspects
from readiness.measure.trilateration import TapesApartError, two_tapes
from readiness.measure.tyre import parse_size
from readiness.measure.uncertain import combined, from_half_width

WHEELS_OF = {"left": ("lf", "lr"), "right": ("rf", "rr"), "front": ("lf", "rf"), "rear": ("lr", "rr")}
"""The two wheels measured to."""
HOLD_A = 0.01
"""m; half width of holding a tape to the floor beside a tyre, under its hub; common practice, no published source."""
POOR_U = 0.05
"""m; a place known worse than this serves nobody: the marks lie in line with the wheels."""
OUT_BY = 3.0
"""Standard uncertainties of the place that a wheel may seem outside the bay and still be in it."""
LIKELY = 0.05
"""Chance of the misfit from which tapes are said to fit."""


@dataclass(frozen=True, slots=True)
class Lines:
    """The four tapes: keys and names of the two marks with their places, and the wheels."""

    marks: tuple[tuple[str, str, XY], tuple[str, str, XY]]
    wheels: tuple[str, str]

    @property
    def each(self) -> Iterator[tuple[str, str, str]]:
        """Key of the question, mark's name and wheel of each tape, in walking order."""
        for (key, name, _), wheel in product(self.marks, self.wheels):
            yield f"tape.{key}.{wheel}", name, wheel


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way in which the car can stand by its tapes."""

    posed: Posed
    closing: float
    """How much farther apart the tapes put the two wheels than the sheet does, m."""
    side: str
    """Where the wheels lie, looking from the first mark to the second: 'left' or 'right'."""
    out: float
    """How far the wheel that is farthest out is out of the bay, m; negative is inside."""

    @property
    def inside(self) -> bool:
        return self.out <= OUT_BY * self.posed.u


@dataclass(frozen=True, slots=True)
class TapedPlace:
    """What the tapes say. Without `found` it is not known where the car stands: an answer is missing, or the tapes
    do not meet, disagree or tell too little."""

    lines: Lines | None = None
    readings: tuple[Reading, ...] = ()
    missing: tuple[Answer, ...] = ()
    tapes: tuple[TapeTo, ...] = ()
    u_tape: float = 0.0
    apart: tuple[str, TapesApartError] | None = None
    """A wheel to which the tapes do not meet, and why not."""
    candidates: tuple[Candidate, ...] = ()
    """Those for which the tapes agree; where they do for none, the one nearest to it."""
    agree: bool = False
    two_ways: bool = False
    """Both sides of the line of the marks can be: it has to be asked which."""
    found: Candidate | None = None

    @property
    def poor(self) -> bool:
        return self.agree and not self.missing and self.found is None


def by_tapes(scene: Scene) -> TapedPlace:
    """What the four tapes of a check of kind `standing` say."""
    asked = [scene.answer(key) for key in ("mark.1", "mark.2", "wheels")]
    lines = lines_of(scene)
    if lines is None:
        return TapedPlace(missing=tuple(a for a in asked if not a.ready) or (asked[1],))
    answers = [scene.answer(key) for key, _, _ in lines.each]
    readings = tuple(r for a in (*asked, *answers) for r in a.readings)
    estimates = [a.estimate for a in answers if a.ready and a.estimate is not None]
    if len(estimates) < len(answers):
        missing = tuple(a for a in answers if a.estimate is None or not a.ready)
        return TapedPlace(lines, readings, missing)
    feet = {wheel: foot_of(scene.sheet, wheel) for wheel in lines.wheels}
    ends = product((at for _, _, at in lines.marks), lines.wheels)
    tapes = tuple(TapeTo(m, feet[w], e.value) for (m, w), e in zip(ends, estimates, strict=True))
    u_tape = round(combined(max(e.u for e in estimates), from_half_width(HOLD_A)), 9)
    return _chosen(scene, TapedPlace(lines, readings, (), tapes, u_tape))


def lines_of(scene: Scene) -> Lines | None:
    """The tapes that are to be read, once both marks and the wheels are chosen."""
    keys = {name: key for key, name in mark_keys(scene.bay).items()}
    places = marks_of(scene.bay)
    first, second, wheels = (scene.word(key) for key in ("mark.1", "mark.2", "wheels"))
    if first == second or first not in keys or second not in keys or wheels not in WHEELS_OF:
        return None
    a, b = ((keys[name], name, places[name]) for name in (first, second))
    return Lines((a, b), WHEELS_OF[wheels])


def mark_keys(bay: Bay) -> dict[str, str]:
    """What one can measure from, by the key to choose it with: a digit for a corner, a letter for a mark."""
    names = list(marks_of(bay))
    corners = names[len(bay.marks) :]
    letters = zip(ascii_lowercase, [*names[: len(bay.marks)], *corners[9:]], strict=False)
    return {**dict(letters), **dict(zip(digits[1:], corners, strict=False))}


def foot_of(sheet: Sheet, wheel: str) -> XY:
    """The floor beside a tyre under its hub, on the outer side, in car axes."""
    size = parse_size(sheet.placard.size.front if wheel.endswith("f") else sheet.placard.size.rear)
    x, y = wheel_places(sheet)[wheel]
    return x, y + math.copysign(size.width / 2000.0, y)


# --- which of the ways it is ---------------------------------------------------------------------


def _chosen(scene: Scene, place: TapedPlace) -> TapedPlace:
    limits, outline = scene.check.limits, tuple((p.x, p.y) for p in scene.bay.outline)
    contacts = tuple(wheel_places(scene.sheet).values())
    lines = place.lines
    assert lines is not None
    apart = _apart(place, limits.mark_u)
    if apart is not None:
        return replace(place, apart=apart)
    ways = _ways(place.tapes, place.u_tape, limits.mark_u, outline, contacts)
    fit = tuple(c for c in ways if abs(c.closing) <= limits.closing)
    if not fit:
        worst = sorted(ways, key=lambda c: (not c.inside, abs(c.closing)))[:1]
        return replace(place, candidates=tuple(worst))
    inside = tuple(c for c in fit if c.inside) or (min(fit, key=lambda c: c.out),)
    return _settled(scene, replace(place, candidates=inside, agree=True))


def _settled(scene: Scene, place: TapedPlace) -> TapedPlace:
    """The one of the candidates that it is; asked, where they lie on either side of the line of the marks."""
    candidates = tuple(c for c in place.candidates if c.posed.u <= POOR_U)
    if len({c.side for c in candidates}) > 1:
        line = scene.answer("line")
        place = replace(place, two_ways=True, readings=(*place.readings, *line.readings))
        if not line.ready:
            return replace(place, missing=(line,))
        candidates = tuple(c for c in candidates if c.side == line.word)
    return replace(place, found=min(candidates, key=lambda c: c.posed.chi_square, default=None))


def _apart(place: TapedPlace, u_mark: float) -> tuple[str, TapesApartError] | None:
    assert place.lines is not None
    for n, wheel in enumerate(place.lines.wheels):
        a, b = place.tapes[n], place.tapes[n + 2]
        try:
            two_tapes(a.mark, b.mark, a.length, b.length, u_tape=place.u_tape, u_mark=u_mark)
        except TapesApartError as fault:
            return wheel, fault
    return None


@lru_cache(maxsize=64)  # the same from answer to answer
def _ways(
    tapes: tuple[TapeTo, ...], u_tape: float, u_mark: float, outline: tuple[XY, ...], contacts: tuple[XY, ...]
) -> tuple[Candidate, ...]:
    """All ways in which the car can stand by its tapes. Marks to front, to rear: tapes 0 and 2 meet at one wheel."""
    (a, b), place = (tapes[0].mark, tapes[2].mark), Area(outline)
    found = []
    for posed in pose_from_tapes(tapes, u_tape=u_tape, u_mark=u_mark):
        ends = []
        for one, other in ((tapes[0], tapes[2]), (tapes[1], tapes[3])):
            both = two_tapes(a, b, one.length, other.length, u_tape=u_tape, u_mark=u_mark)
            ends.append(min((m.at for m in both), key=lambda at: math.dist(at, posed.place(one.point))))
        closing = math.dist(*ends) - math.dist(tapes[0].point, tapes[1].point)
        x, y = (ends[0][k] + ends[1][k] - 2.0 * a[k] for k in (0, 1))
        side = "left" if (b[0] - a[0]) * y - (b[1] - a[1]) * x > 0 else "right"
        out = max(signed_clearance(place, PointAt(*posed.place(c))) for c in contacts)
        found.append(Candidate(posed, closing, side, out))
    return tuple(found)


# --- what may be misread -------------------------------------------------------------------------


def misread(scene: Scene, place: TapedPlace) -> tuple[tuple[int, ...], tuple[tuple[int, int], ...]]:
    """Numbers of the tapes any one of which may be misread, and pairs that would fit if they were swapped."""
    outline = tuple((p.x, p.y) for p in scene.bay.outline)
    contacts = tuple(wheel_places(scene.sheet).values())
    return _misread(place.tapes, place.u_tape, scene.check.limits.mark_u, outline, contacts)


@lru_cache(maxsize=16)
def _misread(
    tapes: tuple[TapeTo, ...], u_tape: float, u_mark: float, outline: tuple[XY, ...], contacts: tuple[XY, ...]
) -> tuple[tuple[int, ...], tuple[tuple[int, int], ...]]:
    place = Area(outline)

    def can_be(posed: Posed) -> bool:
        return all(
            signed_clearance(place, PointAt(*posed.place(c))) <= OUT_BY * min(posed.u, POOR_U)
            for c in contacts
        )

    swapped = []
    for i, j in ((0, 1), (2, 3), (0, 2), (1, 3)):  # from one mark, or to one wheel
        other = list(tapes)
        other[i], other[j] = (
            replace(tapes[i], length=tapes[j].length),
            replace(tapes[j], length=tapes[i].length),
        )
        ways = pose_from_tapes(other, u_tape=u_tape, u_mark=u_mark)
        if any(p.chance >= LIKELY and can_be(p) for p in ways):
            swapped.append((i, j))
    return suspects(tapes, u_tape=u_tape, u_mark=u_mark, can_be=can_be), tuple(swapped)
