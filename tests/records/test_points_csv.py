"""A table of points as people and spreadsheets write it: read, or every mistake at its line and column."""

from __future__ import annotations

import codecs
import os
import tempfile
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.checklist.mistakes import FileMistakes
from readiness.cli import commands
from readiness.records.points_csv import Head, read_points
from tests.records.invented import demo_shop
from tests.survey.floors import ROOM

HEAD = Head("bay-1-2026-05-04", ROOM, date(2026, 5, 4), "A. Test", "laser-1")
PLAIN = "name,x,y,height\nA,1,1,0\nB,5,1,2.5\nC,3,4,-1\n"
SAME = [("A", 1.0, 1.0, 0.0), ("B", 5.0, 1.0, 2.5), ("C", 3.0, 4.0, -1.0)]


def survey_of(text: str | bytes, head: Head = HEAD):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "points.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_points(path, head)


def survey_or_mistakes(text: str | bytes):
    try:
        return survey_of(text), ()
    except FileMistakes as error:
        return None, error.mistakes


def mistakes(text: str | bytes) -> list[str]:
    """'line:column where: found ...' of each."""
    with pytest.raises(FileMistakes) as caught:
        survey_of(text)
    return [f"{m.line}:{m.column} {m.where}: found {m.found}, {m.hint}" for m in caught.value.mistakes]


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace("\n", "\r\n"),
        "\ufeff" + PLAIN,
        "# read on a Monday\n\n" + PLAIN + "\n   \n# the end",
        "height;name;y;x\n0;A;1;1\n2,5;B;1;5\n-1;C;4;3\n",
        "name;x;y;height\nA;1,0;1,000;0\nB;5;1;2,5\nC;3;4;-1\n",
        "NAME , X , Y , Height\n A , 1 , 1 , 0 \nB, 5,1 ,2.5\nC,3,4,-1",
        "name,x mm,y (ft),height [cm]\nA,1000,1 m,0\nB,5000,1 m,0.25\nC,3000,4 m,-0.1\n",
        "name,x_mm,y,height\nA,1000,100 cm,0 mm\nB,5000,1000 mm,0.25 cm\nC,3000,4,-1\n",
        'name,x,y,height,what\n"A",1,1,0,\n"B",5,1,"2,5",\nC,3,4,−1,\n',
        "name,x,y,height,what\nA,1,1,0\nB,5,1,2.5\nC,3,4,-1\n",
        "sep=;\r\nname;x;y;height\r\nA;1;1;0\r\nB;5;1;2,5\r\nC;3;4;-1\r\n",
        "name;x;y;height;;\nA;1;1;0;;\nB;5;1;2,5;;\nC;3;4;-1;;\n",
        "name,x/m,y / m,height/mm\nA,1,1,0\nB,5,1,2.5\nC,3,4,-1\n",
        PLAIN.replace(",", "\t").encode("utf-16"),
        codecs.BOM_UTF16_BE + PLAIN.encode("utf-16-be"),
    ],
)  # fmt: skip
def test_one_table_written_many_ways(text):
    survey = survey_of(text)
    assert [(p.name, p.x, p.y, p.height) for p in survey.points] == SAME
    assert (survey.survey, survey.bay, survey.by, survey.instrument) == (
        HEAD.id,
        "bay-1",
        "A. Test",
        "laser-1",
    )


def test_inches_and_words():
    survey = survey_of(
        'name,x in,y ft,height in,what\nA,40,4,1/8,"by the ""door"", left"\nB,200,4,0,\nC,100,15,-1/16,\n'
    )
    assert survey.points[0].x == pytest.approx(40 * 0.0254)
    assert survey.points[0].height == pytest.approx(25.4 / 8)
    assert survey.points[0].what == 'by the "door", left'


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", ["1:1 file: found nothing, "]),
        ("# only a note\n", ["1:1 file: found nothing, "]),
        ("A,1,1,0\n", ["1:1 heading: found 'A, 1, 1, 0', which names no column"]),
        ("name x y height\nA 1 1 0\n", ["1:1 heading: found one column, 'name x y height'"]),
        ("name|x|y|height\nA|1|1|0\n", ["1:1 heading: found one column, 'name|x|y|height'"]),
        ("point,x,y,z\n", ["1:1 heading: found 'point'", "1:11 heading: found 'z'"]),
        ("name,x,y,height,\nA,1,1,0,high\n", ["1:17 heading: found nothing"]),
        ("name,x,y\nA,1,1\n", ["1:1 heading: found no column height"]),
        ("name,x,y,hight\nA,1,1,0\n", ["1:10 heading: found 'hight', Did you mean 'height'?"]),
        ("name,x,x,y,height\n", ["1:8 heading: found the column 'x' again"]),
        ("name m,x kPa,y,height\n", ["1:1 heading: found the unit 'm'", "1:8 heading: found the unit 'kPa'"]),
        (PLAIN.replace("5,1,2.5", "x,1,high"), ["3:3 points[B].x: found 'x'", "3:7 points[B].height: found 'high'"]),
        (PLAIN.replace("B,5,1,2.5", "B,5"), ["3:4 row 3.height: found nothing", "3:4 points[B].y: found nothing"]),
        (PLAIN.replace("B,5,1,2.5", ",5,1,2.5"), ["3:1 points[2].name: found nothing"]),
        (PLAIN.replace("B,", "A,"), ["3:1 points[A].name: found 'A' again, "]),
        (PLAIN.replace("5,1,2.5", "1,1,2.5"), ["3:1 points[B]: found the same place as 'A'"]),
        ("name,x,y,height\nA,1,1,0\nB,5,1,2.5\n", ["1:1 points: found 2 points"]),
        ("name,x,y,height\nA,1,1,0\nB,2,2,0\nC,3,3,0\n", ["1:1 points: found points on one straight line"]),
        (PLAIN.replace("5,1,2.5", "5,1,2,5"), ["3:1 row: found 5 cells, With decimal commas, part"]),
        (PLAIN.replace("5,1", "500,1"), ["3:1 points[B]: found a point at 500.00 m, 1.00 m, far outside"]),
        (PLAIN.replace("2.5", "2.5 kg"), ["3:7 points[B].height: found '2.5 kg'"]),
        (PLAIN.replace("2.5", "1e3"), ["3:7 points[B].height"]),
        (PLAIN.replace("B", "B\x1b[31m"), ["3:2 file: found a character that cannot be shown"]),
        (PLAIN.encode() + b"D,\xff,1,1\n", ["5:3 file: found bytes that are no text in UTF-8"]),
        (PLAIN.replace(",", ";").replace("B", "Tür").encode("cp1252"), ["3:2 file: found bytes that are no text in UTF-8"]),
        (PLAIN.encode("utf-16") + b"\0", ["5:1 file: found bytes that are no text in UTF-16"]),
        (PLAIN.encode("utf-16-le"), ["0:0 file: found bytes that are no text, Save it as CSV"]),
        (b"PK\x03\x04\x14\x00\x06\x00\x08", ["0:0 file: found bytes that are no text, Save it as CSV"]),
        (PLAIN.replace("B,", '"B,'), ["3:1 row: found a double quote that is not closed in its row"]),
        ("name,x,y,height,what\nA,1,1,0,\"by the\ndoor\"\nB,5,1,2,\nC,3,4,1,\n",
         ["2:9 row: found a double quote that is not closed in its row"]),
        (PLAIN.replace(",1,1,0", ",1,0,1,0,0,0").replace("5,1,2.5", "5,0,1,0,2,5"),
         ["2:1 row: found 7 cells, With decimal commas, part", "3:1 row: found 7 cells, With decimal commas, part"]),
        (PLAIN.replace(",", ";").replace("5;", "1.005,5;"), ["3:3 points[B].x: found '1.005,5 m'"]),
        (PLAIN.replace("height", "height m"), ["3:7 points[B].height: found '2.5 m', 2500 mm off most of the others", "4:7 points[C].height"]),
        ("name,x,y,height\n#1,1,1,0\n", ["1:1 file: found a heading and no points, A row that begins with # counts"]),
        ("name,x,y,height\nA,1,1,0\n", ["1:1 points: found 1 point,"]),
        (b"x" * 1_000_001, ["0:0 file: found more than 1000000 bytes"]),
        ("name,x,y,height\n" + "A,1,1,0\n" * 2_001, ["2001:1 file: found more than 2000 rows"]),
    ],
    ids=lambda value: repr(value)[:40] if isinstance(value, (str, bytes)) else "",
)  # fmt: skip
def test_every_mistake_has_its_line_and_column(text, expected):
    found = mistakes(text)
    assert len(found) == len(expected), found
    for said, begins in zip(found, expected, strict=True):
        assert said.startswith(begins)


PIECES = ["", " ", "\n", ",", ";", "\t", '"', "#", "x", "name", "-", "1,5", "mm", "9" * 70, "1/0", "\x00", "\ufeff", "é", "\r",
          "'", "inf", "nan", "1e9", "height", "-0", "m"]  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_damage_is_told_or_harmless(data):
    text = data.draw(
        st.sampled_from([PLAIN, PLAIN.replace(",", ";"), 'name,x in,y,height\n"A",1,1,0\n"B",9,2,3\n'])
    )
    for _ in range(data.draw(st.integers(1, 6))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 8)))
        text = text[:start] + data.draw(st.sampled_from(PIECES)) + text[end:]
    survey, told = survey_or_mistakes(text)
    lines = text.count("\n") + text.count("\r") + 1
    assert all(m.found and m.expected and "\n" not in str(m) and 0 <= m.line <= lines for m in told)
    if survey is None:
        assert told
    else:
        assert len({p.name for p in survey.points}) == len(survey.points) >= 3


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_bytes_whatever_they_are_end_in_a_sentence(data):
    survey, told = survey_or_mistakes(data)
    assert (survey is None) == bool(told)


# --- the command ---------------------------------------------------------------------------------


@pytest.fixture
def shop(tmp_path):
    shop = demo_shop(tmp_path)
    for path in shop.surveys_folder.glob("*"):
        path.unlink()
    return shop


def run(shop, *words):
    return CliRunner().invoke(commands, ["--shop", str(shop.path), "survey", *words], standalone_mode=False)


def test_a_table_becomes_the_bays_survey(shop, tmp_path):
    table = tmp_path / "floor.csv"
    table.write_text("name;x;y;height\nA;1;1;0\nB;8;1;7\nC;8;6;12\nD;1;6;5\n", encoding="utf-8", newline="\n")
    done = run(
        shop,
        "bay-3",
        "--points",
        str(table),
        "--instrument",
        "laser-1",
        "--by",
        "A. Test",
        "--date",
        "2026-05-03",
    )
    assert done.exit_code == 0, done.output
    path = shop.surveys_folder / "bay-3-2026-05-03.yaml"
    assert done.output.splitlines()[0].startswith("Bay 3, the old paint bay at the back: floor of 2026-05-03")
    assert "1 mm/m" in done.output
    assert done.output.splitlines()[-1] == f"Written: {path}"
    assert "# Made of floor.csv." in path.read_text(encoding="utf-8")
    shown = run(shop, "bay-3", "--show")
    assert shown.output.splitlines() == done.output.splitlines()[:-1]
    again = run(
        shop,
        "bay-3",
        "--points",
        str(table),
        "--instrument",
        "laser-1",
        "--by",
        "A. Test",
        "--date",
        "2026-05-03",
    )
    assert "bay-3-2026-05-03b.yaml" in again.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["bay-9", "--show"], "there: bay-1, bay-2, bay-3"),
        (["bay-3", "--show"], "has no survey yet"),
        (["bay-3", "--by", "x"], "go with --points"),
        (["bay-3", "--points", "T", "--by", "x"], "needs --instrument"),
        (["bay-3", "--points", "T", "--instrument", "laser-9", "--by", "x"], "Did you mean 'laser-1'?"),
        (["bay-3", "--points", "T", "--instrument", "gauge-1", "--by", "x"], "measures pressure, not heights"),
        (["bay-3", "--points", "T", "--instrument", "laser-1", "--by", "x", "--date", "soon"], "a date such as"),
        (["bay-3", "--points", "T", "--instrument", "laser-1", "--by", "x", "--date", "2999-01-01"], "still to come"),
        (["bay-3", "--points", "nowhere.csv", "--instrument", "laser-1", "--by", "x"], "no such file"),
        (["bay-3"], "full-screen terminal"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_said_and_nothing_is_written(shop, tmp_path, words, said):
    table = tmp_path / "T"
    table.write_text(PLAIN, encoding="utf-8", newline="\n")
    done = run(shop, *(str(table) if w == "T" else w for w in words))
    assert done.exit_code != 0
    assert said in str(done.exception)
    assert not list(shop.surveys_folder.glob("*.yaml"))


def test_what_steers_a_terminal_does_not_come_through(shop, tmp_path):
    table = tmp_path / "T"
    table.write_text(PLAIN, encoding="utf-8", newline="\n")
    done = run(shop, "bay-3", "--points", str(table), "--instrument", "laser-1", "--by", "A\x1b[2J\u202eTest")
    assert done.exit_code == 0, done.exception
    assert "\x1b" not in done.output
    assert "\u202e" not in done.output
    assert "by 'A [2J Test'" in next(shop.surveys_folder.glob("*.yaml")).read_text(encoding="utf-8").replace(
        "by: ", "by "
    )


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such names")
def test_the_name_of_a_table_writes_nothing_into_the_survey(shop, tmp_path):
    table = tmp_path / "a.csv\nby: nobody\n# \x1b[2J"
    table.write_text(PLAIN, encoding="utf-8", newline="\n")
    done = run(shop, "bay-3", "--points", str(table), "--instrument", "laser-1", "--by", "A. Test")
    assert done.exit_code == 0, done.exception
    assert "\x1b" not in next(shop.surveys_folder.glob("*.yaml")).read_text(encoding="utf-8")
    assert shop.bays["bay-3"].survey.by == "A. Test"
