"""Where a sheet's targets stand, from the lengths that the document prints and what they count from.

A document gives lengths from an axle or a centre mark, and across from the centre line or the wheels. Mixing
these up is the usual blunder: the tape's own distances, where the document prints them, tell.
"""

from __future__ import annotations

from itertools import product
from math import copysign, hypot
from typing import TypeVar

from msgspec.structs import replace

from readiness import job
from readiness.checklist.mistakes import shown
from readiness.checklist.spot import Spot

TAPE_A = 0.01
"""A printed distance and the place worked out agree within this, m; common practice, no published source."""

ALONG = {
    "rear_axle": "the middle of the rear axle",
    "front_axle": "the middle of the front axle",
    "rear_mark": "the rear centre mark",
    "front_mark": "the front centre mark",
}
ACROSS = {"centre_line": "the centre line", "wheel_line": "the middle of the tyre, outwards"}


P = TypeVar("P", job.Place, job.Point)


def in_car_axes(sheet: job.Sheet) -> job.Sheet:
    """The sheet as read, its targets and their feet turned into car axes; what they counted from stays told.

    Lengths along count forward from an axle or a mark. Lengths across count from the centre line, left
    positive, or outwards from the middle of the tyre on the target's side, where the axle is the one that the
    lengths along count from, or the one nearer to that mark: then |y| + track / 2, with the sign of y.
    """
    targets = tuple(
        t if t.origin is None else replace(
            t, at=placed(sheet, t.origin, t.at), feet=tuple(placed(sheet, t.origin, f) for f in t.feet)
        )
        for t in sheet.targets
    )  # fmt: skip
    return replace(sheet, targets=targets)


def placed(sheet: job.Sheet, origin: job.Origin, at: P) -> P:
    """A place in car axes from lengths that count from `origin`."""
    along = _zero(sheet, origin.along)
    across = at.y + copysign(half_track(sheet, origin.along), at.y) if origin.across == "wheel_line" else at.y
    return replace(at, x=along + at.x, y=across)


def half_track(sheet: job.Sheet, along: str) -> float:
    """From the centre line to the middle of the tyre at the axle nearer to this origin, m."""
    size = sheet.dimensions
    front = _zero(sheet, along) > size.wheelbase / 2
    return (size.track_front if front else size.track_rear) / 2


def _zero(sheet: job.Sheet, along: str) -> float:
    marks = sheet.marks
    return {
        "rear_axle": 0.0, "front_axle": sheet.dimensions.wheelbase, "rear_mark": marks.rear,
        "front_mark": marks.front,
    }[along]  # fmt: skip


# --- whether the document agrees with itself -----------------------------------------------------


def tapes(sheet: job.Sheet, target: job.Target, spot: Spot) -> None:
    """Note printed distances that do not follow from the target's place, and another origin that explains them."""
    if target.tape is None:
        return
    origin = target.origin or job.Origin()
    from_marks = _from_marks(sheet, origin, target)
    for mark, printed in _printed(target.tape).items():
        if abs(printed - from_marks[mark]) > TAPE_A:
            here = spot.at("tape", mark)
            expected = (
                f"{from_marks[mark]:.3f} m, which follows from its x and y counted from "
                f"{ALONG[origin.along]} and {ACROSS[origin.across]}"
            )
            here.wrong(
                f"{shown(here.text)} from the {mark.replace('_', ' ')}", expected, _meant(sheet, target)
            )


def _from_marks(sheet: job.Sheet, origin: job.Origin, target: job.Target) -> dict[str, float]:
    """How far it is on the floor, in m, from under each centre mark to under the target's centre."""
    at = placed(sheet, origin, target.at)
    marks = {"front_mark": sheet.marks.front, "rear_mark": sheet.marks.rear}
    return {mark: hypot(at.x - x, at.y) for mark, x in marks.items()}


def _printed(tape: job.Tape) -> dict[str, float]:
    both = {"front_mark": tape.front_mark, "rear_mark": tape.rear_mark}
    return {mark: length for mark, length in both.items() if length is not None and length > 0}


def _meant(sheet: job.Sheet, target: job.Target) -> str:
    """The origin that makes the place agree with all that is printed, nearest to the one that stands there."""
    stands, printed = target.origin or job.Origin(), _printed(target.tape or job.Tape())
    origins = [job.Origin(along=a, across=c) for a, c in product(ALONG, ACROSS)]  # type: ignore[arg-type]
    origins.sort(key=lambda o: (o.along != stands.along) + (o.across != stands.across))
    for origin in origins:
        follows = _from_marks(sheet, origin, target)
        if all(abs(length - follows[mark]) <= TAPE_A for mark, length in printed.items()):
            return f"It agrees as if the lengths counted from {_in_words(stands, origin)}."
    if mirrored := _mirrored(sheet, target, stands, printed):
        return mirrored
    return "No origin makes them agree: look for a slip in x, y or the tape."


def _mirrored(sheet: job.Sheet, target: job.Target, stands: job.Origin, printed: dict[str, float]) -> str:
    """What to write where the document counts backwards and the sheet took the length as it stands."""
    other = replace(target, at=replace(target.at, x=-target.at.x))
    follows = _from_marks(sheet, stands, other)
    if not target.at.x or any(abs(length - follows[mark]) > TAPE_A for mark, length in printed.items()):
        return ""
    way = "behind" if other.at.x < 0 else "ahead of"
    return f"It agrees with x: {other.at.x:g} m, {way} {ALONG[stands.along]}: forward is positive."


def _in_words(stands: job.Origin, meant: job.Origin) -> str:
    """What to count from instead, in words and as it is written in the sheet."""
    words = [ALONG[meant.along]] if meant.along != stands.along else []
    words += [ACROSS[meant.across]] if meant.across != stands.across else []
    across = f", across: {meant.across}" if "wheel_line" in (stands.across, meant.across) else ""
    return f"{' and '.join(words)}: from: {{along: {meant.along}{across}}}"
