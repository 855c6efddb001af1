"""Files and watched folders: a text is taken whole or not at all."""

from __future__ import annotations

import os
import random
import sys
import threading
import time
from pathlib import Path

import pytest

from drivers.contract import ExportText, LinkChange, LinkState, SpinReading
from drivers.links.export_files import ExportFileError, read_export_file
from drivers.links.watched_folder import WatchedFolder
from drivers.registry import make_export_reader
from tests.drivers.links.ears import until
from tests.drivers.samples import KEYED


def test_a_file_is_read_with_its_digest(tmp_path: Path) -> None:
    path = tmp_path / "run.txt"
    path.write_bytes(b"abc")
    text = read_export_file(path)
    # SHA-256 of "abc": FIPS 180-2, appendix B.1
    assert text.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert (text.name, text.data) == ("run.txt", b"abc")


def test_what_is_no_file_is_refused_at_once(tmp_path: Path) -> None:
    begun = time.monotonic()
    with pytest.raises(ExportFileError, match="No such file"):
        read_export_file(tmp_path / "none")
    big = tmp_path / "big"
    with big.open("wb") as file:
        file.truncate(2**30)
    with pytest.raises(ExportFileError, match="found 1024 MB"):
        read_export_file(big)
    if sys.platform != "win32":
        with pytest.raises(ExportFileError, match="a folder"):
            read_export_file(tmp_path)
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(ExportFileError, match="a pipe"):
            read_export_file(tmp_path / "pipe")
        with pytest.raises(ExportFileError, match="a device"):
            read_export_file(Path("/dev/zero"))
    assert time.monotonic() - begun < 1.0


class Clock:
    def __init__(self) -> None:
        self.ns = 0

    def __call__(self) -> int:
        return self.ns


def watched(
    path: Path, clock: Clock
) -> tuple[WatchedFolder, list[ExportText], list[ExportFileError], list[LinkChange]]:
    texts: list[ExportText] = []
    troubles: list[ExportFileError] = []
    changes: list[LinkChange] = []
    folder = WatchedFolder(
        path, texts.append, on_trouble=troubles.append, on_change=changes.append, stable_for_s=2.0, clock_ns=clock
    )
    return folder, texts, troubles, changes


def test_a_file_is_taken_once_after_it_has_rested(tmp_path: Path) -> None:
    clock = Clock()
    folder, texts, _, changes = watched(tmp_path, clock)
    path = tmp_path / "run.txt"
    path.write_bytes(KEYED[:20])
    folder.look()
    clock.ns += 1_900_000_000
    folder.look()
    assert texts == []
    path.write_bytes(KEYED)
    folder.look()
    clock.ns += 1_900_000_000
    folder.look()
    assert texts == []
    clock.ns += 200_000_000
    folder.look()
    folder.look()
    assert [text.data for text in texts] == [KEYED]
    (tmp_path / "copy.txt").write_bytes(KEYED)
    folder.look()
    clock.ns += 3_000_000_000
    folder.look()
    assert len(texts) == 1
    assert [change.state for change in changes] == [LinkState.OPEN]


def test_a_known_digest_is_passed_over_and_a_rewritten_file_is_new(tmp_path: Path) -> None:
    clock = Clock()
    (tmp_path / "run.txt").write_bytes(b"old")
    known = read_export_file(tmp_path / "run.txt").sha256
    texts: list[ExportText] = []
    folder = WatchedFolder(tmp_path, texts.append, seen=[known], clock_ns=clock, pattern="*.txt")
    (tmp_path / "other.log").write_bytes(b"x")
    (tmp_path / ".hidden.txt").write_bytes(b"x")
    for _ in range(3):
        folder.look()
        clock.ns += 3_000_000_000
    assert texts == []
    (tmp_path / "run.txt").write_bytes(b"new text")
    for _ in range(3):
        folder.look()
        clock.ns += 3_000_000_000
    assert [text.data for text in texts] == [b"new text"]


def test_a_folder_may_come_and_go_and_odd_files_are_told_once(tmp_path: Path) -> None:
    clock = Clock()
    folder, texts, troubles, changes = watched(tmp_path / "share", clock)
    folder.look()
    assert changes[-1].state is LinkState.ABSENT
    assert "folder" in changes[-1].remedy
    (tmp_path / "share").mkdir()
    (tmp_path / "share" / "sub").mkdir()
    (tmp_path / "share" / "empty").touch()
    if sys.platform != "win32":
        os.mkfifo(tmp_path / "share" / "pipe")
    for _ in range(4):
        folder.look()
        clock.ns += 3_000_000_000
    assert changes[-1].state is LinkState.OPEN
    assert texts == []
    assert [error.found for error in troubles] == (["a pipe"] if sys.platform != "win32" else [])


def slow_writers(path: Path, rounds: int, *, seed: int) -> tuple[int, int]:
    """Write texts in pieces at random times and watch for a part of one."""
    rng = random.Random(seed)
    reader = make_export_reader("keyed-block")
    whole = partial = 0

    def took(text: ExportText) -> None:
        nonlocal whole, partial
        items = reader.read(text.data)
        # A piece without its end is delivered when a writer rests long, and the reader refuses it; only the line end
        # behind the last mark may be missing from a text that is taken.
        taken = [item for item in items if isinstance(item, SpinReading)]
        good = bool(taken) and text.data.rstrip() == wanted.rstrip()
        whole += good
        partial += bool(taken) and not good

    folder = WatchedFolder(path, took, stable_for_s=0.012)
    folder.start()
    for at in range(rounds):
        wanted = KEYED.replace(b"RUN 3", b"RUN %d" % at, 1)
        before = whole
        cuts = sorted(rng.sample(range(1, len(wanted)), rng.randrange(0, 4)))
        with (path / f"run{at % 3}.txt").open("wb", buffering=0) as file:
            for a, b in zip([0, *cuts], [*cuts, len(wanted)], strict=True):
                file.write(wanted[a:b])
                time.sleep(rng.choice([0.0, 0.001, 0.004, 0.015]))
        assert until(lambda old=before: whole > old, 3.0)
    folder.stop()
    folder.stop()
    return whole, partial


def test_texts_written_slowly_are_never_taken_in_part(tmp_path: Path) -> None:
    assert slow_writers(tmp_path, 60, seed=31) == (60, 0)


@pytest.mark.long
@pytest.mark.timeout(300)
def test_a_thousand_random_timings(tmp_path: Path) -> None:
    assert slow_writers(tmp_path, 1000, seed=32) == (1000, 0)


def test_no_thread_is_left_behind(tmp_path: Path) -> None:
    before = threading.active_count()
    folder = WatchedFolder(tmp_path, lambda _: None, stable_for_s=0.1)
    folder.start()
    folder.start()
    folder.stop()
    assert until(lambda: threading.active_count() <= before)
