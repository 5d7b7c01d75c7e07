"""Signatures by the shop's key, against OpenSSH's own ssh-keygen: made by it, checked by it, also by hand."""

from __future__ import annotations

import os
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from readiness.job import Shop, Signing
from readiness.records import lines, signing
from readiness.records.journal import Journal, JournalError, Signed
from readiness.records.lines import Entry
from readiness.records.signing import SigningError, check, sign, statement
from tests.records.test_journal import AT, begun, reading

pytestmark = pytest.mark.skipif(
    shutil.which("ssh-keygen") is None, reason="there is no ssh-keygen (Debian: openssh-client)"
)
LATER = AT + timedelta(minutes=30)


@pytest.fixture(scope="module")
def keys(tmp_path_factory) -> Path:
    """Keys of the shop, of somebody else, and one with a passphrase; and whose signatures count."""
    folder = tmp_path_factory.mktemp("keys")
    for name, word in (("shop", ""), ("other", ""), ("locked", "kingfisher")):
        made = ["ssh-keygen", "-q", "-t", "ed25519", "-N", word, "-C", name, "-f", folder / name]
        subprocess.run(made, check=True, stdin=subprocess.DEVNULL)
    public = (folder / "shop.pub").read_text(encoding="utf-8").strip()
    (folder / "signers").write_text(f"hobbs-brow {public}\n", encoding="utf-8", newline="\n")
    return folder


def shop_with(keys: Path, key: str = "shop", signers: str = "signers") -> Shop:
    return Shop(shop="x", altitude=0.0, signing=Signing(key=str(keys / key), signers=str(keys / signers)))


def signed_job(folder: Path, keys: Path, key: str = "shop") -> tuple[Path, Signed]:
    with begun(folder) as journal:
        journal.record(reading())
        made = sign(journal, folder, shop_with(keys, key), "Odo Brack", LATER)
    return journal.path, made


def opened(path: Path) -> tuple[Journal, Signed]:
    journal = Journal.open(path, write=False)
    return journal, journal.signatures[-1]


def test_what_is_signed_is_these_bytes_and_no_others():
    assert statement("HB-0417", 57, "ab" * 32) == (
        b"readiness journal\njob HB-0417\nlines 57\nhead " + b"ab" * 32 + b"\n"
    )


def test_a_signed_job_is_vouched_for(tmp_path, keys):
    path, made = signed_job(tmp_path, keys)
    journal, kept = opened(path)
    assert kept == made
    assert (kept.by, kept.number, journal.head.lines) == ("Odo Brack", 3, 3)
    found = check(kept, journal.job.job, tmp_path, shop_with(keys))
    assert (found.state, found.who, found.why, found.trouble) == ("good", "hobbs-brow", "", False)


def test_two_people_may_sign_and_nobody_twice(tmp_path, keys):
    path, _ = signed_job(tmp_path, keys)
    with Journal.open(path) as journal:
        with pytest.raises(SigningError, match="signed by Odo Brack already"):
            sign(journal, tmp_path, shop_with(keys), "Odo Brack", LATER)
        sign(journal, tmp_path, shop_with(keys), "Tamsin Vale", LATER)
        journal.note(2, "read at the sill", "Odo Brack", LATER)
        sign(journal, tmp_path, shop_with(keys), "Odo Brack", LATER)
        found = [check(s, "HB-1", tmp_path, shop_with(keys)).state for s in journal.signatures]
    assert found == ["good"] * 3


def test_a_signature_can_be_checked_by_hand(tmp_path, keys):
    """With ssh-keygen, a hash and an editor alone, as DEVELOPERS.md says."""
    path, kept = signed_job(tmp_path, keys)
    last_signed = path.read_bytes().split(b"\n")[1]
    said = f"readiness journal\njob HB-1\nlines 2\nhead {sha256(last_signed).hexdigest()}\n"
    (tmp_path / "signature").write_text(kept.signature, encoding="ascii", newline="\n")
    signers = ["-s", tmp_path / "signature", "-f", keys / "signers"]
    who = subprocess.run(["ssh-keygen", "-Y", "find-principals", *signers], capture_output=True, check=True)
    name = who.stdout.decode().strip()
    told = subprocess.run(
        ["ssh-keygen", "-Y", "verify", "-n", "readiness@journal", *signers, "-I", name],
        input=said.encode(), capture_output=True, check=True,
    )  # fmt: skip
    assert told.stdout.startswith(b'Good "readiness@journal" signature for hobbs-brow')


def forged(path: Path, change: str, into: str) -> None:
    """The journal as somebody leaves it who changes an entry and works out every hash anew."""
    found = lines.decode(path.read_bytes().replace(b"\r", b""))
    written, prev = b"", ""
    for entry in found.entries:
        body = {k: v.replace(change, into) if isinstance(v, str) else v for k, v in entry.body.items()}
        if entry.kind == "signed":
            body["head"] = prev
        line = lines.encode(Entry(entry.n, entry.at, entry.kind, body), prev)
        written, prev = written + line, lines.digest(line)
    path.write_bytes(written)


def test_a_change_under_hashes_worked_out_anew_is_found_by_the_signature(tmp_path, keys):
    path, _ = signed_job(tmp_path, keys)
    forged(path, "nothing of it", "")
    journal, kept = opened(path)
    assert check(kept, "HB-1", tmp_path, shop_with(keys)).state == "good", (
        "the same entries have the same hash"
    )
    forged(path, "231.0", "229.0")
    journal, kept = opened(path)
    assert journal.job.readings[0].text == "229.0"
    assert journal.warnings == []
    found = check(kept, "HB-1", tmp_path, shop_with(keys))
    assert (found.state, found.who) == ("wrong", "hobbs-brow")
    assert "incorrect signature" in found.why


def test_a_signature_says_of_which_job_and_how_many_lines(tmp_path, keys):
    _, kept = signed_job(tmp_path, keys)
    assert check(kept, "HB-2", tmp_path, shop_with(keys)).state == "wrong"
    other = Signed(kept.by, kept.head, kept.signature, kept.at, kept.number + 1)
    assert check(other, "HB-1", tmp_path, shop_with(keys)).state == "wrong"


def test_a_key_that_does_not_count_is_told(tmp_path, keys):
    """Somebody who works out every hash anew can sign anew too, but not with the shop's key."""
    _, kept = signed_job(tmp_path, keys, "other")
    found = check(kept, "HB-1", tmp_path, shop_with(keys))
    assert found.state == "unknown"
    assert str(keys / "signers") in found.why


def test_a_signature_of_something_else_by_the_shops_key_does_not_count(tmp_path, keys):
    """OpenSSH's namespaces: the same key may sign commits and files."""
    with begun(tmp_path) as journal:
        said = statement("HB-1", 1, journal.head.digest)
        made = subprocess.run(
            ["ssh-keygen", "-Y", "sign", "-f", keys / "shop", "-n", "file"], input=said, capture_output=True, check=True,
        )  # fmt: skip
        kept = journal.sign(made.stdout.decode(), "x", LATER)
    assert check(kept, "HB-1", tmp_path, shop_with(keys)).state == "wrong"


@pytest.mark.parametrize(("day", "state"), [(9, "good"), (11, "unknown")])
def test_a_key_counts_for_what_was_signed_while_it_was_valid(tmp_path, keys, day, state):
    """The time of the entry counts, and by now the key has long run out."""
    _, made = signed_job(tmp_path, keys)
    kept = Signed(made.by, made.head, made.signature, datetime(2020, 1, day, 12, tzinfo=UTC), made.number)
    public = (keys / "shop.pub").read_text(encoding="utf-8").strip()
    line = f'hobbs-brow valid-before="20200110" {public}\n'
    (tmp_path / "signers").write_text(line, encoding="utf-8", newline="\n")
    shop = Shop(shop="x", altitude=0.0, signing=Signing(key="none", signers="signers"))
    assert check(kept, "HB-1", tmp_path, shop).state == state


@pytest.mark.parametrize("year", [1, 9999])
def test_a_signature_of_an_impossible_year_is_an_answer_too(tmp_path, keys, year):
    _, made = signed_job(tmp_path, keys)
    at = datetime(year, 12 if year > 1 else 1, 31 if year > 1 else 1, 23 if year > 1 else 0, tzinfo=UTC)
    kept = Signed(made.by, made.head, made.signature, at, made.number)
    assert check(kept, "HB-1", tmp_path, shop_with(keys)).state in ("good", "unknown", "wrong")


def test_no_signing_no_question(tmp_path, keys):
    path, kept = signed_job(tmp_path, keys)
    for shop in (None, Shop(shop="x", altitude=0.0)):
        found = check(kept, "HB-1", tmp_path, shop)
        assert (found.state, found.trouble) == ("unchecked", False)
    with Journal.open(path) as journal, pytest.raises(SigningError, match="does not sign"):
        sign(journal, tmp_path, Shop(shop="x", altitude=0.0), "x", LATER)


def test_what_is_missing_is_named_and_the_journal_stays_as_it_was(tmp_path, keys, monkeypatch):
    path, kept = signed_job(tmp_path, keys)
    before = path.read_bytes()
    with Journal.open(path) as journal:
        with pytest.raises(SigningError, match=r"key .*nowhere is not there"):
            sign(journal, tmp_path, shop_with(keys, "nowhere"), "x", LATER)
        for name in ("~nobody-of-that-name/k", "", "."):
            odd = Shop(shop="x", altitude=0.0, signing=Signing(key=name, signers=name))
            with pytest.raises(SigningError, match="is not there"):
                sign(journal, tmp_path, odd, "x", LATER)
            assert check(kept, "HB-1", tmp_path, odd).trouble
        found = check(kept, "HB-1", tmp_path, shop_with(keys, signers="nowhere"))
        assert (found.state, found.trouble) == ("unchecked", True)
        monkeypatch.setenv("PATH", str(tmp_path))
        with pytest.raises(SigningError, match=r"ssh-keygen, which signs.* not on this machine") as caught:
            sign(journal, tmp_path, shop_with(keys), "x", LATER)
        assert isinstance(caught.value.__cause__, OSError), "so that the exit code says: this machine"
        found = check(kept, "HB-1", tmp_path, shop_with(keys))
        assert (found.state, found.trouble) == ("unchecked", True)
        assert "ssh-keygen" in found.why
    assert path.read_bytes() == before


@pytest.mark.parametrize("text", [b"garbage\n", b"", b"\xff\xfe\x00" * 500])
def test_files_of_ssh_that_are_none(tmp_path, keys, text):
    path, kept = signed_job(tmp_path, keys)
    (tmp_path / "odd").write_bytes(text)
    (tmp_path / "odd").chmod(0o600)
    odd = Shop(shop="x", altitude=0.0, signing=Signing(key="odd", signers="odd"))
    assert check(kept, "HB-1", tmp_path, odd).state == "unknown"
    with Journal.open(path) as journal, pytest.raises(SigningError, match="could not use") as caught:
        sign(journal, tmp_path, odd, "x", LATER)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "armour", ["x", "-----BEGIN SSH SIGNATURE-----\nAAAA\n-----END SSH SIGNATURE-----\n"]
)
def test_a_signature_that_is_none(tmp_path, keys, armour):
    with begun(tmp_path) as journal:
        kept = journal.sign(armour, "x", LATER)
    assert check(kept, "HB-1", tmp_path, shop_with(keys)).state == "unknown"


ASKED = """
import sys
from pathlib import Path
from tests.records.test_signing import LATER, Journal, JournalError, shop_with, sign
with Journal.open(Path(sys.argv[1])) as journal:
    try:
        sign(journal, Path(), shop_with(Path(sys.argv[2]), "locked"), "x", LATER)
    except JournalError as error:
        print(error)
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such terminals")
def test_a_key_with_a_passphrase_asks_nobody_and_says_what_to_do(tmp_path, keys):
    """At a real terminal, where ssh-keygen would ask if it could reach it."""
    import pty
    import sys

    begun(tmp_path).close()
    master, terminal = pty.openpty()
    home = {"cwd": Path(__file__).parents[2], "env": {**os.environ, "SSH_AUTH_SOCK": ""}}
    child = "import os, sys, fcntl, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); os.execv(sys.argv[1], sys.argv[1:])"
    done = subprocess.run(
        [sys.executable, "-c", child, sys.executable, "-c", ASKED, tmp_path / "HB-1.jsonl", keys],
        stdin=terminal, stdout=subprocess.PIPE, stderr=terminal, start_new_session=True, timeout=25, text=True, **home,
    )  # fmt: skip
    os.close(terminal)
    os.close(master)
    assert done.stdout.count("\n") == 1
    assert f"unlocked: ssh-add {keys / 'locked'}" in done.stdout


def test_an_ssh_keygen_that_hangs_is_left_alone(tmp_path, keys, monkeypatch):
    path, kept = signed_job(tmp_path, keys)
    monkeypatch.setattr(signing, "PATIENCE", 0.2)
    if os.name == "nt":
        pytest.skip("needs a script in the place of a program")
    (tmp_path / "ssh-keygen").write_text("#!/bin/sh\nexec sleep 20\n", encoding="utf-8")
    (tmp_path / "ssh-keygen").chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    found = check(kept, "HB-1", tmp_path, shop_with(keys))
    assert (found.state, found.trouble) == ("unchecked", True)
    assert "did not answer" in found.why
    with Journal.open(path) as journal, pytest.raises(JournalError, match="did not answer"):
        sign(journal, tmp_path, shop_with(keys), "x", LATER)
