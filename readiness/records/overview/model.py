"""What the page of a shop holds: plain numbers, dates and names, of one moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from readiness.job import System
from readiness.measure.moved import Moved
from readiness.measure.trend import Trend


@dataclass(frozen=True, slots=True)
class ToolDue:
    """An instrument and the last day of its calibration; `days` from today to it, less than 0 where it is past."""

    id: str
    title: str
    measures: str
    due: date
    days: int


@dataclass(frozen=True, slots=True)
class Lacking:
    """What no instrument in date measures, or none fine enough; and the checks that cannot be answered so."""

    measures: str
    checks: tuple[str, ...]
    """Titles, or what it is needed for."""
    checklists: tuple[str, ...]
    """Ids."""
    accuracy: str = ""
    """As the checklist asks for it, where instruments in date are too coarse; empty where there is none."""


@dataclass(frozen=True, slots=True)
class Tools:
    past: tuple[ToolDue, ...] = ()
    """The longest past first."""
    soon: tuple[ToolDue, ...] = ()
    """The first due first."""
    rest: int = 0
    lacking: tuple[Lacking, ...] = ()
    problem: str = ""
    """Why the instruments cannot be read."""


BayWhy = Literal["never", "past", "soon", "to come", "tool", "unfit", "unread"]


@dataclass(frozen=True, slots=True)
class BayDue:
    """A bay whose floor is to be surveyed, and why; a bay may stand there for two reasons."""

    bay: str
    title: str
    why: BayWhy
    surveyed: date | None = None
    until: date | None = None
    """The last day on which the survey counts."""
    days: int = 0
    """From today to it."""
    told: str = ""
    """A sentence, for a survey that cannot count."""


@dataclass(frozen=True, slots=True)
class Bays:
    due: tuple[BayDue, ...] = ()
    rest: int = 0


SheetWhy = Literal["older", "other document", "long ago", "never", "to come", "unread"]


@dataclass(frozen=True, slots=True)
class SheetDue:
    """A sheet to be compared with the maker's document, and why."""

    sheet: str
    title: str
    why: SheetWhy
    reference: str = ""
    issued: date | None = None
    checked: date | None = None
    days: int = 0
    """Since it was compared."""
    named: str = ""
    """The document that the technician named instead."""
    jobs: tuple[str, ...] = ()
    """In these."""
    told: str = ""
    """Why it cannot be read."""


@dataclass(frozen=True, slots=True)
class Sheets:
    due: tuple[SheetDue, ...] = ()
    rest: int = 0
    after: int = 365
    """Days after which a sheet is to be compared again."""


@dataclass(frozen=True, slots=True)
class Jobs:
    """Numbers of jobs. Those that need somebody: of any time; those that are over: of the last weeks."""

    all: int = 0
    open: int = 0
    lapsed: tuple[str, ...] = ()
    """Open, a go is over, and no result was read; the latest first."""
    untouched: tuple[str, ...] = ()
    """Other open ones that nobody touched for days; the oldest first."""
    without_go: tuple[str, ...] = ()
    """Ended in these weeks, a side without a go."""
    waivers: tuple[str, ...] = ()
    """Of these weeks, a side a go with waivers."""
    unread: tuple[str, ...] = ()
    """Journals that cannot be read, or jobs that cannot be judged."""
    problem: str = ""
    """Why the folder of jobs cannot be read."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A check and the jobs of these weeks in which it was in the way of a go, once each."""

    title: str
    jobs: int
    failed: int
    too_close: int
    """Of these; in the others it was put right before it could be judged."""

    @property
    def put_right(self) -> int:
        return self.jobs - self.failed - self.too_close


@dataclass(frozen=True, slots=True)
class WrongPart:
    """One number or state of a check, and the jobs in which it was wrong."""

    title: str
    part: str
    jobs: int


@dataclass(frozen=True, slots=True)
class Reasons:
    jobs: int = 0
    """Worked on in these weeks."""
    in_the_way: int = 0
    """In which anything was."""
    checks: tuple[Reason, ...] = ()
    """The most frequent first."""
    parts: tuple[WrongPart, ...] = ()
    """The most frequent first, of those that were wrong in more than one job."""


@dataclass(frozen=True, slots=True)
class FloorDrift:
    """Two surveys of one bay compared; `why` says why they cannot be."""

    bay: str
    title: str
    older: date
    newer: date
    found: Moved | None = None
    where: str = ""
    """What stands at the worst place: 'left front wheel of the Tern estate'."""
    why: str = ""
    last: bool = True
    """Of the last two surveys; False where the newest is held against the oldest, which shows what went slowly."""


ZeroState = Literal["drifted", "steady", "unsure", "few"]


@dataclass(frozen=True, slots=True)
class ZeroPoint:
    """The zero error that one job or one survey shows, in the unit of its trace."""

    at: datetime
    value: float
    source: str
    """Number of the job, or id of the survey."""
    pairs: int


@dataclass(frozen=True, slots=True)
class ZeroDrift:
    """The zero errors of one instrument in their order, and the line through them.

    drifted: by more than its stated accuracy, and one way for sure. unsure: by more, but the points scatter so much that it
    may be none. few: on fewer than two days. Any instrument may have such a trace; so far only levels show one.
    """

    instrument: str
    title: str
    unit: str
    accuracy: float | None
    """Stated, a half width; None where none is known."""
    points: tuple[ZeroPoint, ...]
    trend: Trend | None
    """Per month; None for points on fewer than three days."""
    change: float
    """From the first to the last, along the trend where there is one."""
    state: ZeroState


@dataclass(frozen=True, slots=True)
class ShopPage:
    """Everything. `system` is how this shop reads numbers."""

    shop: str
    system: System
    at: datetime
    within: int
    """Days ahead that count as soon."""
    weeks: int
    """Of the jobs that are over, and of what was in the way."""
    idle: int
    """Days after which an open job is untouched."""
    tools: Tools
    bays: Bays
    sheets: Sheets
    jobs: Jobs
    reasons: Reasons
    floors: tuple[FloorDrift, ...]
    zeros: tuple[ZeroDrift, ...]

    @property
    def needs(self) -> dict[str, int]:
        """How many of each kind need somebody; none where all is well."""
        floors = sum(f.last and f.found is not None and f.found.moved for f in self.floors)
        zeros = sum(z.state == "drifted" for z in self.zeros)
        jobs = self.jobs
        counted = {
            "instrument": len(self.tools.past) + len(self.tools.soon) + bool(self.tools.problem),
            "measurement": len(self.tools.lacking),
            "bay": len({b.bay for b in self.bays.due}),
            "sheet": len({s.sheet for s in self.sheets.due}),
            "job": len({*jobs.lapsed, *jobs.untouched, *jobs.unread}) + bool(jobs.problem),
            "floor": floors,
            "level": zeros,
        }
        return {kind: count for kind, count in counted.items() if count}
