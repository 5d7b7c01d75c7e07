"""What moves slowly, in words: floors between surveys, and the zero of levels."""

from __future__ import annotations

from collections.abc import Iterator

from readiness import units
from readiness.measure.moved import Moved
from readiness.records.overview.model import FloorDrift, ShopPage, ZeroDrift
from readiness.report.numbers import decimals, spread
from readiness.report.shop_rows import Row, count

FINE = 20.0
"""Of a month's drift nobody wants to know less than this share of the accuracy."""


def floor_rows(page: ShopPage) -> Iterator[Row]:
    for drift in page.floors:
        name = f"{drift.title} ({drift.bay}), {drift.older} to {drift.newer}"
        if drift.found is None:
            yield Row("not compared", f"{name}: {drift.why.rstrip('.')}.", "quiet")
        elif not drift.found.moved:
            yield Row("no change", f"{name}: {_still(page, drift.found)}", "good")
        elif drift.last:
            yield Row(
                "moved", f"{name}: {_moved(page, drift, drift.found)} Look why, and survey it again soon."
            )
        else:
            yield Row("moved slowly", f"{name}: {_moved(page, drift, drift.found)}", "quiet")


def _moved(page: ShopPage, drift: FloorDrift, found: Moved) -> str:
    worst = found.worst
    where = f"{worst.after} ({drift.where})" if drift.where else worst.after
    way = "rose" if worst.rise.value > 0 else "sank"
    least = spread(found.factor * worst.rise.u, "mm", page.system)
    others = sum(c.times_u > found.factor for c in found.changes) - 1
    more = f", and {count(others, 'other place')} moved too" if others else ""
    return (
        f"at place {where} the floor {way} by {_size(page, worst.rise.value)} against the best plane{more}. Chance explains {least} "
        f"at most, at any of the {len(found.changes)} places that both surveys have."
    )


def _still(page: ShopPage, found: Moved) -> str:
    worst = found.worst
    least = spread(found.factor * worst.rise.u, "mm", page.system)
    return (
        f"nothing moved that these surveys could tell, at {len(found.changes)} places; most at place {worst.after}, by "
        f"{_size(page, worst.rise.value)}, where up to {least} may be chance."
    )


def _size(page: ShopPage, value: float) -> str:
    return units.show(abs(value), "mm", page.system)


# --- zeros ---------------------------------------------------------------------------------------

_WORDS = {
    "drifted": ("drifted", "bad"),
    "steady": ("steady", "good"),
    "unsure": ("not sure", "quiet"),
    "few": ("one day", "quiet"),
}


def zero_rows(page: ShopPage) -> Iterator[Row]:
    for drift in page.zeros:
        word, colour = _WORDS[drift.state]
        name = drift.title if drift.title == drift.instrument else f"{drift.title} ({drift.instrument})"
        yield Row(word, f"{name}: {' '.join(_zero(page, drift))}", colour)


def _zero(page: ShopPage, drift: ZeroDrift) -> Iterator[str]:
    first, last = drift.points[0], drift.points[-1]
    if drift.state == "few":
        yield f"zero error {_signed(page, drift, last.value)} on {last.at.date()}; a second day is needed to see a drift."
        return
    yield (
        f"zero error {_signed(page, drift, first.value)} on {first.at.date()} and {_signed(page, drift, last.value)} on "
        f"{last.at.date()}, seen in {len(drift.points)} jobs and surveys."
    )
    if drift.trend is not None:
        step = max(drift.trend.u, (drift.accuracy or 0.0) / FINE)
        slope, low, high = (
            _signed(page, drift, value, step)
            for value in (drift.trend.slope, drift.trend.low, drift.trend.high)
        )
        yield f"The trend is {slope} a month (95 % sure: between {low} and {high})."
    yield _against(page, drift)


def _against(page: ShopPage, drift: ZeroDrift) -> str:
    if drift.accuracy is None:
        return "What accuracy it is stated to have, the shop's file does not say."
    change, stated = (
        spread(abs(v), drift.unit, page.system) or "nothing" for v in (drift.change, drift.accuracy)
    )
    match drift.state:
        case "drifted":
            return (
                f"That is {change} in all, more than its stated accuracy of {stated}: have it adjusted, and until then "
                "read every run both ways round."
            )
        case "unsure":
            return f"That would be {change} in all, more than its stated accuracy of {stated}, but the readings scatter too much to tell."
        case _:
            return f"That is {change} in all; its stated accuracy is {stated}."


def _signed(page: ShopPage, drift: ZeroDrift, value: float, step: float | None = None) -> str:
    """With its sign, and as many digits as show a step of which two are known: usually its accuracy."""
    step = step or drift.accuracy
    digits = decimals(step, drift.unit, page.system) if step else None
    shown = units.show(abs(value), drift.unit, page.system, digits=digits)
    zero = not any(c in "123456789" for c in shown.split()[0])
    return shown if zero else f"{'+' if value > 0 else '−'}{shown}"
