"""At the desk, at the battery and at the tester: papers, power, stored faults, instruments, air."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

from msgspec.structs import replace as changed

from readiness.practice.faults.fault import Fault, Planted, at, number, seen_wrong
from readiness.practice.ground import moment
from readiness.practice.world import World

OVERDUE = timedelta(days=40)


def _old_printout(world: World, chance: random.Random, side: str) -> Planted:
    """The document in hand is an issue behind, and one limit has changed since."""
    head, issue = world.sheet.document.reference.rsplit(" ", 1)
    old = f"{head} {max(int(issue) - 1, 0)}"
    sees = (
        f"The printout is {old}. The maker's list on the screen has a newer one, and a limit in it differs from the one that "
        "is shown here."
    )
    place = ("procedure", "", "limits_match")
    return Planted(replace(seen_wrong(world, place, sees), document=old), ("document", "limits_match"))


def _overdue(world: World, chance: random.Random, side: str) -> Planted:
    """The only one of its kind, so that there is none to take instead."""
    tool = world.instruments["multimeter-1"]
    old = changed(tool, due=moment().date() - OVERDUE)
    return Planted(replace(world, instruments={**world.instruments, tool.id: old}), ("supply",))


def _cold_bay(world: World, chance: random.Random, side: str) -> Planted:
    """The tyres are as cold as the bay; their cold pressures are set for that."""
    air = chance.uniform(1.0, 3.0)
    by = air - world.air
    tyres = {w: replace(t, temperature=t.temperature + by) for w, t in world.tyres.items()}
    numbers = {p: air if p[2] == "air" else v for p, v in world.numbers.items()}
    return Planted(replace(world, air=air, tyres=tyres, numbers=numbers), ("air",))


FAULTS = (
    Fault(
        "sister-sheet", "Limits of another variant", "procedure",
        "The sheet's limits were those of the sister model, and the document names another variant.",
        "A car that meets another car's limits may still be outside its own.",
        at("procedure", "limits_match", "With the document open you go down the list: its cover names another variant, and two "
           "of the limits on the screen stand nowhere in it."),
        "unread", 1,
    ),
    Fault(
        "old-printout", "Printout of an older issue", "procedure",
        "The printout on the desk was an issue behind, and one limit had changed since.",
        "The maker changes limits for a reason, and only the current issue tells.",
        _old_printout, "unread", 2,
    ),
    Fault(
        "charger-off", "Battery support off", "power",
        "The support unit was clamped on but not switched on, and the battery fed everything.",
        "A control unit that loses voltage while it writes can be left useless.",
        number("supply", lambda world, chance: chance.uniform(11.9, 12.2)),
        "told", 1,
    ),
    Fault(
        "stored-fault", "Fault stored elsewhere", "faults",
        "Another control unit than the sensor's had an entry stored.",
        "Many systems refuse to calibrate with an entry stored, or throw the result away.",
        at("faults", "stored", "The sensor's own unit is empty; further down the list the tester shows one entry, marked as "
           "sporadic, in the unit of the steering."),
        "not_looked", 2,
    ),
    Fault(
        "overdue-meter", "Instrument out of date", "instruments",
        "The shop's only multimeter was past the date on its label.",
        "Nobody knows how far off a meter reads that has not been compared for longer than it may.",
        _overdue, "", 2,
    ),
    Fault(
        "cold-bay", "Bay too cold", "air",
        "The bay was just above freezing, because the door had stood open.",
        "Sensors and batteries behave otherwise in the cold, and makers give a least temperature.",
        _cold_bay, "", 1,
    ),
)  # fmt: skip
