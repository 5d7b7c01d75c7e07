"""What people type -> quantities.

A quantity is a float in a canonical unit: kPa, degC, delta_degC, mm, m, um, mm/m, deg, lx, V, L, kg, N/mm,
min, kg/m**3, fraction, count or '' (a plain number). Typed numbers stay exact fractions up to the canonical
value: each is rounded once on its way in, to a float, and once on its way out, to the digits shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from readiness.units.names import (
    KINDS,
    MEASURES,
    SHOWN,
    SPELT,
    between,
    compatible,
    convert,
    dimension,
    exact,
    linear,
    name_of,
    noun_of,
    prepare,
    same,
)
from readiness.units.showing import System, entry_unit, show
from readiness.units.typed import Entry, UnitsError, clean, plain, read, with_unit

__all__ = [
    "MEASURES", "UnitsError", "accuracy", "compatible", "convert", "parse", "parse_written", "prepare", "unit_of",
]  # fmt: skip

_ABSOLUTE_ZERO = -273.15


# --- reading what was typed ----------------------------------------------------------------------


def parse(
    text: str,
    unit: str,
    *,
    system: System = "metric",
    low: float | None = None,
    high: float | None = None,
    name: str = "",
    explain: Callable[[float], str] | None = None,
) -> float:
    """The value of typed text in canonical `unit`; a bare number means `entry_unit(unit, system)`.

    `low` and `high` bound the plausible, in `unit`; a 'fraction' given neither lies from 0 to 1. `name` is
    the field in sentences. `explain` may say better, from the value, why it is not plausible.
    Raises UnitsError with one sentence for a person.
    """
    field = _field(unit, system, low, high, name)
    entry = field.read(text)
    value = field.value(entry)
    if entry.grouped and field.could_be(read(entry.text.replace(",", ""))):
        raise UnitsError(
            f"'{entry.text}' has a comma that may be a decimal or a thousands mark; "
            "write a point for decimals and no thousands mark."
        )
    if not field.plausible(value):
        raise UnitsError((explain(value) if explain else "") or field.implausible(entry))
    return value


def parse_written(text: str, unit: str) -> float:
    """The value in canonical `unit` of a quantity in a file, which must carry its unit.

    Plain numbers stand alone only for 'fraction', 'count' and ''. Raises UnitsError.
    """
    if entry_unit(unit) and _field(unit).read(text).bare:
        bare, words = clean(text), dict.fromkeys((entry_unit(unit), entry_unit(unit, "us")))
        such = " or ".join(f"'{bare} {word}'" for word in words)
        raise UnitsError(f"'{bare}' has no unit; write the one it is in, such as {such}.")
    return parse(text, unit)


@lru_cache(maxsize=512)
def unit_of(text: str) -> str:
    """The canonical unit that a written quantity is kept in: 'deg' of '2.5 °', 'mm' of '1 in', '' of a plain number.

    A share is a 'fraction'. Raises UnitsError for what is no quantity.
    """
    entry = _field("").read(text)
    if entry.bare:
        return ""
    name = "mm_per_m" if entry.run is not None else name_of(entry.terms[0].word, "fraction")
    word = SHOWN.get(name, "")
    kinds = [u for u in KINDS if word in (KINDS[u].metric, KINDS[u].us)]  # most are found by their word alone
    kinds += [*(u for u in KINDS if word in KINDS[u].common), *KINDS]
    found = next((unit for unit in kinds if linear(name, name_of(unit))), None)
    if found is None:
        raise UnitsError(f"'{clean(text)}' is in a unit that nothing is kept in here.")
    return found


@lru_cache(maxsize=512)
def _field(
    unit: str, system: System = "metric", low: float | None = None, high: float | None = None, name: str = ""
) -> _Field:
    if unit == "fraction" and low is None and high is None:
        low, high = 0.0, 1.0
    if name[1:2].islower():  # 'Left front: tread' in the middle of a sentence
        name = name[0].lower() + name[1:].replace(": ", " ")
    return _Field(unit, system, low, high, name)


class _Field(NamedTuple):
    """A place that wants one quantity: reads an entry for it, and words what is wrong with one."""

    unit: str
    system: System
    low: float | None
    high: float | None
    name: str

    @property
    def wants(self) -> str:
        kind = KINDS[self.unit]
        return (
            f"{self.name or 'this'} wants {kind.noun}, such as {show(self.example, self.unit, self.system)}"
        )

    @property
    def example(self) -> float:
        """The usual one of its kind, or the middle of what is plausible: no tread is 381 mm."""
        usual = KINDS[self.unit].example
        if self.plausible(usual) or self.low is None or self.high is None:
            return usual
        return (self.low + self.high) / 2

    def read(self, text: str) -> Entry:
        cleaned = clean(text)
        if not cleaned:
            raise UnitsError(f"Nothing was typed; {self.wants}.")
        return read(cleaned)

    def name_of(self, word: str) -> str:
        """The registry's name of a typed unit word; of the unit beside the field for none."""
        try:
            return name_of(word or entry_unit(self.unit, self.system) or self.unit, self.unit)
        except UnitsError:
            raise UnitsError(f"'{word}' is not a unit known here{self._near(word)}") from None

    def _near(self, word: str) -> str:
        import difflib

        mine = [w.casefold() for w in KINDS[self.unit].common]
        others = [w for w in SPELT if len(w) > 1]
        close = difflib.get_close_matches
        found = close(word.casefold(), mine, 1, 0.5) or close(word.casefold(), others, 1, 0.6)
        return f": did you mean {SHOWN[SPELT[found[0]]]}?" if found else f"; {self.wants}."

    def value(self, entry: Entry) -> float:
        """The entry in the canonical unit, rounded once. Raises UnitsError."""
        names = _arcs([self.name_of(term.word) for term in entry.terms])
        sign = -1 if entry.negative else 1
        if entry.run is not None:
            return self._canonical(sign * self._rise_over_run(entry, names), "mm_per_m", entry)
        if len(names) == 1:
            return self._canonical(sign * entry.terms[0].number, names[0], entry)
        for name in names:
            self._check_kind(name, entry)
        return self._canonical(sign * _compound(entry, names), names[0], entry)

    def _check_kind(self, name: str, entry: Entry) -> None:
        if not same(name, name_of(self.unit)):
            raise UnitsError(f"{entry.text} is {noun_of(name)}; {self.wants}.")

    def _canonical(self, amount: Fraction, name: str, entry: Entry) -> float:
        """`amount` in a unit of the registry -> the canonical unit."""
        self._check_kind(name, entry)
        target = name_of(self.unit)
        if linear(name, target):
            scale, offset = exact(name, target)
            value = float(amount * scale + offset)
        else:
            value = between(name, target)(float(amount))
            if dimension(name) == "[angle]" and abs(between(name, "degree")(float(amount))) >= 90:
                raise UnitsError(f"{entry.text} is upright or beyond; {self.wants}.")
        if self.unit == "degC" and value < _ABSOLUTE_ZERO:
            raise UnitsError(f"{entry.text} is colder than anything can be; {self.wants}.")
        return value + 0.0  # no negative zero

    def _rise_over_run(self, entry: Entry, names: list[str]) -> Fraction:
        """Slope in mm/m of an entry such as '1/4 in per 10 ft'."""
        assert entry.run is not None
        run_name = self.name_of(entry.run.word)
        for name in (*names, run_name):
            if not same(name, "meter"):
                raise UnitsError(f"{entry.text} is not a length per length; {self.wants}.")
        rise = _compound(entry, names) * exact(names[0], "meter")[0]
        run = entry.run.number * exact(run_name, "meter")[0]
        if run == 0:
            raise UnitsError(f"'{entry.text}' is a rise over no length; {self.wants}.")
        return 1000 * rise / run

    # -- the plausible

    def plausible(self, value: float) -> bool:
        """Whether `value`, in the canonical unit, lies within the bounds."""
        slack = 1e-9 * abs(value)  # a bound converted there and back is still the bound
        above = self.low is None or value >= self.low - slack
        return above and (self.high is None or value <= self.high + slack)

    def implausible(self, entry: Entry) -> str:
        """The sentence for a value out of bounds: what was understood, what is plausible, what may be meant."""
        single = len(entry.terms) == 1 and entry.run is None
        term = entry.terms[0]
        name = self.name_of(term.word if single else "")
        word = SHOWN.get(name.removeprefix("delta_"), "")
        number = (-1 if entry.negative else 1) * term.number
        said = with_unit(plain(number), word) if single else entry.text
        meant = self._meant(number, term.word, word, entry) if single else []
        tail = f": did you mean {' or '.join(meant)}?" if meant else "."
        return f"{said} is not plausible{' for ' + self.name if self.name else ''} ({self._range(name, word)}){tail}"

    def _range(self, name: str, word: str) -> str:
        to_typed = between(name_of(self.unit), name)
        low, high = (None if b is None else plain(to_typed(b), 4) for b in (self.low, self.high))
        if low is None or high is None:
            return with_unit(f"at least {low}" if high is None else f"at most {high}", word)
        return with_unit(f"{low} to {high}", word)

    def _meant(self, number: Fraction, typed: str, word: str, entry: Entry) -> list[str]:
        """Near misses that would be plausible: a slipped decimal mark, another unit; at most two."""
        slips = [(number * by, word) for by in (Fraction(1, 10), 10, 100, Fraction(1, 100))]
        others = [(number, w) for w in KINDS[self.unit].common if w != word]
        slip = [t for t in slips if self._would_do(*t, entry)][:1]
        other = [t for t in others if self._would_do(*t, entry)]
        found = (slip or other[:1]) if typed else (other + slip)
        meant: dict[float, str] = {}
        for amount, unit in found:
            value = self._canonical(amount, self.name_of(unit), entry)
            if not any(math.isclose(value, v) for v in meant):
                meant[value] = with_unit(plain(amount), unit)
        return list(meant.values())[:2]

    def could_be(self, entry: Entry) -> bool:
        """Whether another reading of what was typed would be accepted."""
        try:
            return self.plausible(self.value(entry))
        except UnitsError:
            return False

    def _would_do(self, amount: Fraction, word: str, entry: Entry) -> bool:
        try:
            return self.plausible(self._canonical(amount, self.name_of(word), entry))
        except UnitsError:
            return False


def _arcs(names: list[str]) -> list[str]:
    """After degrees, ' and " are minutes and seconds of arc, not feet and inches."""
    if names[:1] != ["degree"]:
        return names
    return [{"foot": "arcminute", "inch": "arcsecond"}.get(name, name) for name in names]


def _compound(entry: Entry, names: list[str]) -> Fraction:
    """Several terms in the unit of the first: '6 ft 2 in'. Whole numbers, each unit smaller than the last."""
    total, room = entry.terms[0].number, Fraction(1)
    fine = len(names) == 1 or noun_of(names[0]) in ("a length", "a time", "an angle")
    for before, term, name in zip(entry.terms, entry.terms[1:], names[1:], strict=False):
        fine = fine and linear(name, names[0]) and before.number.denominator == 1
        if not fine:
            break
        part = term.number * exact(name, names[0])[0]
        fine = exact(name, names[0])[0] < room and part < room
        total, room = total + part, exact(name, names[0])[0]
    if not fine:
        raise UnitsError(
            f"'{entry.text}' holds more than one number; write one, or a compound such as 6 ft 2 in."
        )
    return total


# --- accuracy ------------------------------------------------------------------------------------


def accuracy(text: str, unit: str, reading: float) -> float:
    """An instrument's accuracy or resolution as a half width in `unit` (a difference, for degC).

    '3 kPa' converts; '5 %' is a share of |reading|, except for 'mm/m' and 'fraction', where % is a unit;
    '1 % + 2 mm' is the sum of both. Raises UnitsError.
    """
    width, share = _accuracy(text, unit)
    return width + share * abs(reading)


@lru_cache(maxsize=512)
def _accuracy(text: str, unit: str) -> tuple[float, float]:
    """The constant part in `unit`, and the share of the reading."""
    within = "delta_degC" if unit == "degC" else unit
    width = share = 0.0
    for part in clean(text).replace("+/-", "±").split("+"):
        bare = part.strip().removeprefix("±").strip()
        if bare.endswith("%") and unit not in ("mm/m", "fraction"):
            share += parse(bare, "fraction", low=0.0, high=1.0, name="an accuracy")
            continue
        value = parse_written(bare, within)
        if value < 0:
            raise UnitsError(
                f"'{clean(text)}' is negative; an accuracy is a half width, such as 3 kPa or 5 %."
            )
        width += value
    return width, share


def completed(text: str, unit: str) -> str:
    """A bare number with the unit that stood beside it as it was typed; any other text as it is."""
    try:
        bare = read(clean(text)).bare
    except UnitsError:
        return text
    return f"{text.strip()} {unit}".strip() if bare else text
