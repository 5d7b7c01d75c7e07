"""Clear area: how far everything in the bay stands from the sheet's keep-clear zones, in plan.

Zones are drawn in car axes for the left side and mirrored for the right. What stands in the bay comes
from the bay's file; the technician's own kit and anything else is asked. Each zone counts what its reason keeps
out (see `zones.keeps_out`). Touching counts as in.

Where things stand is asked once for the car (the answers are shared), and judged for each side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import ClassVar

from msgspec import Struct

from readiness import units
from readiness.checks import place
from readiness.checks.car import car_outline
from readiness.checks.clear_area.clearances import Pair, details, pair_part, pairs_of
from readiness.checks.clear_area.edge import edge_parts
from readiness.checks.clear_area.movable import ask_movable, moved_parts, still_there
from readiness.checks.clear_area.moves import Asked, least_move, still_of
from readiness.checks.clear_area.own import (
    MOST_OTHERS,
    NOTHING,
    OUT,
    Kit,
    Told,
    ask_kit,
    ask_others,
    others,
    told_things,
)
from readiness.checks.clear_area.people import ask_people, people_parts
from readiness.checks.clear_area.placing import CAR, TAPES, Unplaced, way_of
from readiness.checks.clear_area.plan_view import bay_outline, plan_view, reach
from readiness.checks.clear_area.things import Thing, bay_things
from readiness.checks.clear_area.zones import keeps_out, zone_name, zones_of
from readiness.checks.common import name_problems
from readiness.checks.kind import WORST_FIRST, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part
from readiness.checks.picture import FOOT, Line, Picture
from readiness.checks.place import Where, where
from readiness.checks.source import Source
from readiness.checks.words import capital, the
from readiness.job import Metre
from readiness.measure.overlap import XY
from readiness.measure.plan import Area

KIND = "clear_area"

NEAREST = 4
"""Things that get a part of their own in each zone; the rest stand farther off."""

POOR_U = 0.05
"""m; a place by two tapes that is known worse than this could be known better; common practice, no published source."""
FLAT = "Tapes that meet nearer to a right angle would tell more."


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `clear_area`."""

    margin: Metre
    """Least clearance between a thing and a zone."""
    kit: tuple[Kit, ...] = ()
    """The technician's own kit, asked one by one."""

    WORDS: ClassVar[dict[str, str]] = {"margin": "everything at least {} clear of the zones"}

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        for field, found, expected in name_problems("kit", [k.name for k in self.kit]):
            yield f"{field}.name", found, expected
        for n, k in enumerate(self.kit, 1):
            for size in ("radius", "height"):
                if not getattr(k, size) > 0:
                    yield f"kit[{n}].{size}", f"{getattr(k, size):g} m", "more than zero"
        if self.margin < 0:
            yield "margin", f"{self.margin:g} m", "zero or more"


def ask(scene: Scene, limits: Limits) -> list[Question]:
    far = f"farther than {reach(scene, limits.margin)} from car and target"
    movable = ask_movable(scene, bay_things(scene.bay, scene.once(where)))
    return [*ask_kit(scene, limits.kit, far), *movable, *ask_others(scene, far), *ask_people(scene)]


def judge(scene: Scene, limits: Limits) -> Judgement:
    stands = scene.once(where)
    told = told_things(scene, limits.kit)
    listed = bay_things(scene.bay, stands)
    of_bay = still_there(scene, listed)
    mine = [t.found for t in told if isinstance(t.found, Thing)]
    if not scene.sheet.zones:
        picture = _picture(scene, told, [*mine, *of_bay], [], frozenset())
        return Judgement((_no_zones(scene),), picture=picture)
    zones = zones_of(scene.sheet.zones, scene.side)
    pairs = pairs_of(zones, mine if stands.missing else [*mine, *of_bay], limits.margin, scene.factor)
    remedies = _remedies(scene, limits, pairs, of_bay)
    worst = {t.key: next((p for p in pairs if p.thing.key == t.key), None) for t in told}
    shown, notes = _by_zone(scene, [p for p in pairs if p is not worst.get(p.thing.key)], pairs)
    edge = [] if stands.missing else list(edge_parts(scene, stands))
    parts = [
        *(_own_part(scene, limits, t, worst[t.key], remedies) for t in told),
        *moved_parts(scene, listed),
        _other_part(scene),
        *(pair_part(scene, limits.margin, p, remedies.get(p.thing.key, "")) for p in shown),
        *edge,
        *people_parts(scene),
        *_place_parts(stands),
    ]
    parts.sort(key=_urgency)
    out = frozenset(p.key.removesuffix("/bay") for p in edge)
    picture = _picture(scene, told, [*mine, *of_bay], pairs, out)
    words = (*(() if stands.missing else notes), *_steel_notes(told))
    plan = (Source("the bay's plan"),) if of_bay and not stands.missing else ()
    return Judgement(tuple(parts), words, picture, tuple(details(scene, pairs)), _until(scene), plan)


# --- parts ---------------------------------------------------------------------------------------


def _own_part(scene: Scene, limits: Limits, told: Told, worst: Pair | None, remedies: dict[str, str]) -> Part:
    """The part of a thing that was asked for: its worst clearance, if it matters to any zone."""
    label = capital(told.name)
    if told.found is None:
        reason = f"{label} is outside the area."
        return Part(told.key, label, "pass", reason, OUT, readings=told.said.readings)
    if isinstance(told.found, Unplaced):
        return _unplaced_part(told.key, label, told.found)
    readings = (*told.said.readings, *told.found.readings)
    if worst is not None:
        part = pair_part(scene, limits.margin, worst, remedies.get(told.key, ""))
        if part.outcome == "too_close" and worst.u > POOR_U and way_of(scene, told.key) == TAPES:
            part = replace(part, reason=f"{part.reason} {FLAT}")
        return replace(part, key=told.key, label=label, readings=readings)
    why = _harmless(scene, told.found)
    return Part(told.key, label, "pass", f"{label} {why}, so it does not matter.", readings=readings)


def _unplaced_part(key: str, label: str, found: Unplaced) -> Part:
    if not found.why:
        return missing_part(key, label, *found.answers)
    readings = tuple(r for a in found.answers for r in a.readings)
    return Part(key, label, "not_done", f"{label}: {found.why}", remedy=found.remedy, readings=readings)


def _harmless(scene: Scene, thing: Thing) -> str:
    """Why a thing matters to no zone."""
    if not any(keeps_out(zone, thing.metal, thing.people) for zone in scene.sheet.zones):
        return "is not metal" if thing.metal == "no" else "is nothing that a zone keeps out"
    return "lies below or above the zones"


def _other_part(scene: Scene) -> Part:
    key, label = "other", "Other things near"
    named = [n for n, _ in others(scene)]
    answers = [scene.answer(k, shared=True) for k in ("other", *(f"other.{n}.more" for n in named))]
    if not all(a.ready for a in answers):
        return missing_part(key, label, *answers)
    readings = tuple(r for a in answers for r in a.readings)
    if answers[-1].word != NOTHING:
        reason = f"There is more to name, and {MOST_OTHERS} things are the most taken here."
        remedy = "Clear the area, then answer this step again."
        return Part(key, label, "not_done", reason, remedy=remedy, readings=readings)
    reason = f"All other things near are named: {len(named)}." if named else "Nothing else stands near."
    return Part(key, label, "pass", reason, answers[0].word, readings=readings)


def _no_zones(scene: Scene) -> Part:
    return Part(
        "zones", "Keep-clear zones", "not_done",
        f"Sheet {scene.sheet.sheet} has no keep-clear zones (field 'zones'), so nothing can be judged.",
        remedy="Enter the zones of the maker's procedure under 'zones' in the sheet.",
    )  # fmt: skip


def _by_zone(scene: Scene, rest: list[Pair], pairs: list[Pair]) -> tuple[list[Pair], tuple[str, ...]]:
    """The worst of each zone among the pairs that have no part yet, and notes on those left out."""
    shown: list[Pair] = []
    notes = []
    for zone in scene.sheet.zones:
        here = [p for p in rest if p.zone is zone]
        shown += here[:NEAREST]
        if left := here[NEAREST:]:
            clear = scene.show(min(p.clear for p in left), "m")
            one = len(left) == 1
            count, at = ("1 more stands", "at") if one else (f"{len(left)} more stand", "none nearer than")
            notes.append(f"{count} farther from {zone_name(zone)}, {at} {clear}.")
        if not any(p.zone is zone for p in pairs):
            notes.append(f"Nothing that matters to {zone_name(zone)} is known to stand here.")
    return shown, tuple(notes)


def _steel_notes(told: Sequence[Told]) -> tuple[str, ...]:
    """What belongs into the bay's file."""
    names = [t.name for t in told if isinstance(t.found, Thing) and t.found.fixed]
    if not names:
        return ()
    return (
        f"Put {' and '.join(map(the, names))} into the bay's file, so that nobody has to tell of it again.",
    )


def _place_parts(stands: Where) -> list[Part]:
    """Before it is known where the car stands, nothing is known of the bay's things."""
    if not stands.missing:
        return []
    part = missing_part("place", "Where the car stands", *stands.missing)
    return [replace(part, remedy=stands.why, readings=())]


def _urgency(part: Part) -> tuple[int, float]:
    """Worst outcome first, then the smallest clearance."""
    return WORST_FIRST.index(part.outcome), math.inf if part.margin is None else part.margin


# --- what to do ----------------------------------------------------------------------------------


def _remedies(scene: Scene, limits: Limits, pairs: list[Pair], of_bay: list[Thing]) -> dict[str, str]:
    """What to do with each thing that does not pass, by its key."""
    wrong = {p.thing.key: p.thing for p in pairs if p.call != "pass"}
    return {key: _remedy(scene, limits, thing, of_bay) for key, thing in wrong.items()}


def _remedy(scene: Scene, limits: Limits, thing: Thing, of_bay: list[Thing]) -> str:
    name = the(thing.name)
    if thing.fixed:
        return f"{capital(name)} is fixed: choose another place or bay for the car."
    move = _least_move(scene, limits, thing, of_bay)
    if move is None:
        return f"Take {name} out of the area, then say so here."
    then = "say here that it was moved" if thing.of_bay else "enter its place again"
    return f"Move {name} at least {_steps(scene, move)}, as the car faces, or take it out of the area, then {then}."


def _least_move(scene: Scene, limits: Limits, thing: Thing, of_bay: list[Thing]) -> XY | None:
    """Clear of the zones of all sides of the job; if no move is, of this side's."""
    standing = scene.once(where).standing
    sides = dict.fromkeys((scene.side, *(scene.job.sides if scene.check.per_side else ())))
    bare = replace(thing, readings=())
    for asked_sides in dict.fromkeys((tuple(sides), (scene.side,))):
        zones = tuple(z for side in asked_sides for z in zones_of(scene.sheet.zones, side))
        asked = Asked(
            zones, limits.margin, scene.factor, Area(car_outline(scene.sheet).points),
            Area(bay_outline(scene.bay.outline, standing)), still_of(of_bay, thing),
            FOOT / 12.0 if scene.shop.units == "us" else 0.01,
        )  # fmt: skip
        move = least_move(bare, asked)
        if move is not None:
            return move
    return None


def _steps(scene: Scene, move: XY) -> str:
    """A move as the car faces: '0.3 m forward and 0.45 m to the left'."""
    words = (("forward", "backward"), ("to the left", "to the right"))
    system = scene.shop.units
    steps = (
        f"{units.tape(abs(by), system) if system == 'us' else scene.show(abs(by), 'm')} {ahead if by > 0 else back}"
        for by, (ahead, back) in zip(move, words, strict=True)
        if by
    )
    return " and ".join(steps)


# --- beside the parts ----------------------------------------------------------------------------


def _until(scene: Scene) -> datetime | None:
    """When what tells where the car stands lapses."""
    beside = scene.beside(place.KIND)
    if beside is None:
        return None
    held = timedelta(minutes=beside.check.hold)
    return min((r.at + held for r in scene.once(where).readings), default=None)


def _picture(
    scene: Scene, told: Sequence[Told], things: list[Thing], pairs: list[Pair], out: frozenset[str]
) -> Picture:
    wrong = [p for p in pairs if p.call != "pass"]
    marked = out.union(k for p in wrong for k in (p.zone.id, p.thing.key))
    plan = plan_view(
        scene.sheet, scene.bay, scene.once(where).standing, (scene.side,), things, marked,
        notes=_notes(scene, pairs), corners=_from_bay(scene, told), system=scene.shop.units,
    )  # fmt: skip
    if not pairs:
        return plan
    tightest = min(pairs, key=lambda p: p.clear)
    line = Line("clearance", tightest.gap, scene.show(tightest.clear, "m"), tightest.call != "pass",
                f"{capital(tightest.thing.name)} and {tightest.zone.id}")  # fmt: skip
    return (*plan, line)


def _notes(scene: Scene, pairs: list[Pair]) -> dict[str, str]:
    """Of each zone the thing that is worst for it, and of each thing the zone."""
    first: dict[str, Pair] = {}
    for p in pairs:
        first.setdefault(p.thing.key, p)
        first.setdefault(p.zone.id, p)
    notes = {}
    for key, p in first.items():
        stands = f"{scene.show(abs(p.clear), 'm')} {'clear of' if p.clear > 0 else 'into'}"
        notes[key] = (
            f"{stands} {p.zone.id}" if key == p.thing.key else f"{capital(p.thing.name)}: {stands} it"
        )
    return notes


def _from_bay(scene: Scene, told: Sequence[Told]) -> bool:
    """Whether a place is measured from somewhere else than the car, so that the bay's corners need their numbers."""
    return any(way_of(scene, t.key) != CAR for t in told)
