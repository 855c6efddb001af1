"""When the interpreter looks for garbage."""

from __future__ import annotations

import subprocess
import sys

LOOK = """
import gc
usual = gc.get_threshold()
from bench.command_line.collecting import RARELY, collect_as_usual, collect_rarely
collect_rarely()
assert gc.get_threshold() == (RARELY, *usual[1:])
loaded = [[] for _ in range(1000)]
before = gc.get_freeze_count()
collect_as_usual()
assert gc.get_threshold() == usual
assert gc.get_freeze_count() >= before + 1000
class Node: pass
import weakref
node = Node(); node.itself = node
seen = weakref.ref(node); del node
gc.collect()
assert seen() is None, "what comes later is collected as ever"
"""


def test_what_is_loaded_is_left_alone_and_what_comes_later_is_collected() -> None:
    subprocess.run([sys.executable, "-c", LOOK], check=True, timeout=60)
