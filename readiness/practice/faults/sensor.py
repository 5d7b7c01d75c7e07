"""At the sensor and at the target: brackets, covers, glass, housings, boards."""

from __future__ import annotations

from readiness.practice.faults.fault import Fault, at, number

TERN, PIPIT, GODWIT, DUNLIN = (
    ("tern-rear-corner",),
    ("pipit-front",),
    ("godwit-camera",),
    ("dunlin-surround",),
)

FAULTS = (
    Fault(
        "bent-bracket", "Bracket bent", "bracket",
        "The bracket was bent by more than is allowed.",
        "Calibration corrects a small error only, and a bent bracket uses that up before you begin.",
        number("tilt", lambda world, chance: chance.choice((-1.0, 1.0)) * chance.uniform(2.1, 3.0)),
        "", 1, TERN,
    ),
    Fault(
        "bent-front-bracket", "Bracket bent", "bracket",
        "The radar's bracket leaned by more than is allowed.",
        "At the nose one degree is nearly two metres at a hundred metres.",
        number("upright", lambda world, chance: chance.choice((-1.0, 1.0)) * chance.uniform(1.5, 2.4)),
        "", 1, PIPIT,
    ),
    Fault(
        "thick-paint", "Paint and filler over the radar", "bracket",
        "The cover had been filled and painted twice, just where the radar looks through.",
        "Thick paint swallows part of the beam and bends the rest.",
        number("paint", lambda world, chance: chance.uniform(360.0, 620.0)),
        "one_for_all", 2, TERN,
    ),
    Fault(
        "welded-cover", "Cover repaired", "cover",
        "The cover had been welded on the inside and looked whole from outside.",
        "A patch in its way bends the beam as thick glass bends what you see.",
        at("cover", "whole", "Outside it shines; inside your finger feels a ridge of welded plastic, just before the radar."),
        "not_looked", 2, TERN,
    ),
    Fault(
        "sticker", "Sticker before the radar", "cover",
        "A metallic sticker sat on the cover before the radar.",
        "Metal foil is a mirror to a radar.",
        at("cover", "bare", "Low on the corner of the cover shines a sticker with a silvery foil."),
        "not_looked", 1, TERN,
    ),
    Fault(
        "copied-emblem", "Emblem of another make", "cover",
        "The emblem was a chromed copy and not the part made for a radar.",
        "The chrome shuts the radar's eye, or bends what it sees.",
        at("cover", "right_part", "There is no maker's number on its back, and the chrome of the front is real metal."),
        "not_looked", 2, PIPIT,
    ),
    Fault(
        "plate-holder", "Plate holder before the radar", "cover",
        "The holder of the number plate reached over the lower edge of the radar's window.",
        "What stands before the radar echoes or bends its beam.",
        at("cover", "bare", "The new plate holder reaches a finger's width over the lower edge of the emblem."),
        "not_looked", 1, PIPIT,
    ),
    Fault(
        "wrong-glass", "Glass not for a camera", "glass",
        "The new windscreen was one without the camera's window.",
        "The camera looks through the glass as through spectacles, and other glass bends the picture.",
        at("glass", "allowed", "The number on the invoice stands in the maker's list for the van without a camera."),
        "not_looked", 1, GODWIT,
    ),
    Fault(
        "soft-adhesive", "Adhesive not cured", "glass",
        "The windscreen was set an hour ago, and its adhesive asks for more in today's air.",
        "Glass that still sinks takes the camera with it, after you have calibrated.",
        at("glass", "cured", "The invoice says that the glass was set an hour ago; the tube asks for six hours at today's air."),
        "told", 2, GODWIT,
    ),
    Fault(
        "folded-mirror", "Mirror not at its stop", "housings",
        "The right mirror had been folded out by hand and stood short of its stop.",
        "The camera in it looks at another piece of floor, and the picture gets a step.",
        at("housings", "right", "The lens shines and the housing is tight; pressed outwards, the mirror clicks on by a little."),
        "not_looked", 2, DUNLIN,
    ),
    Fault(
        "loose-camera", "Rear camera loose", "housings",
        "The rear camera's housing had lost a clip and gave way to a finger.",
        "A camera that moves in its seat will not look tomorrow where it looks today.",
        at("housings", "rear", "The lens shines; under your finger the housing gives way and springs back."),
        "not_looked", 1, DUNLIN,
    ),
    Fault(
        "wrong-target", "Another car's target", "target_kit",
        "The target was that of another car, which fits the same stand.",
        "The sensor learns from what it knows the target to look like.",
        at("target_kit", "right_kind", "The number on it differs in its last digit from the one that the procedure prints."),
        "unread", 1,
    ),
    Fault(
        "rocking-stand", "Stand rocks", "target_kit",
        "One foot of the stand was loose, and the target rocked.",
        "Nobody knows where a target stands that moves when somebody walks by.",
        at("target_kit", "sound", "Pushed with one finger, the stand tips to its third foot and back."),
        "not_looked", 1, (*TERN, *PIPIT, *GODWIT),
    ),
    Fault(
        "wavy-mat", "Mat with a wave", "target_kit",
        "One mat came from the cold van and still had a wave in it.",
        "From the side a wave changes the size of the pattern.",
        at("target_kit", "flat", "Your hand finds a long wave in the mat that came out of the van last."),
        "not_looked", 1, DUNLIN,
    ),
)  # fmt: skip
