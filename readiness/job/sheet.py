"""What the vehicle maker's procedure says for one car and one calibration, in car axes."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, Struct, field

from readiness.job.bay import Place, Point, Zone
from readiness.job.words import (
    Degree,
    Fraction,
    Kilogram,
    Kilopascal,
    LaterTyped,
    Litre,
    Metre,
    Millimetre,
    Spring,
)


class Document(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The vehicle maker's procedure that the sheet was written from."""

    reference: str
    issued: date | None = None
    """The date on the document."""
    checked: date | None = None
    """When somebody last compared the sheet with the document."""


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


class Result(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the procedure calls a good result: a number in a range, or a message that the tester has to show.

    The number is the one that the tester shows; both ends of a range belong to it.
    """

    key: str
    """Its name in files of answers: 'azimuth'."""
    label: str
    side: Literal["left", "right"] | None = None
    """Where the procedure gives each side a range of its own; left out, it is that of every side."""
    low: str | None = None
    """The least, with its unit: '-2.5 °'; a plain number for a count."""
    high: str | None = None
    """The most."""
    within: str | None = None
    """In place of low and high, the same either way of nought: '2.5 °'."""
    message: str | None = None
    """In place of a range, what the tester has to show: 'Calibration completed'."""


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
    """The line that the directions of the procedure count from. Targets stand where the centre marks put them."""
    sensors: Annotated[tuple[Sensor, ...], Meta(max_length=20)] = ()
    targets: Annotated[tuple[Target, ...], Meta(max_length=20)] = ()
    zones: Annotated[tuple[Zone, ...], Meta(max_length=40)] = ()
    results: tuple[Result, ...] = ()
    """What counts as a good result of the calibration."""
    limits: LaterTyped = None
    """Limits that replace the checklist's: check id -> limit name -> value."""
    note: str = ""
