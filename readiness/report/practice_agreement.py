"""How far two people agree in practice, as lines and as data."""

from __future__ import annotations

import math
from typing import Any

from readiness.measure.proportion import MANY, Kappa
from readiness.practice.agreement import Agreement, Compared
from readiness.report.columns import columns
from readiness.report.practice_words import ends
from readiness.report.text import WIDTH, clean, wrapped

WORDS = {"too_close": "too close"}
MEANING = (
    "Kappa (Cohen): 1 is full agreement, 0 what chance alone would bring if each called as often as they did. Two "
    "people who agree can both be wrong: their scores say that."
)


def agreement_lines(found: Agreement) -> list[str]:
    """Everything there is to say of two people."""
    one, other = clean(found.one), clean(found.other)
    if not found.cars:
        return wrapped(
            f"{one} and {other} have no car in common. Set both the same: 'readiness practise --seed 7 --level 2 --as NAME'."
        )
    cars = "1 car" if len(found.cars) == 1 else f"{len(found.cars)} cars"
    return [
        *wrapped(f"{one} and {other}, on {cars} that both met, each for the first time."),
        "",
        *_section("Checks that both called", one, other, found.calls),
        "",
        *_section("Sides, go or no-go", one, other, found.sides),
        "",
        *wrapped(MEANING),
    ]


def _section(title: str, one: str, other: str, found: Compared[Any]) -> list[str]:
    if not found.kappa.calls:
        return [f"{title}: none."]
    same = found.kappa.agreed
    seen = f"{100 * same.hits // same.of} %, may really be {ends(same)}"
    return [
        *wrapped(f"{title}: {found.kappa.calls}, the same call of {found.kappa.same} ({seen})."),
        *_table(one, other, found),
        *wrapped(_kappa_words(found)),
    ]


def _table(one: str, other: str, found: Compared[Any]) -> list[str]:
    names = [WORDS.get(name, name) for name in found.categories]
    rows = [
        [f"  {name}", *(str(n).rjust(len(names[k])) for k, n in enumerate(row))]
        for name, row in zip(names, found.table, strict=True)
    ]
    return [
        *wrapped(f"Down what {one} called, across what {other} did:"),
        *columns([["", *names], *rows], WIDTH),
    ]


def _kappa_words(found: Compared[Any]) -> str:
    kappa = found.kappa
    if kappa.value is None:
        return (
            "No kappa: both made one and the same call throughout, and so many would agree by chance alone. Set cars that "
            "differ more."
        )
    chance = f"by chance it would be {100 * kappa.by_chance:.0f} % the same"
    return f"Kappa {kappa.value:.2f} ({_how_sure(kappa)}; {chance}): {found.word}, in the words of Landis and Koch 1977, from memory."


def _how_sure(kappa: Kappa) -> str:
    interval = kappa.interval
    if interval is not None:
        low, high = (math.floor(100 * interval[0]) / 100, math.ceil(100 * interval[1]) / 100)
        return f"about {low:.2f} to {high:.2f}, 95 times in 100"
    if kappa.calls < MANY:
        return f"fewer than {MANY} calls do not say how sure it is"
    return "every call agrees, so nothing says how sure it is"


def agreement_as_dict(found: Agreement) -> dict[str, Any]:
    """The same for programs."""
    return {
        "one": found.one,
        "other": found.other,
        "cars": [
            {"seed": seed, "level": level, "sheet": sheet, "catalogue": catalogue}
            for seed, level, sheet, catalogue in found.cars
        ],
        "checks": _compared_as_dict(found.calls),
        "sides": _compared_as_dict(found.sides),
    }


def _compared_as_dict(found: Compared[Any]) -> dict[str, Any]:
    kappa, interval = found.kappa, found.kappa.interval
    low, high = kappa.agreed.interval
    return {
        "calls": kappa.calls,
        "same": kappa.same,
        "same_low": round(low, 4),
        "same_high": round(high, 4),
        "by_chance": round(kappa.by_chance, 4) if kappa.calls else None,
        "categories": list(found.categories),
        "table": [list(row) for row in found.table],
        "kappa": None if kappa.value is None else round(kappa.value, 6),
        "kappa_low": None if interval is None else round(interval[0], 4),
        "kappa_high": None if interval is None else round(interval[1], 4),
        "landis_koch": found.word or None,
    }
