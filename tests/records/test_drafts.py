"""Drafts of sheets in the shop's folder: nothing is lost, nothing is written over, what is no draft is told."""

from __future__ import annotations

import errno
import json

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checklist.files import read_sheet
from readiness.records import drafts as module
from readiness.records.drafts import (
    copy_sheet,
    draft_from,
    drafts,
    in_the_way,
    known_of,
    new_draft,
    open_draft,
    same_sheet,
    write_sheet,
)
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopError
from readiness.sheetmaking.checked import finished, looked_at
from readiness.sheetmaking.draft import Draft, leaves
from readiness.sheetmaking.plan import plan
from readiness.sheetmaking.questions import answered
from readiness.sheetmaking.well_formed import well_formed
from tests.sheetmaking.writing import KNOWN_SHEETS, TODAY, answers_of, known, next_asked
from tests.shop import demo_shop

TERN = KNOWN_SHEETS["tern-rear-corner"]
KNOWN = known()


@pytest.fixture
def shop(tmp_path):
    return demo_shop(tmp_path)


def test_after_every_answer_all_of_it_is_on_the_disk(shop):
    kept, wanted = new_draft(shop), answers_of(TERN)
    for _ in range(15):
        asked = next_asked(kept.draft, wanted, KNOWN)
        kept.keep(answered(kept.draft, KNOWN, asked.question, wanted.get(asked.key)))
        assert open_draft(kept.path).draft == kept.draft
    assert [p.name for p in (shop.path / "drafts").iterdir()] == ["new.json"]
    assert mistakes_in([shop.path]) == [], "a draft is no file for lint"


def test_drafts_have_files_of_their_own(shop):
    first = new_draft(shop)
    first.keep(first.draft.put("car", "Tern"))
    second = new_draft(shop)
    second.keep(second.draft.put("title", "Wren, front radar"))
    assert first.path != second.path
    assert {(d.title, d.answers) for d in drafts(shop)} == {("Tern", 1), ("Wren, front radar", 1)}


def test_a_disk_that_refuses_leaves_the_draft_as_it_was(shop, monkeypatch):
    kept = new_draft(shop)
    kept.keep(kept.draft.put("car", "Tern"))
    before = kept.path.read_bytes()

    def full(path, data):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(module, "write_whole", full)
    with pytest.raises(ShopError, match=r"no space left on device\. The answer was not kept"):
        kept.keep(kept.draft.put("car", "Wren"))
    assert kept.draft.get("car") == "Tern"
    assert kept.path.read_bytes() == before


def test_a_second_program_on_the_same_draft_writes_nothing_over(shop):
    one = new_draft(shop)
    one.keep(one.draft.put("car", "Tern"))
    other = open_draft(one.path)
    other.keep(other.draft.put("car", "Wren"))
    with pytest.raises(ShopError, match="another program"):
        one.keep(one.draft.put("title", "Tern, front radar"))
    assert open_draft(one.path).draft.get("car") == "Wren"


# --- damaged ones ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"\xff\xfe", b'{"format": 2, "draft": {}}', b'{"format": 1, "draft": {"tree": {"targets": "x"}}}',
             b'{"format": 1, "draft": {"tree": {"document": []}}}', b'{"format": 1, "draft": {"tree": {"zones": [1]}}}',
             b"[" * 100_000],
)  # fmt: skip
def test_what_is_no_draft_is_told_and_left(shop, data):
    kept = new_draft(shop)
    kept.keep(kept.draft.put("car", "Tern"))
    bad = kept.path.with_name("bad.json")
    bad.write_bytes(data)
    with pytest.raises(ShopError, match="no draft that this program wrote"):
        open_draft(bad)
    lines = drafts(shop)
    assert [d.title for d in lines] == ["Tern", "bad"]
    assert lines[1].fault
    assert bad.read_bytes() == data


VALUES = st.recursive(
    st.text(max_size=5),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text(max_size=4), below, max_size=3),
)


@settings(max_examples=60)
@given(st.data())
def test_whatever_stands_in_a_draft_is_refused_or_can_be_gone_on_with(data):
    """Any branch replaced by anything; what passes as a draft is asked, drawn and looked at without trouble."""
    tree = json.loads(
        msgspec.json.encode(answers_of(data.draw(st.sampled_from(list(KNOWN_SHEETS.values())))).tree)
    )
    for _ in range(data.draw(st.integers(1, 3))):
        found = [k for k, _ in leaves(tree)]
        steps = data.draw(st.sampled_from(found)).split(".") if found else ["car"]
        steps = steps[: data.draw(st.integers(1, len(steps)))]
        holder = tree
        for step in steps[:-1]:
            holder = holder[int(step) if isinstance(holder, list) else step]
        holder[int(steps[-1]) if isinstance(holder, list) else steps[-1]] = data.draw(VALUES)
    if well_formed(tree):
        looked = looked_at(Draft(tree=tree), KNOWN)
        plan(looked, ("left", "right"), "metric")
        finished(Draft(tree=tree), KNOWN)


# --- the sheet ------------------------------------------------------------------------------------


def test_a_sheet_is_written_and_read_back_and_never_over_another(shop):
    draft = draft_from(shop, "tern-rear-corner", "tern-2")
    found = finished(draft, known_of(shop, TODAY))
    assert found.sound
    path = write_sheet(shop, found.text)
    assert path == shop.path / "sheets" / "tern-2.yaml"
    assert read_sheet(path).sheet == "tern-2"
    assert in_the_way(shop, "tern-2") == path
    before, other = path.read_bytes(), found.text.replace("Right side is the mirror image.", "other")
    with pytest.raises(ShopError, match="already"):
        write_sheet(shop, other)
    assert path.read_bytes() == before
    assert write_sheet(shop, other, over=True) == path
    assert read_sheet(path).note == "other"


def test_a_file_of_another_name_with_that_id_is_in_the_way_too(shop):
    there = shop.path / "sheets" / "tern-rear-corner.yaml"
    moved = there.rename(there.with_name("old.yaml"))
    assert in_the_way(shop, "tern-rear-corner") == moved


def test_what_reads_back_otherwise_is_told(shop, monkeypatch):
    text = finished(draft_from(shop, "tern-rear-corner", "tern-2"), known_of(shop, TODAY)).text
    real = module.write_whole
    monkeypatch.setattr(module, "write_whole", lambda path, data: real(path, data.replace(b"2.71", b"2.17")))
    with pytest.raises(ShopError, match="does not read as it was written"):
        write_sheet(shop, text)


def test_a_text_with_mistakes_is_not_written(shop):
    text = finished(draft_from(shop, "tern-rear-corner", "tern-2"), known_of(shop, TODAY)).text
    with pytest.raises(ShopError, match="expected"):
        write_sheet(shop, text.replace("2.71 m", "2.71 kPa"))
    assert in_the_way(shop, "tern-2") is None


def test_a_copy_says_the_same_but_for_its_id_and_the_day_it_was_compared(shop):
    made = read_sheet(copy_sheet(shop, "tern-rear-corner", "tern-2"))
    before = read_sheet(TERN)
    document = msgspec.structs.replace(before.document, checked=None)
    assert same_sheet(made, msgspec.structs.replace(before, sheet="tern-2", document=document))


@pytest.mark.parametrize("name", ["../tern", "Tern 2", "", "a/b"])
def test_an_id_that_is_none_is_refused(shop, name):
    if name:
        with pytest.raises(ShopError, match="is no id"):
            draft_from(shop, "tern-rear-corner", name)
    with pytest.raises(ShopError, match="not in"):
        draft_from(shop, "no-such-sheet", "tern-2")
