"""The shop's folder: read when needed, one bad file does not hide the others, missing things are named."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest
from msgspec.structs import replace as changed

from readiness.records import places
from readiness.records.journal import Journal, JournalError
from readiness.records.kept import write_journal
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopError, ShopFolder, default_folder
from tests.records.invented import AT, SHEETS, demo_shop, opened


@pytest.fixture
def own(tmp_path) -> ShopFolder:
    return demo_shop(tmp_path)


def test_the_demo_shop_reads_whole(own):
    assert set(own.sheets) == set(SHEETS)
    assert set(own.sheets.good()) == set(SHEETS)
    assert own.sheets.mistakes() == own.bays.mistakes() == ()
    assert len(own.bays) >= 3
    assert len(own.instruments) >= 6
    assert {s.checklist for s in own.sheets.values()} <= set(own.checklist_paths)


def test_the_sheets_limits_are_in_the_visit(own):
    visit = own.visit(opened())
    plain = own.checklist(visit.sheet.checklist)
    assert visit.checklist.check("tyres").limits.side_difference == 8.0
    assert "QM-TERN" in visit.checklist.check("tyres").source_of("side_difference")
    assert plain.check("tyres").limits.side_difference != 8.0


def test_units_of_a_visit_can_differ_from_the_shops(own):
    assert own.visit(opened()).shop.units == own.shop.units == "metric"
    assert own.visit(opened(), "us").shop.units == "us"


@pytest.mark.parametrize(("field", "folder"), [("sheet", "sheets"), ("bay", "bays")])
def test_a_missing_reference_is_named(own, field, folder):
    with pytest.raises(ShopError, match=f"The job HB-9000 names the {field} 'bay-9'.*{folder}"):
        own.visit(changed(opened(), **{field: "bay-9"}))


def test_no_shop_says_what_to_do(tmp_path):
    with pytest.raises(ShopError, match="readiness demo"):
        _ = ShopFolder(tmp_path).shop
    assert ShopFolder(tmp_path).jobs() == []


def test_one_bad_sheet_does_not_hide_the_others(own):
    bad = own.path / "sheets" / "bad.yaml"
    bad.write_text("sheet: bad\nwheels: 3\n", encoding="utf-8", newline="\n")
    folder = ShopFolder(own.path)
    assert set(folder.sheets) == {*SHEETS, "bad"}
    assert set(folder.sheets.good()) == set(SHEETS)
    with pytest.raises(ShopError) as caught:
        _ = folder.sheets["bad"]
    assert any(f"{bad}:2:1" in str(m) for m in caught.value.mistakes)
    assert folder.sheets.mistakes() == caught.value.mistakes


def test_the_shops_own_checklist_comes_first(own):
    shipped = places.checklists() / "front_radar.yaml"
    (own.path / "checklists").mkdir()
    text = shipped.read_text(encoding="utf-8").replace("title: ", "title: Our own, ", 1)
    (own.path / "checklists" / "ours.yaml").write_text(text, encoding="utf-8", newline="\n")
    common = own.path / "checklists" / "common"
    common.mkdir()
    for part in (places.checklists() / "common").glob("*.yaml"):
        (common / part.name).write_bytes(part.read_bytes())
    assert ShopFolder(own.path).checklist("front_radar").title.startswith("Our own, ")
    assert ShopFolder(own.path).checklist("rear_corner_radar").title


def test_an_id_may_be_quoted_and_a_file_named_anything(own):
    path = own.path / "bays" / "bay-1.yaml"
    text = path.read_text(encoding="utf-8").replace("bay: bay-1", "bay: 'bay-1'  # the long one", 1)
    path.unlink()
    (own.path / "bays" / "zzz.yaml").write_text(text, encoding="utf-8", newline="\n")
    assert ShopFolder(own.path).bays["bay-1"].bay == "bay-1"


# --- jobs ----------------------------------------------------------------------------------------


def test_jobs_at_a_glance(own):
    for old in own.jobs_folder.glob("*"):
        old.unlink()
    write_journal(opened("pipit-front", "HB-2"), own.jobs_folder)
    with Journal.create(
        own.jobs_folder, job="HB-3", sheet="tern-rear-corner", bay="bay-1", sides=("left",), by="x", at=AT
    ) as journal:
        journal.change(bay="bay-2", sides=("left", "right"), by='"kind":"changed"', at=AT.replace(hour=11))
        journal.set_units("us", by="x", at=AT.replace(hour=12))
    (own.jobs_folder / "HB-4.jsonl").write_bytes(b"nonsense\n")
    found = own.jobs()
    assert [j.id for j in found] == ["HB-3", "HB-2", "HB-4"]
    first, second, broken = found
    assert (first.bay, first.sides, first.last) == ("bay-2", ("left", "right"), AT.replace(hour=12))
    assert (second.sheet, second.plate, second.opened) == ("pipit-front", "ZZ 900", AT)
    assert "line 1" in broken.problem
    with Journal.open(first.path, write=False) as seen:
        assert (seen.job.bay, seen.job.sides) == (first.bay, first.sides)


def test_a_list_shows_a_job_whose_last_line_is_torn(own):
    path = write_journal(opened(name="HB-5"), own.jobs_folder)
    path.write_bytes(path.read_bytes() + b'{"n":2,"at":"20')
    line = next(j for j in own.jobs() if j.id == "HB-5")
    assert (line.problem, line.last) == ("", AT)


@pytest.mark.parametrize("name", ["HB-none", "../shop", "..", ""])
def test_a_job_that_is_not_there(own, name):
    with pytest.raises(JournalError):
        own.journal(name)


def test_the_shop_of_a_job_file_is_found(own):
    found = ShopFolder.find(own.jobs_folder / "HB-1.jsonl")
    assert found is not None
    assert found.path == own.path
    assert ShopFolder.find(Path(own.path.anchor) / "nowhere.jsonl") is None


def test_default_folder_is_the_users(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_folder().name in ("readiness",)
    assert default_folder().is_absolute()


def test_both_endings_of_yaml_are_read(own):
    (own.path / "bays" / "bay-1.yaml").rename(own.path / "bays" / "bay-1.yml")
    assert ShopFolder(own.path).bays["bay-1"].bay == "bay-1"


def test_a_folder_that_cannot_be_read_is_no_empty_folder(own, monkeypatch):
    def refused(folder):
        raise PermissionError(13, "Permission denied", str(folder))

    monkeypatch.setattr(Path, "iterdir", refused)
    with pytest.raises(ShopError, match="sheets cannot be read: permission denied"):
        own.sheets.named("tern-rear-corner", "The job")


@pytest.mark.parametrize("name", ["a shop", "shop"])
def test_no_shop_names_the_command_that_begins_one(tmp_path, name):
    path = tmp_path / name
    named = f'"{path}"' if " " in str(path) else str(path)
    with pytest.raises(ShopError) as caught:
        _ = ShopFolder(path).shop
    assert f"readiness new-shop {named}. " in str(caught.value)


def test_a_file_saved_with_a_mark_of_its_encoding_is_known_by_its_id(tmp_path):
    """Editors of Windows put three bytes before the first key, and line ends of their own."""
    shop = demo_shop(tmp_path)
    for path in [*shop.path.glob("*/*.yaml"), *shop.path.glob("*.yaml")]:
        rows = [row for row in path.read_bytes().split(b"\n") if not row.startswith(b"#")]
        path.write_bytes(codecs.BOM_UTF8 + b"\r\n".join(rows))
    (shop.path / "bays" / "bay-3.yaml").rename(shop.path / "bays" / "paint.yaml")
    assert mistakes_in([shop.path]) == []
    assert ShopFolder(shop.path).bays["bay-3"].bay == "bay-3"
    assert ShopFolder(shop.path).bays["bay-4"].survey is not None
