"""readiness spot-check: prompts, a file of answers, JSON, exit codes, and what report, check and verify say afterwards."""

from __future__ import annotations

import io
import json
import re
import sys
from datetime import datetime
from pathlib import Path

import pytest

from readiness.cli import commands
from readiness.faults import guarded
from readiness.job import Reading
from readiness.records.demo import copy_demo
from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from tests.test_hostile import HOSTILE, steering

JOB, ENDED = "HB-0418", "HB-0422"
SEED = 5
"""Draws a state, a tread depth, a pressure, a ride height and another state."""
BY = ("--by", "Tamsin Vale")


@pytest.fixture
def folder(tmp_path) -> ShopFolder:
    return copy_demo(tmp_path / "shop", datetime.now().astimezone())


@pytest.fixture
def run(folder, capsys, monkeypatch):
    """A command's exit code and what it wrote to stdout and stderr; `typed` is piped in."""

    def command(*args: object, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        given = ["--shop", str(folder.path), *(str(a) for a in args)]
        code = guarded(lambda: commands.main(given, prog_name="readiness", standalone_mode=False))
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return int(code), said.out, said.err

    return command


def path_of(folder: ShopFolder, job: str = JOB) -> Path:
    return folder.jobs_folder / f"{job}.jsonl"


def job_of(folder, job=JOB):
    with folder.journal(job, write=False) as journal:
        return journal.job


def drawn_readings(folder, job=JOB) -> dict[str, Reading]:
    """What was asked -> the reading that was drawn."""
    kept = job_of(folder, job)
    by_line = {r.number: r for r in kept.readings}
    return {d.what: by_line[d.entry] for d in kept.spot_checks[-1].drawn}


def filled_in(blank: str, answers: dict[str, str]) -> str:
    """The blank file that --list prints, with these answers by key."""
    text = blank[blank.index("spot_check:") :]
    for key, value in answers.items():
        assert f"    {key}: {{value: ''" in text or f"  {key}: {{value: ''" in text, key
        text = text.replace(f"{key}: {{value: ''", f"{key}: {{value: '{value}'")
    return text


SAME = {"clean": "yes", "tread.lf": "4.4 mm", "parked": "stood", "air": "18.4 C", "pressure.rf": "230 kPa",
        "height.lf": "695 mm", "steering": "yes"}  # fmt: skip


@pytest.fixture
def same(folder) -> dict[str, str]:
    first = {r.question: r.value for r in job_of(folder).readings}
    return {**SAME, "height.lf": f"{first['height.lf']:g} mm", "tread.lf": f"{first['tread.lf']:g} mm"}


# --- line by line --------------------------------------------------------------------------------


def test_line_by_line_from_draw_to_summary(run, folder, same):
    lines = ["y", same["tread.lf"], "s", "18.4", "", "219", same["height.lf"], "none: the owner took it"]
    code, out, err = run("spot-check", JOB, *BY, "--seed", SEED, typed="\n".join(lines) + "\n")
    assert code == 1
    first, _, _ = out.partition("Recorded")
    assert "Spot check of HB-0418, drawn" in first
    assert "5 of 56 readings, seed 5." in first
    assert "DOES NOT AGREE" in out
    assert "Not compared: the owner took it." in out
    assert "Spot-checked by Tamsin Vale: 3 of 5 agree, 1 does not, 1 was not compared." in re.sub(
        r"\s+", " ", out
    )
    assert err == ""
    assert steering(out) == []
    again = {a.what: a for a in job_of(folder).again}
    tyre = again["Tyres, right front pressure"]
    assert (tyre.instrument, tyre.first_instrument, tyre.outcome) == ("gauge-2", "gauge-1", "differs")
    assert [b.what for b in tyre.beside] == ["How long has it stood", "Air in the bay"]


def test_what_is_refused_is_asked_again(run, folder):
    lines = [
        "perhaps",
        "n",
        "44 mm",
        "4,4,4",
        "4.4",
        "s",
        "tyre",
        "20",
        "9",
        "gauge-7",
        "gauge-1",
        "2.3 bar",
        "stop",
    ]
    code, out, err = run("spot-check", JOB, *BY, "--seed", SEED, typed="\n".join(lines) + "\n")
    assert code == 1
    assert "takes one of y (yes), n (no)." in out
    assert "is not plausible for left front tread" in re.sub(r"\s+", " ", out)
    assert "Type 1 to 3, or the instrument's name." in out
    assert "Another instrument would see more" in out
    assert "E_n is kinder than it should be" in re.sub(r"\s+", " ", out)
    assert "2 are still to come." in out
    assert "the same command goes on with the rest" in err
    assert {a.text for a in job_of(folder).again} == {"n", "4.4", "2.3 bar"}


def test_it_goes_on_where_it_was_left_and_draws_no_other_before(run, folder, same):
    assert run("spot-check", JOB, *BY, "--seed", SEED, typed="y\n")[0] == 1
    for more in (("--count", 3), ("--seed", 6)):
        code, out, err = run("spot-check", JOB, *more)
        assert (code, out) == (2, "")
        assert "A spot check is not finished: 4 of 5 readings are still to come." in err
    lines = [same["tread.lf"], "s", "18.4", "", "230", same["height.lf"], "y"]
    code, out, _ = run("spot-check", JOB, typed="\n".join(lines) + "\n")
    assert code == 0
    assert "4 of them are still to come." in re.sub(r"\s+", " ", out)
    assert "Spot-checked by Tamsin Vale: 5 of 5 agree." in out
    assert len(job_of(folder).spot_checks) == 1
    assert run("spot-check", JOB, *BY, "--count", 1, "--list")[0] == 0
    assert len(job_of(folder).spot_checks) == 2


def test_at_a_terminal_each_answer_is_confirmed_before_anything_is_shown(run, folder, monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    real = guarded

    def typed(text):
        monkeypatch.setattr(sys, "stdin", Terminal(text))

    run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    typed("n\nn\ny\n\nstop\n")
    args = ["--shop", str(folder.path), "spot-check", JOB]
    assert real(lambda: commands.main(args, standalone_mode=False)) == 1
    assert [a.text for a in job_of(folder).again] == ["y"], "the first answer was a slip"


# --- list and file -------------------------------------------------------------------------------


def test_the_list_draws_once_and_its_blank_is_filled_in(run, folder, same, tmp_path):
    code, out, err = run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    assert (code, err) == (0, "")
    again, listed, _ = run("spot-check", JOB, "--list")
    assert (again, listed) == (0, out)
    assert "and beside it: How long has it stood, Air in the bay" in out
    file = tmp_path / "found.yaml"
    file.write_text(filled_in(out, same), encoding="utf-8")
    code, out, err = run("spot-check", JOB, "--answers", file)
    assert (code, err) == (0, "")
    assert "5 of 5 agree" in out
    assert all(a.outcome == "agrees" for a in job_of(folder).again)


def test_what_is_blank_in_a_file_is_still_to_come(run, folder, same, tmp_path):
    _, out, _ = run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    file = tmp_path / "found.yaml"
    file.write_text(filled_in(out, {"clean": "yes"}), encoding="utf-8")
    code, out, _ = run("spot-check", JOB, "--answers", file)
    assert code == 1
    assert "1 of 5 agree, 4 are still to come." in out


BAD = {
    "clean: {value: 'maybe'}": "found 'maybe', expected an answer to 'Cover clean and dry'",
    "clean: {value: 'yes', tool: 'x'}": "unknown key",
    "clean: [yes, no]": "found a list",
    "tread.lf: {value: '4.4 mm', instrument: 'gauge-1'}": "'gauge-1' is no instrument of the shop for depth",
    "tread.lf: '99 mm'": "is not plausible",
    "pressure.rf: '230 kPa'": "no answer to tyres: parked",
    "bonnet: 'yes'": "which was not drawn",
}


@pytest.mark.parametrize("line", BAD)
def test_a_mistake_in_a_file_is_told_with_its_place_and_nothing_is_kept(run, folder, tmp_path, line):
    run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    before = path_of(folder).read_bytes()
    check = {"clean": "cover left", "bonnet": "closed"}.get(line.partition(":")[0], "tyres")
    file = tmp_path / "found.yaml"
    good = "  closed: {steering: yes}\n" if check != "closed" else ""
    file.write_text(f"spot_check: {JOB}\nchecks:\n{good}  {check}:\n    {line}\n", encoding="utf-8")
    code, out, err = run("spot-check", JOB, "--answers", file)
    assert code == 2
    assert "DOES" not in out
    assert f"{file}:" in err
    assert BAD[line] in err
    assert path_of(folder).read_bytes() == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "expected"),
        ("answers: HB-0418\n", "spot_check"),
        ("spot_check: HB-0417\n", "the job that was named, HB-0418"),
        ("spot_check: HB-0418\nchecks: 3\n", "checks: found '3', expected answers by question"),
        ("spot_check: HB-0418\nchecks: {tyres: [1]}\n", "found a list, expected answers by question"),
        ("spot_check: HB-0418\nshared: [1]\n", "found a list, expected answers by question"),
        ("spot_check: HB-0418\nchecks: {tyres: {tread.lf: 4 mm, tread.lf: 5 mm}}\n", "each key once"),
        ("spot_check: HB-0418\nshared:\nchecks:\n", None),
        ("spot_check: [HB-0418]\n", "expected"),
        ("spot_check: HB-0418\nodd: 1\n", "odd"),
        ("\x00", ""),
        ("- a\n- b\n", "spot_check"),
        ("spot_check: HB-0418\nchecks: {tyres: {tread.lf: &a 3}}\n", ""),
    ],
)
def test_what_is_no_such_file(run, folder, tmp_path, text, said):
    run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    before = path_of(folder).read_bytes()
    file = tmp_path / "found.yaml"
    file.write_text(text, encoding="utf-8")
    code, _, err = run("spot-check", JOB, "--answers", file)
    assert code == (1 if said is None else 2)
    assert (said or "") in err
    assert path_of(folder).read_bytes() == before


# --- JSON, and the other commands ----------------------------------------------------------------


def test_what_became_of_it_meanwhile_is_said_by_the_list(run, folder):
    run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    with folder.journal(JOB, by="x") as journal:
        for row in journal.job.spot_checks[0].drawn:
            journal.withdraw(row.entry, "mistyped", "x", journal.last_at)
    code, out, _ = run("spot-check", JOB, "--list")
    assert code == 0
    assert out == "Spot-checked by Tamsin Vale: 0 of 5 agree, 5 were not compared.\n"
    assert {a.why for a in job_of(folder).again} == {"its first reading was taken back since"}


def test_json_is_one_object_and_tells_nothing_of_what_is_to_come(run, folder, same):
    code, out, err = run("spot-check", JOB, *BY, "--seed", SEED, "--json", typed=f"y\n{same['tread.lf']}\n")
    assert code == 1
    told = json.loads(out)
    [check] = told["spot_checks"]
    assert (told["job"], check["seed"], check["of"], check["agree"], check["to_come"]) == (
        JOB,
        SEED,
        56,
        2,
        3,
    )
    for row in check["readings"]:
        if row["outcome"] is None:
            assert {k for k, v in row.items() if v not in (None, [])} == {"entry", "what"}
        else:
            assert row["recorded"]
    assert "Now" in err, "who answers sees the prompts all the same"


def test_what_did_not_agree_is_said_by_check_report_and_verify(run, folder, same, tmp_path):
    run("spot-check", JOB, *BY, "--seed", SEED, "--list")
    answers = {**same, "pressure.rf": "212 kPa"}
    file = tmp_path / "found.yaml"
    _, out, _ = run("spot-check", JOB, "--list")
    file.write_text(filled_in(out, answers), encoding="utf-8")
    assert run("spot-check", JOB, "--answers", file)[0] == 1
    notice = "spot check did not agree: Tyres, right front pressure 230 kPa (mean of 2), re-measured 212 kPa, E_n -"
    flat = re.sub(r"\s+", " ", run("check", JOB)[1])
    assert notice in flat
    assert "4 of 5 agree, 1 does not." in flat
    as_json = json.loads(run("check", JOB, "--json")[1])
    assert as_json["spot_checks"][0]["differ"] == 1
    assert run("report", JOB, "--output", tmp_path / "r.html")[0] in (0, 1)
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "did not agree: Tyres, right front pressure 230 kPa" in page
    assert "4 of 5 agree, 1 does not. 5 of 56 readings were drawn, seed 5." in page
    code, out, _ = run("verify", JOB)
    assert code == 0
    assert "Sound" in out


def test_an_ended_job_is_checked_too(run, folder):
    code, out, _ = run("spot-check", ENDED, *BY, "--count", 2, "--seed", 1, "--list")
    assert code == 0
    assert "2 of " in out
    assert job_of(folder, ENDED).ended is not None


# --- what is wrong with the input ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "said"),
    [
        ((JOB,), "Say who takes the readings again: --by NAME."),
        ((JOB, "--by", "  "), "--by NAME"),
        (("HB-9999", *BY), "HB-9999"),
        ((JOB, *BY, "--count", 0), "--count"),
        ((JOB, *BY, "--seed", -1), "--seed"),
        ((JOB, *BY, "--answers", "nowhere.yaml"), "nowhere.yaml"),
        ((), "JOB"),
    ],
)
def test_what_is_wrong_is_one_sentence(run, folder, args, said):
    before = {p: p.read_bytes() for p in folder.jobs_folder.glob("*.jsonl")}
    code, out, err = run("spot-check", *args)
    assert (code, out) == (2, "")
    assert said in err
    assert {p: p.read_bytes() for p in folder.jobs_folder.glob("*.jsonl")} == before


def test_answers_are_given_to_what_was_drawn_before(run, folder, tmp_path):
    file = tmp_path / "found.yaml"
    file.write_text(
        f"spot_check: {JOB}\nby: Tamsin Vale\nchecks: {{closed: {{steering: yes}}}}\n", encoding="utf-8"
    )
    code, _, err = run("spot-check", JOB, "--answers", file)
    assert code == 2
    assert "Nothing is drawn yet: --list draws" in err
    assert run("spot-check", JOB, *BY, "--list", "--answers", file)[0] == 2


def test_answers_of_a_yaml_job_and_surveys_are_no_journals(run, folder):
    for name in (
        folder.path / "answers" / "HB-0417.yaml",
        *sorted((folder.path / "surveys").glob("*.jsonl"))[:1],
    ):
        code, _, err = run("spot-check", name, *BY)
        assert code == 2, name
        assert err


def test_a_job_that_another_program_writes_is_left_alone(run, folder):
    with Journal.open(path_of(folder), by="Odo Brack", at=datetime.now().astimezone()):
        code, _, err = run("spot-check", JOB, *BY, "--list")
    assert code in (2, 3)
    assert "Odo Brack" in err
    assert job_of(folder).spot_checks == ()


def test_who_took_the_readings_is_told_that_somebody_else_would_see_more(run):
    _, _, err = run("spot-check", JOB, "--by", "odo brack", "--list")
    assert "odo brack took readings of this job; somebody else would see more." in err


@pytest.mark.slow
@pytest.mark.parametrize("name", HOSTILE)
def test_text_from_people_is_text(run, folder, tmp_path, name):
    text = HOSTILE[name]
    run("spot-check", JOB, "--by", text, "--count", 2, "--seed", 2, "--list")
    listed = run("spot-check", JOB, "--list")[1]
    lines = f"none: {text!s}".replace("\n", " ").replace("\r", " ")[:900]
    _, out, err = run("spot-check", JOB, "--by", text, typed=f"{lines}\n" * 6)
    _, as_json, _ = run("spot-check", JOB, "--by", "x", "--json", typed="")
    _, checked, _ = run("check", JOB)
    run("report", JOB, "--output", tmp_path / "r.html")
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    for said in (listed, out, err, as_json, checked, page):
        assert steering(said) == []
    assert "<script>alert" not in page
    assert "<b>Odo" not in page
    json.loads(as_json)
    assert run("verify", JOB)[0] == 0
