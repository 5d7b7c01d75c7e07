"""Good files are read whole; each bad file tells exactly its mistakes, each with its place.

Beside `bad/NAME.yaml`, `bad/NAME.txt` has a line for each mistake: how the message begins.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from math import pi
from pathlib import Path

import msgspec
import pytest

from readiness import job
from readiness.checklist.files import (
    FileMistakes,
    Mistake,
    effective_limits,
    kind_of,
    lint,
    read_bay,
    read_checklist,
    read_instruments,
    read_sheet,
    read_shop,
)
from readiness.checklist.nodes import parse
from tests.checklist.kinds import BAD, GOOD, LIMITS, linted, told

BAD_FILES = sorted(BAD.glob("*.yaml"))


@pytest.mark.parametrize("path", BAD_FILES, ids=lambda p: p.stem)
def test_a_bad_file_tells_its_mistakes(path: Path) -> None:
    expected = path.with_suffix(".txt").read_text(encoding="utf-8").splitlines()
    found = linted(path)
    assert [told(m)[: len(e)] for m, e in zip(found, expected, strict=False)] == expected
    assert len(found) == len(expected)
    assert all(m.path == path and str(m).startswith(str(path)) and "\n" not in str(m) for m in found)


@pytest.mark.parametrize("path", sorted(GOOD.rglob("*.yaml")), ids=lambda p: p.stem)
def test_a_good_file_has_no_mistakes(path: Path) -> None:
    assert linted(path) == []


def test_every_expectation_has_its_file() -> None:
    assert {p.stem for p in BAD.glob("*.txt")} == {p.stem for p in BAD_FILES}


def test_kinds_by_first_key() -> None:
    kinds = {p.stem: kind_of(parse(p.read_bytes(), p)) for p in GOOD.rglob("*.yaml")}
    assert kinds == {
        "bay": "bay",
        "closed": "part",
        "corner": "checklist",
        "instruments": "instruments",
        "measured": "bay",
        "sheet": "sheet",
        "shop": "shop",
        "survey": "survey",
    }


# --- values ---------------------------------------------------------------------------------------


def test_quantities_arrive_in_canonical_units() -> None:
    sheet = read_sheet(GOOD / "sheet.yaml")
    assert sheet.placard.pressure == job.Pressures(front=230.0, rear=250.0)
    assert sheet.dimensions.wheelbase == pytest.approx(2.7)
    assert sheet.fuel.level == 0.75
    assert sheet.document == job.Document(reference="EX-100 issue 2", issued=date(2026, 1, 15))
    assert [(z.id, z.reason) for z in sheet.zones] == [
        ("beam", "metal-free"), ("round-target", "nothing between"), ("behind", "metal-free"),
        ("field", "metal-free"), ("ahead", "people-free"), ("stand", "walking room"),
        ("floor-below", "metal-free"), ("way-round", "walking room"),
    ]  # fmt: skip
    field, ahead, stand = sheet.zones[3:6]
    assert field.sector == job.Sector(at=job.Point(x=-0.8, y=0.7), radius=4.0, start=110.0, end=170.0)
    assert ahead.sector is not None
    assert ahead.sector.end == pytest.approx(90 / pi)  # half a radian
    assert stand.polygon is not None
    assert [(p.x, p.y) for p in stand.polygon[2:4]] == [(-2.0, 3.5), (-3.0, 2.5)]


def test_yes_and_no_are_what_the_field_wants() -> None:
    bay = read_bay(GOOD / "bay.yaml")
    assert [o.metal for o in bay.obstacles] == ["yes", "unknown", "no", "unknown"]
    assert [o.fixed for o in bay.obstacles] == [True, False, True, True]
    assert bay.survey is not None
    assert bay.survey.points[2].height == -1.5


def test_shop_and_instruments() -> None:
    shop = read_shop(GOOD / "shop.yaml")
    assert (shop.altitude, shop.people) == (412.0, ("A. Example", "B. Example"))
    assert shop.note == "Two lines,\nboth kept.\n"
    gauge = read_instruments(GOOD / "instruments.yaml").instruments[0]
    assert (gauge.id, gauge.accuracy, gauge.due) == ("gauge-1", "3 kPa", date(2027, 3, 31))


def test_a_checklist_has_its_parts_taken_in_and_its_limits_typed() -> None:
    checklist = read_checklist(GOOD / "corner.yaml", LIMITS, [GOOD])
    assert [c.id for c in checklist.walk()] == ["tyres", "light", "closed"]
    assert checklist.decision.factor == 2.0
    tyres = checklist.check("tyres")
    assert tyres.limits == LIMITS["tyres"](pressure_below=5.0, pressure_above=10.0)
    assert (tyres.hold, tyres.per_side) == (120.0, False)
    assert checklist.check("light").hold == 90.0
    assert checklist.check("closed").limits == LIMITS["closed"]()
    msgspec.json.encode(checklist)


def test_a_sheet_replaces_limits_and_is_their_source() -> None:
    checklist = read_checklist(GOOD / "corner.yaml", LIMITS, [GOOD])
    result = effective_limits(checklist, read_sheet(GOOD / "sheet.yaml"), LIMITS, GOOD / "sheet.yaml")
    tyres, light = result.check("tyres"), result.check("light")
    assert tyres.limits == LIMITS["tyres"](pressure_below=3.0, pressure_above=10.0, steepest=2.0)
    assert tyres.source_of("pressure_below") == "sheet example-left: EX-100 issue 2"
    assert tyres.source_of("steepest") == "sheet example-left: EX-100 issue 2"
    assert tyres.source_of("pressure_above") == "test data"
    assert light.limits == LIMITS["light"](least=300.0)
    assert light.source_of("least") == "test data"
    assert checklist.check("tyres").limits.pressure_below == 5.0


def test_a_sheet_without_limits_leaves_the_checklist_alone() -> None:
    checklist = read_checklist(GOOD / "corner.yaml", LIMITS, [GOOD])
    sheet = msgspec.structs.replace(read_sheet(GOOD / "sheet.yaml"), limits=None)
    assert effective_limits(checklist, sheet, LIMITS) is checklist


def test_a_kind_judges_its_own_limits_in_the_checklist_and_in_the_sheet(tmp_path: Path) -> None:
    path = tmp_path / "corner.yaml"
    limits = "{items: [{key: battery, least: 12 V}, {key: lamp, least: 3 W}]}"
    text = (GOOD / "corner.yaml").read_text(encoding="utf-8")
    text = text.replace("kind: light", "kind: items").replace("{least: 300 lx, most: 1500 lx}", limits)
    shutil.copytree(GOOD / "common", tmp_path / "common")
    path.write_text(text, encoding="utf-8")
    expected = "45:70 checks[light].limits.items[lamp].least: found '3 W', expected a voltage"
    assert [told(m) for m in linted(path)] == [expected]

    path.write_text(text.replace("3 W", "3 V"), encoding="utf-8")
    checklist = read_checklist(path, LIMITS)
    (tmp_path / "sheet.yaml").write_text("light: {word: bad}\n", encoding="utf-8")
    node = parse((tmp_path / "sheet.yaml").read_bytes(), "sheet.yaml")
    sheet = msgspec.structs.replace(read_sheet(GOOD / "sheet.yaml"), limits=node)
    with pytest.raises(FileMistakes) as caught:
        effective_limits(checklist, sheet, LIMITS, "sheet.yaml")
    assert str(caught.value) == "sheet.yaml:1:15: limits.light.word: found 'bad', expected another word"


def test_numbers_in_a_list_of_items_need_a_source_too(tmp_path: Path) -> None:
    text = (GOOD / "corner.yaml").read_text(encoding="utf-8")
    text = text.replace("kind: light", "kind: items").replace("    sources: {all: test data}\n", "")
    text = text.replace("{least: 300 lx, most: 1500 lx}", "{items: [{key: battery, least: 12 V}], word: a}")
    shutil.copytree(GOOD / "common", tmp_path / "common")
    (tmp_path / "corner.yaml").write_text(text, encoding="utf-8")
    assert only(linted(tmp_path / "corner.yaml")).startswith(
        "45:21 checks[light].sources.items: found nothing"
    )


def test_wrong_kind_of_file() -> None:
    with pytest.raises(
        FileMistakes, match="bay: found a bay, expected a sheet, with 'sheet:' as the first key"
    ):
        read_sheet(GOOD / "bay.yaml")


def test_a_file_that_is_not_there() -> None:
    with pytest.raises(FileMistakes) as caught:
        read_bay(GOOD / "no-such.yaml")
    assert str(caught.value) == f"{GOOD / 'no-such.yaml'}: file: found nothing there, expected a YAML file"


def test_a_folder_in_place_of_a_file() -> None:
    with pytest.raises(FileMistakes, match="found something that is not a file"):
        read_bay(GOOD)


def test_mistakes_of_a_part_are_told_in_the_part(tmp_path: Path) -> None:
    shutil.copytree(GOOD, tmp_path / "lists")
    part = tmp_path / "lists" / "common" / "closed.yaml"
    part.write_text(part.read_text(encoding="utf-8").replace("remedy:", "remedie:"), encoding="utf-8")
    with pytest.raises(FileMistakes) as caught:
        read_checklist(tmp_path / "lists" / "corner.yaml", LIMITS)
    assert {m.path for m in caught.value.mistakes} == {part}
    assert [m.where for m in caught.value.mistakes] == ["checks[closed].remedy", "checks[closed].remedie"]


def test_an_include_may_not_leave_its_folder_by_a_link(tmp_path: Path) -> None:
    shutil.copytree(GOOD, tmp_path / "lists")
    outside = tmp_path / "closed.yaml"
    inside = tmp_path / "lists" / "common" / "closed.yaml"
    inside.rename(outside)
    try:
        inside.symlink_to(outside)
    except OSError:
        pytest.skip("links are not allowed here")
    with pytest.raises(FileMistakes, match="expected a file below the checklist folder"):
        read_checklist(tmp_path / "lists" / "corner.yaml", LIMITS)


# --- folders --------------------------------------------------------------------------------------


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop folder with one bay and one sheet, all good."""
    folder = tmp_path / "shop"
    for name, place in (("bay", "bays"), ("sheet", "sheets")):
        (folder / place).mkdir(parents=True)
        shutil.copy(GOOD / f"{name}.yaml", folder / place / f"{name}.yaml")
    for name in ("shop.yaml", "instruments.yaml"):
        shutil.copy(GOOD / name, folder / name)
    return folder


def changed(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8", newline="\n")


def only(mistakes: list[Mistake]) -> str:
    assert len(mistakes) == 1, mistakes
    return told(mistakes[0])


def test_a_good_shop(shop: Path) -> None:
    assert linted(shop) == []


def test_the_instrument_of_a_survey_is_known(shop: Path) -> None:
    changed(shop / "bays" / "bay.yaml", "instrument: laser-1", "instrument: laser-2")
    expected = (
        "27:15 survey.instrument: found no such instrument, 'laser-2', expected one of gauge-1, laser-1"
    )
    assert only(linted(shop)).startswith(expected)
    assert only(linted(shop / "bays" / "bay.yaml")).startswith(expected)


def test_the_checklist_of_a_sheet_is_known(shop: Path) -> None:
    changed(shop / "sheets" / "sheet.yaml", "checklist: corner", "checklist: front")
    assert only(linted(shop)).startswith(
        "5:12 checklist: found no such checklist, 'front', expected one of corner"
    )


def test_results_that_nobody_asks_for(shop: Path, tmp_path: Path) -> None:
    lists = tmp_path / "lists"
    shutil.copytree(GOOD / "common", lists / "common")
    text = (GOOD / "corner.yaml").read_text(encoding="utf-8")
    alone = text.replace("sides: [left, right]", "sides: [single]")
    (lists / "corner.yaml").write_text(alone, encoding="utf-8")
    found = [told(m) for m in lint([shop], LIMITS, [lists])]
    assert [f[: f.index(", as the")] for f in found] == [
        "73:36 results[roll].side: found 'left', expected no side",
        "74:36 results[roll].side: found 'right', expected no side",
    ]
    before = text[: text.index("closing:")]
    scan = before[before.index("  - id: scan") : before.index("cautions:\n  - The maker")]
    (lists / "corner.yaml").write_text(before.replace(scan, ""), encoding="utf-8")
    assert only(lint([shop], LIMITS, [lists])).startswith(
        "70:3 results: found results, which the checklist 'corner' does not ask for, expected none"
    )


def test_what_a_part_says_of_holding_is_judged_where_it_is_asked(tmp_path: Path) -> None:
    shutil.copytree(GOOD, tmp_path / "lists")
    changed(tmp_path / "lists" / "common" / "closed.yaml", "    hold: 30 min\n", "")
    assert only(linted(tmp_path / "lists" / "corner.yaml")).startswith(
        "6:5 include[1]: found 'closed' without hold, expected a quantity such as '1 min' under hold"
    )


def test_a_bay_is_there_once(shop: Path) -> None:
    shutil.copy(shop / "bays" / "bay.yaml", shop / "bays" / "copy.yaml")
    assert (
        only(linted(shop))
        == "1:6 bay: found 'bay-2' again, already in bay.yaml, expected each bay once in a shop"
    )


def test_a_shop_may_sign_and_says_whose_signatures_count(shop: Path) -> None:
    """The key may be on another machine; the file of signers may not."""
    path = shop / "shop.yaml"
    changed(path, "units:", "signing: {key: ~/.ssh/no-such-key, signers: keys/signers}\nunits:")
    expected = (
        "2:45 signing.signers: found no such file, 'keys/signers', expected the allowed signers of the shop"
    )
    assert only(linted(shop)).startswith(expected)
    (shop / "keys").mkdir()
    (shop / "keys" / "signers").write_text("", encoding="utf-8")
    assert linted(shop) == []
    assert read_shop(path).signing == job.Signing(key="~/.ssh/no-such-key", signers="keys/signers")


@pytest.mark.parametrize(
    ("signing", "found"),
    [
        ("{key: k}", "signing.signers: found nothing"),
        ("{key: ' ', signers: s}", "signing.key: found nothing"),
        ("{key: k, signers: s, sign: yes}", "signing.sign: found the unknown key 'sign'"),
        ("{key: '', signers: ''}", "signing.key: found nothing"),
        ("k", "signing: found"),
        ("{key: k, signers: [s]}", "signing.signers: found"),
        ('{key: k, signers: "~nobody-of-that-name/s"}', "signing.signers: found no such file"),
    ],
)
def test_a_shop_that_signs_otherwise(shop: Path, signing: str, found: str) -> None:
    changed(shop / "shop.yaml", "units:", f"signing: {signing}\nunits:")
    assert found in " ".join(told(m) for m in linted(shop))


def test_a_file_in_the_wrong_place(shop: Path) -> None:
    (shop / "sheets" / "sheet.yaml").rename(shop / "bays" / "sheet.yaml")
    assert only(linted(shop)) == "1:1 sheet: found a sheet, expected bay: as the first key"


def test_a_shop_without_its_shop_file(shop: Path) -> None:
    (shop / "shop.yaml").unlink()
    assert only(linted(shop)) == "0:0 file: found nothing there, expected a YAML file"


def test_a_folder_without_files(tmp_path: Path) -> None:
    assert only(linted(tmp_path)).startswith("0:0 folder: found no YAML files")


def test_two_checklists_of_one_name(tmp_path: Path) -> None:
    shutil.copytree(GOOD / "common", tmp_path / "common")
    for name in ("a.yaml", "b.yaml"):
        shutil.copy(GOOD / "corner.yaml", tmp_path / name)
    assert (
        only(lint([tmp_path], LIMITS)) == "2:12 checklist: found 'corner' again, expected each checklist once"
    )


def test_files_of_other_kinds_are_read_by_their_own_reader(tmp_path: Path) -> None:
    path = tmp_path / "answers.yaml"
    path.write_text("answers: job-1\n", encoding="utf-8")

    def reader(file: Path) -> None:
        raise FileMistakes([Mistake(file, 1, 10, "answers", "one thing", "another")])

    assert lint([path], LIMITS) == []
    assert (
        told(lint([path], LIMITS, [], {"answers": reader})[0])
        == "1:10 answers: found one thing, expected another"
    )


def test_each_mistake_is_told_once_when_a_part_is_shared(tmp_path: Path) -> None:
    shutil.copytree(GOOD / "common", tmp_path / "common")
    shutil.copy(GOOD / "corner.yaml", tmp_path / "a.yaml")
    shutil.copy(GOOD / "corner.yaml", tmp_path / "b.yaml")
    changed(tmp_path / "b.yaml", "checklist: corner", "checklist: front")
    changed(tmp_path / "common" / "closed.yaml", "kind: closed", "kind: shut")
    assert only(lint([tmp_path], LIMITS)).startswith("4:11 checks[closed].kind: found 'shut'")


@pytest.mark.parametrize("name", ["bay.yaml.txt", "bay-2.YAML"])
def test_a_file_that_would_never_be_read_is_told(shop: Path, name: str) -> None:
    (shop / "bays" / "bay.yaml").rename(shop / "bays" / name)
    assert only(linted(shop)).startswith(f"0:0 file: found the ending '{Path(name).suffix}', expected a name")


def test_a_broken_instrument_still_counts_as_there(shop: Path) -> None:
    """One mistake in instruments.yaml is one mistake, not one more in every survey."""
    changed(shop / "instruments.yaml", "measures: pressure", "measures: presure")
    assert "measures: found 'presure'" in only(linted(shop))


def test_a_bay_with_a_mistake_still_has_its_references_judged(shop: Path) -> None:
    path = shop / "bays" / "bay.yaml"
    changed(path, "instrument: laser-1", "instrument: laser-2")
    changed(path, "title: ", "titel: ")
    found = " ".join(told(m) for m in linted(shop))
    assert "unknown key 'titel'" in found
    assert "survey.instrument: found no such instrument" in found


def test_a_folder_that_cannot_be_read_is_a_mistake(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.iterdir

    def refused(folder: Path) -> Iterator[Path]:
        if folder == shop / "sheets":
            raise PermissionError(13, "Permission denied", str(folder))
        return real(folder)

    monkeypatch.setattr(Path, "iterdir", refused)
    mistake = linted(shop)[-1]
    assert str(mistake.path) == str(shop / "sheets")
    assert "no way to read it (Permission denied)" in mistake.found
