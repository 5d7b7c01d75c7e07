"""What was found for a bay, in sentences that the page and the screen share.

Room to spare is rounded down and room that is missing up, so that no sentence promises what is not there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from readiness import units
from readiness.bayfit.found import Binding, Fit, Mode, Need
from readiness.bayfit.rank import takes
from readiness.job import WHEEL_NAMES, Standing, System

TITLES: dict[Mode, str] = {
    "single": "The calibration",
    "left": "Left side",
    "right": "Right side",
    "in_turn": "Both sides, one after the other",
    "at_once": "Both sides at once",
}
FITS: dict[Mode, str] = {
    "single": "fits",
    "left": "fits the left side",
    "right": "fits the right side",
    "in_turn": "fits both sides one after the other",
    "at_once": "fits both sides at once",
}
NO_PLACE: dict[Mode, str] = {
    "single": "no place",
    "left": "no place for the left side",
    "right": "no place for the right side",
    "in_turn": "no place for both sides, one after the other",
    "at_once": "no place for both sides at once",
}
USUAL, OTHER = "the usual way round", "the other way round"
OTHER_AT_LENGTH = "The other way round than usual: where one drives in nose first, back the car in."
TURN_SHOWN = 0.05
"""Degrees of turn that are worth a word."""
PARKED = "Tapes lie on the floor and end where the middle of a wheel comes down on it."
MAKER_FIRST = (
    "The vehicle maker's procedure comes first: zones and limits are those of the sheet, and what the procedure "
    "says of the place counts before this."
)


def verdict(fit: Fit, system: System, *, alone: bool = True) -> str:
    """One line: 'fits both sides at once, the usual way round, 0.31 m to spare'.

    Not `alone` it stands after what it is about: 'fits, the usual way round, 0.31 m to spare'.
    """
    if not takes(fit):
        between = f" {_between(fit.binding[0])}" if fit.binding else ""
        return f"{NO_PLACE[fit.mode if alone else 'single']}: {short(fit.spare, system)} too little room{between}"
    after = f" once {listed(fit.moved)} {'is' if len(fit.moved) == 1 else 'are'} moved" if fit.moved else ""
    way = OTHER if fit.turned else USUAL
    room = f", {spare(fit.spare, system)} to spare" if fit.spare >= 0 else ""
    return f"{FITS[fit.mode if alone else 'single']}{after}, {way}{room}"


def park(fit: Fit, system: System) -> list[str]:
    """Where to park, a sentence a wheel: 'Left rear wheel: 2345 mm from corner 1, 3120 mm from corner 2.'"""
    wheels: dict[str, list[str]] = {}
    for tape in fit.chalk.tapes:
        wheels.setdefault(tape.wheel, []).append(f"{units.tape(tape.length, system)} from {tape.mark}")
    return [f"{_wheel(name)}: {', '.join(tapes)}." for name, tapes in wheels.items()]


def way_round(fit: Fit, usual: Standing, system: System) -> str:
    """What is unusual in how the car stands: the other way round, or turned from the bay's own line; else empty."""
    off = turned_by(fit, usual)
    size, hand = units.show(abs(off), "deg", system), "left" if off > 0 else "right"
    turn = f"Its nose points {size} to the {hand} of the bay's own line; the tapes see to that."
    return " ".join([OTHER_AT_LENGTH] * fit.turned + [turn] * (abs(off) >= TURN_SHOWN))


def turned_by(fit: Fit, usual: Standing) -> float:
    """Degrees, > 0 to the left, from the bay's own line, either way round; -180 to 180."""
    off = fit.standing.heading - usual.heading - (180.0 if fit.turned else 0.0)
    return (off + 180.0) % 360.0 - 180.0


def closest(fit: Fit, system: System) -> str:
    """What binds first: 'Closest: zone-a and steel shelf, 0.46 m apart, 0.15 m asked.'"""
    if not fit.binding:
        return ""
    first = fit.binding[0]
    gap = units.show(abs(first.clearance), "m", system)
    apart = f"{gap} apart" if first.clearance >= 0 else f"{gap} into each other"
    asked = f", {units.show(first.asked, 'm', system)} asked" if first.asked > 0 else ""
    return f"Closest: {first.what} and {first.against}, {apart}{asked}."


def move_first(fit: Fit) -> str:
    return f"Move first: {listed(fit.moved)}." if fit.moved else ""


def needed(need: Need | None, system: System) -> str:
    """How much longer or wider the place would have to be; empty where that is not known."""
    if need is None:
        return ""
    alone = [
        f"{more(by, system)} {how}"
        for by, how in ((need.longer, "longer"), (need.wider, "wider"))
        if by is not None
    ]
    if alone:
        return f"Other things as they are, the place would have to be {', or '.join(alone)}."
    if need.both is not None:
        longer, wider = (more(by, system) for by in need.both)
        return f"Other things as they are, the place would have to be {longer} longer and {wider} wider."
    return "However long and wide the place were, what stands in it would still be in the way."


def proof(fit: Fit, system: System) -> str:
    """The certificate, for who asks."""
    bound = units.show(abs(fit.bound), "m", system)
    if fit.bound < 0:
        return f"every place in this bay is short of room by {bound} or more."
    return f"no place in this bay has more than {bound} to spare."


def spare(length: float, system: System) -> str:
    """Room in m, rounded down to the centimetre."""
    return units.show(math.floor(length * 100 + 1e-6) / 100, "m", system, digits=2)


def more(length: float, system: System) -> str:
    """A length in m, rounded up to the centimetre."""
    return units.show(math.ceil(length * 100 - 1e-6) / 100, "m", system, digits=2)


def short(length: float, system: System) -> str:
    """How much room is missing where the spare room in m is negative; never shown as nothing."""
    return more(max(-length, 0.01), system)


def listed(names: Sequence[str]) -> str:
    """'the trolley and the creeper'."""
    said = [f"the {name}" for name in names]
    return " and ".join(filter(None, (", ".join(said[:-1]), said[-1])))


def _between(binding: Binding) -> str:
    return f"between {binding.what} and {binding.against}"


def _wheel(name: str) -> str:
    """'Left rear wheel' of 'lr'; a name in words stays."""
    words = f"{WHEEL_NAMES[name]} wheel" if name in WHEEL_NAMES else name
    return words[:1].upper() + words[1:]
