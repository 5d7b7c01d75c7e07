"""A shop, its instruments and its bays with what stands in them and how their floor was surveyed.

Places in bay axes, m; keep-clear zones, which belong to a sheet, have the same shapes in car axes.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, Struct

from readiness.job.words import Degree, Metre, Millimetre, Slope, System


class Point(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    x: Metre
    y: Metre


class Place(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A point above the floor."""

    x: Metre
    y: Metre
    z: Metre = 0.0


class Disc(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    at: Point
    radius: Metre


class Segment(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A straight wall or pipe."""

    start: Point
    end: Point


class Rectangle(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Parallel to the axes, given by two opposite corners."""

    corner: Point
    opposite: Point


class Corridor(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Everything within `half_width` of the line from start to end."""

    start: Point
    end: Point
    half_width: Metre


class Sector(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"start": "from", "end": "to"}
):
    """A slice of a disc: from one direction counterclockwise to another, both from the x axis."""

    at: Point
    radius: Metre
    start: Degree
    """Where the slice begins: 0 along x, 90 along y."""
    end: Degree
    """Where it ends, counterclockwise from there."""


class HeightBand(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    low: Metre = 0.0
    high: Metre


Reason = Literal["metal-free", "nothing between", "people-free", "walking room"]
"""What a zone keeps out: metal; everything; people and what they work at or walk through; what a person would
bump into."""
_MEANT = {
    "metal": "metal-free", "steel": "metal-free", "people": "people-free", "person": "people-free",
    "nobody": "people-free", "between": "nothing between", "nothing": "nothing between", "sight": "nothing between",
    "view": "nothing between", "walk": "walking room", "work": "walking room", "room": "walking room",
}  # fmt: skip
"""Word in a reason that is none of these -> the reason that may be meant."""
_WHY = "A reason says what the zone keeps out; write why it must stay clear behind a '#'."


Corners = Annotated[tuple[Point, ...], Meta(min_length=3, max_length=200)]


class Zone(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A keep-clear zone of a sheet, in car axes; exactly one shape."""

    id: str
    reason: Annotated[Reason, Meta(extra={"meant": _MEANT, "otherwise": _WHY})] = "metal-free"
    """What it keeps out."""
    disc: Disc | None = None
    sector: Sector | None = None
    rectangle: Rectangle | None = None
    corridor: Corridor | None = None
    polygon: Corners | None = None
    """Corners in order round it, either way; the last is joined to the first."""
    height: HeightBand | None = None


class Mark(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place in the bay to hook a tape to: a nail in the floor, a door post."""

    name: str
    at: Point


class Taped(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"marks": "from"}):
    """A place by two tapes from two marks. `side` is where it lies, looking from the first mark to the second."""

    marks: tuple[str, str]
    """Two marks or corners of the bay."""
    tapes: tuple[Metre, Metre]
    """From the first mark, and from the second."""
    side: Literal["left", "right"]


class Obstacle(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"origin": "from"}):
    """A thing in the bay, in bay axes; exactly one shape. A height not given counts as any height.

    In files its lengths may count from a mark or corner (`from`), or from a place by two tapes (`taped`);
    a bay that was read holds them in bay axes.
    """

    name: str
    origin: str = ""
    """What its lengths count from: name of a mark, or 'corner 1' and so on, in the order of the outline."""
    taped: Taped | None = None
    """Its lengths count from the place where two tapes meet."""
    point: Point | None = None
    disc: Disc | None = None
    rectangle: Rectangle | None = None
    wall: Segment | None = None
    polygon: Corners | None = None
    """Corners in order round it, either way; the last is joined to the first."""
    height: HeightBand | None = None
    metal: Literal["yes", "no", "unknown"] = "unknown"
    """Unknown counts as metal."""
    people: bool = False
    """Somebody works at it or walks through it: a workbench, a doorway, a walkway."""
    fixed: bool = True
    """No: it can be moved away."""
    u: Metre = 0.02
    """Standard uncertainty of its position; of a taped thing at least that of the place where the tapes meet."""


class SurveyPoint(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A node of a survey. Its height is measured, or follows from the level runs and is not given."""

    name: str
    x: Metre
    y: Metre
    height: Millimetre | None = None
    what: str = ""
    """What stands there: 'left front wheel of the Tern estate', 'between'."""


class LevelRun(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"start": "from", "end": "to"}
):
    """A level read on a straightedge from one node to another, and read again turned end for end.

    `first` > 0 where the level says that `end` is higher; `turned` is what it shows after the whole
    assembly was turned, so that of an exact level it is the same with the other sign.
    """

    start: str
    end: str
    first: Slope
    turned: Slope | None = None
    instrument: str = ""
    """Where it was not the survey's."""


class Survey(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The floor of a bay, in bay axes: heights at points (up is positive), or level runs between them."""

    survey: str = ""
    """Its id where it stands in a file of its own."""
    bay: str = ""
    date: date
    by: str
    instrument: str
    straightedge: Metre | None = None
    """Length of the straightedge that carried the level: no run can be longer."""
    points: Annotated[tuple[SurveyPoint, ...], Meta(max_length=2_000)]
    runs: Annotated[tuple[LevelRun, ...], Meta(max_length=2_000)] = ()
    note: str = ""
    renew_after: Annotated[int, Meta(ge=1, le=3650)] = 365
    """Days after which the survey counts as lapsed."""


class Standing(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the car stands in the bay: the middle of its rear axle, and where its nose points."""

    x: Metre
    y: Metre
    heading: Degree = 0.0
    """Direction of the car's x axis, counterclockwise from the bay's x axis."""


class Bay(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    bay: str
    title: str
    outline: Corners
    """Corners of the floor in order round it, either way; the last is joined to the first."""
    marks: tuple[Mark, ...] = ()
    """Places to measure from, beside the corners of the outline."""
    standing: Standing
    obstacles: tuple[Obstacle, ...] = ()
    survey: Survey | None = None


class Instrument(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A measuring tool. `accuracy` is a half width in the unit of what it measures."""

    id: str
    title: str
    measures: str
    """What it measures: pressure, temperature, depth, length, slope and so on."""
    accuracy: str
    """Text with a unit ('3 kPa'), or a share of the reading ('5 %')."""
    resolution: str
    due: date
    """The last day of its calibration."""
    division: str = ""
    """Sensitivity of a vial, for readings in divisions: '0.3 mm/m' or '60 arcsec'."""


class Instruments(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    instruments: tuple[Instrument, ...]


class Signing(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the shop signs its journals with. Paths count from the shop's folder; '~' is the user's own."""

    key: str
    """The shop's SSH key, such as ~/.ssh/shop; it need not be on machines that only verify."""
    signers: str
    """Whose signatures count: a file of allowed signers, as OpenSSH writes it."""


class Shop(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    shop: str
    units: System = "metric"
    altitude: Metre
    people: tuple[str, ...] = ()
    note: str = ""
    signing: Signing | None = None
    """Left out: nothing is signed."""
    compare_sheets_after: Annotated[int, Meta(ge=1, le=3650)] = 365
    """Days after which a sheet is to be compared with its document again; common practice, no published source."""
