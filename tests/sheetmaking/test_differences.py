"""What differs between two sheets: every field is told by somebody, real differences only, as many either way."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import msgspec.inspect as mi
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import fields, replace

from readiness.checklist.files import read_sheet
from readiness.cli import commands
from readiness.job import AxleLoads, Disc, HeightBand, Point, Sheet, Springs
from readiness.sheetmaking.differences import GROUPS, as_dict, differences, in_words
from tests.sheetmaking.writing import SHEETS, TERN

read = cache(read_sheet)


def words(was: Sheet, now: Sheet, system: Any = "metric") -> list[str]:
    return [told.words for group in differences(was, now, system) for told in group.told]


def edited(tmp_path, *pairs: tuple[str, str]) -> Sheet:
    text = TERN.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "sheet.yaml"
    path.write_text(text, encoding="utf-8")
    return read_sheet(path)


@pytest.fixture(scope="module")
def tern() -> Sheet:
    return read_sheet(TERN)


# --- every field ----------------------------------------------------------------------------------


def test_every_field_of_a_sheet_stands_under_a_heading():
    assert sorted(name for names in GROUPS.values() for name in names) == sorted(
        f.name for f in fields(Sheet)
    )


def other(value: Any, info: Any) -> Any:
    """Another value of the same type."""
    if isinstance(info, mi.Metadata):
        return other(value, info.type)
    if isinstance(info, mi.UnionType):
        info = next(t for t in info.types if not isinstance(t, mi.NoneType))
        return other(value, info)
    if isinstance(info, mi.LiteralType):
        return next(v for v in info.values if v != value)
    if isinstance(info, mi.FloatType):
        return (value or 0.0) + 0.0625
    if isinstance(info, mi.StrType):
        return f"{value or ''}x"
    if isinstance(info, mi.DateType):
        return value.replace(year=value.year + 1) if value else __import__("datetime").date(2020, 1, 2)
    raise AssertionError(info)


def variants(value: Any, info: Any, path: str = "") -> Any:
    """(path, the value with one leaf below it changed) for every leaf of a structure."""
    if isinstance(info, mi.Metadata):
        yield from variants(value, info.type, path)
    elif isinstance(info, mi.UnionType):
        kinds = [t for t in info.types if not isinstance(t, mi.NoneType)]
        bare = kinds[0].type if isinstance(kinds[0], mi.Metadata) else kinds[0]
        if value is None and isinstance(bare, mi.StructType | mi.VarTupleType):
            return
        yield from variants(value, kinds[0], path)
        if value is not None:
            yield f"{path} left out", None
    elif isinstance(info, mi.StructType):
        for f in info.fields:
            for where, new in variants(getattr(value, f.name), f.type, f"{path}.{f.name}"):
                if new is not None or not isinstance(f.type, mi.StructType):
                    yield where, replace(value, **{f.name: new})
    elif isinstance(info, mi.VarTupleType):
        for k, item in enumerate(value):
            for where, new in variants(item, info.item_type, f"{path}.{k}"):
                if new is not None:
                    yield where, (*value[:k], new, *value[k + 1 :])
        if value:
            yield f"{path} one less", value[1:]
    elif not isinstance(info, mi.AnyType):
        yield path, other(value, info)


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.stem)
def test_whatever_is_changed_is_told_and_as_often_the_other_way_round(path):
    sheet = read(path)
    seen = set()
    for where, changed in variants(sheet, mi.type_info(Sheet)):
        told, back = words(sheet, changed), words(changed, sheet)
        assert told, where
        assert len(told) == len(back), (where, told, back)
        assert all(t.isprintable() and "None" not in t for t in (*told, *back)), (where, told)
        seen.add(where.split(".")[1].split(" ")[0])
    assert seen >= {f.name for f in fields(Sheet) if getattr(sheet, f.name) and f.name != "limits"}


@given(st.sampled_from(SHEETS), st.sampled_from(SHEETS), st.sampled_from(["metric", "us"]))
def test_the_same_is_empty_and_both_ways_tell_as_much(one, two, system):
    a, b = read(one), read(two)
    assert differences(a, a, system) == ()
    assert len(words(a, b, system)) == len(words(b, a, system))
    assert bool(words(a, b, system)) == (one != two)


@settings(max_examples=30)
@given(st.data())
def test_any_number_of_changes_is_told_as_often_the_other_way_round(data):
    sheet = now = read(data.draw(st.sampled_from(SHEETS)))
    for _ in range(data.draw(st.integers(1, 4))):
        now = data.draw(st.sampled_from(list(variants(now, mi.type_info(Sheet)))))[1]
    assert len(words(sheet, now)) == len(words(now, sheet))


# --- real differences only ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("pressure: {front: 230 kPa, rear: 230 kPa}", "pressure: {front: 2.3 bar, rear: 2300 hPa}"),
        ("wheelbase: 2.71 m", "wheelbase: 2710 mm"),
        ("corner: {x: -1.6 m, y: 0.98 m}\n      opposite: {x: -0.2 m, y: 1.8 m}",
         "corner: {x: -0.2 m, y: 0.98 m}\n      opposite: {x: -1.6 m, y: 1.8 m}"),
        ("within: 2.2 °", "within: 132 arcmin"),
        ("margin: 0.15 m", "margin: 15 cm"),
        ("level: 1/1", "level: 100 %"),
        ("half_width: 0.5 m", "half_width: 50 cm # as drawn"),
    ],
)  # fmt: skip
def test_the_same_said_otherwise_is_the_same(tern, tmp_path, old, new):
    assert words(tern, edited(tmp_path, (old, new))) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("pressure: {front: 230 kPa", "pressure: {front: 2.5 bar", "Front tyre pressure: 250 kPa, was 230 kPa"),
        ("x: -2.78 m, y: 2.36 m, z: 0.62 m", "x: -2.66 m, y: 2.41 m, z: 0.62 m",
         "Target reflector moved 0.12 m forward and 0.05 m outward"),
        ("half_width: 0.5 m", "half_width: 0.55 m", "Zone line-of-sight: wider by 0.1 m"),
        ("radius: 0.9 m", "radius: 0.8 m", "Zone round-the-reflector, radius: 0.8 m, was 0.9 m"),
        ("opposite: {x: -0.2 m", "opposite: {x: 0.1 m", "Zone beside-the-bumper: reaches 0.3 m farther ahead"),
        ("side_difference: 8 kPa", "side_difference: 9 kPa", "Tyres, side difference: 9 kPa, was 8 kPa"),
        ("  tyres:\n    side_difference: 8 kPa\n", "", "Tyres, side difference: the checklist's, was 8 kPa"),
        ("tolerance: {azimuth: 2.5 °", "tolerance: {azimuth: 2.50001 °", "Sensor radar, tolerance, azimuth: 2.50001°, was 2.5°"),
        ("issue 4", "issue 5", "Document: QM-TERN-88-RC issue 5, was QM-TERN-88-RC issue 4"),
        ("- id: reflector\n", "- id: trihedral\n", "Target trihedral: new"),
        ("within: 2.2 °", "within: 2.1 °", "Result azimuth, within: 2.1°, was 2.2°"),
    ],
)  # fmt: skip
def test_a_difference_is_told_as_a_person_would(tern, tmp_path, old, new, told):
    assert told in words(tern, edited(tmp_path, (old, new)))


def test_a_stand_that_moved_with_its_target_is_told_with_it(tern):
    target = tern.targets[0]
    by = (0.25, -0.5)
    at = replace(target.at, x=target.at.x + by[0], y=target.at.y + by[1])
    feet = tuple(Point(x=f.x + by[0], y=f.y + by[1]) for f in target.feet)
    now = replace(tern, targets=(replace(target, at=at, feet=feet),))
    assert words(tern, now) == ["Target reflector moved 0.25 m forward and 0.5 m inward with its stand"]
    only_feet = replace(tern, targets=(replace(target, feet=feet),))
    assert len(words(tern, only_feet)) == 3


def test_a_zone_that_moved_whole_moved_once(tern):
    zone = tern.zones[1]
    disc = Disc(at=Point(x=zone.disc.at.x - 0.1, y=zone.disc.at.y), radius=zone.disc.radius)
    now = replace(tern, zones=(tern.zones[0], replace(zone, disc=disc), tern.zones[2]))
    assert words(tern, now) == ["Zone round-the-reflector moved 0.1 m back"]


def test_what_one_of_them_does_not_give(tern):
    now = replace(tern, axle_loads=AxleLoads(front=780.0, rear=560.0), springs=Springs(front=24.0, rear=26.0),
                  zones=(replace(tern.zones[0], height=None), *tern.zones[1:]))  # fmt: skip
    assert words(tern, now) == [
        "Axle loads: front 780 kg, rear 560 kg, was not given",
        "Spring rates: front 24 N/mm, rear 26 N/mm, was not given",
        "Zone line-of-sight, height: any height, was 0.1 m to 1.6 m",
    ]
    band = HeightBand(low=0.1, high=1.7)
    higher = replace(tern, zones=(replace(tern.zones[0], height=band), *tern.zones[1:]))
    assert words(tern, higher) == ["Zone line-of-sight, height, high: 1.7 m, was 1.6 m"]


def test_units_are_those_of_the_shop(tern, tmp_path):
    now = edited(tmp_path, ("pressure: {front: 230 kPa", "pressure: {front: 250 kPa"))
    assert words(tern, now, "us") == ["Front tyre pressure: 36.3 psi, was 33.4 psi"]


# --- the command ----------------------------------------------------------------------------------


def run(*args: str):
    return CliRunner().invoke(commands, ["sheet", "diff", *args], standalone_mode=False)


def test_the_command_says_so_in_words_and_as_data(tmp_path):
    edited(tmp_path, ("front: 688 mm", "front: 690 mm"))
    path = str(tmp_path / "sheet.yaml")
    found = run(str(TERN), path)
    assert found.return_value == 1
    assert found.output.splitlines() == [
        "Stance and marks",
        "  Front ride height: 690 mm, was 688 mm",
        "",
        "Same otherwise.",
    ]
    data = json.loads(run(str(TERN), path, "--json").output)
    assert data["same"] is False
    assert [(d["field"], d["was"], d["now"]) for d in data["differences"]] == [
        ("ride_heights.front", "688 mm", "690 mm")
    ]
    same = run(str(TERN), str(TERN))
    assert (same.return_value, same.output) == (0, "Both say the same.\n")
    assert json.loads(run(str(TERN), str(TERN), "--json").output) == {"same": True, "differences": []}


def test_lines_and_data_tell_the_same(tern):
    groups = differences(tern, read_sheet(SHEETS[0]))
    lines = [line.strip() for line in in_words(groups) if line.startswith("  ")]
    assert lines == [d["words"] for d in as_dict(groups)["differences"]]
