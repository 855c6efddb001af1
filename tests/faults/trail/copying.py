"""What tests of backups and of text copies share."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

NOW = datetime(2031, 5, 7, 18, 0, tzinfo=UTC)


def folder_in(tmp_path: Path, name: str) -> Path:
    (tmp_path / name).mkdir()
    return tmp_path / name


def failing_at(monkeypatch: pytest.MonkeyPatch, k: int, *, for_ever: bool) -> list[str]:
    """Let the k-th call of the system that changes names or waits for the drive fail; returns the calls made."""
    calls: list[str] = []

    def watched(name: str, real: Callable[..., object]) -> Callable[..., object]:
        def call(*given: object, **more: object) -> object:
            calls.append(name)
            if len(calls) == k or (for_ever and len(calls) > k):
                raise OSError(5, "input/output error")
            return real(*given, **more)

        return call

    monkeypatch.setattr(os, "fsync", watched("fsync", os.fsync))
    monkeypatch.setattr(Path, "replace", watched("replace", Path.replace))
    monkeypatch.setattr(shutil, "copyfile", watched("copyfile", shutil.copyfile))
    return calls
