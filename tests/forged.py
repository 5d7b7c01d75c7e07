"""Journals made up by hand: the chain and every sum are right, and the entries say anything.

The chain is worked out here anew, from what the README says of a journal's lines and with nothing of the program.
"""

from __future__ import annotations

import json
import random
from datetime import datetime, timedelta, timezone
from hashlib import sha256
from typing import Any

Fields = dict[str, Any]
"""One line as JSON, without its `prev` and `sum`."""

KINDS = (
    "reading", "fix", "event", "waiver", "attached", "ended", "withdrawn", "note", "units", "changed", "signed", "opened",
    "spot-check", "re-measured",
    "survey", "finished", "", "Reading",
)  # fmt: skip
TEXTS = (
    "", " ", "left", "right", "single", "both", "shared", "tyres", "floor", "result", "rescan", "road_test", "light",
    "pressure.lf", "pressure", "azimuth", "said", "fuel", "document", "where", "marks", "light.1", "other.1", "kit.99",
    "yes", "no", "y", "stood", "car_moved", "door_opened", "sensor_touched", "eclipse", "kPa", "mm", "deg", "degC", "lx",
    "furlong", "bar", "measured", "seen", "told", "guessed", "metric", "us", "gauge-1", "angle-1", "bay-2", "bay-4",
    "nowhere", "tern-rear-corner", "../../etc/passwd", "/dev/zero", "C:\\x", "con", "a\x00b", "x" * 3_000, "[/4]",
    "\x1b[2J", "\u202eabc", "=1+1", "<b>x</b>", "1" * 400, "0f" * 32, "nan", "3/4", "12' 3 1/2\"", "e\u0301" * 40, "\U0001f697",
    "2026-11-25T10:00:00+00:00", "~", "-----BEGIN SSH SIGNATURE-----\nx\n-----END SSH SIGNATURE-----\n",
)  # fmt: skip
NUMBERS = (
    0, 1, 2, 3, -1, 0.0, -0.0, 0.5, 1e-9, 5e-324, 1e9, -1e9, 1e154, 1e200, -1e300, 1.7e308, 2**31, 2**63, 2**64, 10**30,
    231, 231.5, 90.0, 359.999, 1000.0,
)  # fmt: skip
TIMES = (
    "0001-01-01T00:00:00+00:00", "0001-01-01T00:00:00+14:00", "0001-01-01T00:00:00-12:00", "1969-12-31T23:59:59Z",
    "9999-12-31T23:59:59.999999+00:00", "9999-12-31T23:59:59-12:00", "9999-12-31T23:59:59+14:00", "2026-11-25T10:00:00",
    "2026-11-25T10:00:00+23:59", "2026-11-25T10:00:00-23:59", "2026-11-25 10:00:00+00:00", "2026-13-45T99:00:00Z",
    "2026-11-25T10:00:60Z", "", "now",
)  # fmt: skip
RAW = ("NaN", "Infinity", "-Infinity", "1e999", "-1e999", "1" * 5_000, "[" * 900 + "]" * 900, '{"a":' * 600 + "1" + "}" * 600,
       '"\\ud800"', '"\\u0000"', "tru", "1.", "'x'")  # fmt: skip
"""Pieces of JSON, and of what some take for it, that no library of Python's own writes."""
ODD: tuple[Any, ...] = (
    None,
    True,
    False,
    [],
    {},
    [[]],
    {"x": 1},
    ["left"],
    ["left", "left"],
    [1, 2],
    "\0raw",
)


def fields_of(data: bytes) -> list[Fields]:
    """The lines of a journal."""
    return [
        {k: v for k, v in json.loads(line).items() if k not in ("prev", "sum")} for line in data.splitlines()
    ]


def chained(entries: list[Fields], chance: random.Random) -> bytes:
    """These lines with each `prev` and `sum` as they must be."""
    written, prev = b"", ""
    for entry in entries:
        text = json.dumps({**entry, "prev": prev}, separators=(",", ":"), ensure_ascii=False)[:-1]
        while '"\\u0000raw"' in text:
            text = text.replace('"\\u0000raw"', chance.choice(RAW), 1)
        plain = text.encode("utf-8", "surrogatepass")
        line = plain + b',"sum":"' + sha256(plain).hexdigest()[:16].encode() + b'"}'
        written, prev = written + line + b"\n", sha256(line).hexdigest()
    return written


def forged(entries: list[Fields], chance: random.Random) -> bytes:
    """A journal with one to four things in it that nobody ever entered."""
    made = [dict(entry) for entry in entries]
    for _ in range(chance.choice((1, 1, 2, 4))):
        chance.choice(DEEDS)(made, chance)
    numbered = chance.random() < 0.97
    for n, entry in enumerate(made, 1):
        if numbered or chance.random() < 0.9:
            entry["n"] = n
    return chained(made, chance)


# --- what is done to it --------------------------------------------------------------------------


def _field(made: list[Fields], chance: random.Random) -> None:
    """One field is another one of its kind, or of any kind, or gone."""
    entry = made[0] if chance.random() < 0.1 else chance.choice(made)
    name = chance.choice(list(entry))
    if chance.random() < 0.07:
        del entry[name]
    else:
        entry[name] = _other(entry[name], chance, name)


def _other(value: Any, chance: random.Random, name: str = "") -> Any:
    if chance.random() < 0.15:
        return chance.choice(ODD)
    if name in ("at", "taken") or chance.random() < 0.02:
        return chance.choice(TIMES)
    if name == "kind":
        return chance.choice(KINDS)
    numeric = isinstance(value, int | float) and not isinstance(value, bool)
    if chance.random() < 0.1:
        numeric = not numeric
    return chance.choice(NUMBERS) if numeric else chance.choice(TEXTS)


def _new(made: list[Fields], chance: random.Random) -> None:
    """An entry of some kind, with fields that are good, odd, too many or too few."""
    at, n = chance.randint(1, len(made)), len(made)
    kind = chance.choice(list(USUAL))
    entry: Fields = {"n": at + 1, "at": made[at - 1].get("at"), "kind": kind}
    for name, usual in USUAL[kind].items():
        if chance.random() < 0.95:
            value = chance.randint(-1, n + 2) if usual is None else usual
            entry[name] = _other(value, chance, name) if chance.random() < 0.25 else value
    made.insert(at, entry)


USUAL: dict[str, Fields] = {
    "attached": {"path": "photos/x.jpg", "sha256": "0" * 64, "size": 5, "by": "Odo Brack", "what": "the target"},
    "ended": {"by": "Odo Brack", "why": "handed over"},
    "signed": {"by": "Odo Brack", "head": "0" * 64, "signature": TEXTS[-1]},
    "waiver": {"check": "light", "reason": "a work lamp stood in", "by": "Lio Fenn", "side": ""},
    "withdrawn": {"entry": None, "why": "mistyped", "by": "Odo Brack"},
    "note": {"entry": None, "text": "a note", "by": "Odo Brack"},
    "event": {"event": "door_opened", "by": "Odo Brack", "side": "left", "taken": TIMES[7] + "+00:00"},
    "fix": {
        "check": "tyres", "question": "pressure.lr", "by": "Odo Brack", "side": "", "text": "inflated",
        "taken": "2026-11-25T07:00:00+00:00",
    },
    "units": {"system": "us", "by": "Odo Brack"},
    "changed": {"sides": ["left", "right"], "bay": "bay-1", "by": "Odo Brack"},
    "spot-check": {
        "by": "Tamsin Vale", "seed": 7, "of": 40, "drawn": [{"entry": 2, "what": "Air in the bay", "weight": 1, "why": []}],
    },
    "re-measured": {
        "spot_check": None, "entry": None, "by": "Tamsin Vale", "what": "Air in the bay", "outcome": "differs", "why": "",
        "first_said": "18.4 °C", "said": "25 °C", "value": 25.0, "unit": "degC", "text": "25", "evidence": "measured",
        "instrument": "", "first_instrument": "", "note": "", "beside": [],
        "compared": {"first": 18.4, "first_u": 0.6, "again": 25.0, "again_u": 0.6, "unit": "degC", "e_n": 7.8, "how": ""},
    },
    "reading": {
        "check": "result", "question": "azimuth", "value": 0.5, "by": "Odo Brack", "side": "left", "unit": "deg",
        "text": "0.5", "evidence": "measured", "instrument": "", "taken": "2026-11-25T07:30:00+01:00",
    },
}  # fmt: skip
"""Entry kind -> its fields as they might be; None stands for the number of an entry."""


def _another(made: list[Fields], chance: random.Random) -> None:
    """A reading like one that is there, with another value, question, side or unit."""
    entry = dict(chance.choice(made[1:] or made))
    for name in chance.sample(["value", "question", "side", "unit", "check", "text", "instrument"], 2):
        entry[name] = _other(entry.get(name, ""), chance, name)
    at = chance.randint(1, len(made))
    entry["at"] = made[at - 1].get("at")
    made.insert(at, entry)


def _moved(made: list[Fields], chance: random.Random) -> None:
    """Lines doubled, left out or swapped; times stay in order."""
    i, j = chance.randrange(len(made)), chance.randrange(len(made))
    what = chance.choice(("twice", "out", "swap", "many"))
    if what == "swap":
        made[i], made[j] = made[j], made[i]
        made[i]["at"], made[j]["at"] = made[j].get("at"), made[i].get("at")
    elif what == "out" and len(made) > 1:
        del made[i]
    else:
        made[i + 1 : i + 1] = [dict(made[i]) for _ in range(1 if what == "twice" else 40)]


def _other_times(made: list[Fields], chance: random.Random) -> None:
    """The whole job at another time or in another zone, or from some line on."""
    begin = chance.choice((0, chance.randrange(len(made))))
    zone = timezone(timedelta(minutes=chance.choice((0, 60, -720, 840, 1439, -1439, 345))))
    first = chance.choice(
        (
            datetime(1, 1, 1, tzinfo=zone),
            datetime(1, 1, 2, tzinfo=zone),
            datetime(1970, 1, 1, tzinfo=zone),
            datetime(2026, 11, 25, 9, tzinfo=zone),
            datetime(8999, 12, 31, tzinfo=zone),
            datetime(9999, 12, 31, 12, tzinfo=zone),
            datetime(9999, 12, 31, 23, 59, 59, tzinfo=zone),
        )
    )
    step = chance.choice((timedelta(0), timedelta(seconds=1), timedelta(minutes=7)))
    for k, entry in enumerate(made[begin:]):
        try:
            entry["at"] = (first + k * step).isoformat()
        except OverflowError:
            entry["at"] = first.isoformat()


def _answer(made: list[Fields], chance: random.Random) -> None:
    """The value of a reading is another one: what still reads is then judged."""
    readings = [e for e in made if e.get("kind") == "reading"]
    if readings:
        entry = chance.choice(readings)
        entry["value"] = _other(entry.get("value", 0), chance)


def _spot_check(made: list[Fields], chance: random.Random) -> None:
    """A reading was drawn and taken again; now and then a field of that is another one."""
    readings = [n for n, e in enumerate(made, 1) if e.get("kind") == "reading"]
    if not readings:
        return
    drawn, at, n = chance.choice(readings), made[-1].get("at"), len(made)
    check: Fields = {"n": n + 1, "at": at, "kind": "spot-check", **USUAL["spot-check"]}
    check["drawn"] = [
        {"entry": drawn, "what": chance.choice(TEXTS), "weight": chance.choice((1, 5, 0, 1e300)), "why": []}
    ]
    again: Fields = {"n": n + 2, "at": at, "kind": "re-measured", **USUAL["re-measured"]}
    again |= {"spot_check": n + 1, "entry": drawn, "what": check["drawn"][0]["what"]}
    for name in chance.sample(list(again), chance.choice((0, 0, 1, 2))):
        again[name] = _other(again[name], chance, name)
    if chance.random() < 0.2:
        compared = dict(USUAL["re-measured"]["compared"])
        again["compared"] = {**compared, chance.choice(list(compared)): chance.choice((*NUMBERS, *TEXTS))}
    made += [check, again][: chance.choice((1, 2, 2, 2))]


DEEDS = (_field, _field, _new, _new, _another, _moved, _other_times, _answer, _spot_check)
