"""What is installed by hash is installed tomorrow too, when newer releases have come out."""

from __future__ import annotations

import re
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement

HERE = Path(__file__).resolve().parents[2]
LOCKED = re.compile(r"^([a-z0-9][a-z0-9._-]*)(?:\[([a-z0-9,._-]+)\])?==", re.MULTILINE)


def asked_with_extras() -> set[tuple[str, str]]:
    """Return what the packages that are here ask of each other with extras."""
    found = set()
    for package in metadata.distributions():
        for line in package.requires or []:
            asked = Requirement(line)
            if asked.extras and (asked.marker is None or asked.marker.evaluate({"extra": ""})):
                found |= {(asked.name.lower().replace("_", "-"), extra) for extra in asked.extras}
    return found


@pytest.mark.parametrize("lock", ["constraints.txt", ".ci/constraints-test.txt"])
def test_what_is_asked_for_with_extras_is_locked_with_them(lock: str) -> None:
    # without them pip looks for the extras at the newest release, which no hash allows, and installs nothing
    locked = {name: set((extras or "").split(",")) for name, extras in LOCKED.findall((HERE / lock).read_text())}
    assert locked
    missing = [f"{name}[{extra}]" for name, extra in asked_with_extras() if extra not in locked.get(name, {extra})]
    assert missing == []
