"""What a file of answers says beside its answers: its head, which must be right first, and what was set aside."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import get_args

from readiness.checklist.mistakes import listed, near, one_of, shown
from readiness.checklist.model import Check
from readiness.checklist.nodes import Text
from readiness.checklist.spot import Spot
from readiness.checklist.walk import nothing
from readiness.checks.finding import no_reason, not_to_be_set_aside
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


def judge_waivers(spot: Spot, checks: Mapping[str, Check]) -> None:
    """Notes what was set aside that nobody may set aside, without a reason, or by nobody."""
    for here in spot.at("not_applicable").items() if spot.has("not_applicable") else ():
        check, reason = here.at("check"), here.at("reason")
        barred = not_to_be_set_aside(checks[check.text]) if check.text in checks else ""
        if barred:
            check.wrong(shown(check.text), "a check that may be set aside", barred)
        given = here.has("reason") and isinstance(reason.node, Text) and not nothing(reason.node)
        why = no_reason(reason.text) if given else ""
        if why:
            reason.wrong(shown(reason.text), "why it is set aside", why)
        by = here.at("by") if here.has("by") and here.at("by").text else spot.at("by")
        if isinstance(by.node, Text) and not nothing(by.node) and not by.text.strip():
            by.wrong("nobody", "the name of who sets it aside")


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
