"""Older versions of events become the present one when they are read; stored bytes never change."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, cast

Upcaster = Callable[[dict[str, Any]], dict[str, Any]]

UPCASTERS: dict[tuple[str, int], Upcaster] = {}
"""(kind, version) to what makes the next version of its payload. Every kind is at version 1 so far."""


def upcast(body: object, upcasters: Mapping[tuple[str, int], Upcaster] = UPCASTERS) -> dict[str, Any]:
    """Return an event's body with its payload in the present version.

    Parameters
    ----------
    body : object
        As parsed from the stored bytes.
    upcasters : Mapping[tuple[str, int], Upcaster]
        One a step.

    Returns
    -------
    dict[str, Any]
        A new mapping when anything changed.

    Raises
    ------
    TypeError
        When the body is no object with a payload object.
    """
    if not isinstance(body, dict) or not isinstance(cast("dict[str, Any]", body).get("payload"), dict):
        raise TypeError("no event")
    whole = cast("dict[str, Any]", body)
    payload: dict[str, Any] = whole["payload"]
    while (step := upcasters.get((str(payload.get("kind")), int(payload.get("version", 0))))) is not None:
        payload = step(dict(payload))
    return {**whole, "payload": payload}
