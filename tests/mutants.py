"""Damage of the kinds that slips of the finger, bad copies and hostile hands do to a YAML file."""

from __future__ import annotations

import random
import re

SCALARS = [
    "", "~", "yes", "no", "0", "-1", "1", "0 m", "-3 m", "1000 m", "0.001 mm", "1/3 in", "12' 3 1/2\"", "1e9 m", "nan",
    "inf kPa", "0 kPa", "230", "230 kPa", "23 bar", "2,3 bar", "1.000,5 m", "0 %", "100 %", "-5 °C", "900 °C", "0 deg",
    "90 deg", "360 deg", "5 V", "1 count", "left", "rear", "metal", "2026-11-25", "2026-11-25T10:00:00+00:00",
    "2026-13-45", "0001-01-01", "9999-12-31T23:59:59+00:00", "215/60 R17 96H", "[]", "{}", "[[]]", "[1 m, 2 m]",
    "{x: 1 m, y: 1 m}", "{x: 0 m, y: 0 m}", "[{x: 0 m, y: 0 m}, {x: 0 m, y: 0 m}, {x: 0 m, y: 0 m}]", "&a x", "*a",
    "!!python/object:os.system x", "|", ">", "'", '"', '"\\e[2J"', '"\\u202e"', "'[/4]'", "é", "\u202e", "\x1b[2J", "\x00",
    "9" * 400, "x" * 5000, "[" * 200, "{a: " * 60, "../" * 9, "C:\\", "%s", "x: y",
]  # fmt: skip
VALUE = re.compile(r"(?<=: )[^\n#{}\[\],]+|(?<=- )[^\n#{}\[\],:]+")
NUMBER = re.compile(r"\d+(\.\d+)?")
PAIR = re.compile(r"(\w+): ([^\n#{}\[\],]+)")


def damaged(text: str, chance: random.Random) -> str:
    """The text with one to three pieces of damage."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        text = chance.choice(DAMAGE)(text, chance)
    return text


def slipped(text: str, chance: random.Random) -> str:
    """The text with one to five values that are other ones: most of it still reads, and is then judged."""
    for _ in range(chance.choice((1, 1, 2, 5))):
        text = chance.choice((_number, _number, _other_value, _lines))(text, chance)
    return text


def _lines(text: str, chance: random.Random) -> str:
    """A line left out, doubled, moved, shifted in or out, or cut off."""
    lines = text.split("\n")
    i, j = chance.randrange(len(lines)), chance.randrange(len(lines))
    line = lines[i]
    put: dict[str, list[str]] = {
        "out": [], "twice": [line, line], "in": ["  " + line], "back": [line.removeprefix("  ")],
        "cut": [line[: chance.randint(0, len(line))]], "other": [lines[j]],
    }  # fmt: skip
    lines[i : i + 1] = put[chance.choice(list(put))]
    return "\n".join(lines)


def _value(text: str, chance: random.Random) -> str:
    """One value replaced, by something odd or by another value of the same file."""
    spots = list(VALUE.finditer(text))
    if not spots:
        return text
    spot = chance.choice(spots)
    new = chance.choice(SCALARS) if chance.random() < 0.6 else chance.choice(spots).group()
    return text[: spot.start()] + new + text[spot.end() :]


def _other_value(text: str, chance: random.Random) -> str:
    """One value that is another one's of the same key."""
    spots = list(PAIR.finditer(text))
    if not spots:
        return text
    spot = chance.choice(spots)
    alike = [s for s in spots if s.group(1) == spot.group(1)]
    return text[: spot.start(2)] + chance.choice(alike).group(2) + text[spot.end(2) :]


def _number(text: str, chance: random.Random) -> str:
    """One number that is another one: what still reads is then judged."""
    spots = list(NUMBER.finditer(text))
    if not spots:
        return text
    spot = chance.choice(spots)
    new = chance.choice(
        (
            "0",
            "1",
            "-" + spot.group(),
            spot.group() + "0",
            "0." + spot.group().replace(".", ""),
            "7",
            spot.group() + "000000",
            "0.0000001",
            spot.group() + ".5",
            "99999999",
        )
    )
    return text[: spot.start()] + new + text[spot.end() :]


def _key(text: str, chance: random.Random) -> str:
    """One key misspelt, or an unknown one added."""
    spots = list(re.finditer(r"^( *)(- )?(\w+):", text, re.MULTILINE))
    if not spots:
        return text
    spot = chance.choice(spots)
    if chance.random() < 0.5:
        return text[: spot.start(3)] + spot.group(3)[::-1] + text[spot.end(3) :]
    return text[: spot.start()] + f"{spot.group(1)}odd_key: 1\n" + text[spot.start() :]


def _piece(text: str, chance: random.Random) -> str:
    """A piece of any place replaced by anything."""
    start = chance.randint(0, len(text))
    new = chance.choice([*SCALARS, "\n", "\t", ": ", "- ", "#", "\ufeff", text[start : start + 40]])
    return text[:start] + new + text[start + chance.randint(0, 25) :]


DAMAGE = (_lines, _value, _value, _number, _number, _key, _piece)
