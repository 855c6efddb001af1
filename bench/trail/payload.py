"""What every event's payload is."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Payload(BaseModel):
    """What an event says beyond who, when and where."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
