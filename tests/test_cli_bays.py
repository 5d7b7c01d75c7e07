"""`readiness bays` from outside: exit codes, what it prints and writes, one sentence for what is wrong."""

from __future__ import annotations

import json
import math
import os
import signal
import subprocess
import sys
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from readiness.records.shop import ShopFolder
from tests.halls import crowded, hall
from tests.shop import demo_shop
from tests.test_cli import one_sentence, run

SHEET = "tern-rear-corner"
SEARCHED = 0.002
"""m; how near to the best the search has to come, as the command's certificate says."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> ShopFolder:
    return demo_shop(tmp_path_factory.mktemp("bays"))


@pytest.fixture(scope="module")
def told(folder) -> dict:
    done = run("bays", SHEET, "--json", shop=folder.path)
    assert done.stderr == ""
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def page(folder) -> subprocess.CompletedProcess[str]:
    """The same for people, piped on."""
    return run("bays", SHEET, shop=folder.path)


def of_bay(found: dict, name: str) -> dict:
    return next(b for b in found["bays"] if b["bay"] == name)


def by_mode(bay: dict) -> dict[str, dict]:
    return {m["mode"]: m for m in bay["modes"]}


# --- what it finds -------------------------------------------------------------------------------


def test_every_bay_of_the_shop_is_told_in_every_mode(folder, told):
    assert {b["bay"] for b in told["bays"]} == set(folder.bays)
    assert all(list(by_mode(b)) == ["left", "right", "in_turn", "at_once"] for b in told["bays"])


def test_what_asks_for_more_has_no_more_room(told):
    """Every place for both at once is one for both in turn, and every such place one for either side."""
    for modes in map(by_mode, told["bays"]):
        free = {name: m for name, m in modes.items() if not m["move_first"] and m["fits"]}
        for less, more in (("at_once", "in_turn"), ("in_turn", "left"), ("in_turn", "right")):
            if less in free and more in free:
                assert free[less]["spare"] <= free[more]["bound"] + SEARCHED


def test_no_place_exceeds_its_bound_and_the_best_comes_near_it(told):
    for mode in (m for b in told["bays"] for m in b["modes"]):
        assert mode["spare"] - 1e-9 <= mode["most"] <= mode["bound"] + 1e-9
        assert mode["bound"] <= mode["most"] + SEARCHED


def test_the_tapes_lead_to_the_place_that_is_told(folder, told):
    """Plain trigonometry, with complex numbers: wheels from the sheet's wheelbase and tracks, corners from the bay."""
    size = folder.sheets[SHEET].dimensions
    wheels = {
        f"{side} {end}": complex(x, y * track / 2)
        for end, x, track in (("front", size.wheelbase, size.track_front), ("rear", 0.0, size.track_rear))
        for side, y in (("left", 1), ("right", -1))
    }
    for told_bay in told["bays"]:
        bay = folder.bays[told_bay["bay"]]
        marks = {f"corner {n}": complex(p.x, p.y) for n, p in enumerate(bay.outline, 1)}
        marks |= {m.name: complex(m.at.x, m.at.y) for m in bay.marks}
        for mode in told_bay["modes"]:
            place = mode["standing"]
            turn = complex(math.cos(math.radians(place["heading"])), math.sin(math.radians(place["heading"])))
            assert len(mode["tapes"]) == 4
            for tape in mode["tapes"]:
                name = next(w for w in wheels if _names(w, tape["wheel"]))
                at = complex(place["x"], place["y"]) + turn * wheels[name]
                assert tape["length"] == pytest.approx(abs(at - marks[tape["mark"]]), abs=0.001)


def _names(wheel: str, said: str) -> bool:
    side, end = wheel.split()
    return said in (side[0] + end[0], wheel) or wheel in said


def test_exit_code_and_page_say_whether_a_bay_takes_all_sides(folder, told):
    takes = {b["bay"]: b["takes_all"] for b in told["bays"]}
    assert set(takes.values()) == {True, False}, "the demo shop is to show both"
    for all_sides, name in {takes_all: name for name, takes_all in takes.items()}.items():  # one of each
        done = run("bays", SHEET, "--bay", name, shop=folder.path)
        assert (done.returncode, done.stderr) == (0 if all_sides else 1, "")
        # the answer is the first thing after the title
        assert folder.bays[name].title[:20] in done.stdout.split("\n\n")[1]


def test_the_answer_has_the_bays_in_the_order_of_the_json(page, told):
    block = page.stdout.split("\n\n")[1]
    places = [block.index(b["title"]) for b in told["bays"]]
    assert places == sorted(places)


def test_one_side_asks_less(folder, told):
    done = run("bays", SHEET, "--side", "left", "--json", shop=folder.path)
    left = {b["bay"]: b["modes"] for b in json.loads(done.stdout)["bays"]}
    for bay in told["bays"]:
        [mode] = left[bay["bay"]]
        assert mode["mode"] == "left"
        assert mode["spare"] == pytest.approx(by_mode(bay)["left"]["spare"], abs=SEARCHED)


def test_free_headings_have_at_least_as_much_room(folder, told):
    """Every place along the bay's own line is one of those that are looked at."""
    done = run("bays", SHEET, "--bay", "bay-4", "--heading", "any", "--json", shop=folder.path)
    [free] = json.loads(done.stdout)["bays"]
    bound_to_axis = by_mode(of_bay(told, "bay-4"))
    for name, mode in by_mode(free).items():
        if not (mode["move_first"] or bound_to_axis[name]["move_first"]):
            assert mode["bound"] >= bound_to_axis[name]["spare"] - SEARCHED


def test_a_wider_hall_has_half_of_the_width_more_room_and_a_longer_one_no_more(tmp_path):
    """In an empty long hall the two long walls bind: 2 m more between them are 1 m more on either side."""
    folder = demo_shop(tmp_path)
    for name, length, width in (("hall", 40.0, 12.0), ("wide", 40.0, 14.0), ("long", 50.0, 12.0)):
        hall(folder, name, length, width)
    named = [word for name in ("hall", "wide", "long") for word in ("--bay", name)]
    done = run("bays", "pipit-front", *named, "--json", shop=folder.path)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)["bays"]
    most = {b["bay"]: b["modes"][0]["most"] for b in found}
    assert most["wide"] - most["hall"] == pytest.approx(1.0, abs=2 * SEARCHED)
    assert most["long"] == pytest.approx(most["hall"], abs=2 * SEARCHED)
    assert found[0]["bay"] == "wide"


# --- what it writes ------------------------------------------------------------------------------


def test_a_plan_of_every_bay_is_written(folder, tmp_path):
    to = tmp_path / "new" / "plans"
    done = run("bays", SHEET, "--svg", to, "--side", "left", shop=folder.path)
    assert done.stderr == ""
    assert {p.stem for p in to.iterdir()} == set(folder.bays)
    for path in to.iterdir():
        assert ElementTree.parse(path).getroot().tag == "{http://www.w3.org/2000/svg}svg"
    again = run("bays", SHEET, "--svg", to, "--side", "left", shop=folder.path)
    assert (again.returncode, again.stdout) == (done.returncode, done.stdout)


def test_a_place_that_cannot_be_written_to_is_this_machines_trouble(folder, tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    done = run("bays", SHEET, "--svg", tmp_path / "file", "--bay", "bay-1", shop=folder.path)
    assert done.returncode == 3
    assert "could not be written" in done.stderr
    assert "Traceback" not in done.stderr


# --- what is wrong with the input ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("tern",), "tern-rear-corner"),
        ((SHEET, "--bay", "bay-9"), "bay-9"),
        ((SHEET, "--side", "up"), "--side"),
        ((SHEET, "--heading", "north"), "--heading"),
        (("pipit-front", "--side", "left"), "without sides"),
        (("nowhere.yaml",), "nowhere.yaml"),
    ],
)
def test_a_mistake_is_one_sentence(folder, args, said):
    assert said in one_sentence(run("bays", *args, shop=folder.path))


def test_without_a_shop_there_are_no_bays(tmp_path):
    assert "no shop" in one_sentence(run("bays", SHEET, shop=tmp_path))


def test_a_sheets_file_is_as_good_as_its_id(folder, told):
    done = run("bays", folder.path / "sheets" / f"{SHEET}.yaml", "--bay", "bay-1", "--json")
    assert of_bay(json.loads(done.stdout), "bay-1") == of_bay(told, "bay-1")


def test_both_sides_is_what_is_asked_anyway(folder, told):
    done = run("bays", SHEET, "--side", "both", "--bay", "bay-1", "--json", shop=folder.path)
    assert of_bay(json.loads(done.stdout), "bay-1") == of_bay(told, "bay-1")


def test_a_bay_with_mistakes_is_left_out_and_said(tmp_path):
    folder = demo_shop(tmp_path)
    (folder.path / "bays" / "bad.yaml").write_text("bay: bad\nlength: 3\n", encoding="utf-8", newline="\n")
    done = run("bays", SHEET, "--side", "left", shop=folder.path)
    assert "bad is left out" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "bay-1" not in done.stderr
    named = run("bays", SHEET, "--bay", "bad", shop=folder.path)
    assert (named.returncode, named.stdout) == (2, "")
    assert "bad.yaml:" in named.stderr
    for path in (folder.path / "bays").glob("bay-*.yaml"):
        path.unlink()
    assert "no bay in" in one_sentence(run("bays", SHEET, shop=folder.path))


# --- while it searches ---------------------------------------------------------------------------

if os.name != "nt":
    from tests.terminal import Terminal, surroundings

    def command(folder: ShopFolder, *args: str) -> Terminal:
        words = [sys.executable, "-m", "readiness", "bays", SHEET, "--shop", str(folder.path), *args]
        return Terminal(words, surroundings(str(folder.path.parent / "home")))

    def test_a_terminal_is_told_how_far_the_search_is_and_ctrl_c_ends_it(tmp_path):
        with command(crowded(tmp_path, 6, 300)) as terminal:
            terminal.wait_for("1 of 6: Hall 1")
            terminal.process.send_signal(signal.SIGINT)
            code = terminal.leave()
            lines = terminal.output.decode().replace("\r\n", "\n").rstrip("\n").split("\n")
            # what was written of the line over and over ends as blanks, then one sentence stands alone
            last = [part for part in lines[-1].split("\r") if part.strip()]
            assert last[-1] == "The search was ended, so nothing is said of any bay."
            assert "Traceback" not in terminal.output.decode()
            assert code == 130

    def test_the_line_is_gone_before_the_answer(tmp_path):
        with command(crowded(tmp_path, 1, 150), "--side", "left") as terminal:
            terminal.wait_for("The vehicle maker's procedure comes first", limit=60.0)
            assert terminal.leave() in (0, 1)
            text = terminal.output.decode()
        assert "How it was worked out" in text
        before = text[: text.index("Tern estate")]
        if "1 of 1" in before:
            assert before.endswith("\r" + " " * 78 + "\r")


def test_what_is_piped_on_has_no_progress_in_it(page):
    assert page.stderr == ""
    assert not any("\r" in line for line in page.stdout.splitlines())
    assert all(a or b for a, b in pairwise(page.stdout.splitlines())), "no two empty lines"
