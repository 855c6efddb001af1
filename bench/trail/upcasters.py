"""Older versions of events become the present one when they are read; stored bytes never change."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Upcaster = Callable[[dict[str, Any]], dict[str, Any]]

UPCASTERS: dict[tuple[str, int], Upcaster] = {}
"""(kind, version) to what makes the next version of its payload. Every kind is at version 1 so far."""


def upcast(body: dict[str, Any], upcasters: Mapping[tuple[str, int], Upcaster] | None = None) -> dict[str, Any]:
    """Return an event's body with its payload in the present version.

    Parameters
    ----------
    body : dict[str, Any]
        As parsed from the stored bytes, with a payload object.
    upcasters : Mapping[tuple[str, int], Upcaster] | None
        One a step; None for those of this program.

    Returns
    -------
    dict[str, Any]
        A new mapping when anything changed; the given one is never altered.
    """
    steps = UPCASTERS if upcasters is None else upcasters
    payload: dict[str, Any] = body["payload"]
    while (step := steps.get((str(payload.get("kind")), _version(payload)))) is not None:
        before = _version(payload)
        payload = step(dict(payload))
        if _version(payload) <= before:
            raise AssertionError(f"an upcaster of version {before} led to {_version(payload)}")
    return body if payload is body["payload"] else {**body, "payload": payload}


def _version(payload: Mapping[str, Any]) -> int:
    version = payload.get("version")
    return version if isinstance(version, int) else 0
