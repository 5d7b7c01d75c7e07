"""Readings in divisions of a vial -> the slope or angle that they stand for."""

from __future__ import annotations

from fractions import Fraction

from readiness.units.typed import Entry, UnitsError, clean, read

DIVISIONS = frozenset({"div", "divs", "division", "divisions"})


def undivided(text: str, division: str) -> str:
    """'2.5 div' as so many times what one division stands for: '0.3 mm/m' makes it '3/4 mm/m'.

    The number stays exact, and an angle stays an angle, so that the tangent is taken of the whole. Any other
    text is returned as it is. Raises UnitsError where there is no `division`, the sensitivity of the vial.
    """
    entry = _in_divisions(text)
    if entry is None:
        return text
    if not division:
        raise UnitsError(
            f"'{entry.text}' needs the sensitivity of the level's vial: write what one division stands for in "
            "instruments.yaml, such as division: 0.3 mm/m, or enter the slope in mm/m."
        )
    one = read(clean(division))
    if len(one.terms) != 1 or one.negative:
        raise UnitsError(f"'{one.text}' is no sensitivity of a vial; write one number, such as 0.3 mm/m.")
    amount = entry.terms[0].number * one.terms[0].number
    run = "" if one.run is None else f" per {_exact(one.run.number)} {one.run.word}"
    return f"{'-' if entry.negative else ''}{_exact(amount)} {one.terms[0].word}{run}"


def in_divisions(text: str) -> bool:
    """Whether a reading was typed in divisions of a vial."""
    return _in_divisions(text) is not None


def _in_divisions(text: str) -> Entry | None:
    try:
        entry = read(clean(text))
    except UnitsError:
        return None  # whoever reads it as a quantity says what is wrong with it
    single = len(entry.terms) == 1 and entry.run is None
    return entry if single and entry.terms[0].word.casefold() in DIVISIONS else None


def _exact(number: Fraction) -> str:
    return f"{number.numerator}/{number.denominator}"
