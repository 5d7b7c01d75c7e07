"""The search for a place in every bay, as it goes on in a thread while the screen stands. Knows no widget."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from readiness.bayfit.found import BayFit, Fit
from readiness.bayfit.rank import best, best_first, modes_for, same_place
from readiness.checklist.model import Checklist
from readiness.checks.picture import Picture
from readiness.job import Bay, Job, Sheet, Standing, System
from readiness.verdict import judge

if TYPE_CHECKING:
    from readiness.records.shop import ShopFolder

AREA = "clear_area"
"""The kind of check that tells whether anything stands in the way."""

Choice = Literal["own", "worked out", "ask"]


@dataclass(frozen=True, slots=True)
class Taken:
    """A bay that was chosen, and the place worked out; None: on the bay's own marks."""

    bay: str
    place: Standing | None = None
    tapes: str = ""
    """How to find that place with a tape, in words."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What the checklist says of a place before anything is answered."""

    reason: str = ""
    """What would fail there; empty: nothing known."""
    in_the_way: bool = False
    """Something stands in a keep-clear zone."""
    picture: Picture = ()


@dataclass(frozen=True, slots=True)
class Looked:
    """One bay, with as much as is known of it so far."""

    bay: Bay
    own: Judged | None = None
    """On the bay's own marks."""
    found: BayFit | None = None
    there: Judged | None = None
    """At the place worked out."""

    @property
    def fit(self) -> Fit | None:
        """The place that counts."""
        return best(self.found) if self.found is not None else None

    @property
    def picture(self) -> Picture:
        fit = self.fit
        return fit.picture if fit is not None else self.own.picture if self.own is not None else ()

    @property
    def choice(self) -> Choice:
        """Where to park: on the bay's own marks, at the place worked out, or as the person wants."""
        fit = self.fit
        if fit is None or not fit.fits or same_place(fit.standing, self.bay.standing):
            return "own"
        if self.there is not None and self.there.in_the_way and not fit.moved:
            return "own"
        blocked = self.own is not None and self.own.in_the_way
        return "worked out" if blocked or (fit.on_marks is not None and fit.on_marks < 0) else "ask"


@dataclass
class BaySearch:
    """Looks at bay after bay: first what would fail on its own marks, then for the best place in it.

    One thread calls `run`; another may read everything, stop it, and say by `wanted` which bay comes next.
    """

    folder: ShopFolder
    sheet: Sheet
    sides: tuple[str, ...]
    clock: Callable[[], datetime]
    looked: dict[str, Looked] = field(default_factory=dict)
    wanted: str = ""
    """The bay that is looked at next, if it has not been yet."""
    now: str = ""
    """The bay that is being looked at."""
    what: str = ""
    share: float = 0.0
    began: float = 0.0
    stopped: bool = False
    done: bool = False

    def __post_init__(self) -> None:
        self.looked = {name: Looked(bay) for name, bay in self.folder.bays.good().items()}

    @property
    def system(self) -> System:
        return self.folder.shop.units

    @property
    def checklist(self) -> Checklist:
        return self.folder.effective(self.sheet)

    @property
    def running(self) -> bool:
        return not (self.stopped or self.done)

    @property
    def ranked(self) -> list[str]:
        """Bays by how well they suit; those not looked at last, in their order."""
        found = best_first([x.found for x in self.looked.values() if x.found is not None])
        first = [f.bay for f in found]
        return [*first, *(name for name in self.looked if name not in first)]

    def run(self, told: Callable[[str], object]) -> None:
        """Look at every bay and tell its id each time more is known of it. Raises ShopError."""
        self.began = time.monotonic()
        for name in self.looked:
            if self.stopped:
                return
            self._tell(told, name, own=self._judge(name, None))
        while self.running:
            left = [name for name, x in self.looked.items() if x.found is None]
            if not left:
                self.done = True
                return
            self._search(self.wanted if self.wanted in left else left[0], told)

    def _search(self, name: str, told: Callable[[str], object]) -> None:
        from readiness.bayfit import bay_fit
        from readiness.measure.poses import Cancelled

        self.now, self.what, self.share = name, "", 0.0
        bay = self.looked[name].bay
        try:
            found = bay_fit(self.checklist, self.sheet, bay, modes_for(self.sides), heard=self.heard)
        except Cancelled:
            self.stopped = True
            return
        fit = best(found)
        there = self._judge(name, fit.standing) if fit.fits else None
        self._tell(told, name, found=found, there=there)

    def heard(self, what: str, share: float) -> bool:
        """What is worked on and the share done; False ends the search."""
        self.what, self.share = what, share
        time.sleep(0)  # the screen's thread may have its turn
        return not self.stopped

    def _tell(self, told: Callable[[str], object], name: str, **more: object) -> None:
        self.looked[name] = replace(self.looked[name], **more)  # type: ignore[arg-type]
        told(name)

    def _judge(self, bay: str, place: Standing | None) -> Judged:
        """What would fail in a bay before anything is answered, at a place or on its own marks."""
        from readiness.records.parked import supposed

        now = self.clock()
        readings = supposed(self.checklist, place, now)
        job = Job(
            job="-", sheet=self.sheet.sheet, bay=bay, sides=self.sides, opened=now, by="-", readings=readings
        )
        found = [f for side in judge(self.folder.visit(job), now).sides.values() for f in side.findings]
        wrong = [f for f in found if f.wrong]
        area = [f for f in found if f.kind == AREA]
        return Judged(
            wrong[0].reason if wrong else "",
            any(f.wrong for f in area),
            next((f.picture for f in area if f.picture), ()),
        )
