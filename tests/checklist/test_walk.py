"""Nodes -> typed values: each scalar, each container, all mistakes in one run."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Annotated, Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Meta, Struct, field

from readiness.checklist.mistakes import MOST_MISTAKES, Mistake
from readiness.checklist.nodes import Entries, parse
from readiness.checklist.spot import Spot
from readiness.checklist.walk import INVALID, decode
from readiness.job import Kilopascal, LaterTyped, Metre


class Inner(Struct, frozen=True, kw_only=True):
    id: str
    size: Metre = 1.0


class Outer(Struct, frozen=True, kw_only=True):
    name: str
    inner: tuple[Inner, ...] = ()
    one: Inner | None = None
    pressure: Annotated[Kilopascal, Meta(ge=0, le=500)] | None = None
    count: Annotated[int, Meta(ge=1, le=9)] = 1
    share: Annotated[float, Meta(gt=0)] = 0.5
    flag: bool = False
    word: Literal["yes", "no", "maybe"] = "maybe"
    day: date | None = None
    moment: datetime | None = None
    pair: tuple[int, str] = (0, "")
    table: dict[str, Metre] = field(default_factory=dict)
    value: float | str = ""
    raw: LaterTyped = None


def read(text: str, type_: Any = Outer, **kw: Any) -> tuple[Any, list[Mistake]]:
    mistakes: list[Mistake] = []
    return decode(parse(text.encode(), "x.yaml"), type_, "x.yaml", mistakes, **kw), mistakes


def value_of(key: str, text: str) -> Any:
    value, mistakes = read(f"{key}: {text}\n" + ("" if key == "name" else "name: x\n"))
    assert mistakes == []
    return getattr(value, key)


@pytest.mark.parametrize(
    ("key", "text", "expected"),
    [
        ("name", "no", "no"),
        ("name", "12:30", "12:30"),
        ("name", "010", "010"),
        ("name", "''", ""),
        ("count", "'7'", 7),
        ("share", "0,25", 0.25),
        ("share", "2", 2.0),
        ("flag", "yes", True),
        ("flag", "No", False),
        ("flag", "true", True),
        ("word", "no", "no"),
        ("day", "2026-02-28", date(2026, 2, 28)),
        ("day", "~", None),
        ("day", "", None),
        ("moment", "2026-02-28T10:00:00Z", datetime(2026, 2, 28, 10, tzinfo=UTC)),
        ("moment", "2026-02-28 10:00+01:00", datetime(2026, 2, 28, 9, tzinfo=UTC)),
        ("moment", "2026-02-28 10:00", datetime(2026, 2, 28, 10).astimezone()),
        ("pressure", "2,2 bar", 220.0),
        ("pressure", "~", None),
        ("pair", "[3, x]", (3, "x")),
        ("table", "{a: 1 m, b: 20 cm}", {"a": 1.0, "b": 0.2}),
        ("value", "1.5", 1.5),
        ("value", "shut", "shut"),
        ("one", "{id: a, size: 30 mm}", Inner(id="a", size=0.03)),
    ],
)
def test_values(key: str, text: str, expected: Any) -> None:
    assert value_of(key, text) == expected


@pytest.mark.parametrize(
    ("key", "text", "message"),
    [
        ("name", "", "name: found nothing, expected text"),
        ("name", "[a]", "name: found a list of 1, expected a single value"),
        ("count", "0x1F", "count: found '0x1F', expected a whole number at least 1 and at most 9"),
        ("count", "1_0", "count: found '1_0', expected a whole number"),
        ("count", "12", "count: found '12', expected a number at least 1 and at most 9"),
        ("share", ".nan", "share: found '.nan', expected a number without a unit more than 0"),
        ("share", "1e400", "share: found '1e400', expected a number without a unit"),
        ("share", "1,000.5", "share: found '1,000.5', expected a number without a unit"),
        ("flag", "1", "flag: found '1', expected yes or no"),
        ("word", "yess", "word: found 'yess', expected one of maybe, no, yes. Did you mean 'yes'?"),
        ("day", "2026-13-01", "day: found '2026-13-01', expected a date such as 2026-03-31"),
        ("moment", "10:00", "moment: found '10:00', expected a date and time such as 2026-03-31 14:05"),
        ("moment", "9999-99-99 10:00", "moment: found '9999-99-99 10:00', expected a date and time"),
        ("pressure", "2 m", "pressure: found '2 m', expected a quantity such as '1 kPa'"),
        (
            "pressure",
            "6 bar",
            "pressure: found '6 bar', expected a quantity at least 0 kPa and at most 500 kPa",
        ),
        ("pressure", "{a: b}", "pressure: found keys and values, expected a quantity such as '1 kPa'"),
        ("pair", "[3]", "pair: found a list of 1, expected a list of 2"),
        ("table", "[3]", "table: found a list of 1, expected keys and values"),
        ("table", "{a: 1 m, a: 2 m}", "table.a: found the key 'a' again, first in line 1"),
        ("inner", "a", "inner: found 'a', expected a list. Begin each entry with '- '."),
        ("one", "a", "one: found 'a', expected keys and values (id, size)"),
    ],
)
def test_mistakes(key: str, text: str, message: str) -> None:
    value, mistakes = read(f"{key}: {text}\n" + ("" if key == "name" else "name: x\n"))
    assert value is INVALID
    assert len(mistakes) == 1
    place, told = str(mistakes[0]).split(": ", 1)
    assert place.startswith("x.yaml:1:")
    assert told.startswith(message)


def test_all_mistakes_of_a_file_in_one_run() -> None:
    text = "nam: x\ncount: 12\ncount: 2\ninner:\n  - id: a\n    size: 1 kg\n  - size: 2 m\n  - {id: b, sice: 1 m}\n"
    value, mistakes = read(text)
    assert value is INVALID
    assert [(m.line, m.column, m.where) for m in sorted(mistakes, key=lambda m: (m.line, m.column))] == [
        (1, 1, "nam"),
        (1, 1, "name"),
        (2, 8, "count"),
        (3, 1, "count"),
        (6, 11, "inner[a].size"),
        (7, 5, "inner[2].id"),
        (8, 13, "inner[b].sice"),
    ]
    assert next(m for m in mistakes if m.where == "nam").hint == "Did you mean 'name'?"


def test_rules_run_beside_mistakes_of_form() -> None:
    def big(value: Inner, spot: Spot) -> None:
        if value.size > 5:
            spot.at("size").wrong("too big", "smaller")

    text = "inner:\n  - {id: a, size: 9 m}\n  - {id: b, size: 9 kg}\n"
    _, mistakes = read(text, rules={Inner: big})
    assert [(m.where, m.found) for m in mistakes] == [
        ("inner[a].size", "too big"),
        ("inner[b].size", "'9 kg'"),
        ("name", "nothing"),
    ]


def test_later_typed_fields_stay_nodes() -> None:
    value, mistakes = read("name: x\nraw: {a: 1}\n")
    assert mistakes == []
    assert isinstance(value.raw, Entries)
    assert (value.raw.line, value.raw.column) == (2, 6)


def test_later_typed_fields_can_be_typed_by_what_is_beside_them() -> None:
    value, mistakes = read(
        "raw: {a: 1}\nname: x\n", later=lambda owner, spot: owner.at("name").text + spot.where
    )
    assert (value.raw, mistakes) == ("xraw", [])


def test_text_has_a_longest() -> None:
    _, mistakes = read(f"name: {'x' * 4001}\n")
    assert [m.expected for m in mistakes] == ["at most 4000 characters"]
    assert len(str(mistakes[0])) < 200


def test_mistakes_are_bounded() -> None:
    _, mistakes = read("name: x\n" + "".join(f"k{i}: 1\n" for i in range(20_000)))
    assert len(mistakes) == MOST_MISTAKES + 1
    assert mistakes[-1].found == "still more mistakes"


@given(st.dictionaries(st.text(max_size=8), st.text(max_size=12), max_size=6))
def test_a_mapping_of_texts_survives(table: dict[str, str]) -> None:
    """Written by PyYAML in double quotes, read here; texts with control characters are refused."""
    import yaml

    from readiness.checklist.mistakes import UNPRINTABLE, FileMistakes

    data = yaml.dump(table, allow_unicode=True, default_style='"').encode("utf-8", "surrogatepass")
    clean = not any(UNPRINTABLE.search(t.replace("\n", " ")) for pair in table.items() for t in pair)
    try:
        value, mistakes = read(data.decode("utf-8", "surrogatepass"), dict[str, str])
    except (FileMistakes, UnicodeEncodeError):
        assert not clean
        return
    assert (value, mistakes) == (table, [])
