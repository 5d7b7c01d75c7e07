"""The causes of a sensor's aim in plain words: what is off, and what would take it away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.checks import centre_marks, floor, stance
from readiness.checks.car import LYING
from readiness.checks.floor.heights import Heights, level_foot, place_name
from readiness.checks.kind import Scene
from readiness.job import WHEEL_NAMES, WHEELS
from readiness.measure.uncertain import Traced

TELLS = 2.0
"""A number is told from zero where it is more than so many standard uncertainties off."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A group of raw causes. `off` says what is off, `remedy` how to take it away, both to follow other words."""

    name: str
    members: tuple[str, ...]
    off: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Stands:
    """A target on its feet: its name, and its feet as the floor names them."""

    name: str
    feet: tuple[str, ...]
    plumb: bool

    @property
    def lies(self) -> bool:
        return self.feet[0].endswith(f".{LYING}")


def causes_of(scene: Scene, stands: Stands, heights: Heights, raw: Mapping[str, Traced]) -> list[Cause]:
    """The groups that are known; `raw` is against the plane of the wheels (`measure.aim.over_wheels`)."""
    found = [_floor(scene, stands, heights, raw)]
    if stands.plumb:
        found.append(_tilt(scene, raw))
    found += [_corners(scene, what, raw) for what in ("tyre", "body") if f"{what}.lf" in raw]
    found += [_mark(scene, end, raw[f"mark.{end}"]) for end in ("front", "rear")]
    if "thrust" in raw:
        found.append(_thrust(scene, raw["thrust"]))
    return found


def _tells(t: Traced) -> bool:
    return abs(t.value) > TELLS * t.u


def _unsure(scene: Scene, t: Traced, unit: str) -> str:
    return f"known only to ±{scene.show(scene.factor * t.u, unit)}"


def _worst(values: Mapping[str, Traced]) -> tuple[str, Traced]:
    """The greatest of those that can be told from zero, else the least known."""
    told = {k: t for k, t in values.items() if _tells(t)}
    return (
        max(told.items(), key=lambda e: abs(e[1].value))
        if told
        else max(values.items(), key=lambda e: e[1].u)
    )


def _floor(scene: Scene, stands: Stands, heights: Heights, raw: Mapping[str, Traced]) -> Cause:
    members = tuple(f"floor.foot.{n}" for n in range(1, len(stands.feet) + 1))
    feet = {foot: raw[m] for foot, m in zip(stands.feet, members, strict=True)}
    worst, over = _worst(feet)
    name = f"floor under {stands.name}"
    if not _tells(over):
        how = heights.known.get(worst, "")
        guess = f", {how}" if how and how != "surveyed there" else ""
        off = f"the floor at {place_name(worst)} is {_unsure(scene, over, 'mm')}{guess}"
        return Cause(name, members, off, f"measure the floor at {place_name(worst)} itself, and finer")
    both = [f for f, t in feet.items() if _tells(t) and abs(t.value) >= abs(over.value) / 2]
    off = " and ".join(f"{_size(scene, feet[f])} {_low(feet[f])} at {place_name(f)}" for f in both)
    return Cause(name, members, f"the floor is {off}", _level_feet(scene, stands, both, feet))


def _size(scene: Scene, t: Traced) -> str:
    return scene.show(abs(t.value), "mm")


def _low(t: Traced) -> str:
    return "low" if t.value < 0 else "high"


def _level_feet(scene: Scene, stands: Stands, feet: Sequence[str], over: Mapping[str, Traced]) -> str:
    if stands.lies:
        return f"lay {place_name(feet[0])} where the floor is even with the wheels"
    todo = " and ".join(level_foot(f, over[f].value, _size(scene, over[f])) for f in feet)
    return f"{todo} and enter that as packed in {_title(scene, floor.KIND)}"


def _title(scene: Scene, kind: str) -> str:
    """Where that check's questions are asked."""
    beside = scene.beside(kind)
    return beside.check.title if beside is not None else "its check"


def _tilt(scene: Scene, raw: Mapping[str, Traced]) -> Cause:
    tilts = {k: raw[k] for k in ("tilt.along", "tilt.across")}
    worst, slope = _worst(tilts)
    ways = ("rear", "front") if worst == "tilt.along" else ("right", "left")
    name = "plumb stand on a sloping floor"
    if not _tells(slope):
        off = f"the slope of the floor is {_unsure(scene, slope, 'mm/m')}, and the stand is set plumb"
        return Cause(name, tuple(tilts), off, "measure the slope of the floor finer")
    falls = f"{scene.show(abs(slope.value), 'mm/m')} to the {ways[0] if slope.value > 0 else ways[1]}"
    return Cause(
        name, tuple(tilts), f"the floor falls {falls}, and the stand is set plumb",
        "use a more level place, or square the stand to the floor where the procedure allows it",
    )  # fmt: skip


def _corners(scene: Scene, what: str, raw: Mapping[str, Traced]) -> Cause:
    members = tuple(f"{what}.{w}" for w in WHEELS)
    worst, off = _worst({w: raw[f"{what}.{w}"] for w in WHEELS})
    at = WHEEL_NAMES[worst]
    name, noun, read = (
        ("tyres", "how far the tyres give is", "the tyre pressures")
        if what == "tyre"
        else ("body on its springs", "how the body sits is", "the ride heights")
    )
    if not _tells(off):
        return Cause(name, members, f"{noun} {_unsure(scene, off, 'mm')}", f"measure {read} finer")
    if what == "tyre":
        said = f"the tyre at the {at} holds the car {_size(scene, off)} {_low(off)}"
        return Cause(name, members, said, f"set the pressure of the {at} tyre to the placard's")
    beside = scene.beside(stance.KIND)
    step = f" as {beside.check.title} says" if beside is not None else ""
    said = f"the body sits {_size(scene, off)} {_low(off)} at the {at}"
    return Cause(name, members, said, f"put load and springs right{step}")


def _mark(scene: Scene, end: str, off: Traced) -> Cause:
    name, members = f"{end} centre mark", (f"mark.{end}",)
    if not _tells(off):
        finer = f"measure the {end} centre mark finer"
        return Cause(name, members, f"the {name} is {_unsure(scene, off, 'mm')}", finer)
    is_at, go_to = ("left", "right") if off.value > 0 else ("right", "left")
    size = _size(scene, off)
    return Cause(
        name, members, f"the {name} lies {size} {is_at} of the middle",
        f"lay the line out through a point {size} to the {go_to} of the {name} and measure anew from it in "
        f"{_title(scene, centre_marks.KIND)}",
    )  # fmt: skip


def _thrust(scene: Scene, angle: Traced) -> Cause:
    name, members = "thrust angle", ("thrust",)
    if not _tells(angle):
        return Cause(
            name,
            members,
            f"the thrust angle is {_unsure(scene, angle, 'deg')}",
            "measure the thrust angle finer",
        )
    way = "left" if angle.value > 0 else "right"
    off = f"the thrust line points {scene.show(abs(angle.value), 'deg')} to the {way}"
    return Cause(name, members, off, "have the rear wheels aligned first")
