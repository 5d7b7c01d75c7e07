"""What must make sense in the shop's own files, beyond being of the right type.

RULES look at a whole value of a structure, TEXTS at names in any mapping that should become one;
both note mistakes at their places in the file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from readiness import job, units
from readiness.checklist.bay_rules import BAY_RULES, marks_named
from readiness.checklist.mistakes import listed, near, shown
from readiness.checklist.nodes import Text
from readiness.checklist.shapes import SHAPE_RULES
from readiness.checklist.sheet_rules import SHEET_RULES
from readiness.checklist.spot import Spot
from readiness.checklist.survey_rules import SURVEY_RULES
from readiness.checklist.walk import Rules, Texts

_SLUG = re.compile(r"[a-z0-9][a-z0-9_-]{0,63}")


def good_id(spot: Spot) -> None:
    """An id is a word that is safe in file names and on command lines."""
    if spot.text and not _SLUG.fullmatch(spot.text):
        spot.wrong(shown(spot.text), "an id of small letters, digits, '-' and '_', 64 at most")


def unique(spots: Iterator[Spot], key: str = "") -> None:
    """No two entries of a list share the text (under `key`)."""
    lines: dict[str, int] = {}
    for entry in spots:
        spot = entry.at(key) if key else entry
        if not spot.text:
            continue
        if spot.text in lines:
            found = f"{shown(spot.text)} again, first in line {lines[spot.text]}"
            spot.wrong(found, f"each {key or 'entry'} once")
        lines.setdefault(spot.text, spot.node.line)


def not_blank(spot: Spot, *keys: str) -> None:
    """These keys, where given, hold more than spaces."""
    for key in keys:
        here = spot.at(key)
        if here.text and not here.text.strip():
            here.wrong("nothing", "text")


def _instrument(spot: Spot) -> None:
    good_id(spot.at("id"))
    not_blank(spot, "title")
    measures = spot.at("measures")
    if not measures.text:
        return
    if measures.text not in units.MEASURES:
        hint = near(measures.text, units.MEASURES)
        measures.wrong(shown(measures.text), f"one of {listed(units.MEASURES)}", hint)
        return
    for key in ("accuracy", "resolution"):
        here = spot.at(key)
        if here.text:
            _readable(here.text, measures.text, here)
    if spot.at("division").text:
        _division(spot.at("division"), measures.text)


def _signing(spot: Spot) -> None:
    for key in ("key", "signers"):
        here = spot.at(key)
        if spot.has(key) and isinstance(here.node, Text) and not here.text.strip():
            here.wrong("nothing", "the path of a file")


def _division(spot: Spot, measures: str) -> None:
    """What one division of a level's vial stands for."""
    if measures not in ("slope", "angle"):
        spot.wrong(
            f"{shown(spot.text)} of a tool for {measures}",
            "a division only of a level's vial (slope or angle)",
        )
        return
    try:
        one = units.parse_written(spot.text, "mm/m")
        if one > 0:
            units.undivided("1 div", spot.text)
    except units.UnitsError as error:
        expected = "what one division of the vial stands for, such as '0.3 mm/m' or '60 arcsec'"
        spot.wrong(shown(spot.text), expected, str(error))
        return
    if one <= 0:
        spot.wrong(shown(spot.text), "more than zero")


def _readable(text: str, measures: str, spot: Spot) -> None:
    unit = units.MEASURES[measures]
    try:
        half_width = units.accuracy(text, unit, 1.0)
    except units.UnitsError as error:
        spot.wrong(shown(text), f"a {measures} such as '1 {unit}', or a share such as '1 %'", str(error))
        return
    if half_width <= 0:
        spot.wrong(shown(text), "more than zero")


ALTITUDES = (-430.0, 5500.0)
"""m; from the shore of the Dead Sea to the highest towns (from memory). Beyond it is a slip of sign or unit."""


def _altitude(value: job.Shop, spot: Spot) -> None:
    low, high = ALTITUDES
    here = spot.at("altitude")
    if not low <= value.altitude <= high:
        here.wrong(shown(here.text), f"an altitude from {low:g} to {high:g} m")


RULES: Rules = {
    job.Shop: _altitude,
    **SHEET_RULES,
    **SURVEY_RULES,
    **SHAPE_RULES,
    **BAY_RULES,
}


def _texts(
    *,
    ids: tuple[str, ...] = (),
    filled: tuple[str, ...] = (),
    once: dict[str, str] | None = None,
    also: Callable[[Spot], None] | None = None,
) -> Callable[[Spot], None]:
    """Looks at a mapping: keys that hold ids, that must not be blank, lists that repeat nothing."""

    def look(spot: Spot) -> None:
        for key in ids:
            good_id(spot.at(key))
        not_blank(spot, *filled)
        for key, name in (once or {}).items():
            unique(spot.at(key).items(), name)
        if also is not None:
            also(spot)

    return look


TEXTS: Texts = {
    job.Shop: _texts(filled=("shop",), once={"people": ""}),
    job.Signing: _signing,
    job.Instruments: _texts(once={"instruments": "id"}),
    job.Instrument: _instrument,
    job.Bay: _texts(
        ids=("bay",), filled=("title",), once={"obstacles": "name", "marks": "name"}, also=marks_named
    ),
    job.Mark: _texts(filled=("name",)),
    job.Obstacle: _texts(filled=("name",)),
    job.Survey: _texts(ids=("survey", "bay"), filled=("by", "instrument"), once={"points": "name"}),
    job.SurveyPoint: _texts(filled=("name",)),
    job.Sheet: _texts(
        ids=("sheet",), filled=("title", "car"), once={"sensors": "id", "targets": "id", "zones": "id"}
    ),
    job.Load: _texts(once={"carried": "name", "stations": "name"}),
    job.Zone: _texts(ids=("id",)),
    job.Sensor: _texts(ids=("id",), once={"sees": ""}),
    job.Target: _texts(ids=("id",)),
    job.Result: _texts(ids=("key",), filled=("label", "message")),
}
