"""Texts of a file -> values of the wanted type, or why not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

import msgspec.inspect as mi

from readiness import units
from readiness.checklist.mistakes import listed, near, shown
from readiness.checklist.nodes import Text
from readiness.job import YEARS

LONGEST_TEXT = 4_000

_BOOLS = {"true": True, "yes": True, "false": False, "no": False}
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?(Z|[+-]\d{2}:\d{2})?")
_NUMBER = re.compile(r"[+-]?\d{1,15}([.,]\d{1,15})?")
_WHOLE = re.compile(r"[+-]?\d{1,15}")


class NotThat(Exception):
    """The text is not of the wanted type."""

    def __init__(self, text: Text, expected: str, hint: str = "") -> None:
        super().__init__(expected)
        self.found = shown(text.text) if text.text.strip() or not text.plain else "nothing"
        self.expected = expected
        self.hint = hint


def example(unit: str) -> str:
    """What stands in a file for a quantity of this unit."""
    if unit == "fraction":
        return "a part of a whole such as '3/4' or '75 %'"
    return f"a quantity such as '1 {'°' if unit == 'deg' else unit}'"


def quantity(text: Text, unit: str, info: Any) -> float:
    """A number in `unit` from text such as '2.3 bar'."""
    expected = example(unit)
    if not text.text.strip():
        raise NotThat(text, expected)
    try:
        value = float(units.parse_written(text.text, unit))
    except units.UnitsError as error:
        raise NotThat(text, expected, str(error)) from None
    return float(_within(text, value, info, unit))


def scalar(text: Text, info: mi.Type) -> Any:
    """The value of a text for a msgspec type of one word or number. Raises NotThat."""
    reader = _READERS.get(type(info))
    if reader is None:
        raise TypeError(f"files cannot hold {info}")
    return reader(text, info)


def choice(text: Text, info: Any, extra: Mapping[str, Any]) -> Any:
    """One of a few words. `meant` in `extra`: other words that stand for one of them; `otherwise`: what to do."""
    try:
        return _literal(text, info)
    except NotThat as error:
        said = text.text.lower()
        meant = (f"Did you mean '{word}'?" for other, word in extra["meant"].items() if other in said)
        error.hint = error.hint or next(meant, extra["otherwise"])
        raise


def _string(text: Text, info: Any) -> str:
    if text.plain and not text.text:
        raise NotThat(text, "text")
    most = min(info.max_length or LONGEST_TEXT, LONGEST_TEXT)
    if len(text.text) > most:
        raise NotThat(text, f"at most {most} characters")
    if len(text.text) < (info.min_length or 0):
        raise NotThat(text, f"at least {info.min_length} characters")
    if info.pattern and not re.search(info.pattern, text.text):
        raise NotThat(text, f"text of the form {info.pattern}")
    return text.text


def _whole(text: Text, info: Any) -> int:
    if not _WHOLE.fullmatch(text.text.strip()):
        raise NotThat(text, _wanted("a whole number", info))
    return int(_within(text, int(text.text), info))


def _number(text: Text, info: Any) -> float:
    if not _NUMBER.fullmatch(text.text.strip()):
        raise NotThat(text, _wanted("a number without a unit", info))
    return float(_within(text, float(text.text.replace(",", ".")), info))


def _bool(text: Text, info: Any) -> bool:
    value = _BOOLS.get(text.text.strip().lower())
    if value is None:
        raise NotThat(text, "yes or no")
    return value


def _literal(text: Text, info: Any) -> Any:
    for value in info.values:
        if text.text.strip() == str(value):
            return value
    allowed = [str(v) for v in info.values]
    raise NotThat(text, f"one of {listed(allowed)}", near(text.text.strip().lower(), allowed))


def _date(text: Text, info: Any) -> date:
    expected = "a date such as 2026-03-31"
    if not _DATE.fullmatch(text.text.strip()):
        raise NotThat(text, expected)
    try:
        return date.fromisoformat(text.text.strip())
    except ValueError as error:
        raise NotThat(text, expected, f"{str(error).capitalize()}.") from None


def _moment(text: Text, info: Any) -> datetime:
    """Always with an offset; a text without one is the time of this machine."""
    expected = "a date and time such as 2026-03-31 14:05"
    written = text.text.strip()
    if not _MOMENT.fullmatch(written):
        raise NotThat(text, expected)
    try:
        moment = datetime.fromisoformat(written)
        moment = moment if moment.tzinfo else moment.astimezone()
    except (ValueError, OverflowError, OSError) as error:
        raise NotThat(text, expected, f"{str(error).capitalize()}.") from None
    if moment.year not in YEARS:
        raise NotThat(text, expected)
    return moment


def _within(text: Text, value: float, info: Any, unit: str = "") -> float:
    low_ok = (info.ge is None or value >= info.ge) and (info.gt is None or value > info.gt)
    high_ok = (info.le is None or value <= info.le) and (info.lt is None or value < info.lt)
    if not (low_ok and high_ok):
        raise NotThat(text, _wanted("a quantity" if unit else "a number", info, unit))
    return value


def _wanted(what: str, info: Any, unit: str = "") -> str:
    words = {"at least": info.ge, "more than": info.gt, "at most": info.le, "less than": info.lt}
    bounds = [f"{word} {bound:g} {unit}".strip() for word, bound in words.items() if bound is not None]
    return " ".join([what, " and ".join(bounds)]).strip()


_READERS = {
    mi.StrType: _string,
    mi.IntType: _whole,
    mi.FloatType: _number,
    mi.BoolType: _bool,
    mi.LiteralType: _literal,
    mi.DateType: _date,
    mi.DateTimeType: _moment,
}
