"""Writing a report: whole or not at all, never over something else."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from readiness.report.files import Refused, file_name, write_report
from readiness.report.markup import el, page

OLD = page("HB-0417", [el("p", "old")], css="").encode()
NEW = page("HB-0417", [el("p", "new")], css="").encode()


def there(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_it_is_written_and_an_older_report_is_replaced(tmp_path):
    path = tmp_path / "HB-0417.html"
    assert write_report(path, OLD) == path.resolve()
    write_report(path, NEW)
    assert path.read_bytes() == NEW
    assert there(tmp_path) == ["HB-0417.html"]


@pytest.mark.parametrize(
    "begin",
    [b'{\n  "report": {\n    "program": "readiness 0.1.0"', b"\xef\xbb\xbfjob,plate,sheet,bay,side,judged_at",
     b"Report of job HB-0417, made by readiness 0.1.0 on 2026-11-25", b""],
    ids=["json", "csv", "text", "empty"],
)  # fmt: skip
def test_reports_of_every_format_are_known(tmp_path, begin):
    path = tmp_path / "report"
    path.write_bytes(begin)
    write_report(path, NEW)
    assert path.read_bytes() == NEW


@pytest.mark.parametrize("held", [b"<html>somebody's page</html>", b"notes", b"{}", b"\x89PNG\r\n"])
def test_what_is_no_report_is_left_alone(tmp_path, held):
    path = tmp_path / "mine.html"
    path.write_bytes(held)
    with pytest.raises(Refused, match="no report of this program"):
        write_report(path, NEW)
    assert path.read_bytes() == held
    assert there(tmp_path) == ["mine.html"]


@pytest.mark.parametrize("name", ["HB-0417.jsonl", "shop.yaml", "X.YML"])
def test_a_file_of_the_shop_is_never_written_not_even_a_new_one(tmp_path, name):
    with pytest.raises(Refused, match="name of a file of the shop"):
        write_report(tmp_path / name, NEW)
    assert there(tmp_path) == []


def test_a_folder_and_a_missing_folder_are_told(tmp_path):
    with pytest.raises(Refused, match="is a folder"):
        write_report(tmp_path, NEW)
    with pytest.raises(Refused, match="There is no folder"):
        write_report(tmp_path / "none" / "x.html", NEW)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such files")
def test_a_link_stays_a_link_and_a_pipe_is_no_report(tmp_path):
    real, link, pipe = tmp_path / "real.html", tmp_path / "link.html", tmp_path / "pipe.html"
    real.write_bytes(OLD)
    link.symlink_to(real)
    write_report(link, NEW)
    assert link.is_symlink()
    assert real.read_bytes() == NEW
    os.mkfifo(pipe)
    with pytest.raises(Refused, match="no report"):
        write_report(pipe, NEW)


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_report_and_nothing_half_written(tmp_path, monkeypatch, call):
    path = tmp_path / "HB-0417.html"
    path.write_bytes(OLD)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, call, full)
    with pytest.raises(OSError, match="No space left"):
        write_report(path, NEW)
    assert path.read_bytes() == OLD
    assert there(tmp_path) == ["HB-0417.html"]


@pytest.mark.parametrize(
    ("job", "name"),
    [("HB-0417", "HB-0417.html"), ("../../etc/passwd", "etc-passwd.html"), ("", "job.html"), ("...", "job.html"),
     ("a b/c\\d:e", "a-b-c-d-e.html"), ("\u202e<b>", "b.html"), ("x" * 200, "x" * 60 + ".html")],
)  # fmt: skip
def test_a_job_of_any_name_has_a_file_name(job, name):
    assert file_name(job) == name
