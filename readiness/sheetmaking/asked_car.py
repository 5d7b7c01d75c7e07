"""What is asked of the document, the car, what is in it, how it sits, and which calibration it is."""

from __future__ import annotations

from readiness.sheetmaking.asking import (
    Asked,
    Known,
    Section,
    day,
    headed,
    id_of,
    length,
    name,
    number,
    one_of,
    page,
    plain,
    words,
)
from readiness.sheetmaking.draft import Draft

POWERTRAINS = (
    ("p", "petrol", "petrol"),
    ("d", "diesel", "diesel"),
    ("h", "hybrid", "hybrid"),
    ("e", "electric", "electric"),
)
NO_MORE = "Enter alone: no more"


def document(draft: Draft, known: Known) -> Section:
    asked = plain(
        words("document.reference", "Document, with its issue", "number and issue, as printed on its first page"),
        day("document.issued", "Issued on", "the date printed on it, such as 2026-03-31; Enter if there is none", optional=True),
        words("#found", "Where it is found", "the portal, folder or binder in which you look it up; Enter leaves it out", optional=True),
        day("document.checked", "Compared with it on", "the day on which these numbers were compared with the document",
            default=known.today.isoformat(), optional=True),
    )  # fmt: skip
    return Section("document", "Document", asked, (
        "Every number that follows comes from the vehicle maker's procedure, and a go names it. Use the issue that is in "
        "force today: limits and positions change from issue to issue."
    ))  # fmt: skip


def car(draft: Draft, known: Known) -> Section:
    sizes = (
        length("dimensions.wheelbase", "Wheelbase", "from the middle of one axle to the other"),
        length("dimensions.track_front", "Track, front", "from the middle of one front tyre to the other"),
        length("dimensions.track_rear", "Track, rear", "from the middle of one rear tyre to the other"),
        length("dimensions.length", "Length", "over everything"),
        length("dimensions.width", "Width", "without the mirrors"),
        length(
            "dimensions.front_overhang",
            "Front overhang",
            "from the middle of the front axle to the foremost point",
        ),
    )
    tyres = (
        words("placard.size.front", "Tyre size, front", "with load index and speed letter if given, such as 215/60 R17 96H"),
        words("placard.size.rear", "Tyre size, rear", "Enter: the same as in front", default=draft.get("placard.size.front")),
        number("placard.pressure.front", "Cold pressure, front", "kPa", "for the load that the procedure asks for; type the unit if it is another"),
        number("placard.pressure.rear", "Cold pressure, rear", "kPa", "for the same load"),
    )  # fmt: skip
    asked = (
        *plain(words("car", "Car, as the shop calls it"), one_of("powertrain", "It runs on", POWERTRAINS)),
        *headed("Size", sizes),
        *headed("Placard", tyres),
        page("car"),
    )
    return Section("car", "Car", asked, (
        "The placard is on the door post, the fuel flap or in the handbook. Where it gives pressures for several loads, "
        "take the one that the procedure asks for. From the dimensions follow where the wheels stand and what the plan shows."
    ))  # fmt: skip


def load(draft: Draft, known: Known) -> Section:
    kinds = (("p", "petrol", "petrol"), ("d", "diesel", "diesel"), ("n", "none", "none"))
    fitting = {"electric": "none", "hybrid": "petrol"}.get(draft.get("powertrain"), draft.get("powertrain"))
    fuel = [one_of("fuel.kind", "Fuel in the tank", kinds, default=fitting)]
    if draft.get("fuel.kind") not in ("", "none"):
        fuel += [
            number("fuel.tank", "Tank holds", "L"),
            length("fuel.tank_at", "Middle of the tank", "from the rear axle; ahead of it is positive"),
            number("fuel.level", "Fuel that is asked for", "fraction", "a part of the tank: 1/1 is full, 3/4, 90 %", default="1/1"),
        ]  # fmt: skip
    asked = (
        *headed("Fuel", fuel),
        *_listed(draft, "load.carried"),
        *_listed(draft, "load.stations"),
        page("load"),
    )
    return Section("load", "Fuel, load", asked, (
        "The procedure says how much fuel and what else has to be in the car: spare wheel, tools, ballast. Lengths count "
        "from the middle of the rear axle, ahead of it positive; behind it type -0.6, or '0.6 behind'."
    ))  # fmt: skip


_LISTS = {
    "load.carried": (
        "Carried in the car",
        "Carried",
        "something that has to be in the car, such as the spare wheel",
    ),
    "load.stations": ("Places for ballast", "Place", "where things lie or ballast can go, such as the boot"),
}


def _listed(draft: Draft, key: str) -> tuple[Asked, ...]:
    heading, label, hint = _LISTS[key]
    asked: list[Asked] = []
    for n in range(draft.count(key)):
        asked += plain(words(f"{key}.{n}.name", f"{label} {n + 1}", hint))
        if key == "load.carried":
            asked += plain(number(f"{key}.{n}.mass", "  its mass", "kg"))
        asked += plain(
            length(
                f"{key}.{n}.x", "  from the rear axle", "ahead of the axle is positive, behind it negative"
            )
        )
    n = draft.count(key)
    more = words(f"{key}.{n}.name", f"{label} {n + 1}", f"{hint}; {NO_MORE}", optional=True)
    return headed(heading, [*asked, Asked(more)])


def stance(draft: Draft, known: Known) -> Section:
    kinds = (
        ("h", "hub_to_arch", "from the hub to the arch"),
        ("f", "floor_to_arch", "from the floor to the arch"),
    )
    heights = [
        one_of(
            "ride_heights.kind",
            "Ride heights are given",
            kinds,
            "Enter if the document gives none",
            optional=True,
        )
    ]
    if draft.get("ride_heights.kind"):
        heights += [
            number("ride_heights.front", "Ride height, front", "mm"),
            number("ride_heights.rear", "Ride height, rear", "mm"),
        ]
    asked = (
        *headed("Ride heights", heights),
        *_pair(draft, "axle_loads", "Axle load", "kg", "what the axle carries in the procedure's load; Enter if it is not given"),
        *_pair(draft, "springs", "Spring rate", "N/mm", "at one wheel; Enter if it is not given"),
        *plain(Asked(one_of("self_levelling", "Suspension levels itself",
                            (("n", "none", "no"), ("r", "rear", "at the rear"), ("a", "all", "all round")), "Enter: no", optional=True),
                     stands="no")),
        *headed("Centre marks", (
            length("marks.front", "Front mark", "from the rear axle to the middle of the emblem, or what the document names"),
            length("marks.rear", "Rear mark", "from the rear axle; behind it is negative"),
            Asked(one_of("refers_to", "Directions count from", (("m", "marks", "the centre marks"), ("t", "thrust_line", "the thrust line")),
                         "Enter: the centre marks", optional=True), stands="the centre marks"),
        )),
        page("stance"),
    )  # fmt: skip
    return Section("stance", "Heights", asked, (
        "How the body has to sit, and the marks to which the centre line is laid out. What the document does not give is "
        "passed with Enter; nothing is put in its place."
    ))  # fmt: skip


def _pair(draft: Draft, key: str, label: str, unit: str, hint: str) -> tuple[Asked, ...]:
    asked = [number(f"{key}.front", f"{label}, front", unit, hint, optional=True)]
    if draft.get(f"{key}.front"):
        asked.append(number(f"{key}.rear", f"{label}, rear", unit))
    return plain(*asked)


def calibration(draft: Draft, known: Known) -> Section:
    keys = "123456789abcdefghijklmnopqrstuvwxyz"
    lists = [(k, name_, c.title) for k, (name_, c) in zip(keys, known.checklists.items(), strict=False)]
    chosen = known.checklists.get(draft.get("checklist"))
    short = chosen.title.partition(",")[0] if chosen else ""
    of = f", {short[:1].lower()}{short[1:]}"
    title = f"{draft.get('car')}{of}".strip(", ")
    asked = plain(
        one_of("checklist", "Which calibration", lists),
        words("title", "Title of the sheet", default=title),
        name(
            "sheet",
            "Its id",
            "a short word that jobs name; the file gets this name",
            default=_free(id_of(title), known),
        ),
        words("note", "Note", "a sentence for whoever uses the sheet; Enter leaves it out", optional=True),
    )
    return Section("calibration", "Calibration", asked, (
        "The calibration decides which checklist goes with the sheet: what is checked before it, and on which sides."
    ))  # fmt: skip


def _free(wanted: str, known: Known) -> str:
    """An id that no sheet of the shop has."""
    found, n = wanted[:60], 2
    while found in known.taken:
        found, n = f"{wanted[:56]}-{n}", n + 1
    return found
