"""Events about the record itself: what a drive lost, ends that were not clean, keys, and each signature."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.models.job import Words
from bench.trail.payload import Payload

Hex32 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class GapFound(Payload):
    """Entries are gone that the drive had reported as kept; a copy outside the record still has them.

    `first_seq` to `last_seq` are the places they had, `head` is the hash of the newest lost entry of the whole chain,
    `words` tell the last of them.
    """

    kind: Literal["gap-found"] = "gap-found"
    version: Literal[1] = 1
    entries: Annotated[int, Field(ge=1, le=1_000_000)]
    first_seq: Annotated[int, Field(ge=1)]
    last_seq: Annotated[int, Field(ge=1)]
    head: Annotated[str, Field(min_length=64, max_length=64)]
    words: Annotated[str, Field(max_length=1000)] = ""


class KeyShown(Payload):
    """The public half of the key this bench signs with; `replaces` is the one before it."""

    kind: Literal["key-shown"] = "key-shown"
    version: Literal[1] = 1
    public: Hex32
    replaces: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")] = ""
    reason: Words = ""


class RecordSigned(Payload):
    """The record up to an entry was signed with a key that was shown before."""

    kind: Literal["record-signed"] = "record-signed"
    version: Literal[1] = 1
    length: Annotated[int, Field(ge=1)]
    head: Hex32
    public: Hex32
    signature: Annotated[str, Field(pattern=r"^[0-9a-f]{128}$")]


class UncleanEndSeen(Payload):
    """The bench did not end the usual way; what it held last was shown and seen, by a key or by work that went on."""

    kind: Literal["unclean-end-seen"] = "unclean-end-seen"
    version: Literal[1] = 1
    last_seq: Annotated[int, Field(ge=1)]
    last_utc: Annotated[str, Field(max_length=40)]
    by_what: Literal["key", "work"]
