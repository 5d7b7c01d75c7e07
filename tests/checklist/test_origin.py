"""What a target's lengths count from: places in car axes against plane geometry; the rest are bad files."""

from __future__ import annotations

from math import dist
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness import job
from readiness.checklist.files import read_sheet
from readiness.checklist.origin import ACROSS, ALONG, in_car_axes
from tests.checklist.kinds import BAD, GOOD, linted

SHEET = read_sheet(GOOD / "sheet.yaml")
SIZE = SHEET.dimensions
ORIGINS = st.builds(job.Origin, along=st.sampled_from(list(ALONG)), across=st.sampled_from(list(ACROSS)))
lengths = st.floats(-20, 20).filter(lambda x: abs(x) > 1e-6)


def with_target(origin: job.Origin | None, x: float, y: float, z: float = 0.6) -> job.Sheet:
    target = job.Target(
        id="t", at=job.Place(x=x, y=y, z=z), feet=(job.Point(x=x - 0.2, y=y), job.Point(x=x + 0.2, y=y)),
        origin=origin,
    )  # fmt: skip
    return changed(SHEET, targets=(target,))


@pytest.mark.parametrize(
    ("along", "across", "x", "y"),
    [
        # wheelbase 2.7 m, marks at 3.6 m and -0.95 m, tracks 1.56 m and 1.57 m; sums by hand
        ("rear_axle", "centre_line", 1.5, 2.0),
        ("front_axle", "centre_line", 4.2, 2.0),
        ("rear_mark", "centre_line", 0.55, 2.0),
        ("front_mark", "centre_line", 5.1, 2.0),
        ("rear_axle", "wheel_line", 1.5, 2.785),
        ("rear_mark", "wheel_line", 0.55, 2.785),
        ("front_axle", "wheel_line", 4.2, 2.78),
        ("front_mark", "wheel_line", 5.1, 2.78),
    ],
)
def test_each_origin_by_hand(along, across, x, y) -> None:
    (target,) = in_car_axes(with_target(job.Origin(along=along, across=across), 1.5, 2.0)).targets
    assert (target.at.x, target.at.y, target.at.z) == pytest.approx((x, y, 0.6))
    assert [f.x for f in target.feet] == pytest.approx([x - 0.2, x + 0.2])
    assert [f.y for f in target.feet] == pytest.approx([y, y])
    assert target.origin == job.Origin(along=along, across=across)


def test_a_reflector_behind_the_rear_mark_lies_on_the_diagonal() -> None:
    # 614 mm behind the rear mark and 3,679 mm across: 3,729.9 mm from that mark (common practice, no published source)
    (target,) = in_car_axes(with_target(job.Origin(along="rear_mark"), -0.614, 3.679)).targets
    assert dist((target.at.x, target.at.y), (SHEET.marks.rear, 0)) * 1000 == pytest.approx(3729.9, abs=0.05)


@given(ORIGINS, lengths, lengths)
def test_left_and_right_are_mirror_images(origin, x, y) -> None:
    (left,) = in_car_axes(with_target(origin, x, y)).targets
    (right,) = in_car_axes(with_target(origin, x, -y)).targets
    assert (left.at.x, left.at.y) == (right.at.x, -right.at.y)
    assert [(f.x, f.y) for f in left.feet] == [(f.x, -f.y) for f in right.feet]


@given(ORIGINS, lengths, lengths)
def test_turning_into_car_axes_moves_and_bends_nothing(origin, x, y) -> None:
    """Feet stay where they are from the target; outwards stays outwards."""
    (before,), (after,) = with_target(origin, x, y).targets, in_car_axes(with_target(origin, x, y)).targets
    for foot, moved in zip(before.feet, after.feet, strict=True):
        assert moved.x - after.at.x == pytest.approx(foot.x - before.at.x, abs=1e-9)
        assert moved.y - after.at.y == pytest.approx(foot.y - before.at.y, abs=1e-9)
    assert after.at.y * y > 0
    assert abs(after.at.y) >= abs(y)


def test_without_an_origin_the_lengths_are_car_axes() -> None:
    assert in_car_axes(with_target(None, 1.0, 2.0)) == with_target(None, 1.0, 2.0)


def test_a_sheet_is_read_in_car_axes_and_keeps_its_origin() -> None:
    board = SHEET.targets[1]
    assert (board.at.x, board.at.y) == pytest.approx((6.0, 1.28))
    assert (board.feet[0].x, board.feet[0].y) == pytest.approx((6.0, 1.08))
    assert board.origin == job.Origin(along="front_axle", across="wheel_line")
    assert board.tape is not None
    assert board.tape.front_mark == pytest.approx(2.72)
    assert SHEET.springs is not None
    assert SHEET.springs.front == 24.0
    assert SHEET.springs.rear == pytest.approx(
        180 * 0.45359237 * 9.80665 / 25.4
    )  # lbf and inch, exact by definition
    assert msgspec.to_builtins(SHEET)["targets"][1]["from"]["along"] == "front_axle"


@pytest.mark.parametrize("along", list(ALONG))
@pytest.mark.parametrize("across", list(ACROSS))
def test_the_tape_names_the_origin_that_was_meant(along: str, across: str, tmp_path: Path) -> None:
    """A target typed from another origin than the sheet says is told so by its two diagonals."""
    text = (BAD / "sheet-tape-across.yaml").read_text(encoding="utf-8")
    x, y = (-7.0 if "rear" in along else 7.0), 2.5
    (meant,) = in_car_axes(with_target(job.Origin(along=along, across=across), x, y)).targets  # type: ignore[arg-type]
    tape = {m: dist((meant.at.x, meant.at.y), (getattr(SHEET.marks, m), 0)) for m in ("front", "rear")}
    lines = f"at: {{x: {x} m, y: {y} m, z: 60 cm}}\n    tape: {{front_mark: {tape['front']:.4f} m, rear_mark: {tape['rear']:.4f} m}}\n"
    start, end = text.index("at: {x: -0.614"), text.index("zones:")
    path = tmp_path / "sheet.yaml"
    path.write_text(text[:start] + lines + text[end:], encoding="utf-8", newline="\n")
    found = linted(path)
    if (along, across) == ("rear_axle", "centre_line"):
        assert found == []
        return
    assert {m.where.rpartition(".")[2] for m in found} == {"rear_mark", "front_mark"}
    words = f"from: {{along: {along}{', across: wheel_line' if across == 'wheel_line' else ''}}}"
    assert all(m.hint.endswith(f"{words}.") for m in found)
