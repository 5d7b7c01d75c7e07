"""What a job was judged by is kept as digests, and what has changed since is told by the report and by verify."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from msgspec import Struct
from msgspec.structs import replace

from readiness.job import Ended
from readiness.records.dossier import dossier
from readiness.records.grounds import Today, digest, grounds_of
from readiness.records.shop import ShopFolder
from readiness.records.verify import Tally, Verified, Wanted, verified
from readiness.report.verified import of_many, one, summary
from tests.scenes import INSTRUMENTS, SHEET
from tests.shop import MOMENT, demo_shop

JOB = "HB-0417"
LATER = MOMENT + timedelta(minutes=5)


@pytest.fixture
def kept(tmp_path: Path) -> ShopFolder:
    """A shop with a job that keeps what it was judged by."""
    shop = demo_shop(tmp_path)
    with shop.journal(JOB) as journal:
        journal.judge_by(grounds_of(shop.visit(journal.job)), "Odo Brack", LATER)
    return shop


def edited(shop: ShopFolder, file: str, old: str, new: str) -> Path:
    path = shop.path / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8", newline="")
    return path


def told(shop: ShopFolder) -> list[str]:
    with ShopFolder(shop.path).journal(JOB, write=False) as journal:
        return list(Today(ShopFolder(shop.path)).changed(journal.grounds))


def test_nothing_has_changed_while_the_files_say_the_same(kept: ShopFolder) -> None:
    assert told(kept) == []
    path = edited(kept, "sheets/tern-rear-corner.yaml", "results:", "# a remark\n\nresults:")
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    edited(kept, "instruments.yaml", "instruments:", "# the new one comes next week\ninstruments:")
    assert told(kept) == []


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("sheets/tern-rear-corner.yaml", "within: 2.2 °", "within: 2.3 °", ["The sheet tern-rear-corner"]),
        ("sheets/tern-rear-corner.yaml", "side_difference: 8 kPa", "side_difference: 9 kPa",
         ["The checklist of the sheet tern-rear-corner"]),
        ("bays/bay-2.yaml", "title:", "title: The new", ["The bay bay-2"]),
        ("bays/bay-3.yaml", "title:", "title: The new", []),
        ("shop.yaml", "640 m", "641 m", ["The altitude of the shop"]),
    ],
)  # fmt: skip
def test_what_says_something_else_now_is_told(
    kept: ShopFolder, file: str, old: str, new: str, said: list[str]
) -> None:
    edited(kept, file, old, new)
    assert told(kept) == [f"{what} was changed after {LATER.astimezone():%Y-%m-%d %H:%M}." for what in said]


def test_what_is_gone_is_told_and_hides_nothing_else(kept: ShopFolder) -> None:
    (kept.path / "sheets" / "tern-rear-corner.yaml").unlink()
    assert (
        told(kept)[0]
        == f"The sheet tern-rear-corner cannot be read any more; it could be at {LATER.astimezone():%Y-%m-%d %H:%M}."
    )


def test_it_is_kept_once_until_it_changes(kept: ShopFolder) -> None:
    with kept.journal(JOB) as journal:
        before = journal.head.lines
        journal.judge_by(grounds_of(kept.visit(journal.job)), "Odo Brack", LATER)
        assert journal.head.lines == before
        edited(kept, "bays/bay-2.yaml", "title:", "title: The new")
        folder = ShopFolder(kept.path)
        journal.judge_by(grounds_of(folder.visit(journal.job)), "Odo Brack", LATER + timedelta(minutes=30))
        assert journal.head.lines == before + 1
    edited(kept, "bays/bay-2.yaml", "title: The new", "title:")
    assert told(kept) == [
        f"The bay bay-2 was changed after {LATER.astimezone() + timedelta(minutes=30):%Y-%m-%d %H:%M}."
    ]


def test_a_change_between_two_results_is_told(kept: ShopFolder) -> None:
    """The left side was calibrated by what the sheet said then, the right one by what it says now."""
    edited(kept, "bays/bay-2.yaml", "title:", "title: The new")
    folder = ShopFolder(kept.path)
    with folder.journal(JOB) as journal:
        journal.judge_by(grounds_of(folder.visit(journal.job)), "Odo Brack", LATER + timedelta(minutes=30))
    assert told(kept) == [f"The bay bay-2 was changed after {LATER.astimezone():%Y-%m-%d %H:%M}."]


def test_the_report_says_that_it_judges_by_what_is_there_today(kept: ShopFolder) -> None:
    assert dossier(JOB, kept.path).warnings == ()
    edited(kept, "sheets/tern-rear-corner.yaml", "within: 2.2 °", "within: 2.3 °")
    warning = dossier(JOB, kept.path).warnings[0]
    assert "The sheet tern-rear-corner was changed after" in warning
    assert warning.endswith("What stands here is judged by what it says today.")


def test_verify_notes_it_and_counts_it_among_many(kept: ShopFolder) -> None:
    def found() -> Verified:
        return next(verified([kept.jobs_folder / f"{JOB}.jsonl"], Wanted()))

    assert (found().changed, found().notes) == ((), ())
    edited(kept, "sheets/tern-rear-corner.yaml", "within: 2.2 °", "within: 2.3 °")
    looked = found()
    assert looked.sound, "a shop may change its sheets"
    assert any("The sheet tern-rear-corner was changed after" in line for line in one(looked))
    assert of_many(looked) == []
    tally = Tally()
    tally.add(looked)
    assert (
        "1 job was judged by a sheet, bay, checklist or instrument that says something else now"
        in summary(tally)[0]
    )


def test_it_neither_can_be_taken_back_nor_stands_in_the_way(kept: ShopFolder) -> None:
    with kept.journal(JOB) as journal:
        assert journal.latest is not None
        assert journal.latest[0] < journal.head.lines
        journal.end(Ended(at=LATER + timedelta(minutes=1), by="Odo Brack"))
        assert len(journal.grounds) == 1


# --- digests ---------------------------------------------------------------------------------------


class Old(Struct):
    number: float
    words: tuple[str, ...] = ()


class New(Struct):
    number: float
    words: tuple[str, ...] = ()
    added: float | None = None
    more: dict[str, float] = {}


def test_a_field_that_a_later_program_knows_changes_nothing_as_long_as_nobody_fills_it() -> None:
    New.__name__ = "Old"
    assert digest(New(1.5, ("a",))) == digest(Old(1.5, ("a",)))
    assert digest(New(1.5, ("a",), added=0.0)) != digest(Old(1.5, ("a",)))


def test_the_last_digits_of_a_conversion_do_not_count() -> None:
    assert digest(Old(0.1 + 0.2)) == digest(Old(0.3))
    assert digest(Old(0.30001)) != digest(Old(0.3))


def test_everything_of_a_sheet_and_an_instrument_counts() -> None:
    for what in (SHEET, *INSTRUMENTS.values()):
        for name in what.__struct_fields__:
            if isinstance(getattr(what, name), str):
                assert digest(replace(what, **{name: "other"})) != digest(what)
