"""`spinledger calc SUBJECT`: the computations, JSON in and out."""

from __future__ import annotations

from bench.command_line.calc.runner import add_arguments
from bench.command_line.calc.runner import main as run

__all__ = ["add_arguments", "run"]
