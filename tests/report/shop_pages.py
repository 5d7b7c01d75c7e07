"""Pages of invented shops, made by hand: of a full one, of an empty one, and of one whose every word is some text."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from readiness.measure.moved import Change, Moved
from readiness.measure.trend import trend
from readiness.measure.uncertain import Estimate
from readiness.records.overview.model import (
    BayDue,
    Bays,
    FloorDrift,
    Jobs,
    Lacking,
    Reason,
    Reasons,
    SheetDue,
    Sheets,
    ShopPage,
    ToolDue,
    Tools,
    WrongPart,
    ZeroDrift,
    ZeroPoint,
)

AT = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
DAY = date(2026, 3, 1)
EMPTY = ShopPage(
    "Invented shop", "metric", AT, 30, 8, 3, Tools(), Bays(), Sheets(), Jobs(), Reasons(), (), ()
)  # fmt: skip


def moved(ratio: float, place: str = "E1") -> Moved:
    """A floor whose worst place is so many times what chance explains: 3 mm at most there."""
    worst = Change(place, place, Estimate(-3.0 * ratio, 1.0))
    return Moved((worst, *(Change(f"P{n}", f"P{n}", Estimate(0.1, 1.0)) for n in range(9))), 3.0)


def zero(state: str, text: str = "", *, few: bool = False) -> ZeroDrift:
    values = (0.1, 0.3, 0.5, 0.75)
    points = tuple(
        ZeroPoint(AT - timedelta(days=90 * (3 - n)), value, text or f"J-{n}", 1)
        for n, value in enumerate(values)
    )
    line = None if few else trend((0, 3, 6, 9), values)
    return ZeroDrift(
        text or "level-1", text or "Digital level", "mm/m", 0.5, points[:1] if few else points, line, 0.65,
        state,  # type: ignore[arg-type]
    )  # fmt: skip


def full(text: str = "") -> ShopPage:
    """Something in every place; with `text` it stands wherever people write."""

    def said(usual: str) -> str:
        return text or usual

    bays = tuple(
        BayDue(said("bay-1"), said("Bay 1"), why, DAY, DAY, -5, said("It does not count."))
        for why in ("never", "past", "soon", "to come", "tool", "unfit", "unread")
    )
    sheets = tuple(
        SheetDue(said("estate"), said("Invented estate"), why, said("INV-1"), DAY, DAY, 400, said("INV-2"),
                 (said("J-1"),) * 6, said("estate.yaml: a mistake\nanother"))
        for why in ("older", "other document", "long ago", "never", "to come", "unread")
    )  # fmt: skip
    ids = tuple(said(f"J-{n}") for n in range(12))
    return ShopPage(
        said("Invented shop"), "metric", AT, 30, 8, 3,
        Tools(
            (ToolDue(said("lux-2"), said("Old lux meter"), "illuminance", DAY, -200),),
            (ToolDue(said("gauge-3"), said("Pencil gauge"), "pressure", DAY, 0),
             ToolDue(said("gauge-4"), said("Pencil gauge"), "pressure", DAY, 1)),
            3, (Lacking("illuminance", (said("Light"), said("Shade")), (said("front_radar"),)),
                Lacking("pressure", (said("tyre pressure"),), (said("front_radar"),), said("5 kPa"))),
        ),
        Bays(bays, 1), Sheets(sheets, 1),
        Jobs(1234, 40, ids, ids[:1], ids[:2], ids[:3], ids[:1]),
        Reasons(32, 20, (Reason(said("Tyres"), 14, 9, 3), Reason("Light", 5, 0, 5), Reason("Floor", 1, 1, 0)),
                (WrongPart(said("Tyres"), said("Left rear, cold"), 9),)),
        (FloorDrift(said("bay-1"), said("Bay 1"), DAY, DAY, moved(1.5, said("E1")), said("left front wheel")),
         FloorDrift(said("bay-2"), said("Bay 2"), DAY, DAY, moved(0.5, said("E1"))),
         FloorDrift(said("bay-3"), said("Bay 3"), DAY, DAY, why=said("they have 2 places in common")),
         FloorDrift(said("bay-4"), said("Bay 4"), DAY, DAY, moved(2.0, said("E1")), last=False)),
        (zero("drifted", text), zero("steady", text), zero("unsure", text), zero("few", text, few=True)),
    )  # fmt: skip
