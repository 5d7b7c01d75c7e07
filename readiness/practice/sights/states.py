"""States as they have to be, in words that do not say whether that is so. Those of faults stand with the faults."""

from __future__ import annotations

from readiness.practice.sights.spot import Found, Spot, State

GOOD: dict[str, dict[str, str]] = {
    "closed": {
        "steering": "The rim of the steering wheel stands level, and both front wheels look straight ahead.",
        "brake": "The brake lever is pulled, and the red lamp on the dash is lit.",
        "suspension": "The display shows the mode that the procedure names; nothing hums under the car.",
        "ignition": "The dash is lit as the procedure shows it, and the engine is off.",
        "boot": "The boot lid is flush, with an even gap all round.",
        "bonnet": "The bonnet lies flush and does not lift at its edge.",
        "doors": "Every door is flush with its neighbour, all windows are up, the roof is closed.",
        "empty": "All seats are empty; your colleague stands at the bench.",
    },
    "faults": {"stored": "The tester has asked every control unit and lists no entry."},
    "cover": {
        "whole": "Outside and inside the part is one smooth skin, without a seam or a crack.",
        "clean": "Your cloth stays clean and dry when you wipe over it.",
        "bare": "Nothing sticks to it or stands in front of it.",
        "right_part": "The number on its back is the one in the maker's list for a car with radar.",
    },
    "glass": {
        "allowed": "The mark in the corner and the number on the invoice are in the maker's list.",
        "cured": "The glass was never out, says the car's history, and the adhesive bead is old and hard.",
        "clear": "Through the camera's window you see no chip, no crack and nothing stuck on.",
        "clean": "In the mirror under the cover the glass shines clear inside and out, and is dry.",
        "seated": "The camera does not move in its bracket, and the cover sits on its clips.",
    },
    "housings": {
        "left": "The lens shines, the housing does not give way, and the mirror is at its stop.",
        "rear": "The lens shines, and the housing does not give way.",
        "right": "The lens shines, the housing does not give way, and the mirror is at its stop.",
        "front": "The lens shines, and the housing does not give way.",
        "original": "Mirrors, grille and tailgate carry the maker's part numbers, their rims unpainted.",
    },
    "target_kit": {
        "right_kind": "The number on it is the one that the procedure prints.",
        "sound": "It is straight and clean, and the stand does not rock when you push it with a finger.",
        "flat": "They lie flat under your hand, without a wave or a stain.",
    },
}  # fmt: skip
"""Check -> question -> what one sees where nothing is wrong."""


def states(spot: Spot) -> Found:
    item = next(i for i in spot.world.check(spot.check).limits.items if i.key == spot.key)
    good = GOOD.get(spot.check, {}).get(
        spot.key, f"{item.label}: you look, and find it as the procedure has it."
    )
    return spot.state(good, item.wanted, "no" if item.wanted == "yes" else "yes")


def procedure(spot: Spot) -> Found:
    document = spot.world.document
    if spot.key == "document":
        return State(f"On the first page of what lies on the desk it says {document}.", document, document)
    return spot.state(
        "With the document open you go down the list: each limit and each dimension on the screen stands there, and so does "
        "the variant of the car."
    )
