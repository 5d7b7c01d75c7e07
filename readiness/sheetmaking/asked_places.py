"""What is asked of sensors, targets and keep-clear zones. Of two sides the left one is asked, the right is its mirror image."""

from __future__ import annotations

from readiness.checklist.shapes import MOST_CORNERS
from readiness.checks.kind import Question
from readiness.sheetmaking.asked_car import NO_MORE
from readiness.sheetmaking.asking import (
    Asked,
    Known,
    Section,
    headed,
    length,
    name,
    number,
    one_of,
    page,
    words,
)
from readiness.sheetmaking.draft import Draft, Tree
from readiness.sheetmaking.from_sensor import OPEN, SENSOR, in_car_axes

ORIGINS = (
    ("r", "rear_axle", "the rear axle"), ("f", "front_axle", "the front axle"), ("b", "rear_mark", "the rear centre mark"),
    ("m", "front_mark", "the front centre mark"), ("s", SENSOR, "the sensor"),
)  # fmt: skip
ACROSS = (("c", "centre_line", "the centre line"), ("w", "wheel_line", "the middle of the tyre, outwards"))
REASONS = (
    ("m", "metal-free", "metal"), ("n", "nothing between", "anything at all"),
    ("p", "people-free", "people, and what they work at"), ("w", "walking room", "what one bumps into"),
)  # fmt: skip
SHAPES = (
    ("c", "corridor", "a corridor from one place to another"), ("d", "disc", "a circle round a place"),
    ("r", "rectangle", "a rectangle along the car"), ("s", "sector", "a slice of a circle"),
    ("p", "polygon", "corner by corner"),
)  # fmt: skip
STANDS = (("f", "floor", "squaring it to the floor"), ("p", "plumb", "a level or plumb line"))
ALONG = "ahead is positive, behind negative; '1.2 behind' does too"
LEFT = "left is positive, right negative; '0.4 right' does too"
FROM = {value: label for _, value, label in ORIGINS}
PLACES_ABOUT = (
    "Lengths along the car count from the middle of the rear axle unless the document says otherwise: ahead is positive, "
    "behind negative. Across, left is positive. Instead of a sign type a word: 'ahead', 'behind', 'left', 'right'."
)
MIRRORED = " This calibration has two sides: give the left one. The right one is its mirror image and needs no typing; the plan shows both."


def two_sided(draft: Draft, known: Known) -> bool:
    found = known.checklists.get(draft.get("checklist"))
    return found is not None and "right" in found.sides


def about(draft: Draft, known: Known, first: str) -> str:
    return f"{first} {PLACES_ABOUT}{MIRRORED if two_sided(draft, known) else ''}"


def _across(draft: Draft, known: Known) -> str:
    return "outwards on the left side; the right is its mirror image" if two_sided(draft, known) else LEFT


def sensors(draft: Draft, known: Known) -> Section:
    asked: list[Asked] = []
    count = draft.count("sensors")
    for n in range(count):
        at = f"sensors.{n}.at"
        asked += headed(_heading("Sensor", draft.get(f"sensors.{n}.id")), (
            name(f"sensors.{n}.id", "Called"),
            length(f"{at}.x", "Along, from the rear axle", ALONG),
            length(f"{at}.y", "Across, from the centre", _across(draft, known)),
            length(f"{at}.z", "Height over the floor", "of the middle of the sensor"),
        ))  # fmt: skip
    asked += _more(
        f"sensors.{count}.id", "Sensor", count, "as the procedure calls it, such as radar or camera"
    )
    return Section(
        "sensors",
        "Sensors",
        (*asked, page("sensors")),
        about(draft, known, "Where the sensor sits in the car."),
    )


def _more(key: str, label: str, count: int, hint: str) -> tuple[Asked, ...]:
    """The question that begins another entry of a list."""
    another = f"{label} {count + 1}" if count else label
    return headed(
        f"Another {label.lower()}" if count else "", [name(key, another, f"{hint}; {NO_MORE}", optional=True)]
    )


def _heading(what: str, called: str) -> str:
    return f"{what} {called}".strip()


def targets(draft: Draft, known: Known) -> Section:
    asked: list[Asked] = []
    count = draft.count("targets")
    for n in range(count):
        asked += headed(
            _heading("Target", draft.get(f"targets.{n}.id")), _target(draft, known, f"targets.{n}")
        )
    asked += _more(f"targets.{count}.id", "Target", count, "board, reflector or mat, such as reflector")
    if count > 1 and draft.count("sensors") > 1:
        hint = "ids of targets with commas between; Enter: all of them"
        sees = [words(f"sensors.{n}.sees", f"{draft.get(f'sensors.{n}.id')} looks at", hint, optional=True)
                for n in range(draft.count("sensors"))]  # fmt: skip
        asked += headed("Which sensor looks at which target", sees)
    first = "Where the targets stand, as the document gives it: first what its lengths count from, then the lengths."
    return Section("targets", "Targets", (*asked, page("targets")), about(draft, known, first))


def _target(draft: Draft, known: Known, key: str) -> list[Question | Asked]:
    along = draft.get(f"{key}.from.along") or "rear_axle"
    across = draft.get(f"{key}.from.across") or "centre_line"
    of_sensor = along == SENSOR
    asked: list[Question | Asked] = [
        name(f"{key}.id", "Called"),
        Asked(
            one_of(
                f"{key}.from.along",
                "Lengths along count from",
                ORIGINS if draft.count("sensors") else ORIGINS[:-1],
                "Enter: the rear axle",
                optional=True,
            ),
            stands=FROM["rear_axle"],
        ),
    ]
    if not of_sensor:
        across_from = one_of(
            f"{key}.from.across", "Lengths across from", ACROSS, "Enter: the centre line", optional=True
        )
        asked.append(Asked(across_from, stands="the centre line"))
    side = {"wheel_line": "outwards from the tyre; on the left positive"}.get(across, _across(draft, known))
    asked += [
        length(f"{key}.at.x", f"Along, from {FROM[along]}", ALONG),
        length(f"{key}.at.y", "Across, from the sensor" if of_sensor else "Across", LEFT if of_sensor else side),
        length(f"{key}.at.z", "Height of its middle", "over the floor; Enter: it lies on the floor", optional=True),
        *_feet(draft, key, FROM[along]),
        length(f"{key}.tape.front_mark", "Printed: from front mark", "distance on the floor from under the front mark, if the document prints it", optional=True),
        length(f"{key}.tape.rear_mark", "Printed: from rear mark", "distance on the floor from under the rear mark, if the document prints it", optional=True),
        Asked(one_of(f"{key}.stand", "Set upright by", STANDS, "Enter: squared to the floor", optional=True), stands=STANDS[0][2]),
    ]  # fmt: skip
    return asked


def _feet(draft: Draft, key: str, origin: str) -> list[Question | Asked]:
    """Feet count from what the target's lengths count from."""
    asked: list[Question | Asked] = []
    count = draft.count(f"{key}.feet")
    for n in range(count):
        asked += [
            length(f"{key}.feet.{n}.x", f"Foot {n + 1} of the stand, along", f"from {origin}; {ALONG}"),
            length(f"{key}.feet.{n}.y", f"Foot {n + 1}, across", LEFT),
        ]
    hint = f"where a foot touches the floor, from {origin}; {NO_MORE} feet"
    asked.append(
        length(f"{key}.feet.{count}.x", f"Foot {count + 1} of the stand, along", hint, optional=True)
    )
    return asked


def zones(draft: Draft, known: Known) -> Section:
    asked: list[Asked] = []
    count = draft.count("zones")
    for n in range(count):
        asked += headed(_heading("Zone", draft.get(f"zones.{n}.id")), _zone(draft, f"zones.{n}"))
    asked += _more(f"zones.{count}.id", "Zone", count, "a few words, such as line of sight")
    first = "What must be kept clear and of what; where the document draws it, from car, sensor or target."
    return Section("zones", "Keep clear", (*asked, page("zones")), about(draft, known, first))


def _zone(draft: Draft, key: str) -> list[Question | Asked]:
    shape = draft.get(f"{key}.#shape")
    asked: list[Question | Asked] = [
        name(f"{key}.id", "Called"),
        Asked(
            one_of(f"{key}.reason", "What is kept out", REASONS, "Enter: metal", optional=True),
            stands="metal",
        ),
        words(
            f"{key}.#why",
            "Why, in a few words",
            "stands above the zone in the file; Enter leaves it out",
            optional=True,
        ),
        one_of(f"{key}.#shape", "Its shape from above", SHAPES),
        *(_SHAPED[shape](draft, f"{key}.{shape}") if shape in _SHAPED else ()),
    ]
    if shape:
        asked += [
            length(f"{key}.height.high", "Counts up to a height of", "over the floor; Enter: at any height", optional=True),
            *([length(f"{key}.height.low", "and from a height of", "over the floor", default="0 m", optional=True)]
              if draft.get(f"{key}.height.high") else ()),
        ]  # fmt: skip
    return asked


def _point(key: str, label: str, draft: Draft, near: str = "") -> list[Question]:
    """Two lengths from the rear axle and the centre line; `near` is a list whose first place is offered."""
    offered = _first_of(draft, near)
    return [
        length(f"{key}.x", f"{label}, along", f"from the rear axle; {ALONG}", default=offered.get("x", "")),
        length(f"{key}.y", f"{label}, across", f"from the centre line; {LEFT}", default=offered.get("y", "")),
    ]


def _first_of(draft: Draft, things: str) -> Tree:
    """Where the first sensor or target is, as far as that is known in car axes."""
    found: Tree = next(iter(draft.tree.get(things, ())), {})
    if things == "targets":
        found = in_car_axes(found, draft.tree.get("sensors", ()))
    known = (
        OPEN not in found and "along" not in found.get("from", {}) and "across" not in found.get("from", {})
    )
    where: Tree = found.get("at", {}) if known else {}
    return where


def _corridor(draft: Draft, key: str) -> list[Question]:
    return [
        *_point(f"{key}.start", "Begins", draft, "sensors"),
        *_point(f"{key}.end", "Ends", draft, "targets"),
        length(f"{key}.half_width", "To either side of the line", "half of its width"),
    ]


def _disc(draft: Draft, key: str) -> list[Question]:
    return [*_point(f"{key}.at", "Middle", draft, "targets"), length(f"{key}.radius", "Radius")]


def _rectangle(draft: Draft, key: str) -> list[Question]:
    return [
        *_point(f"{key}.corner", "One corner", draft),
        *_point(f"{key}.opposite", "Opposite corner", draft),
    ]


def _sector(draft: Draft, key: str) -> list[Question]:
    turn = "0 is straight ahead, 90 to the left, counterclockwise"
    return [
        *_point(f"{key}.at", "Tip", draft, "sensors"),
        length(f"{key}.radius", "Reaches as far as"),
        number(f"{key}.from", "From the direction", "deg", turn),
        number(f"{key}.to", "to the direction", "deg", turn),
    ]


def _polygon(draft: Draft, key: str) -> list[Question]:
    asked: list[Question] = []
    count = draft.count(key)
    for n in range(min(MOST_CORNERS, count + 1)):
        along, across = _point(f"{key}.{n}", f"Corner {n + 1}", draft)
        if n == count:
            more = NO_MORE if n >= 3 else "three corners at least, in order round it"
            asked.append(length(along.key, along.label, f"{along.hint}; {more}", optional=n >= 3))
        else:
            asked += [along, across]
    return asked


_SHAPED = {
    "corridor": _corridor,
    "disc": _disc,
    "rectangle": _rectangle,
    "sector": _sector,
    "polygon": _polygon,
}
