"""Attached files: kept by path and hash, looked at again, whatever lies there by then."""

from __future__ import annotations

import os
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from readiness.job import Attached
from readiness.records import attachments
from readiness.records.attachments import attached_file, check, place_of
from readiness.records.chained import JournalError

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no such files")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "shop" / "photos").mkdir(parents=True)
    return tmp_path / "shop"


def put(path: Path, data: bytes = b"a picture") -> Path:
    path.write_bytes(data)
    return path


def attach(path: str | Path, shop: Path) -> Attached:
    return attached_file(path, shop, "the left radar", "Odo Brack", AT)


def test_the_hash_is_that_of_the_file(shop):
    """Against coreutils' sha256sum where there is one; the value is from NIST's example of 'abc' (FIPS 180-2, from memory)."""
    kept = attach(put(shop / "photos" / "abc.jpg", b"abc"), shop)
    assert kept.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (kept.size, kept.by, kept.at, kept.what) == (3, "Odo Brack", AT, "the left radar")
    large = put(shop / "large.jpg", os.urandom(3 * attachments.CHUNK + 17))
    try:
        said = subprocess.run(["sha256sum", large], capture_output=True, text=True, check=True).stdout
    except FileNotFoundError:
        pytest.skip("there is no sha256sum here")
    assert attach(large, shop).sha256 == said.split()[0]


def test_a_file_of_the_shop_is_kept_by_its_place_in_it_any_other_as_a_whole(shop, tmp_path, monkeypatch):
    inside, outside = put(shop / "photos" / "a b.jpg"), put(tmp_path / "b.jpg")
    assert attach(inside, shop).path == "photos/a b.jpg"
    assert attach(outside, shop).path == outside.as_posix()
    monkeypatch.chdir(shop)
    assert attach("photos/a b.jpg", shop).path == "photos/a b.jpg"
    assert attach("../b.jpg", shop).path == outside.as_posix()
    assert attach("photos/../photos/a b.jpg", Path()).path == "photos/a b.jpg"
    monkeypatch.chdir(tmp_path)
    assert attach("photos/a b.jpg", shop).path == "photos/a b.jpg", "from the shop's folder, if not from here"
    assert attach(f" '{inside}' ", shop).path == "photos/a b.jpg", (
        "as a terminal writes what is dropped on it"
    )


def test_a_home_folder_is_understood(shop, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    put(tmp_path / "c.jpg")
    assert attach("~/c.jpg", shop).path == (tmp_path / "c.jpg").as_posix()
    with pytest.raises(JournalError, match="no such file"):
        attach("~nobody-of-that-name/c.jpg", shop)


@posix
def test_links_are_followed_and_a_loop_is_told(shop, tmp_path):
    put(tmp_path / "real.jpg")
    (shop / "photos" / "link.jpg").symlink_to(tmp_path / "real.jpg")
    kept = attach(shop / "photos" / "link.jpg", shop)
    assert kept.path == "photos/link.jpg"
    assert check(kept, shop).state == "same"
    (tmp_path / "shop-by-another-name").symlink_to(shop)
    put(shop / "photos" / "in.jpg")
    assert attach(tmp_path / "shop-by-another-name" / "photos" / "in.jpg", shop).path == "photos/in.jpg"
    (shop / "loop.jpg").symlink_to(shop / "loop.jpg")
    with pytest.raises(JournalError, match=r"loop\.jpg' cannot be attached: too many levels"):
        attach(shop / "loop.jpg", shop)


def test_what_became_of_a_file(shop):
    path = put(shop / "photos" / "a.jpg")
    kept = attach(path, shop)
    assert check(kept, shop).state == "same"
    assert check(kept, shop).attached is kept
    assert place_of(kept, shop) == path
    put(path, b"A picture")
    assert check(kept, shop).state == "changed"
    put(path, b"a picture, longer")
    assert check(kept, shop).state == "changed"
    path.unlink()
    assert check(kept, shop).state == "gone"
    path.mkdir()
    assert check(kept, shop).state == "unreadable"
    path.rmdir()
    path.parent.rmdir()
    put(path.parent)
    assert check(kept, shop).state == "gone", "its folder is a file now"


@pytest.mark.parametrize(
    "name",
    ["\x00", "a\x00b", "x" * 5000, "../" * 400 + "etc", "", ".", "C:/x", "//nowhere/x", "\\x", "\ud800"],
)
def test_any_path_that_a_journal_may_hold_has_a_state(shop, name):
    kept = Attached(path=name, sha256="0" * 64, size=9, at=AT, by="x")
    assert check(kept, shop).state in ("gone", "unreadable")


@posix
@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda p: p.mkdir(), "it is a folder, not a file"),
        (lambda p: os.mkfifo(p), "it is a pipe, not a file"),
        (lambda p: p.symlink_to("/dev/zero"), "it is a device, not a file"),
        (lambda p: None, "there is no such file"),
    ],
)
def test_what_is_no_file_is_refused_in_a_sentence(shop, make, word):
    """A pipe that nobody writes to, and a device without an end, hold nobody up."""
    path = shop / "odd"
    make(path)
    with pytest.raises(JournalError, match=f"'{path}' cannot be attached: {word}\\."):
        attach(path, shop)
    kept = Attached(path="odd", sha256="0" * 64, size=9, at=AT, by="x")
    assert check(kept, shop).state == ("gone" if "no such" in word else "unreadable")


@pytest.mark.parametrize("typed", ["", "  ", "''", '""'])
def test_no_path_is_asked_for(shop, typed):
    with pytest.raises(JournalError):
        attach(typed, shop)


@posix
@pytest.mark.parametrize("name", ["a\nb.jpg", "a\x1b[2Jb.jpg", "a\u202egpj.exe", os.fsdecode(b"a\xff.jpg")])
def test_a_name_that_would_not_come_back_as_it_is_is_refused(shop, name):
    path = put(shop / name)
    with pytest.raises(JournalError, match="cannot be seen") as caught:
        attach(path, shop)
    assert not set(str(caught.value)) & {"\n", "\x1b", "\u202e"}


def test_a_file_that_is_still_written_or_vanishes_is_refused(shop, monkeypatch):
    path, real = put(shop / "a.jpg", b"1" * 100), os.fstat

    def meanwhile(change):
        """What something else does to the file after it was opened."""
        looks = []

        def looked(descriptor):
            looks.append(descriptor)
            found = real(descriptor)
            if len(looks) == 1:
                change()
            return found

        monkeypatch.setattr(os, "fstat", looked)

    meanwhile(lambda: path.write_bytes(b"1" * 200))
    with pytest.raises(JournalError, match="changed while it was read"):
        attach(path, shop)
    meanwhile(lambda: path.write_bytes(b"1" * 50))
    with pytest.raises(JournalError, match="changed while it was read"):
        attach(path, shop)
    if os.name != "nt":  # Windows keeps a file that is open
        meanwhile(path.unlink)
        with pytest.raises(JournalError, match="vanished"):
            attach(path, shop)


def test_a_file_that_grows_for_ever_is_read_no_farther_than_it_was_long(shop, monkeypatch):
    path = put(shop / "a.jpg", b"1" * 1000)
    read = []

    class Endless:
        def __enter__(self):
            return self

        def __exit__(self, *fault):
            pass

        def fileno(self):
            return os.open(path, os.O_RDONLY)

        def read(self, most):
            read.append(most)
            return b"1" * 600

    monkeypatch.setattr(attachments, "open_plain", lambda path: (Endless(), path.stat()))
    with pytest.raises(JournalError, match="changed while it was read"):
        attach(path, shop)
    assert len(read) == 2


def test_a_disk_that_fails_is_told(shop, monkeypatch):
    path = put(shop / "a.jpg")
    kept = attach(path, shop)

    def failing(_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(attachments, "open_plain", failing)
    with pytest.raises(JournalError, match="input/output error") as caught:
        attach(path, shop)
    assert isinstance(caught.value.__cause__, OSError), "so that the exit code says: this machine"
    assert check(kept, shop).state == "unreadable"
