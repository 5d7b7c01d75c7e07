"""`readiness bays` and the search behind it under hostile names, narrow terminals, signals and odd places."""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from contextlib import suppress
from datetime import timedelta
from xml.etree import ElementTree

import click
import pytest
from textual.widgets import OptionList

from readiness import cli, progress
from readiness.checklist.mistakes import FileMistakes
from readiness.job import Reading, Standing
from readiness.records.journal import Journal
from readiness.records.parked import keep_place, place_kept
from readiness.records.shop import ShopError, ShopFolder
from readiness.verdict import judge
from readiness.wizard.dialogs import Ask, Pick
from tests.halls import crowded
from tests.mutants import damaged
from tests.shop import MOMENT, demo_shop
from tests.test_hostile import steering
from tests.wizard.driver import settled, until
from tests.wizard.test_bay_screen import app_on, at_bays, shown

SHEET = "tern-rear-corner"


@pytest.mark.skipif(os.name == "nt", reason="a pseudo-terminal is POSIX only")
class TestOnATerminal:
    def terminal(self, folder, *args, size=(80, 24)):
        from tests.terminal import Terminal, surroundings

        words = [sys.executable, "-m", "readiness", "bays", SHEET, "--shop", str(folder.path), *args]
        return Terminal(words, surroundings(str(folder.path.parent / "home")), size)

    def test_a_file_name_does_not_steer_the_terminal(self, tmp_path):
        folder = demo_shop(tmp_path)
        for name in ("odd\x1b[31mname", "turned\u202eround"):
            (folder.path / "bays" / f"{name}.yaml").write_text("a\n", encoding="utf-8", newline="\n")
        with self.terminal(folder, "--side", "left") as terminal:
            terminal.leave(60.0)
        text = terminal.output.decode()
        assert text.count("is left out") == 2
        assert "\x1b" not in text
        assert "\u202e" not in text

    @pytest.mark.parametrize("columns", [20, 40, 80])
    def test_the_line_of_progress_stays_one_line(self, tmp_path, columns):
        """Of a bay whose title has wide characters, on a narrow terminal: it never comes to the last column."""
        folder = crowded(tmp_path, 1, 300)
        path = folder.path / "bays" / "hall-01.yaml"
        text = path.read_text(encoding="utf-8").replace("Hall 1", "第一工場の長い名前 " * 5)
        path.write_text(text, encoding="utf-8", newline="\n")
        with self.terminal(folder, size=(columns, 24)) as terminal:
            terminal.wait_for("1 of 1", after=0)
            terminal.process.send_signal(signal.SIGINT)
            terminal.leave(30.0)
        before = terminal.output.decode().partition("The search was ended")[0]
        assert "\n" not in before
        lines = [part for part in before.split("\r") if part]
        assert lines
        assert max(map(cells, lines)) < columns

    @pytest.mark.slow
    @pytest.mark.parametrize("nth", range(8))
    def test_ctrl_c_at_any_moment_ends_it_quietly(self, tmp_path, nth):
        folder = crowded(tmp_path, 4, 200)
        with self.terminal(folder) as terminal:
            # each in a part of the time of its own
            time.sleep(0.2 + (nth + random.Random(nth).random()) * 0.6)
            terminal.process.send_signal(signal.SIGINT)
            code = terminal.leave(10.0)
        text = terminal.output.decode()
        assert "Traceback" not in text
        assert "Exception ignored" not in text
        assert code in (130, -signal.SIGINT), "before Python is up it just ends"
        said = [line.rpartition("\r")[2] for line in text.replace("\r\n", "\n").split("\n")]
        assert [line for line in said if line.strip()] in (
            [],
            ["The search was ended, so nothing is said of any bay."],
        )


def cells(text: str) -> int:
    """By an outside reference, Rich's table of widths, which the command itself does not use."""
    from rich.cells import cell_len

    return cell_len(text)


@pytest.mark.parametrize("text", ["Halle 3", "第一工場", "a第b工c場", "e\u0301", ""])
def test_a_text_is_cut_to_columns(text):
    for width in range(8):
        assert cells(progress._cut(text, width)) <= width
        assert text.startswith(progress._cut(text, width))
    assert progress._cut(text, 9) == text


# --- a place worked out, and the program killed while it was kept -------------------------------------


def test_a_journal_cut_off_at_any_line_has_the_whole_place_or_none(tmp_path):
    """Chosen, then another one chosen: never a mixture of both, and never a pass on a part."""
    folder = demo_shop(tmp_path)
    checklist, path = folder.effective(folder.sheets[SHEET]), folder.jobs_folder / "K1.jsonl"
    places = (Standing(x=3.0, y=3.5, heading=1.0), Standing(x=3.1, y=3.6, heading=2.0))
    with Journal.create(
        folder.jobs_folder, job="K1", sheet=SHEET, bay="bay-2", sides=("left",), by="Odo", at=MOMENT
    ) as journal:
        for minute, place in enumerate(places):
            at = MOMENT + timedelta(minutes=minute)
            keep_place(journal, checklist, place, by="Odo", at=at, system="metric", tapes="Left rear: 3 m.")
    lines = path.read_bytes().splitlines(keepends=True)
    seen = set()
    for count in range(1, len(lines) + 1):
        for torn in (b"", *(line[:30] for line in lines[count : count + 1])):
            path.write_bytes(b"".join(lines[:count]) + torn)
            with Journal.open(path) as journal:
                assert bool(journal.warnings) == bool(torn)
                kept = {r.question: r.value for r in place_kept(journal.job, checklist)}
                chalk = Reading(
                    check="standing", question="where", value="chalk", at=MOMENT + timedelta(minutes=5),
                    by="Odo", evidence="seen",
                )  # fmt: skip
                journal.record(chalk)
                [side] = judge(folder.visit(journal.job), MOMENT + timedelta(minutes=6)).sides.values()
            [finding] = [f for f in side.findings if f.kind == "standing"]
            whole = [p for p in places if kept == {"plan.x": p.x, "plan.y": p.y, "plan.heading": p.heading}]
            assert finding.outcome == ("pass" if whole else "not_done"), (kept, finding.reason)
            seen.add(finding.outcome)
    assert seen == {"pass", "not_done"}


# --- damaged files, and names from people ----------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("nth", range(15))
def test_a_damaged_bay_or_sheet_is_searched_or_its_mistakes_are_told(tmp_path, capsys, nth):
    chance = random.Random(f"bays {nth}")
    folder = demo_shop(tmp_path)
    path = folder.path / chance.choice(("bays/bay-2.yaml", "bays/bay-3.yaml", f"sheets/{SHEET}.yaml"))
    text = damaged(path.read_text(encoding="utf-8"), chance)
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    bay = path.stem if path.parent.name == "bays" else "bay-2"
    words = [
        "--shop",
        str(folder.path),
        "bays",
        SHEET,
        "--bay",
        bay,
        "--side",
        "left",
        "--svg",
        str(tmp_path / "plans"),
    ]
    began = time.process_time()
    with suppress(FileMistakes, ShopError, click.ClickException):
        assert cli.commands.main(words, prog_name="readiness", standalone_mode=False) in (0, 1)
    assert time.process_time() - began < 20.0, text
    assert all(line.isprintable() for line in capsys.readouterr().out.split("\n")), text
    for plan in (tmp_path / "plans").glob("*.svg"):
        ElementTree.parse(plan)


NAMES = {
    "a closing tag": "[/4]",
    "markup": "[bold red]Odo[/] [@click=app.quit]x[/]",
    "a variable": "$text-error [$text]x[/]",
    "HTML": "<script>alert('Odo')</script> & <b>Odo</b>",
    "formula": "=1+1|cmd: x",
    "wide": "工具車" * 12,
    "long": "W" * 900,
    "combining": "e" + "\u0301" * 50,
}


def named(folder: ShopFolder, text: str) -> ShopFolder:
    """That text as the bay's title, and in the names of its marks and things."""
    said = json.dumps(text, ensure_ascii=False)[1:-1]
    path = folder.path / "bays" / "bay-3.yaml"
    written = path.read_text(encoding="utf-8")
    for old in ("nail by the old pit", "tyre rack", "Bay 3, the old paint bay at the back"):
        assert old in written
        written = written.replace(old, f'"{said}"')
    written = written.replace("left door post", f'"x {said}"').replace("plastic barrel", f'"y {said}"')
    path.write_text(written, encoding="utf-8", newline="\n")
    return ShopFolder(folder.path)


@pytest.mark.slow
@pytest.mark.parametrize("text", NAMES.values(), ids=NAMES)
def test_names_come_out_as_text(tmp_path, capsys, text):
    folder = named(demo_shop(tmp_path), text)
    words = ["--shop", str(folder.path), "bays", SHEET, "--bay", "bay-3", "--side", "left"]
    cli.commands.main(
        [*words, "--svg", str(tmp_path / "plans")], prog_name="readiness", standalone_mode=False
    )
    page = capsys.readouterr().out
    assert steering(page) == []
    assert "".join(text.split())[:40] in "".join(page.split())
    assert max(map(len, page.splitlines())) <= 78
    cli.commands.main([*words, "--json"], prog_name="readiness", standalone_mode=False)
    [bay] = json.loads(capsys.readouterr().out)["bays"]
    assert bay["title"] == text
    [plan] = (tmp_path / "plans").iterdir()
    assert text[:20] in "".join(ElementTree.parse(plan).getroot().itertext())


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24)])
@pytest.mark.parametrize("text", NAMES.values(), ids=NAMES)
async def test_names_in_the_wizard(tmp_path, text, size):
    """The list of bays, its help, the plan, and the step that asks where the car stands."""
    app = app_on(named(demo_shop(tmp_path), text))
    looks = []

    def look() -> None:
        drawn = shown(app)
        looks.append(drawn)
        assert steering(drawn) == []
        assert {cells(row) for row in drawn.split("\n")} == {size[0]}
        assert drawn.count("\n") == size[1] - 1

    async with app.run_test(size=size) as pilot:
        who, screen = await at_bays(app, pilot)
        await until(pilot, lambda: screen.search.done)
        screen.query_one(OptionList).highlighted = screen._order.index("bay-3")
        await pilot.pause()
        look()
        for opens in ("f1", "ctrl+l"):
            await who.ask(opens)
            look()
            await who.press("tab")
            look()
            await who.press("escape")
        await who.press(screen.keys_of["bay-3"])
        await until(pilot, lambda: app.screen is not screen)
        look()
        if isinstance(app.screen, Pick):
            await who.press("m")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        await who.go_to("place")
        for key in ("t", "1", "2"):
            await who.press(key)
            look()
    assert text[:6] in "".join(looks)
