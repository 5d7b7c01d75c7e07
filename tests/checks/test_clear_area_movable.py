"""Clear area: what the bay's file has as movable counts as standing there until a person says that it has gone."""

from __future__ import annotations

import pytest

from tests.checks.areas import BARE, DISC, NOTHING_ELSE, area, bay, bin_at, post, sheet
from tests.scenes import asked, part

IN_THE_WAY, AWAY = (-3.0, 2.4), (6.0, -4.0)
MOVED = {"moved.1": "y", **NOTHING_ELSE}


def questions(*things, zones=(DISC,)):
    return asked(BARE, NOTHING_ELSE, sheet=sheet(*zones), bay=bay(*things))


def test_only_what_can_be_moved_and_matters_is_asked():
    trolley = post(*IN_THE_WAY, "trolley", fixed=False, metal="yes")
    column, barrel = post(*IN_THE_WAY, "column", metal="yes"), post(*AWAY, "barrel", fixed=False, metal="no")
    assert [k for k in questions(column, trolley, barrel) if k.startswith("moved")] == ["moved.2"]
    one = questions(column, trolley, barrel)["moved.2"]
    assert (one.label, one.optional, one.shared, one.default) == ("Trolley moved", True, True, "no")


@pytest.mark.parametrize("answers", [NOTHING_ELSE, {"moved.1": "n", **NOTHING_ELSE}], ids=["not said", "no"])
def test_until_somebody_says_so_it_stands_where_the_file_has_it(answers):
    found = area(post(*IN_THE_WAY, "trolley", fixed=False), answers=answers)
    assert part(found, "disc/bay.1").outcome == "fail"
    assert part(found, "disc/bay.1").remedy.endswith("then say here that it was moved.")
    assert "moved.1" not in {p.key for p in found.parts}


def test_what_was_moved_is_out_of_every_zone_and_of_the_picture():
    found = area(post(*IN_THE_WAY, "trolley", fixed=False), answers=MOVED)
    assert {p.outcome for p in found.parts} == {"pass"}
    assert part(found, "moved.1").reason == "Trolley is gone from its place."
    assert "trolley" not in {s.label for s in found.picture}


def test_what_was_moved_and_is_still_near_is_named_like_any_other_thing():
    answers = {"moved.1": "y", **bin_at(*IN_THE_WAY)}
    assert part(area(post(*AWAY, fixed=False), answers=answers), "other.1").outcome == "fail"
