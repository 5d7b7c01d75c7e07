"""The head of a file of answers: what must be right before the answers themselves can be looked at."""

from __future__ import annotations

from collections.abc import Collection
from typing import get_args

from readiness.checklist.mistakes import listed, near, one_of, shown
from readiness.checklist.nodes import Text
from readiness.checklist.walk import Spot
from readiness.job import Side
from readiness.records.journal import JournalError, check_name
from readiness.records.shop import ShopFolder


def judge_head(spot: Spot, folder: ShopFolder) -> bool:
    """Notes what the file names wrongly; whether its sheet, bay and sides are enough to go on with."""
    number = spot.at("answers")
    try:
        check_name(number.text or "missing")
    except JournalError as error:
        number.wrong(shown(number.text), "a job's number", str(error))
    sheet = known_or_wrong(spot.at("sheet"), folder.sheets, "sheet")
    bay = known_or_wrong(spot.at("bay"), folder.bays, "bay")
    for measure, here in spot.at("instruments").entries():
        there = known_or_wrong(here, folder.instruments, "instrument")
        if there and folder.instruments[here.text].measures != measure.text:
            here.wrong(shown(here.text), f"an instrument that measures {measure.text}")
    return sheet and bay and _sides(spot.at("sides"), folder, spot.at("sheet").text)


def known_or_wrong(spot: Spot, known: Collection[str], what: str) -> bool:
    """Whether the text is one of these; what is missing or no text is told by its type already."""
    if spot.text in known:
        return True
    if isinstance(spot.node, Text) and spot.text:
        spot.wrong(shown(spot.text), one_of(known, what), near(spot.text, known))
    return False


def _sides(spot: Spot, folder: ShopFolder, sheet: str) -> bool:
    allowed = folder.checklist(folder.sheets[sheet].checklist, f"The sheet {sheet}").sides
    sides = list(spot.items())
    words = [side for side in sides if side.text in get_args(Side)]
    good = [known_or_wrong(side, allowed, "side") for side in words]
    if len(words) < len(sides) or not all(good):
        return False
    if sides and len({side.text for side in sides}) == len(sides):
        return True
    if not isinstance(spot.node, Text):
        spot.wrong("no side, or one twice", f"some of {listed(allowed)}")
    return False
