"""What was found for a bay, in sentences that the page and the screen share.

Room to spare is rounded down and room that is missing up, so that no sentence promises what is not there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from readiness import units
from readiness.bayfit.found import BayFit, Binding, Direction, Fit, Mode
from readiness.bayfit.rank import best
from readiness.checks.words import capital, the
from readiness.job import WHEEL_NAMES, Standing, System

TITLES: dict[Mode, str] = {
    "single": "The calibration",
    "left": "Left side",
    "right": "Right side",
    "in_turn": "Both sides, one after the other",
    "at_once": "Both sides at once",
}
EITHER = "Both sides, one after the other or at once"
"""The title where one place serves for both."""
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
USUAL, OTHER, ACROSS = "the usual way round", "the other way round", "across the bay"
OTHER_AT_LENGTH = "The other way round than usual: where one drives in nose first, back the car in."
WHERE: dict[Direction, str] = {
    "ahead": "where the nose usually points",
    "behind": "where the tail usually points",
    "left": "on the left of a car that stands as usual",
    "right": "on the right of a car that stands as usual",
}
INCH = 0.0254
"""m; exact by definition (international yard and pound agreement, 1959)."""
LONG_IN_INCHES = 36
"""Longer lengths are said in feet and inches."""
TURN_SHOWN = 0.05
"""Degrees of turn that are worth a word."""
PARKED = "Tapes lie on the floor and end where the middle of a wheel comes down on it."
MAKER_FIRST = (
    "The vehicle maker's procedure comes first: zones and limits are those of the sheet, and what the procedure "
    "says of the place counts before this."
)


def answer(found: BayFit, system: System) -> str:
    """One line for the whole bay: the verdict on its best place, or that each side has a place of its own."""
    fit, alone = best(found), {f.mode: f for f in found.fits if f.fits and not f.moved}
    if fit.mode in ("left", "right") and {"left", "right"} <= alone.keys():
        room = to_spare(min(alone["left"].spare, alone["right"].spare), system)
        return f"fits each side, but not both at one place: the car is moved in between; {room}"
    return verdict(fit, system)


def verdict(fit: Fit, system: System, *, alone: bool = True) -> str:
    """One line: 'fits both sides at once, the usual way round, 0.31 m to spare'.

    Not `alone` it stands after what it is about: 'fits, the usual way round, 0.31 m to spare'.
    """
    if not fit.fits:
        between = f" {_between(fit.binding[0])}" if fit.binding else ""
        return f"{NO_PLACE[fit.mode if alone else 'single']}: {short(fit.spare, system)} too little room{between}"
    after = f", with {listed(fit.moved)} moved away" if fit.moved else ""
    way = ACROSS if fit.across else OTHER if fit.turned else USUAL
    room = f", {to_spare(fit.spare, system)}" if fit.spare >= 0 else ""
    return f"{FITS[fit.mode if alone else 'single']}{after}, {way}{room}"


def park(fit: Fit, system: System) -> list[str]:
    """Where to park, a sentence a wheel: 'Left rear wheel: 2345 mm from corner 1, 3120 mm from corner 2.'

    Where the same tapes meet at a second place, a last sentence says on which side the car stands. The bay's own
    marks need no tapes.
    """
    if fit.own_marks:
        return ["Park on the bay's own marks."]
    wheels: dict[str, list[str]] = {}
    for tape in fit.chalk.tapes:
        wheels.setdefault(tape.wheel, []).append(f"{units.tape(tape.length, system)} from {tape.mark}")
    said = [f"{_wheel(name)}: {', '.join(tapes)}." for name, tapes in wheels.items()]
    marks = list(dict.fromkeys(tape.mark for tape in fit.chalk.tapes))
    if fit.chalk.side and len(marks) > 1:
        said.append(f"Both wheels stand to the {fit.chalk.side}, looking from {marks[0]} to {marks[1]}.")
    return said


def way_round(fit: Fit, usual: Standing, system: System) -> str:
    """What is unusual in how the car stands: the other way round, or turned from the bay's own line; else empty."""
    off = turned_by(fit, usual)
    if fit.across:  # told from where the nose usually points: neither way round is the nearer one
        off = 180.0 - (180.0 - (fit.standing.heading - usual.heading)) % 360.0
        return f"It stands across the bay: its nose points {_turn(off, system)} of where it usually points."
    turn = f"Its nose points {_turn(off, system)} of the bay's own line; the tapes see to that."
    return " ".join([OTHER_AT_LENGTH] * fit.turned + [turn] * (abs(off) >= TURN_SHOWN))


def _turn(off: float, system: System) -> str:
    """'3° to the left'; as fine as tapes can lay it out."""
    return f"{units.show(abs(off), 'deg', system, digits=1)} to the {'left' if off > 0 else 'right'}"


def turned_by(fit: Fit, usual: Standing) -> float:
    """Degrees, > 0 to the left, from the bay's own line, either way round; -180 to 180."""
    off = fit.standing.heading - usual.heading - (180.0 if fit.turned else 0.0)
    return (off + 180.0) % 360.0 - 180.0


def closest(fit: Fit, system: System) -> str:
    """What binds first: 'Closest: the zone 'ahead' and the steel shelf, 0.46 m apart, 0.15 m needed.'"""
    if not fit.binding:
        return ""
    first = fit.binding[0]
    away = f"; {_against(first)} can be moved" if first.movable else ""
    return f"Closest: {apart(first, system)}{away}."


def apart(pair: Binding, system: System) -> str:
    """How near a pair comes, and how near it may: 'the car and the lift post, 0.6 m apart, 0.059 m needed'."""
    clear = _gap(abs(pair.clearance), system)
    stands = f"{clear} apart" if pair.clearance >= 0 else f"{clear} into each other"
    needs = f", {_gap(pair.asked, system)} needed" if pair.asked > 0 else ""
    return f"{_what(pair)} and {_against(pair)}, {stands}{needs}"


def needed(fit: Fit, system: System) -> str:
    """What would have to be different: how much longer or wider the place; empty where that is not known."""
    if fit.between_sides is not None and fit.between_sides < 0:
        overlap = short(fit.between_sides, system)
        return f"At any place what the one side needs comes {overlap} too near the other's: do one after the other."
    need = fit.need
    if need is None:
        return ""
    longer = _bigger(need.longer, "longer", need.end, system)
    wider = _bigger(need.wider, "wider", need.hand, system)
    told = ", or ".join(filter(None, (longer, wider)))
    if not told and need.both is not None:
        pairs = zip(need.both, ("longer", "wider"), (need.end, need.hand), strict=True)
        told = " and ".join(_bigger(by, how, where, system) for by, how, where in pairs)
    if not told:
        return "However long and wide the place were, what stands in it would still be in the way."
    return f"Other things as they are, the place would have to be {told}."


def _bigger(by: float | None, how: str, where: Direction | None, system: System) -> str:
    if by is None:
        return ""
    return f"{more(by, system)} {how}" + (f" {WHERE[where]}" if where else "")


def proof(fit: Fit, system: System) -> str:
    """The certificate, for who asks; of the way round that is told, and what the other way would give."""
    bound = _gap(abs(fit.bound), system)
    where, other_way = (USUAL, OTHER)[::-1] if fit.turned else (USUAL, OTHER)
    where = "in this bay" if fit.other_way is None else where
    this = (
        f"no place {where} has more than {bound} to spare"
        if fit.bound >= 0
        else f"every place {where} is short of room by {bound} or more"
    )
    other = "" if fit.other_way is None else f"; {other_way} {_room(fit.other_way, system)} at best"
    return f"{this}{other}."


def on_marks(fit: Fit, system: System) -> str:
    """What the bay's own marks are good for, where that was looked at and they are not the place."""
    return (
        ""
        if fit.own_marks or fit.on_marks is None
        else f"On the bay's own marks: {_room(fit.on_marks, system)}."
    )


def _room(length: float, system: System) -> str:
    return to_spare(length, system) if length >= 0 else f"{short(length, system)} too little room"


def to_spare(length: float, system: System) -> str:
    """'0.31 m to spare', of zero or more; less than a centimetre or an inch is nothing."""
    least = INCH if system == "us" else 0.01
    return f"{spare(length, system)} to spare" if length >= least - 1e-6 else "nothing to spare"


def spare(length: float, system: System) -> str:
    """Room in m, rounded down to the centimetre or inch."""
    if system == "us":
        return _inches(math.floor(length / INCH + 1e-6))
    return units.show(math.floor(length * 100 + 1e-6) / 100, "m", system, digits=2)


def more(length: float, system: System) -> str:
    """A length in m, rounded up to the centimetre or inch."""
    if system == "us":
        return _inches(math.ceil(length / INCH - 1e-6))
    return units.show(math.ceil(length * 100 - 1e-6) / 100, "m", system, digits=2)


def _inches(count: int) -> str:
    feet, rest = divmod(count, 12)
    return f"{count} in" if count <= LONG_IN_INCHES else f"{feet} ft" + (f" {rest} in" if rest else "")


def _gap(length: float, system: System) -> str:
    """A length in m that a person may check with a tape."""
    return units.tape(length, system) if system == "us" else units.show(length, "m", system)


def short(length: float, system: System) -> str:
    """How much room is missing where the spare room in m is negative; never shown as nothing."""
    return more(max(-length, 0.01), system)


def listed(names: Sequence[str]) -> str:
    """'the trolley and the creeper'."""
    said = [the(name) for name in names]
    return " and ".join(filter(None, (", ".join(said[:-1]), said[-1])))


def _between(binding: Binding) -> str:
    return f"between {_what(binding)} and {_against(binding)}"


def _what(binding: Binding) -> str:
    """What of the car's needs it is: 'the car', 'the zone 'ahead' of the left side'."""
    name = f"the zone '{binding.what}'" if binding.zone else binding.what
    return f"{name} of the {binding.side} side" if binding.side else name


def _against(binding: Binding) -> str:
    return binding.against if binding.against.startswith("the ") else the(binding.against)


def _wheel(name: str) -> str:
    """'Left rear wheel' of 'lr'; a name in words stays."""
    words = f"{WHEEL_NAMES[name]} wheel" if name in WHEEL_NAMES else name
    return capital(words)
