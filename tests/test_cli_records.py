"""readiness verify and readiness sign: exit codes, what they print, one sentence for what is wrong."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest

from readiness.cli import commands
from readiness.faults import guarded
from readiness.records import places, verify
from readiness.records.journal import Journal
from tests.records.test_signing import forged

JOB = "HB-0417"
ssh = pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="there is no ssh-keygen (openssh-client)")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copytree(places.demo(), tmp_path / "shop", ignore=shutil.ignore_patterns("pictures"))
    return tmp_path / "shop"


@pytest.fixture
def run(capsys):
    """A command's exit code and what it wrote to stdout and stderr."""

    def command(*args: object) -> tuple[int, str, str]:
        given = [str(a) for a in args]
        code = guarded(lambda: commands.main(given, prog_name="readiness", standalone_mode=False))
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return int(code), said.out, said.err

    return command


def journal(shop: Path, job: str = JOB) -> Path:
    return shop / "jobs" / f"{job}.jsonl"


def heads(path: Path) -> list[str]:
    return [sha256(line).hexdigest() for line in path.read_bytes().splitlines()]


def test_a_shop_that_is_sound_takes_one_line(shop, run):
    paths = [*(shop / "jobs").glob("*.jsonl"), *(shop / "surveys").glob("*.jsonl")]
    lines = sum(p.read_bytes().count(b"\n") for p in paths)
    code, out, err = run("verify", shop)
    assert (code, err) == (0, "")
    assert out.startswith(f"{len(paths)} journals, {lines:,} lines")
    assert out.endswith(": all sound.\n")
    assert out.count("\n") == 1
    assert run("--shop", shop, "verify", shop / "jobs", shop / "surveys")[:2] == (0, out)


def test_a_single_journal_is_told_in_full(shop, run):
    whole = heads(journal(shop))
    code, out, err = run("verify", JOB, "--shop", shop)
    assert (code, err) == (0, "")
    assert f"Job {JOB}: {len(whole)} lines, the last of 2026-11-25" in out
    assert whole[-1] in out.replace(" ", "")
    assert " ".join(whole[-1][k : k + 8] for k in range(0, 64, 8)) in out
    assert out.endswith("\nSound.\n")
    assert max(map(len, out.splitlines())) < 80


@pytest.mark.parametrize(
    ("back", "said"), [(0, "as it is."), (1, "1 line came later"), (4, "4 lines came later")]
)
def test_the_hash_on_paper(shop, run, back, said):
    whole = heads(journal(shop))
    typed = f" {whole[-1 - back][:8].upper()} {whole[-1 - back][8:12]} "
    code, out, _ = run("--shop", shop, "verify", JOB, "--head", typed)
    assert code == 0
    assert said in out
    assert ("after line" in out) == bool(back)
    assert f"after line {len(whole) - back};" in out or not back


def test_the_hash_of_another_file(shop, run):
    code, out, _ = run("--shop", shop, "verify", JOB, "--head", heads(journal(shop, "HB-0415"))[-1])
    assert code == 1
    assert "changed or shortened after that was printed" in out
    assert out.endswith("Not sound.\n")


def test_what_is_wrong_with_a_head(shop, run):
    for typed, said in (("12345", "12 to 64 digits"), ("xyz" * 6, "not 'x'"), ("", "12 to 64 digits")):
        code, out, err = run("--shop", shop, "verify", JOB, "--head", typed)
        assert (code, out) == (2, "")
        assert said in err
        assert err.count("\n") == 1
    code, _, err = run("verify", shop, "--head", "0" * 12)
    assert code == 2
    assert "--head goes with one journal" in err


def test_each_fault_names_file_and_line_and_the_rest_is_sound(shop, run):
    changed, torn, copied = journal(shop), journal(shop, "HB-0419"), shop / "jobs" / "HB-0500.jsonl"
    changed.write_bytes(changed.read_bytes().replace(b'"kit.3"', b'"kit.9"'))
    with torn.open("ab") as stream:
        stream.write(b'{"n":')
    shutil.copy(journal(shop, "HB-0415"), copied)
    code, out, err = run("verify", shop)
    assert (code, err) == (1, "")
    line = next(n for n, text in enumerate(changed.read_bytes().splitlines(), 1) if b"kit.9" in text)
    assert f"{changed}, line {line}, cannot be trusted: it does not match its own sum" in out
    assert f"{torn}, line {len(heads(torn))}, was cut off while it was written" in out
    assert f"Note: {copied} holds the job 'HB-0415'" in out
    assert out.splitlines()[-1].endswith(": 2 not sound.")
    assert out.count("\n") == 4
    code, out, _ = run("verify", changed, "--head", heads(journal(shop, "HB-0418"))[0])
    assert code == 1
    assert "no line of it has the hash" in out


def test_paper_and_a_fault_in_one_file(shop, run):
    path = journal(shop)
    before = heads(path)
    path.write_bytes(path.read_bytes().replace(b'"kit.3"', b'"kit.9"'))
    assert "after line 2;" in run("verify", path, "--head", before[1])[1]
    code, out, _ = run("verify", path, "--head", before[-3])
    assert code == 1
    assert f"is that of line {len(before) - 2}, but a line before that is not sound" in out


def test_input_that_is_wrong_and_machines_that_fail(shop, run):
    assert run("verify")[0] == 2
    for name in ("HB-9999", "nowhere.jsonl", shop / "nothing", shop / "bays", shop / "shop.yaml"):
        code, out, err = run("--shop", shop, "verify", name)
        assert (code, out, err.count("\n")) == (2, "", 1), name
    if os.name != "nt":
        (shop / "jobs" / "loop.jsonl").symlink_to(shop / "jobs" / "loop.jsonl")
        code, out, _ = run("verify", shop)
        assert code == 3
        assert "loop.jsonl could not be read: too many levels" in out
        assert "1 could not be looked at in full" in out


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such names")
def test_hostile_names_and_contents_come_out_as_text(shop, run):
    path = shop / "jobs" / "x\x1b[2J\u202e[red].jsonl"
    path.write_bytes(b"\x1b[2J" * 500)
    for args in ((shop,), (path,)):
        code, out, err = run("verify", *args)
        assert code == 1
        assert not set(out + err) & {"\x1b", "\u202e"}
        assert "[red].jsonl" in out


def test_json_is_one_object(shop, run):
    journal(shop).write_bytes(b"no journal\n")
    code, out, err = run("verify", shop, "--json")
    said = json.loads(out)
    assert (code, err, said["sound"], said["not_sound"]) == (1, "", False, 1)
    assert said["journals"] == len(said["each"])
    bad = next(e for e in said["each"] if not e["sound"])
    assert (bad["path"], bad["line"], bad["head"]) == (str(journal(shop)), 1, "")
    good = next(e for e in said["each"] if e["path"].endswith("HB-0415.jsonl"))
    assert (good["head"], good["name"], good["of"]) == (heads(journal(shop, "HB-0415"))[-1], "HB-0415", "job")
    one = json.loads(run("verify", journal(shop, "HB-0415"), "--json", "--head", good["head"][:12])[1])
    assert one["each"][0]["paper"] == {"digits": good["head"][:12], "line": good["lines"], "later": 0}


def test_ending_it_early_says_how_far_it_came(shop, run, monkeypatch):
    real = verify.looked_through

    def interrupted(path):
        if path.stem == "HB-0416":
            raise KeyboardInterrupt
        return real(path)

    monkeypatch.setattr(verify, "looked_through", interrupted)
    journal(shop, "HB-0409").write_bytes(b"no journal\n")
    code, out, err = run("verify", shop)
    assert code == 130
    assert "HB-0409.jsonl, line 1" in out, "what was found is not lost"
    assert "Ended after 3 of" in err


# --- signing --------------------------------------------------------------------------------------


@pytest.fixture
def keyed(shop) -> Path:
    """The shop with a key; only its signers lie in the shop's folder."""
    key = shop.parent / "key"
    subprocess.run(
        ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", key], check=True, stdin=subprocess.DEVNULL
    )
    public = key.with_suffix(".pub").read_text(encoding="utf-8").strip()
    (shop / "signers").write_text(f'hobbs-brow namespaces="readiness@journal" {public}\n', encoding="utf-8")
    with (shop / "shop.yaml").open("a", encoding="utf-8") as stream:
        stream.write(f"signing: {{key: '{key.as_posix()}', signers: signers}}\n")
    return shop


@ssh
def test_sign_and_verify(keyed, run):
    lines = len(heads(journal(keyed)))
    printed = heads(journal(keyed))[-1]
    code, out, err = run("--shop", keyed, "sign", JOB, "--by", "Odo Brack")
    assert (code, err) == (0, "")
    assert out == f"Signed: {JOB}, lines 1 to {lines}, by Odo Brack.\n"
    code, out, _ = run("--shop", keyed, "verify", JOB, "--head", printed, "--signed")
    assert code == 0
    assert f"Lines 1 to {lines} are signed with the key of hobbs-brow (by Odo Brack, " in out
    assert "nothing came after that" in out
    assert f"after line {lines}; 1 line came later" in out, "the signature itself"
    assert run("verify", keyed)[1].splitlines()[-1].endswith("1 signature: all sound.")
    code, _, err = run("sign", journal(keyed), "--by", "Odo Brack")
    assert (code, "already" in err) == (2, True)


@ssh
def test_hashes_worked_out_anew_do_not_help_against_a_signature(keyed, run):
    run("--shop", keyed, "sign", JOB, "--by", "Odo Brack")
    path = journal(keyed)
    forged(path, "18.2 °C", "21.2 °C")
    assert Journal.open(path, write=False).warnings == []
    for args in (("verify", path), ("verify", keyed)):
        code, out, _ = run(*args)
        assert code == 1
        assert (
            f"{path}, line {len(heads(path))}, a signature by Odo Brack: it was made with the key of hobbs-brow"
            in out
        )
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))
    assert run("verify", path)[0] == 0, "without its signature it is a journal like any other"
    code, out, _ = run("verify", path, "--signed")
    assert code == 1
    assert "has no signature that counts" in out


@ssh
def test_what_came_after_the_signature_is_told(keyed, run):
    run("--shop", keyed, "sign", JOB, "--by", "Odo Brack")
    with Journal.open(journal(keyed)) as opened:
        opened.set_units("us", "Odo Brack", datetime.now(UTC))
    code, out, _ = run("verify", journal(keyed))
    assert code == 0
    assert "1 line came after that" in out
    code, out, _ = run("verify", journal(keyed), "--signed")
    assert code == 1
    assert "came after the last signature that counts" in out


@ssh
def test_a_machine_without_ssh_keygen(keyed, run, monkeypatch):
    run("--shop", keyed, "sign", JOB, "--by", "Odo Brack")
    monkeypatch.setenv("PATH", str(keyed))
    code, out, _ = run("--shop", keyed, "verify", JOB)
    assert code == 3
    assert "ssh-keygen, which signs and checks signatures, is not on this machine" in out
    assert out.endswith("Not looked at in full.\n")
    code, out, err = run("--shop", keyed, "sign", "HB-0415", "--by", "Odo Brack")
    assert (code, out, err.count("\n")) == (3, "", 1)
    assert run("--shop", keyed, "verify", "HB-0415")[0] == 0, "nothing was asked for there"


def test_signing_that_cannot_be(shop, run, tmp_path):
    size = journal(shop).stat().st_size
    for args, said in (
        ((JOB, "--by", "Odo Brack"), "shop.yaml says no 'signing"), ((JOB,), "--by"), ((JOB, "--by", " \x1b "), "--by"),
        (("HB-9999", "--by", "x"), "no job"), ((shop, "--by", "x"), "JOB is one journal"),
        ((shop / "surveys" / "bay-4-by-level.jsonl", "--by", "x"), "survey"),
    ):  # fmt: skip
        code, out, err = run("--shop", shop, "sign", *args)
        assert (code, out) == (2, "")
        assert said in err
        assert err.count("\n") == 1
    assert journal(shop).stat().st_size == size
