from __future__ import annotations

import sys
from pathlib import Path

# tests are no package: the pieces beside a test are found by their folder
sys.path.insert(0, str(Path(__file__).parent))
