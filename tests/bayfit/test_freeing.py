"""Which things have to go: against trying every set of things."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from readiness.bayfit.freeing import to_move

NAMES = ("trolley", "bin", "jack", "ladder", "creeper", "chest")
sets = st.frozensets(st.sampled_from(NAMES), min_size=1)
ways_out = st.lists(sets, max_size=4)
"""Sets of things; taking away any of them, or more, makes it fit."""


def every_set(things):
    return [frozenset(c) for n in range(len(things) + 1) for c in combinations(things, n)]


@given(ways_out)
def test_it_fits_without_them_and_none_of_them_could_stay(ways):
    def fits(gone):
        return any(way <= gone for way in ways)

    moved = frozenset(to_move(NAMES, fits))
    if not ways:
        assert moved == frozenset()
        return
    assert fits(moved)
    assert not any(fits(moved - {name}) for name in moved)


@given(ways_out)
def test_they_are_the_fewest(ways):
    def fits(gone):
        return any(way <= gone for way in ways)

    fewest = min((len(s) for s in every_set(NAMES) if fits(s)), default=0)
    assert len(to_move(NAMES, fits)) == fewest


def test_in_the_order_of_the_file():
    assert to_move(NAMES, lambda gone: gone >= {"jack", "trolley"}) == ("trolley", "jack")


def test_nothing_movable_means_nothing_to_move():
    assert to_move((), lambda gone: True) == ()


def test_of_very_many_things_those_found_cannot_stay():
    many = [f"bin {n}" for n in range(40)]
    calls = []

    def fits(gone):
        calls.append(gone)
        return gone >= set(many[5:12])

    assert to_move(many, fits) == tuple(many[5:12])
    assert len(calls) < 60


def test_where_all_of_very_many_have_to_go_nothing_smaller_is_tried():
    many = [f"bin {n}" for n in range(40)]
    calls = []

    def fits(gone):
        calls.append(gone)
        return gone >= set(many)

    assert to_move(many, fits) == tuple(many)
    assert len(calls) < 2 * len(many)


def test_what_nobody_can_do_without_is_in_every_set_that_is_tried():
    """Of 40 things 9 block every place; of the others 3 block one place and 2 another."""
    many = [f"bin {n}" for n in range(40)]
    always, three, two = set(many[9:36:3]), set(many[:3]), set(many[38:])
    assert to_move(many, lambda gone: gone >= always | three or gone >= always | two) == tuple(
        name for name in many if name in always | two
    )


def test_no_more_is_asked_than_needed():
    asked = []

    def fits(gone):
        asked.append(gone)
        return "bin" in gone

    assert to_move(NAMES, fits) == ("bin",)
    assert len(asked) <= 1 + len(NAMES)  # all gone, then each put back, or several at once
