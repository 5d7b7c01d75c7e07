"""What was found, as plain data: readings and events of a job; sheet, bay, instruments, shop.

Numbers are floats in the unit that their type names (`Metre`, `Kilopascal`, ...); in files they are
text with a unit, and the loader converts. Axes of a car: ISO 8855, x forward, y left, z up; the
origin lies on the floor in the middle of the rear axle.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct, field


def _written(unit: str) -> Meta:
    """How a quantity of this unit stands in a file: as text such as '2.3 bar'."""
    return Meta(
        extra={"unit": unit},
        extra_json_schema={
            "type": ["string", "number"],
            "description": f"a quantity, for example '1 {unit}'",
        },
    )


Metre = Annotated[float, _written("m")]
Millimetre = Annotated[float, _written("mm")]
Degree = Annotated[float, _written("deg")]
Slope = Annotated[float, _written("mm/m")]
Kilopascal = Annotated[float, _written("kPa")]
Litre = Annotated[float, _written("L")]
Kilogram = Annotated[float, _written("kg")]
Spring = Annotated[float, _written("N/mm")]
Lux = Annotated[float, _written("lx")]
Minute = Annotated[float, _written("min")]
Fraction = Annotated[float, _written("fraction")]
"""A part of a whole, 0 to 1; written '3/4', '75 %' or '0.75'."""
LaterTyped = Annotated[Any, Meta(extra={"later": True})]
"""A mapping whose type depends on another field; the loader keeps it raw until that is known."""

Side = Literal["left", "right", "single"]
Evidence = Literal["measured", "seen", "told"]
Outcome = Literal["pass", "fail", "too_close", "not_done", "lapsed", "waived"]
System = Literal["metric", "us"]

WHEELS = ("lf", "lr", "rr", "rf")
"""Walking order round the car, from the driver's door."""
WHEEL_NAMES = {"lf": "left front", "lr": "left rear", "rr": "right rear", "rf": "right front"}

VOID_EVENTS = {
    "car_moved": "the car was moved",
    "got_in": "someone got in or out",
    "tyre_touched": "a tyre was touched",
    "load_changed": "fuel or load changed",
    "door_opened": "a door, bonnet, boot or window was opened",
    "light_changed": "the light changed",
    "bay_rearranged": "something in the bay was moved",
    "power_off": "battery support went off",
    "ignition_cycled": "the ignition was switched",
    "sensor_touched": "the sensor, its bracket or cover was touched",
}
"""What can end a finding before its hold time does."""


# --- the shop's own files ------------------------------------------------------------------------


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


class HeightBand(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    low: Metre = 0.0
    high: Metre


class Zone(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A keep-clear zone of a sheet, in car axes; exactly one shape."""

    id: str
    reason: str = "metal-free"
    disc: Disc | None = None
    rectangle: Rectangle | None = None
    corridor: Corridor | None = None
    height: HeightBand | None = None


class Obstacle(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A thing in the bay, in bay axes; exactly one shape. A height not given counts as any height."""

    name: str
    point: Point | None = None
    disc: Disc | None = None
    rectangle: Rectangle | None = None
    wall: Segment | None = None
    height: HeightBand | None = None
    metal: Literal["yes", "no", "unknown"] = "unknown"
    fixed: bool = True
    u: Metre = 0.02
    """Standard uncertainty of its position."""


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
    points: tuple[SurveyPoint, ...]
    runs: tuple[LevelRun, ...] = ()
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
    outline: tuple[Point, ...]
    standing: Standing
    obstacles: tuple[Obstacle, ...] = ()
    survey: Survey | None = None


class Instrument(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A measuring tool. `accuracy` is a half width in the unit of what it measures."""

    id: str
    title: str
    measures: str
    """One of units.MEASURES: pressure, temperature, depth, length, slope, ..."""
    accuracy: str
    """Text with a unit ('3 kPa'), or a share of the reading ('5 %')."""
    resolution: str
    due: date
    """The last day of its calibration."""
    division: str = ""
    """Sensitivity of a vial, for readings in divisions: '0.3 mm/m' or '60 arcsec'."""


class Instruments(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    instruments: tuple[Instrument, ...]


class Shop(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    shop: str
    units: System = "metric"
    altitude: Metre
    people: tuple[str, ...] = ()
    note: str = ""


class Document(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The vehicle maker's procedure that the sheet was written from."""

    reference: str
    issued: date | None = None


class Axles(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One tyre size per axle, with load index and speed symbol: '215/60 R17 96H'."""

    front: str
    rear: str


class Pressures(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    front: Kilopascal
    rear: Kilopascal


class Placard(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Tyre placard: sizes and cold gauge pressures for the load state the procedure asks for."""

    size: Axles
    pressure: Pressures


class Dimensions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    wheelbase: Metre
    track_front: Metre
    track_rear: Metre
    length: Metre
    width: Metre
    front_overhang: Metre
    """From the front axle to the foremost point."""


class Fuel(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    kind: Literal["petrol", "diesel", "none"]
    tank: Litre = 0.0
    tank_at: Metre = 0.0
    """x of the tank's middle, from the rear axle, forward positive."""
    level: Fraction = 1.0
    """What the procedure asks for."""


class Carried(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Something the procedure counts as being in the car: spare wheel, tools."""

    name: str
    mass: Kilogram
    x: Metre


class Station(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A place in the car where things lie or ballast can go."""

    name: str
    x: Metre


class Load(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    carried: tuple[Carried, ...] = ()
    stations: tuple[Station, ...] = ()


class AxleLoads(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the axles carry in the procedure's load state."""

    front: Kilogram
    rear: Kilogram


class Springs(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Rate of the suspension at one wheel of each axle."""

    front: Spring
    rear: Spring


class RideHeights(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Heights at the four wheels in the procedure's load state. `kind` says what they contain.

    hub_to_arch contains the load; floor_to_arch contains the load and the tyre; neither contains the floor.
    """

    kind: Literal["hub_to_arch", "floor_to_arch"]
    front: Millimetre
    rear: Millimetre


class Marks(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """x of the front and rear centre marks in car axes."""

    front: Metre
    rear: Metre


class AimTolerance(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How far a sensor may see its target off the direction that the procedure means, either way."""

    azimuth: Degree | None = None
    elevation: Degree | None = None


class Sensor(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    id: str
    at: Place
    tolerance: AimTolerance | None = None
    sees: tuple[str, ...] = ()
    """Ids of the targets it looks at; empty: all of them."""


class Origin(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the lengths of a target count from. `along` for x; `across` for y."""

    along: Literal["rear_axle", "front_axle", "rear_mark", "front_mark"] = "rear_axle"
    across: Literal["centre_line", "wheel_line"] = "centre_line"
    """wheel_line: outwards from the middle of the tyre on the target's side, of the axle at that end."""


class Tape(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Distances on the floor that the document prints from a centre mark to under a target's centre."""

    front_mark: Metre | None = None
    rear_mark: Metre | None = None


class Target(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"origin": "from"}):
    """A target, reflector, board or mat: its centre, and the feet of its stand on the floor.

    Files give its lengths from `origin`; a sheet that has been read holds them in car axes.
    """

    id: str
    at: Place
    feet: tuple[Point, ...] = ()
    origin: Origin | None = None
    tape: Tape | None = None
    stand: Literal["floor", "plumb"] = "floor"
    """How it is set upright: square to the floor under it, or plumb by gravity."""


class Sheet(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the procedure says for one car and one calibration.

    Sensors, targets and zones of a two-sided calibration are drawn for the left side; the right
    side is their mirror image.
    """

    sheet: str
    title: str
    car: str
    powertrain: Literal["petrol", "diesel", "hybrid", "electric"]
    checklist: str
    document: Document
    placard: Placard
    dimensions: Dimensions
    fuel: Fuel
    load: Load = field(default_factory=Load)
    axle_loads: AxleLoads | None = None
    ride_heights: RideHeights | None = None
    springs: Springs | None = None
    self_levelling: Literal["none", "rear", "all"] = "none"
    marks: Marks
    refers_to: Literal["marks", "thrust_line"] = "marks"
    """The line that the procedure lays the targets out from."""
    sensors: tuple[Sensor, ...] = ()
    targets: tuple[Target, ...] = ()
    zones: tuple[Zone, ...] = ()
    limits: LaterTyped = None
    """Limits that replace the checklist's: check id -> limit name -> value."""
    note: str = ""


# --- what was found ------------------------------------------------------------------------------

Value = float | str


class Reading(Struct, frozen=True, kw_only=True):
    """One answer: what was found, who found it, when, with what, and on what evidence."""

    check: str
    """The check's id, or 'shared' for an answer that every check may use."""
    question: str
    value: Value
    """A float in `unit` for quantities; the value of a choice or the text otherwise."""
    at: datetime
    by: str
    side: str = ""
    """'left' or 'right' for a check asked once a side, otherwise empty."""
    unit: str = ""
    text: str = ""
    """As it was typed."""
    evidence: Evidence = "measured"
    told_by: str = ""
    instrument: str = ""
    note: str = ""
    number: int = 0
    """Its line in the journal."""


class Fix(Struct, frozen=True, kw_only=True):
    """Something was put right; readings of that question before it no longer count."""

    check: str
    at: datetime
    by: str
    question: str = ""
    """Empty: the whole check."""
    side: str = ""
    text: str = ""


class Event(Struct, frozen=True, kw_only=True):
    """Something happened that voids findings; `event` is a key of VOID_EVENTS."""

    event: str
    at: datetime
    by: str


class Waiver(Struct, frozen=True, kw_only=True):
    """A check set aside as not applicable, with the reason."""

    check: str
    reason: str
    at: datetime
    by: str
    side: str = ""


class Job(Struct, frozen=True, kw_only=True):
    """One car, one visit: everything answered so far, corrections already taken out."""

    job: str
    sheet: str
    bay: str
    sides: tuple[str, ...]
    opened: datetime
    by: str
    plate: str = ""
    readings: tuple[Reading, ...] = ()
    fixes: tuple[Fix, ...] = ()
    events: tuple[Event, ...] = ()
    waivers: tuple[Waiver, ...] = ()
