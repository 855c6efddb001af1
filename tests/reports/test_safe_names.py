"""Ten thousand names: every file inside its folder, no two the same, none that a system refuses."""

from __future__ import annotations

import errno
import os
import random
import unicodedata
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.reports.safe_names import ExportError, export_name, slug, write_new

ODD = (
    *("../x", "..", ".", "/etc/passwd", "C:\\x", "C:x", "\\\\host\\share\\x", "//host/share", "a/../../b", "x\0y", ""),
    *("CON", "con", "PRN.txt", "AUX", "NUL", "COM1", "LPT1", "COM¹", "con ", "nul.", "x.", "x ", " x", "~", "~root"),
    *("x" * 300, "é", "e\u0301", "Å", "A\u030a", "straße", "STRASSE", "ﬁle", "file", "FILE", "ı", "I", "i̇", "K", "K"),
    *(
        "🙂",
        "🙂🙂",
        "\u202egpj.exe",
        "a:b",
        "a*b",
        "a?b",
        'a"b',
        "a<b",
        "a|b",
        "\ud800",
        "%2e%2e%2f",
        "-rf",
        "--",
        "$HOME",
    ),
)


def names(count: int) -> set[str]:
    """Distinct names, seeded: odd ones, their twins in case and composition, and random mixtures of their parts."""
    found = set(ODD)
    chance = random.Random(20260320)
    letters = "aAbBzZ019 -_./\\:éÉe\u0301ßıİ🙂\u202e\0\t\n."
    while len(found) < count:
        text = "".join(chance.choice((*letters, *ODD)) for _ in range(chance.randint(1, 12)))
        found |= {
            text,
            text.upper(),
            text.lower(),
            unicodedata.normalize("NFC", text),
            unicodedata.normalize("NFD", text),
        }
    return found


def test_ten_thousand_names_escape_nowhere_and_never_meet(tmp_path: Path) -> None:
    given_names = names(10_000)
    home = tmp_path.resolve()
    made: set[str] = set()
    for title in given_names:
        name = export_name(job="2026-0001", title=title, suffix=".html")
        assert name.startswith("2026-0001_")
        assert len(name) <= 80
        assert name.isascii()
        assert name == name.lower()
        assert not set(name) & set('/\\:*?"<>|\0 ~$%')
        assert (home / name).resolve().is_relative_to(home)
        assert PureWindowsPath(name).name == name == PurePosixPath(name).name
        made.add(name)
    assert len(made) == len(given_names) >= 10_000


def test_ten_thousand_job_numbers_do_not_meet_either() -> None:
    given_names = names(10_000)
    made = {export_name(job=job, title="t", suffix=".weights.csv") for job in given_names}
    assert len(made) == len(given_names)
    assert not {name.partition(".")[0].partition("_")[0] for name in made} & {
        "con",
        "prn",
        "aux",
        "nul",
        "com1",
        "lpt1",
    }


def test_a_name_that_looks_like_another_ones_digest_is_another_file() -> None:
    lossy = slug("Abc", most=40)
    assert slug(lossy, most=40) != lossy


@given(st.text(st.characters(codec=None)), st.integers(12, 70))
def test_a_slug_is_never_empty_nor_too_long(text: str, most: int) -> None:
    made = slug(text, most=most)
    assert 0 < len(made) <= most
    assert made.strip("-") == made


@pytest.mark.parametrize("suffix", ["html", ".HTML", "../x", ".a.b.c", ".", ".\u0661"])
def test_an_ending_is_the_programs_own(suffix: str) -> None:
    with pytest.raises(ValueError, match="wanted one or two dotted words"):
        export_name(job="1", title="t", suffix=suffix)


def test_a_second_file_of_a_name_does_not_replace_the_first(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "exports"
    paths = [write_new(folder, "a.weights.csv", bytes([n])) for n in range(3)]
    assert [p.name for p in paths] == ["a.weights.csv", "a-2.weights.csv", "a-3.weights.csv"]
    assert [p.read_bytes() for p in paths] == [b"\0", b"\1", b"\2"]


@pytest.mark.parametrize("name", ["../x.html", "/etc/x.html", "a/b.html", "x\0.html", "..", "."])
def test_a_name_that_leads_out_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(ExportError, match="leads out of the export folder"):
        write_new(tmp_path / "in", name, b"x")
    assert list(tmp_path.rglob("*")) == [tmp_path / "in"]


def test_a_link_of_that_name_is_not_followed(tmp_path: Path) -> None:
    folder, outside = tmp_path / "in", tmp_path / "outside.html"
    folder.mkdir()
    (folder / "x.html").symlink_to(outside)
    with pytest.raises(ExportError, match="leads out"):
        write_new(folder, "x.html", b"x")
    assert not outside.exists()


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "f").write_bytes(b"")
    with pytest.raises(ExportError, match="choose another export folder"):
        write_new(tmp_path / "f", "x.html", b"x")


def test_a_full_disk_leaves_no_half_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ExportError, match="No space left on device; make room") as caught:
        write_new(tmp_path, "x.html", b"x")
    assert caught.value.path.endswith("x.html")
    assert list(tmp_path.iterdir()) == []
