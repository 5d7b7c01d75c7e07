"""Whatever a file of a spot check's answers says: it is taken, or told in sentences with their places."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checklist.mistakes import FileMistakes
from readiness.records.spot_answers import FileAnswers, blank_file, name_of
from tests.through import told, within

chars = st.characters(exclude_categories=("Cn", "Co", "Cs"))
"""What Unicode knows; what it does not, no terminal minds."""
scalars = st.one_of(
    st.text(chars, max_size=12),
    st.floats(allow_nan=False),
    st.booleans(),
    st.none(),
    st.sampled_from(("231 kPa", "y", "none: gone")),
)
keys = st.sampled_from(
    (
        "spot_check",
        "by",
        "instruments",
        "shared",
        "checks",
        "tyres",
        "pressure.lf",
        "value",
        "left_out",
        "note",
        "",
    )
)
trees = st.recursive(
    scalars, lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(keys | st.text(chars, max_size=4), inner, max_size=4)),
    max_leaves=12,
)  # fmt: skip


def _is_text(data: bytes) -> bool:
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return True


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("spot") / "found.yaml"


def taken_or_told(path) -> FileAnswers | None:
    try:
        found = within(lambda: FileAnswers(path))
        found.judge("HB-1", {("tyres", "", "pressure.lf")})
        found.stop()
    except FileMistakes as fault:
        told(fault)
        return None
    return found


@given(trees, trees, st.booleans())
@settings(deadline=None, max_examples=150)
def test_any_tree_is_taken_or_told(path, checks, shared, plain):
    tree = {"spot_check": "HB-1", "checks": checks, **({} if plain else {"shared": shared})}
    path.write_text(yaml.safe_dump(tree, allow_unicode=True), encoding="utf-8")
    taken_or_told(path)


@given(
    st.text(chars, max_size=200).map(str.encode) | st.binary(max_size=200).filter(lambda b: not _is_text(b))
)
@settings(deadline=None, max_examples=150)
def test_any_bytes_are_taken_or_told(path, data):
    path.write_bytes(data)
    assert taken_or_told(path) is None, "by chance nobody writes 'spot_check: HB-1'"


def test_a_blank_file_has_no_answers_and_no_mistakes(path):
    path.write_text(blank_file('HB-1: "x" #', "Tamsin 'T' Vale: #", []), encoding="utf-8")
    found = FileAnswers(path)
    assert (found.file.spot_check, found.file.by) == ('HB-1: "x" #', "Tamsin 'T' Vale: #")


@pytest.mark.parametrize(
    ("place", "name"),
    [
        (("tyres", "", "pressure.lf"), "tyres: pressure.lf"),
        (("bracket", "left", "tilt"), "bracket left: tilt"),
        (("cover", "single", "bare"), "cover: bare"),
        (("shared", "", "air"), "shared: air"),
    ],
)
def test_places_are_named_as_in_a_file_of_answers(place, name):
    assert name_of(place) == name
