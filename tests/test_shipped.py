"""What is shipped: nothing wrong in any file, and the four checklists say what they must."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from readiness.checklist.files import read_checklist
from readiness.checklist.model import COMMON_PRACTICE, Check, Checklist
from readiness.checks import limit_types
from readiness.job import VOID_EVENTS
from readiness.records import places
from readiness.records.opening import mistakes_in
from readiness.verdict import fixing_order

LISTS = ("front_radar", "rear_corner_radar", "surround_view", "windscreen_camera")
TOPICS = {
    "tyres": ("tyres",), "floor": ("floor",), "aim": ("aim",), "fuel and load": ("load",), "stance": ("stance", "centre_marks"),
    "light and air": ("light", "air"), "clear area": ("clear_area",), "power and faults": ("power", "faults"),
    "instruments and target kit": ("instruments", "target_kit"), "closed and still": ("closed",),
    "procedure": ("procedure",), "place": ("standing",),
}  # fmt: skip
MOUNTING = {
    "rear_corner_radar": ("bracket", "cover"), "front_radar": ("bracket", "cover"),
    "windscreen_camera": ("glass",), "surround_view": ("housings",),
}  # fmt: skip
YAML_FILES = sorted((*places.checklists().rglob("*.yaml"), *places.demo().rglob("*.yaml")))


@cache
def shipped(name: str) -> Checklist:
    folder = places.checklists()
    return read_checklist(folder / f"{name}.yaml", limit_types(), (folder,))


def every_check() -> list[tuple[str, Check]]:
    return [(name, c) for name in LISTS for c in shipped(name).checks]


CHECKS = [pytest.param(c, id=f"{name}-{c.id}") for name, c in every_check()]

# --- files ---------------------------------------------------------------------------------------


def test_the_program_finds_nothing_wrong_with_what_is_shipped() -> None:
    assert [str(m) for m in mistakes_in([places.checklists(), places.demo()])] == []


def test_there_is_one_file_for_each_of_the_four_kinds_of_calibration() -> None:
    found = {p.stem: shipped(p.stem).checklist for p in places.checklists().glob("*.yaml")}
    assert found == {name: name for name in LISTS}
    assert shipped("rear_corner_radar").sides == ("left", "right")
    assert {shipped(n).sides for n in LISTS if n != "rear_corner_radar"} == {("single",)}


BANNED = {
    "94d362738276",
    "fa7aec4efb72",
    "659dc23133c3",
    "261dc1c0fb9c",
    "2c7e26c6ba57",
    "4dfac7c121d8",
    "8bb32b1ca6df",
}
"""Digests of figures that belong to one maker's procedure and may not be taken over."""


def numbers(text: str) -> dict[str, str]:
    """Every number in a text by its digest, thousands marks and decimal commas understood."""
    found = re.findall(r"\d+(?:[.,]\d+)*", text)
    return {digest(v): n for n in found for v in readings_of(n)}


def readings_of(number: str) -> Iterator[float]:
    """What a run of figures may mean: a comma as thousands mark, or as decimal mark."""
    for text in {number.replace(",", ""), number.replace(",", ".")}:
        if text.count(".") <= 1:
            yield float(text)


def digest(value: float) -> str:
    return hashlib.sha256(f"{value:.10g}".encode()).hexdigest()[:12]


@pytest.mark.parametrize("path", YAML_FILES, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_no_figure_of_anybodys_procedure_is_taken_over(path: Path) -> None:
    found = numbers(path.read_text(encoding="utf-8"))
    assert [n for key, n in found.items() if key in BANNED] == []


def test_the_digest_tells_figures_apart() -> None:
    assert set(numbers("1,234.5 mm")) == {digest(1234.5)}
    assert set(numbers("1,234 mm")) == {digest(1234.0), digest(1.234)}
    assert len(BANNED) == 7


# --- words ---------------------------------------------------------------------------------------


def sentences(check: Check) -> Iterator[str]:
    for text in (check.why, check.how, check.remedy, *check.mistakes, *check.cautions):
        yield from re.split(r"(?<=[.!?])\s+", text)


@pytest.mark.parametrize("check", CHECKS)
def test_each_check_has_its_words_in_short_sentences(check: Check) -> None:
    assert len(check.why.split()) >= 15
    assert len(check.how.split()) >= 15
    assert check.remedy.endswith(".")
    assert 2 <= len(check.mistakes) <= 4
    longest = max(sentences(check), key=lambda s: len(s.split()))
    assert len(longest.split()) <= 26, longest


LABEL_WIDTH = 22
"""Columns that a label has in a window of 80."""


@pytest.mark.parametrize("check", CHECKS)
def test_labels_fit_a_small_window_and_are_said_straight(check: Check) -> None:
    """To answer 'no' to a sentence with a 'no' in it leads people astray."""
    for item in getattr(check.limits, "items", ()):
        assert len(item.label) <= LABEL_WIDTH, item.label
        assert not {"no", "not", "nobody", "nothing", "free"} & set(item.label.lower().split()), item.label
        assert len(item.hint) <= 80, item.hint


@pytest.mark.parametrize("check", CHECKS)
def test_each_limit_has_its_source(check: Check) -> None:
    """Either the words for common practice, or a standard that can be looked up."""
    if check.kind in ("procedure", "states"):
        return
    named = set(check.sources) - {"all"}
    fields = {f for f in type(check.limits).__struct_fields__ if isinstance(getattr(check.limits, f), float)}
    assert "all" in check.sources or fields <= named
    for source in check.sources.values():
        assert source == COMMON_PRACTICE or source.startswith("EN 12464-1, "), source


@pytest.mark.parametrize("name", LISTS)
def test_light_limits_that_cite_the_standard_are_figures_of_it(name: str) -> None:
    """EN 12464-1: assembly rough / medium / fine / very fine 200 / 300 / 500 / 750 lx, body construction 500 lx
    (read in pages that quote it); uniformity 0.60 for task areas (from memory)."""
    check = shipped(name).check("light")
    assert "EN 12464-1" in check.source_of("least")
    assert check.limits.least in (200.0, 300.0, 500.0, 750.0)
    assert check.limits.uniformity in (None, 0.6)


@pytest.mark.parametrize("check", CHECKS)
def test_holds_and_events_are_sensible(check: Check) -> None:
    assert check.lasting or 30 <= check.hold <= 12 * 60
    assert {*check.voided_by, *check.a_fix_is} <= set(VOID_EVENTS)


# --- walking and fixing --------------------------------------------------------------------------


@pytest.mark.parametrize("name", LISTS)
def test_steps_cover_every_topic_and_end_with_closed_and_still(name: str) -> None:
    ids = [c.id for c in shipped(name).walk()]
    for topic, checks in {**TOPICS, "mounting": MOUNTING[name]}.items():
        assert set(checks) <= set(ids), topic
    assert ids[0] == "procedure"
    assert ids[-1] == "closed"
    assert len(shipped(name).steps) == 13
    assert all(len(step.title) <= 10 for step in shipped(name).steps)


@pytest.mark.parametrize("name", LISTS)
def test_where_the_car_stands_is_asked_before_anything_is_measured_on_it(name: str) -> None:
    ids = [c.id for c in shipped(name).walk()]
    after = ("tyres", "load", "stance", "centre_marks", "floor", "aim", "clear_area")
    assert all(ids.index("standing") < ids.index(c) for c in after)
    assert all(ids.index(c) < ids.index("standing") for c in ("power", "faults", *MOUNTING[name]))


@pytest.mark.parametrize("name", LISTS)
def test_no_fix_undoes_one_done_before_it(name: str) -> None:
    order = fixing_order(shipped(name))
    undone = [
        (later.id, earlier.id)
        for n, earlier in enumerate(order)
        for later in order[n + 1 :]
        if set(later.a_fix_is) & set(earlier.voided_by)
    ]
    assert undone == []


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize(
    ("first", "then"),
    [("floor", "standing"), ("tyres", "stance"), ("load", "stance"), ("floor", "stance"), ("floor", "clear_area"), ("power", "clear_area"),
     ("faults", "stance"), *((c, "closed") for c in ("tyres", "load", "stance", "floor", "power", "faults"))],
)  # fmt: skip
def test_what_is_put_right_first(name: str, first: str, then: str) -> None:
    order = [c.id for c in fixing_order(shipped(name))]
    assert order.index(first) < order.index(then)
    assert order[-1] == "closed"


@pytest.mark.parametrize("name", LISTS)
def test_each_list_closes_with_result_scan_road_test_and_remarks(name: str) -> None:
    """Common practice, no published source: the scan before the drive, so that nobody drives with a fault."""
    closing = shipped(name).close_walk()
    assert [c.kind for c in closing] == ["result", "rescan", "road_test", "road_seen", "remarks"]
    assert all(c.lasting and not c.voided_by and not c.a_fix_is for c in closing)
    assert {c.id for c in closing if c.per_side} == {"result", "road_seen"}
    assert all(len(step.title) <= 10 for step in shipped(name).closing)
    for word in ("law", "never trust", "somebody else drive"):
        assert word in " ".join(shipped(name).check("road_test").cautions).lower()


@pytest.mark.parametrize("name", LISTS)
def test_each_list_carries_the_usual_cautions(name: str) -> None:
    said = " ".join(shipped(name).cautions).lower()
    for word in (
        "maker",
        "local codes",
        "high voltage",
        "chock",
        "laser",
        "locks on",
        "exhaust",
        "road-test",
    ):
        assert word in said
