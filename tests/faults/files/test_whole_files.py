"""Certificates, exports and settings: the power goes or a call fails at every step, and no file is ever half there."""

from __future__ import annotations

import builtins
import io
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from bench.command_line.settings_writing import keep
from bench.reports.safe_names import ExportError, write_new
from bench.trail.disk import write_whole
from bench.use_cases.errors import RefusedError

OLD, NEW = b"old " * 3000, b"new " * 5000
Writer = Callable[[Path], object]

WRITERS: dict[str, tuple[str, Writer]] = {
    "certificate": ("page.html", lambda folder: write_whole(folder / "page.html", NEW)),
    "settings": ("settings.toml", lambda folder: keep(folder / "settings.toml", {("by",): "nn"})),
    "export": ("job-2.csv", lambda folder: write_new(folder, "job.csv", NEW)),
}
WATCHED = ("fsync", "replace", "rename", "link", "unlink")


class PowerCutError(BaseException):
    """The power is gone: nothing of the program runs on."""


@contextmanager
def at_call(number: int, do: Callable[[], None]) -> Iterator[list[str]]:
    """Do something at the number-th call that changes names or waits for the drive, and at each piece written."""
    calls: list[str] = []

    def watched(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **more: Any) -> Any:
            calls.append(name)
            if len(calls) == number:
                do()
            return real(*given, **more)

        return call

    with pytest.MonkeyPatch.context() as patch:
        for name in WATCHED:
            patch.setattr(os, name, watched(name, getattr(os, name)))
        real_open = io.open

        def opened(file: Any, mode: str = "r", *given: Any, **more: Any) -> Any:
            stream = real_open(file, mode, *given, **more)
            if "w" in mode or "x" in mode:
                stream.write = watched("write", _in_pieces(stream))  # type: ignore[method-assign]
            return stream

        patch.setattr(io, "open", opened)
        patch.setattr(builtins, "open", opened)
        yield calls


def _in_pieces(stream: Any) -> Callable[[Any], int]:
    real = stream.write

    def write(data: Any) -> int:
        half = len(data) // 2
        real(data[:half])
        stream.flush()
        real(data[half:])
        return len(data)

    return write


def prepared(folder: Path, kind: str) -> dict[str, bytes]:
    folder.mkdir()
    start = {"page.html": OLD, "job.csv": OLD, "settings.toml": b'# kept\nby = "mk"\n'}
    for name, data in start.items():
        (folder / name).write_bytes(data)
    return start


def shown(folder: Path) -> dict[str, bytes]:
    """What a person sees: hidden and passing files do not count."""
    passing = (".half", ".new", ".part")
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.endswith(passing)}


def steps(tmp_path: Path, kind: str) -> tuple[int, dict[str, bytes]]:
    folder = tmp_path / "counted"
    prepared(folder, kind)
    with at_call(0, lambda: None) as calls:
        WRITERS[kind][1](folder)
    assert len(calls) >= 3
    return len(calls), shown(folder)


@pytest.mark.parametrize("kind", WRITERS)
def test_the_power_goes_at_every_step(tmp_path: Path, kind: str) -> None:
    count, after = steps(tmp_path, kind)
    for number in range(1, count + 1):
        folder, copy = tmp_path / f"{number}", tmp_path / f"{number}-after"
        before = prepared(folder, kind)

        def cut(folder: Path = folder, copy: Path = copy) -> None:
            shutil.copytree(folder, copy)
            raise PowerCutError

        with at_call(number, cut), pytest.raises(PowerCutError):
            WRITERS[kind][1](folder)
        assert shown(copy) in (before, after), number
        # and the next start goes on from there
        WRITERS[kind][1](copy)
        again = shown(copy)
        assert again[WRITERS[kind][0]] == after[WRITERS[kind][0]]


@pytest.mark.parametrize("kind", WRITERS)
@pytest.mark.parametrize("number", [5, 28])
def test_every_call_fails(tmp_path: Path, kind: str, number: int) -> None:
    count, after = steps(tmp_path, kind)
    for step in range(1, count + 1):
        folder = tmp_path / f"{step}"
        before = prepared(folder, kind)

        def fail() -> None:
            raise OSError(number, os.strerror(number))

        with at_call(step, fail) as calls:
            try:
                WRITERS[kind][1](folder)
            except (ExportError, RefusedError, OSError) as fault:
                assert os.strerror(number) in str(fault) or "cannot be written" in str(fault)  # noqa: PT017 each step
            told = calls[step - 1]
        assert shown(folder) in (before, after), (step, told)
