from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

# tests are no package: the pieces beside a test are found by their folder
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def tmp_path(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where there is one: syncs would only wait."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="spinledger-test-", dir=memory) as folder:
        yield Path(folder)
