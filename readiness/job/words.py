"""Units of numbers as their types, and the words that the data of all rooms share."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from msgspec import Meta


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

YEARS = range(1970, 9000)
"""Of times: earlier or later ones have no place in every zone, nor on every machine."""

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
OF_ONE_SIDE = frozenset({"sensor_touched"})
"""Of these those that happen to one side: each has a sensor of its own."""
