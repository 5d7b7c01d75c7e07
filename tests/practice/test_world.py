"""The physics of a practice car against values from outside the program."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from readiness.practice.body import height, load_changes
from readiness.practice.faults import CATALOGUE
from readiness.practice.faults.wheels import cold_of
from readiness.practice.sound import clearances, sound
from readiness.practice.world import Extra, Thing, Tyre, World
from tests.practice.cars import sides_of


def bare(sheet: str) -> World:
    """A car exactly as the sheet has it."""
    world = sound("bare", sheet, sides_of(sheet))
    fuel = world.sheet.fuel.level if world.sheet.fuel.kind != "none" else 0.0
    placard = world.sheet.placard
    tyres = {
        w: Tyre(getattr(placard.pressure, end), world.air, 6.0, getattr(placard.size, end))
        for w, end in (("lf", "front"), ("lr", "rear"), ("rr", "rear"), ("rf", "front"))
    }
    return replace(
        world, fuel=fuel, extras=(), springs=dict.fromkeys(tyres, 0.0), tyres=tyres, marks=(0.0, 0.0)
    )


@pytest.mark.parametrize("warmer", [5.0, 18.0, 33.0])
def test_a_warm_tyre_reads_as_real_air_in_a_closed_volume_does(warmer):
    """CoolProp, equation of state of air: same density, another temperature. Real air departs by less than 0.6 kPa."""
    props = pytest.importorskip("CoolProp.CoolProp")
    world = bare("pipit-front")
    tyre = replace(world.tyres["lf"], temperature=world.air + warmer)
    absolute, cold = (tyre.cold + world.atmosphere) * 1000.0, world.air + 273.15
    density = props.PropsSI("D", "P", absolute, "T", cold, "Air")
    real = props.PropsSI("P", "D", density, "T", cold + warmer, "Air") / 1000.0 - world.atmosphere
    shown = replace(world, tyres={**world.tyres, "lf": tyre}).gauge("lf")
    assert shown == pytest.approx(real, abs=0.6)
    assert cold_of(world, shown, world.air + warmer) == pytest.approx(tyre.cold, abs=1e-9)


def test_a_car_as_the_sheet_has_it_stands_at_the_sheets_heights():
    for sheet in ("pipit-front", "tern-rear-corner", "godwit-camera"):
        world = bare(sheet)
        heights = world.sheet.ride_heights
        for wheel in ("lf", "rf"):
            assert height(world, wheel) == pytest.approx(heights.front, abs=1e-9)
        for wheel in ("lr", "rr"):
            assert height(world, wheel) == pytest.approx(heights.rear, abs=1e-9)


def test_a_tool_box_behind_the_rear_axle_lowers_the_tail_and_lifts_the_nose():
    """By hand: moments about the front axle, 30 kg x (2.38 + 0.3) m / 2.38 m = 33.78 kg on the rear, -3.78 kg on the front;
    half of it a wheel, times 9.80665 m/s2, over 30 and 28 N/mm: 5.521 mm down and 0.662 mm up."""
    world = bare("pipit-front")
    loaded = replace(world, extras=(Extra("tool box", 30.0, "boot", -0.3),))
    assert load_changes(loaded) == pytest.approx((-3.782, 33.782), abs=1e-3)
    assert height(loaded, "rr") - height(world, "rr") == pytest.approx(-5.521, abs=1e-3)
    assert height(loaded, "lf") - height(world, "lf") == pytest.approx(0.662, abs=1e-3)


def test_from_the_floor_the_tyre_gives_too():
    """By hand: the same load on spring and tyre in a row moves the arch by the sum of what both give."""
    world = bare("godwit-camera")
    loaded = replace(world, extras=(Extra("tool box", 100.0, "over the rear axle", 0.0),))
    down = height(world, "lr") - height(loaded, "lr")
    spring = 50.0 * 9.80665 / 34.0
    assert spring < down < spring + 50.0 * 9.80665 / 150.0  # no car tyre is as soft as 150 N/mm
    assert height(loaded, "lf") == pytest.approx(height(world, "lf"), abs=1e-9)


def test_fuel_weighs_what_the_standard_says():
    """EN 228: 720 to 775 kg/m3 at 15 °C, so 12.5 L less at the rear axle are 9.0 to 9.7 kg, less what lies on the front."""
    world = bare("tern-rear-corner")
    front, rear = load_changes(replace(world, fuel=0.75))
    assert -9.7 < front + rear < -8.9
    assert front / (front + rear) == pytest.approx(0.35 / 2.71, abs=1e-9)


def test_tapes_to_the_rims_follow_pythagoras():
    """By hand: mark 0.7 m ahead of the axle, 6 mm left of the middle, rims 1620 mm apart: 1066.0 and 1075.1 mm."""
    world = replace(bare("pipit-front"), marks=(6.0, 0.0), rims=(1620.0, 1600.0))
    ahead = (world.sheet.marks.front - world.sheet.dimensions.wheelbase) * 1000.0
    assert world.tape("front", "left") == pytest.approx(math.hypot(ahead, 804.0), abs=1e-9)
    assert world.tape("front", "right") == pytest.approx(math.hypot(ahead, 816.0), abs=1e-9)
    assert world.tape("rear", "left") == world.tape("rear", "right")


def test_things_that_stand_about_a_sound_car_are_clear_of_every_zone():
    from readiness.measure.plan import DiscAt

    stood: list[Thing] = []
    for seed in range(30):
        world = sound(str(seed), "tern-rear-corner", ("left", "right"))
        for thing in (*world.kit.values(), *world.others):
            stood.append(thing)
            assert min(clearances(world, DiscAt(*thing.at, thing.radius))) > 0.15
    assert len(stood) > 5


def test_the_catalogue_says_what_it_says_in_two_short_sentences():
    assert len(CATALOGUE) >= 25
    for fault in CATALOGUE.values():
        for sentence in (fault.was, fault.why):
            assert sentence[0].isupper(), fault.id
            assert sentence.endswith("."), fault.id
            assert sentence.count(". ") == 0, fault.id
            assert len(sentence.split()) <= 30, fault.id
