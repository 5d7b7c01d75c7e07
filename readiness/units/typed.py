"""The grammar of a typed quantity: text -> exact numbers, each with the unit word that follows it; and back.

    entry   = [sign] (terms | rise "per" run)        "-5 °C", "1/4 in per 10 ft", "3 mm/m"
    terms   = term {term}                            "32 psi", "6 ft 2 in", "1 h 30 min"
    term    = number [unit word]
    number  = digits, digits mark digits             one decimal mark, point or comma
            | whole "/" whole | whole " " whole "/" whole   "5/16", "1 3/8", "1-3/8", "1½"

No thousands marks, no exponents: a person who means 1000 can write 1000, and a slip must never
become ten times the pressure. What a unit word means, and how large it is, is not known here.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from typing import NamedTuple

LONGEST = 64
"""Characters in an entry. No quantity needs more; a pasted page is refused unread."""


class UnitsError(ValueError):
    """What was typed is not the quantity wanted. The message is one sentence for a person."""


class Term(NamedTuple):
    number: Fraction
    word: str
    """The unit as typed; empty for a bare number."""


class Entry(NamedTuple):
    text: str
    """As typed, with plain spaces, minus signs and quotes."""
    negative: bool
    terms: tuple[Term, ...]
    run: Term | None = None
    """What comes after 'per', where it has a number of its own: the 10 ft of '1/4 in per 10 ft'."""

    @property
    def bare(self) -> bool:
        return len(self.terms) == 1 and not self.terms[0].word and self.run is None

    @property
    def grouped(self) -> bool:
        """A comma with exactly three digits behind it: a decimal comma or a thousands mark."""
        return _GROUPED.search(self.text) is not None


_ALIKE = {
    **dict.fromkeys("\t\u00a0\u2002\u2003\u2007\u2008\u2009\u200a\u202f", " "),
    **dict.fromkeys("‐‑‒–−－", "-"),
    **dict.fromkeys("⁄∕", "/"),
    **dict.fromkeys("′‘’", "'"),
    **dict.fromkeys("″“”", '"'),
    **dict.fromkeys("º˚", "°"),
    "μ": "µ",
    "℃": "°C",
    "℉": "°F",
    "½": " 1/2 ",
    "¼": " 1/4 ",
    "¾": " 3/4 ",
    "⅓": " 1/3 ",
    "⅔": " 2/3 ",
    "⅛": " 1/8 ",
    "⅜": " 3/8 ",
    "⅝": " 5/8 ",
    "⅞": " 7/8 ",
}
_TABLE = str.maketrans(_ALIKE)

_NUMBER = r"[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]*[.,][0-9]+|[0-9]+"
_TERM = re.compile(rf"({_NUMBER}) ?([^0-9.,+-]*)\.? ?")
_RUN = re.compile(r"(.*[^0-9\s/.,]) ?/ ?([0-9].*)")
_PER = re.compile(r"\bper\b", re.IGNORECASE)
_POWER = re.compile(r"(?<=/)( ?(?:c?m|in))(?:\*\*|\^)?([23])\b", re.IGNORECASE)
_GROUPED = re.compile(r"(?<![0-9.,])[1-9][0-9]{0,2},[0-9]{3}(?![0-9.,])")

_FAULTS = [
    (re.compile(r"^[+-]?(nan|inf|infinity)\b", re.IGNORECASE), "is not a number that can be measured"),
    (re.compile(r"[0-9][eE] ?[+-]?[0-9]"), "has an exponent; write the number out, as 1000 and not as 1e3"),
    (re.compile(r"[0-9]_|_[0-9]"), "has an underscore inside; write the digits without it"),
    (
        re.compile(r"[.,][0-9]*[.,]"),
        "has two decimal marks; write one point or comma and no thousands mark, as 1000.5",
    ),
    (
        re.compile(r"[0-9] +[0-9]+(?![0-9/])"),
        "has a space inside the number; write the digits together, as 1000",
    ),
    (re.compile(r"[0-9][.,](?![0-9])"), "ends at its decimal mark; write the digits that follow it"),
    (re.compile(r"/ ?0+(?![0-9.,])"), "divides by zero"),
]


def clean(text: str) -> str:
    """The entry with look-alike characters made plain.

    Raises UnitsError, without repeating the text, if it is too long or cannot be shown safely.
    """
    if len(text) > LONGEST:
        raise UnitsError(f"The entry has {len(text)} characters; a quantity has at most {LONGEST}.")
    plain = " ".join(text.translate(_TABLE).replace("''", '"').split())
    if not plain.isprintable():
        raise UnitsError(
            "The entry holds characters that cannot be shown; type the number and its unit again."
        )
    return plain


def raised(text: str) -> str:
    """Powers as one character: kgf/cm2, kgf/cm^2 and kgf/cm**2 become kgf/cm²."""
    return _POWER.sub(lambda m: m[1] + "²³"[int(m[2]) - 2], text)


def read(text: str) -> Entry:
    """Take a cleaned entry apart. Raises UnitsError saying what is wrong with it."""
    for pattern, fault in _FAULTS:
        if pattern.search(text):
            raise UnitsError(f"'{text}' {fault}.")
    body = raised(_PER.sub("/", text))
    negative = body.startswith("-")
    body = body[1:].lstrip() if body[:1] in ("-", "+") else body
    split = _RUN.fullmatch(body)
    if split is None:
        return Entry(text, negative, _terms(body, text))
    run = _terms(split[2], text)
    if len(run) != 1 or not run[0].word:
        raise UnitsError(f"'{text}' does not say per what length; write it as 1/4 in per 10 ft.")
    return Entry(text, negative, _terms(split[1], text), run[0])


def _terms(body: str, text: str) -> tuple[Term, ...]:
    terms: list[Term] = []
    at = 0
    while at < len(body) or not terms:
        found = _TERM.match(body, at)
        if found is None:
            raise UnitsError(f"'{text}' is not one number with its unit.")
        terms.append(Term(_number(found[1], text), found[2].strip()))
        at = found.end()
    if any(not term.word for term in terms[:-1]) or (len(terms) > 1 and not terms[-1].word):
        raise UnitsError(f"'{text}' holds more than one number; write one number, or a unit after each.")
    return tuple(terms)


def _number(digits: str, text: str) -> Fraction:
    if "/" not in digits:
        return Fraction(digits.replace(",", "."))
    above, below = digits.split("/")
    if int(below) == 0:  # '1/0.5': what follows the nought hid it
        raise UnitsError(f"'{text}' divides by zero.")
    *whole, numerator = re.split("[ -]", above)
    part = Fraction(int(numerator), int(below))
    if whole and part >= 1:
        raise UnitsError(f"'{text}' has a fraction that is more than a whole; write it as 1 3/8.")
    return part + (int(whole[0]) if whole else 0)


# --- writing numbers -----------------------------------------------------------------------------

_WIDE = Context(prec=400, rounding=ROUND_HALF_UP)
"""Holds any float in full."""


def shown(value: Decimal, places: int, *, finer: bool = False) -> str:
    """Rounded once, half away from zero, trailing zeros dropped, never '-0' and never an exponent.

    With `finer`, what is half a step or less and not 0 (a small uncertainty) gets up to two more places;
    half a step included, so that 0.47 shown as 0.5 shows as 0.5 again when it is read back.
    """
    most = 2 if finer else 0
    for extra in range(most + 1):
        step = Decimal(1).scaleb(-places - extra)
        rounded = value.quantize(step, context=_WIDE)
        if rounded and (extra == most or abs(value) > step / 2):
            return _digits(rounded)
    return "0"


def plain(value: Fraction | float, significant: int = 12) -> str:
    """A number in sentences, to so many significant digits."""
    exact = Fraction(value)
    context = Context(prec=significant, rounding=ROUND_HALF_UP)
    rounded = context.divide(Decimal(exact.numerator), Decimal(exact.denominator))
    return _digits(rounded) if rounded else "0"


def with_unit(number: str, unit: str) -> str:
    """'32 psi', '0.3°', '3'."""
    return f"{number}{'' if unit in ('', '°') else ' '}{unit}"


def _digits(value: Decimal) -> str:
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
