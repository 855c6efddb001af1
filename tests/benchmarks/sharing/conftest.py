from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
# tests are no package: the pieces beside a test are found by their folder
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "sharing"), str(HERE.parents[1] / "trail")]
