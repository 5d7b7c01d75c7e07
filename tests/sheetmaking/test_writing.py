"""A sheet that is asked for: what is typed becomes the file, and nothing else does."""

from __future__ import annotations

import re

import msgspec.inspect as mi
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from readiness import units
from readiness.checklist.files import read_sheet
from readiness.checklist.nodes import parse
from readiness.checklist.shapes import ZONE_SHAPES
from readiness.checks.picture import Spot
from readiness.job import Sheet
from readiness.records.drafts import same_sheet
from readiness.sheetmaking.checked import finished, looked_at, remarks_at
from readiness.sheetmaking.draft import Draft, leaves, tree_of
from readiness.sheetmaking.in_file import in_file, meanwhile
from readiness.sheetmaking.plan import plan
from readiness.sheetmaking.questions import all_asked, answered, kept, sections
from readiness.sheetmaking.well_formed import well_formed
from readiness.sheetmaking.yaml_text import ABOUT, scalar, yaml_text
from tests.sheetmaking.writing import SHEETS, TERN, answers_of, known, next_asked, written_out

KNOWN = known()


def question(draft: Draft, key: str):
    return next(a.question for a in all_asked(draft, KNOWN) if a.key == key)


def typed(draft: Draft, key: str, text: str) -> Draft:
    return answered(draft, KNOWN, question(draft, key), text)


def said_at(draft: Draft, key: str) -> str:
    """What is said at a question."""
    found = looked_at(draft, KNOWN)
    for section in sections(draft, KNOWN):
        if remarks := remarks_at(found.remarks, section.asked).get(key):
            return " ".join(r.words for r in remarks)
    return ""


@pytest.fixture(scope="module")
def tern() -> Draft:
    return answers_of(TERN)


# --- the sheets of the demo, typed anew -----------------------------------------------------------


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.stem)
def test_typed_anew_it_says_what_the_sheet_says(path, tmp_path):
    draft = typed(
        written_out(answers_of(path), KNOWN), "document.checked", str(read_sheet(path).document.checked)
    )
    found = finished(draft, KNOWN)
    assert found.sound, found
    assert not found.doubts
    made = tmp_path / "sheet.yaml"
    made.write_text(found.text, encoding="utf-8")
    assert same_sheet(read_sheet(made), read_sheet(path))


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.stem)
def test_nothing_is_said_while_it_is_typed_as_it_is(path):
    """No remark, no trouble after any answer; the plan never shows more than was typed."""
    wanted, draft = answers_of(path), Draft()
    while (asked := next_asked(draft, wanted, KNOWN)) is not None:
        draft = answered(draft, KNOWN, asked.question, wanted.get(asked.key))
        looked = looked_at(draft, KNOWN)
        assert looked.remarks == (), asked.key
        spots = [s for s in plan(looked, ("left",), "metric") if isinstance(s, Spot) and s.role == "target"]
        assert len(spots) <= draft.count("targets")


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.stem)
def test_every_answer_of_a_sheet_is_asked_for(path):
    draft = answers_of(path)
    asked = {a.key for a in all_asked(draft, KNOWN)}
    assert [k for k, _ in leaves(draft.tree) if k not in asked and ".sees." not in k] == []


def test_each_block_has_one_line_that_says_what_it_is_and_the_page(tern):
    draft = (
        tern.put("#pages.zones", "page 18, figure 3")
        .put("zones.1.#why", "echoes\nof a trolley")
        .put("#found", "the tablet")
    )
    lines = yaml_text(in_file(draft)).splitlines()
    for block in (b for b in ABOUT if b in draft.tree):
        at = next(k for k, line in enumerate(lines) if line.startswith(f"{block}:"))
        assert lines[at - 1].startswith("# "), block
        assert lines[at - 2] == "", block
    assert "# What must be clear, and of what. Document: page 18, figure 3." in lines
    assert "  # echoes of a trolley" in lines
    assert any(
        line.startswith("# The vehicle maker's") and "Where it is found: the tablet." in line
        for line in lines
    )
    keys = re.findall(r"^(\w+):", "\n".join(lines), re.MULTILINE)
    demo = re.findall(r"^(\w+):", TERN.read_text(encoding="utf-8"), re.MULTILINE)
    assert keys == [k for k in demo if k in keys]


# --- what is typed --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [("2.71", "2.71 m"), (".92", "0.92 m"), ("1.2 behind", "-1.2 m"), ("0.4 left", "0.4 m"), ("400 mm right", "-400 mm"),
     ("6 ft 2 in", "6 ft 2 in"), ("-0.88", "-0.88 m"), ("0.6 back", "-0.6 m")],
)  # fmt: skip
def test_a_length_is_kept_as_it_will_stand(tern, text, expected):
    assert kept(question(tern, "sensors.0.at.x"), text, KNOWN) == expected


@pytest.mark.parametrize("text", ["-1.2 behind", "behind", "12 kPa", "1 2", "1,234", "", "x" * 500])
def test_what_is_no_length_is_refused_with_a_sentence(tern, text):
    with pytest.raises(units.UnitsError) as refused:
        kept(question(tern, "sensors.0.at.x"), text, KNOWN)
    assert str(refused.value).endswith(".")


def test_a_name_becomes_an_id(tern):
    assert typed(tern, "zones.3.id", "Line of Sight (2)!").get("zones.3.id") == "line-of-sight-2"
    with pytest.raises(units.UnitsError):
        typed(tern, "zones.3.id", "***")


def test_another_shape_drops_the_first_ones_answers(tern):
    draft = typed(tern, "zones.0.#shape", "d")
    assert [s for s in ZONE_SHAPES if s in draft.tree["zones"][0]] == []
    assert tern.get("zones.0.corridor.half_width"), "the draft before is as it was"


def test_one_changed_reading_puts_the_whole_list_into_the_sheet(tern):
    key = "limits.bracket.items.0.low"
    draft = typed(tern, key, "-2")
    assert draft.get(key) == "-2 °"
    assert draft.count("limits.bracket.items") == len(
        KNOWN.checklists["rear_corner_radar"].checks[0].id and items("bracket")
    )
    assert finished(draft, KNOWN).sound, finished(draft, KNOWN).wrong


def items(check: str):
    return next(c for c in KNOWN.checklists["rear_corner_radar"].checks if c.id == check).limits.items


# --- lengths from the sensor, and the other side --------------------------------------------------


def test_lengths_from_the_sensor_come_out_in_car_axes(tern, tmp_path):
    """-0.88 - 1.9 = -2.78 and 0.66 + 1.7 = 2.36, by hand."""
    draft = tern.put("targets.0.from.along", "sensor")
    for key, text in (("at.x", "1.9 behind"), ("at.y", "1700 mm"), ("feet.0.x", "-2.22"), ("feet.0.y", "1.7"),
                      ("feet.1.x", "-1.74"), ("feet.1.y", "1.98"), ("feet.2.x", "-1.74"), ("feet.2.y", "1.42")):  # fmt: skip
        draft = typed(draft, f"targets.0.{key}", text)
    found = finished(draft, KNOWN)
    assert found.sound, found.wrong
    assert "# Document: from the sensor radar, along -1.9 m, across 1700 mm." in found.text
    made = tmp_path / "sheet.yaml"
    made.write_text(found.text, encoding="utf-8")
    assert read_sheet(made).targets == read_sheet(TERN).targets


def test_without_a_sensor_lengths_cannot_count_from_it(tern):
    draft = tern.drop("sensors")
    assert "sensor" not in [c.value for c in question(draft, "targets.0.from.along").choices]


def test_the_right_side_is_drawn_as_the_mirror_image_of_the_left(tern):
    picture = plan(looked_at(tern, KNOWN), ("left", "right"), "metric")
    targets = {s.label: s.at for s in picture if isinstance(s, Spot) and s.role == "target"}
    x, y = targets["reflector"]
    assert targets == {"reflector": (x, y), "reflector (right)": (x, -y)}


def test_the_plan_begins_with_the_car(tern):
    assert plan(looked_at(tern.drop("dimensions.width"), KNOWN), ("left",), "metric") == ()


# --- remarks where they belong --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "text", "at", "words"),
    [
        ("placard.pressure.front", "33 bar", "placard.pressure.front", "33 psi"),
        ("placard.size.rear", "215-60-17", "placard.size.rear", "tyre size"),
        ("dimensions.wheelbase", "1.5", "dimensions.wheelbase", "1.8 to 4.5"),
        ("sensors.0.at.y", "3", "sensors.0.at.x", "off the car"),
        ("zones.2.height.high", "0", "zones.2.height.high", "not above low"),
        ("zones.2.id", "line of sight", "zones.2.id", "again"),
        ("results.1.within", "2.2 bananas", "results.1.within", "not a unit"),
        ("limits.tyres.side_difference", "0", "limits.tyres.side_difference", "more than zero"),
        ("sensors.0.at.y", "-0.66", "sensors.0.at.x", "mirror image"),
        ("ride_heights.front", "68.8", "ride_heights.front", "with this tyre size"),
        ("document.issued", "2026-02-28", "", ""),
    ],
)
def test_what_the_rules_find_stands_at_its_question(tern, key, text, at, words):
    draft = typed(tern, key, text)
    if not words:
        assert looked_at(draft, KNOWN).remarks == ()
        return
    assert words in said_at(draft, at)


def test_a_target_inside_the_car_is_told_at_its_lengths(tern):
    assert "where the car stands" in said_at(
        typed(typed(tern, "targets.0.at.x", "1.2"), "targets.0.at.y", "0.4"), "targets.0.at.x"
    )


def test_a_zone_at_the_wrong_end_is_a_doubt_that_may_stand(tern):
    draft = typed(typed(tern, "zones.1.disc.at.x", "5"), "zones.1.disc.at.y", "0")
    assert "ahead of the car" in said_at(draft, "zones.1.id")
    found = finished(draft, KNOWN)
    assert found.sound
    assert len(found.doubts) == 1
    assert finished(draft.accept(found.doubts[0].words), KNOWN).doubts == ()


def test_what_is_still_open_is_named_and_nothing_else(tern):
    draft = tern.drop("dimensions.wheelbase").drop("zones.0.corridor.end.x")
    found = finished(draft, KNOWN)
    assert not found.sound
    assert [(s.id, [a.key for a in asked]) for s, asked in found.open] == [
        ("car", ["dimensions.wheelbase"]), ("zones", ["zones.0.corridor.end.x"]),
    ]  # fmt: skip
    assert found.wrong == ()


@settings(max_examples=30)
@given(st.data())
def test_with_any_answers_missing_nothing_breaks_and_nothing_false_is_said(data):
    """Whatever is left out of a sound sheet: what is left is drawn and looked at, and no mistake is found in it."""
    draft = answers_of(data.draw(st.sampled_from(SHEETS)))
    for _ in range(data.draw(st.integers(1, 6))):
        keys = [k for k, _ in leaves(draft.tree)]
        if not keys:
            break
        draft = draft.drop(data.draw(st.sampled_from(keys)).removesuffix(".0"))
    looked = looked_at(draft, KNOWN)
    plan(looked, ("left", "right"), "metric")
    missing = {a.key for s, asked in finished(draft, KNOWN).open for a in asked}
    assert not [r for r in looked.remarks if r.key in missing]
    assert well_formed(draft.tree)
    tree, _ = meanwhile(draft, KNOWN)
    parse(yaml_text(tree).encode(), "sheet")


# --- text from people -----------------------------------------------------------------------------

HOSTILE = [
    "[/b]", "{a: b}", "'", '"', "a: b", "a #b", "- a", "null", "~", "yes", "&a", "*a", "!tag", "%YAML", "`", "@", "| x",
    "> y", "\x1b[31m", "\u202eabc", "a\nb: c", "\t", "---", "...", "? x", "é ünï 漢字", "\\", "''", "a:", ": a", "{", "]", ",", "\ufeffx", "0x10", "1e3",
]  # fmt: skip


def texts(tree):
    """All free texts of a sheet that are asked for."""
    return [a.question for a in all_asked(tree, KNOWN) if a.question.type == "text"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_in_every_field_is_text(tern, text):
    draft, taken = tern, 0
    for asked in texts(tern):
        try:
            draft = answered(draft, KNOWN, asked, text)
            taken += 1
        except units.UnitsError:  # nothing is left of it, or it is no id or date
            continue
    assert taken > 5 or not re.sub(r"\W", "", text) or not text.isprintable()
    said = yaml_text(in_file(draft))
    assert all(c.isprintable() or c == "\n" for c in said)
    assert tree_of(parse(said.encode("utf-8"), "sheet")) == without_foreign(draft.tree)
    assert plan(looked_at(draft, KNOWN), ("left", "right"), "metric") is not None


def without_foreign(tree):
    if isinstance(tree, dict):
        return {k: without_foreign(v) for k, v in tree.items() if not k.startswith("#")}
    return [without_foreign(v) for v in tree] if isinstance(tree, list) else tree


PRINTABLE = st.text(st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=30)


@given(PRINTABLE, PRINTABLE)
@example("a:b", "- c")
@example("12,5", "a,,b")
def test_any_text_is_read_back_as_it_was(one, other):
    """In a line of its own and inside brackets; the reader of sheets is the judge."""
    one, other = (" ".join(t.split()) or "x" for t in (one, other))
    said = f"a: {scalar(one)}\nb: {{{scalar(one, in_flow=True)}: {scalar(other, in_flow=True)}}}\nc: [{scalar(other, in_flow=True)}]\n"
    assert tree_of(parse(said.encode("utf-8"), "text")) == {"a": one, "b": {one: other}, "c": [other]}


# --- nothing of a sheet is forgotten --------------------------------------------------------------


def paths_of(info, path: str = ""):
    """Every leaf that a sheet's file can have, list numbers left out."""
    if isinstance(info, mi.Metadata):
        yield from paths_of(info.type, path)
    elif isinstance(info, mi.UnionType):
        yield from paths_of(next(t for t in info.types if not isinstance(t, mi.NoneType)), path)
    elif isinstance(info, mi.StructType):
        for f in info.fields:
            yield from paths_of(f.type, f"{path}.{f.encode_name}".removeprefix("."))
    elif isinstance(info, mi.VarTupleType):
        yield from paths_of(info.item_type, path)
    elif not isinstance(info, mi.AnyType):  # limits: their types are the checks'
        yield path


def test_every_field_that_a_sheet_can_have_is_asked_for(tern):
    drafts = [tern.put("axle_loads.front", "780 kg").put("springs.front", "24 N/mm").put("sensors.1.id", "second")
              .put("targets.1.id", "second").put("results.0.#way", way) for way in ("range", "within", "message")]  # fmt: skip
    drafts += [tern.put("zones.0.#shape", shape).put("zones.0.height.high", "1 m") for shape in ZONE_SHAPES]
    drafts.append(tern.put("zones.0.#shape", "polygon").put("zones.0.polygon.0.x", "1 m"))
    asked = {re.sub(r"\.\d+", "", a.key) for draft in drafts for a in all_asked(draft, KNOWN)}
    assert {p for p in paths_of(mi.type_info(Sheet)) if p not in asked} == set()


def test_every_number_among_the_limits_is_asked_for(tern):
    """But for the lists of kit, places and instruments, which a procedure does not give."""
    for name, checklist in KNOWN.checklists.items():
        asked = {a.key for a in all_asked(tern.put("checklist", name), KNOWN)}
        for check in checklist.checks:
            for f in getattr(check.limits, "__struct_fields__", ()):
                value = getattr(check.limits, f)
                if not isinstance(value, tuple):
                    assert f"limits.{check.id}.{f}" in asked
