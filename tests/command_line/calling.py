"""Commands called in this process, as main does it."""

from __future__ import annotations

from bench.command_line import main as command_line
from bench.command_line.say import explain


def call(*words: str) -> int:
    try:
        return int(command_line.run(list(words)))
    except SystemExit as fault:
        return int(fault.code or 0)
    except Exception as fault:  # noqa: BLE001 as main does
        return explain(fault)
