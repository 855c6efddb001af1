"""A scale that answers only when it is asked; the question goes out through the link's port settings."""

from __future__ import annotations

from drivers.profile import ProfileError
from drivers.scales.scale_profile import ScaleProfile
from drivers.scales.streaming import StreamingScale


class AskedScale(StreamingScale):
    """Reads the answers of a scale, a line each.

    Parameters
    ----------
    profile : ScaleProfile
        What the scale sends; its port must say what to ask.

    Raises
    ------
    ProfileError
        If the profile asks nothing.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        if not profile.port.ask:
            raise ProfileError(where=profile.name, field="port.ask", found="nothing", wanted="the text to ask with")
        super().__init__(profile)
