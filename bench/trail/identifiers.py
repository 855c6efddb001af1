"""Event ids."""

from __future__ import annotations

import uuid6


def new_id() -> str:
    """Return a new UUIDv7: unique, and in the order it was made.

    Returns
    -------
    str
        36 characters.

    Notes
    -----
    Source: RFC 9562.
    """
    return str(uuid6.uuid7())
