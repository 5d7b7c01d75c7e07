"""The search for a place in one bay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from readiness.bayfit.binding import binding
from readiness.bayfit.chalk import chalk
from readiness.bayfit.demands import Between, Demands, between_sides, demands, without
from readiness.bayfit.found import BayFit, Fit, Headings, Mode, Need
from readiness.bayfit.freeing import to_move
from readiness.bayfit.growing import needed
from readiness.bayfit.progress import Progress, Told
from readiness.bayfit.view import Gap, view
from readiness.bayfit.ways import EASY, Best, best_place, can_stand, ways_round
from readiness.checklist.model import Checklist
from readiness.checks.place import in_car, rounded
from readiness.job import Bay, Sheet, Standing, System
from readiness.measure import poses
from readiness.measure.poses import Pose

SWING = 3.0
"""Degrees either way of the bay's axis."""
SIDES: dict[Mode, tuple[str, ...]] = {
    "single": ("single",),
    "left": ("left",),
    "right": ("right",),
    "in_turn": ("left", "right"),
    "at_once": ("left", "right"),
}
_WORDS = {
    ("single",): "the place",
    ("left",): "left side",
    ("right",): "right side",
    ("left", "right"): "both sides",
}


def modes_of(checklist: Checklist) -> tuple[Mode, ...]:
    """What can be asked of a bay: single, or left, right, in turn, at once."""
    return ("left", "right", "in_turn", "at_once") if len(checklist.sides) > 1 else ("single",)


def bay_fit(
    checklist: Checklist, sheet: Sheet, bay: Bay, modes: Sequence[Mode], *, headings: Headings = "axis",
    swing: float = SWING, easy: float = EASY, heard: Told | None = None, system: System = "metric",
) -> BayFit:  # fmt: skip
    """Where in a bay the car can stand, for each mode. The checklist's limits are those of the sheet.

    `heard` is told what is worked on and the share done, and ends the search by False; raises
    `measure.poses.Cancelled` then. A place with `easy` m less to spare than the best, or with plenty, is taken where
    it is easier to park at; 0: never. `system` is for the number in the picture.
    """
    search = _Search(checklist, sheet, bay, ways_round(bay.standing, headings, swing), easy)
    wanted = list(dict.fromkeys(SIDES[mode] for mode in modes))
    found = {}
    for n, sides in enumerate(wanted):
        progress = Progress(heard, f"{bay.title}: {_WORDS[sides]}", n / len(wanted), (n + 1) / len(wanted))
        found[sides] = search.place(sides, progress)
    between = between_sides(checklist, sheet) if "at_once" in modes else ()
    fits = []
    for mode in modes:  # of a place with many corners the tapes alone take a while
        sides = SIDES[mode]
        Progress(heard, f"{bay.title}: {_WORDS[sides]}", 1.0, 1.0).search()
        fits.append(search.fit(mode, found[sides], between, system))
    return BayFit(bay.bay, bay.title, tuple(fits))


@dataclass(frozen=True, slots=True)
class _Place:
    """The best place for these sides, and the bay without the things that it takes for gone."""

    sides: tuple[str, ...]
    best: Best
    bay: Bay
    asked: Demands
    on_marks: float
    moved: tuple[str, ...] = ()
    need: Need | None = None


@dataclass(frozen=True, slots=True)
class _Search:
    checklist: Checklist
    sheet: Sheet
    bay: Bay
    ways: tuple[tuple[float, float], ...]
    easy: float

    def place(self, sides: tuple[str, ...], progress: Progress) -> _Place:
        """As things are; else with the fewest things moved; else with all gone, and how much room is missing."""
        asked = self._asked(self.bay, sides)
        best = best_place(asked, self.ways, self.bay.standing, progress, self.easy)
        found = _Place(sides, best, self.bay, asked, _spare_at(asked, self.bay.standing))
        if best.fits:
            return found
        movable = tuple(dict.fromkeys(k.thing.name for k in asked.kept if not k.thing.fixed))

        def fits(bay: Bay) -> bool:
            return can_stand(self._asked(bay, sides), self.ways, progress)

        moved = to_move(movable, lambda gone: fits(without(self.bay, gone)))
        if movable:
            bay = without(self.bay, moved or movable)
            bare = self._asked(bay, sides)
            best = best_place(bare, self.ways, self.bay.standing, progress, self.easy)
            found = replace(found, best=best, bay=bay, asked=bare, moved=moved)
        if not best.fits:
            found = replace(found, moved=(), need=needed(found.bay, fits, -2.0 * best.most))
        return found

    def fit(self, mode: Mode, found: _Place, between: Sequence[Between], system: System) -> Fit:
        """The answer for a mode from the place for its sides; at once, what is `between` the sides counts too."""
        best, pose = found.best, found.best.pose
        others = between if mode == "at_once" else ()
        cap = others[0].pair.clearance - others[0].pair.asked if others else None
        least = math.inf if cap is None else cap
        spare = min(best.spare, least)
        standing = Standing(x=pose.x, y=pose.y, heading=pose.heading)
        binds = binding(found.asked, pose, *(b.pair for b in others))
        gap = others[0].gap if others and least < best.spare else _gap(found.asked, standing)
        tapes = chalk(self.sheet, found.bay, standing)
        marks = frozenset(t.mark for t in tapes.tapes)
        return Fit(
            mode, spare >= 0.0, standing, standing == rounded(self.bay.standing), best.turned, spare, min(best.most, least),
            min(best.bound, least), binds, tapes,
            moved=found.moved if spare >= 0.0 else (),
            need=Need(None, None) if least < 0.0 else found.need,
            picture=view(self.sheet, found.bay, standing, found.sides, binds, gap, marks, system),
            on_marks=min(found.on_marks, least),
            other_way=None if best.other_way is None else min(best.other_way, least),
            across=abs(math.cos(math.radians(pose.heading - self.bay.standing.heading))) < math.sqrt(0.5),
            between_sides=cap,
        )  # fmt: skip

    def _asked(self, bay: Bay, sides: tuple[str, ...]) -> Demands:
        return demands(self.checklist, self.sheet, bay, sides)


def _gap(asked: Demands, standing: Standing) -> Gap:
    """The places between which the smallest spare room lies, in car axes."""
    pose = Pose(standing.x, standing.y, standing.heading)
    _, (a, b), _ = poses.spare(asked.place, asked.moving, asked.apart, pose)
    return in_car(standing, a), in_car(standing, b)


def _spare_at(asked: Demands, standing: Standing) -> float:
    pose = Pose(standing.x, standing.y, standing.heading)
    return poses.spare(asked.place, asked.moving, asked.apart, pose)[0]
