"""What must make sense in the results that a sheet asks for, beyond being of the right type."""

from __future__ import annotations

from readiness import job, units
from readiness.checklist.mistakes import shown
from readiness.checklist.model import Checklist
from readiness.checklist.results import span
from readiness.checklist.spot import Spot
from readiness.checklist.walk import Rules

COMPLETED = "completed"
"""Key of the question that stands for the messages of a sheet that names none."""
SUCH = "a quantity with its unit such as '2.5 °', or a plain number of a count"
ONE_WAY = "low, high or both; or within; or message"


def result_rule(value: job.Result, spot: Spot) -> None:
    """One way to say what is good, and a range that something can lie in."""
    ways = _ways(value)
    if not ways:
        spot.wrong("no range and no message", ONE_WAY)
    elif len(ways) > 1:
        spot.at(ways[1]).wrong(f"{ways[1]} beside {ways[0]}", ONE_WAY)
    elif ways == ["range"]:
        _range(value, spot)
    elif ways == ["within"]:
        _within(value, spot)


def _ways(value: job.Result) -> list[str]:
    """How it says what is good; 'low' or 'high' stands for a range that comes beside another way."""
    ends = [key for key in ("low", "high") if getattr(value, key) is not None]
    others = [key for key in ("within", "message") if getattr(value, key) is not None]
    if not ends:
        return others
    return [ends[0], *others] if others else ["range"]


def _range(value: job.Result, spot: Spot) -> None:
    """Both ends are of one kind, and in order."""
    ends = [key for key in ("low", "high") if getattr(value, key) is not None]
    readable = [_readable(getattr(value, key), spot.at(key)) for key in ends]
    if not all(readable):
        return
    try:
        low, high = span(value)[1:]
    except units.UnitsError as error:
        spot.at("high").wrong(shown(spot.at("high").text), "the kind of quantity that low is", str(error))
        return
    if low is not None and high is not None and low > high:
        spot.at("high").wrong(
            shown(spot.at("high").text), f"not less than low ({shown(spot.at('low').text)})"
        )


def _within(value: job.Result, spot: Spot) -> None:
    here = spot.at("within")
    if not _readable(value.within or "", here):
        return
    high = span(value).high
    if high is not None and high <= 0:
        here.wrong(shown(here.text), "more than zero: how far it may be off, either way")


def _readable(text: str, spot: Spot) -> bool:
    try:
        units.parse_written(text, units.unit_of(text))
    except units.UnitsError as error:
        spot.wrong(shown(text) if text.strip() else "nothing", SUCH, str(error))
        return False
    return True


def results_agree(sheet: job.Sheet, spot: Spot) -> None:
    """Each key once on a side, and none that the program asks under itself."""
    taken: dict[tuple[str, str], int] = {}
    asks_completed = all(r.message is None for r in sheet.results)
    for result, here in zip(sheet.results, spot.at("results").items(), strict=True):
        key = here.at("key")
        if asks_completed and result.key == COMPLETED:
            key.wrong(shown(result.key), f"another key: '{COMPLETED}' asks whether the tester was content")
        sides = [result.side] if result.side else ["left", "right"]
        first = next((taken[result.key, side] for side in sides if (result.key, side) in taken), None)
        if first is not None:
            key.wrong(f"{shown(result.key)} again, first in line {first}", "each key once on a side")
        taken |= {(result.key, side): key.node.line for side in sides}


def results_asked(checklist: Checklist, spot: Spot) -> None:
    """What a sheet gives as results is asked for by its checklist, on that side. `spot`: the sheet's results."""
    if not checklist.closing:
        found = f"results, which the checklist {shown(checklist.checklist)} does not ask for"
        spot.wrong(found, "none, or a checklist with steps under closing")
    for here in spot.items():
        side = here.at("side")
        if side.text in ("left", "right") and side.text not in checklist.sides:
            side.wrong(shown(side.text), f"no side, as the checklist {shown(checklist.checklist)} knows none")


RESULT_RULES: Rules = {job.Result: result_rule}
