"""The goals, and whether the figures reach them."""

from typing import Any


def goal_lines(figures: dict[str, Any]) -> list[str]:
    return []


def rule_lines(figures: dict[str, Any], a: Any, b: Any) -> list[str]:
    return []
