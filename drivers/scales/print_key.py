"""A scale that sends one line when its print key is pressed and is quiet otherwise."""

from __future__ import annotations

from drivers.profile import ProfileError
from drivers.scales.scale_profile import ScaleProfile
from drivers.scales.streaming import StreamingScale


class PrintKeyScale(StreamingScale):
    """Reads single lines, each sent by a press.

    Parameters
    ----------
    profile : ScaleProfile
        What the scale sends.

    Raises
    ------
    ProfileError
        If the profile would call its silence a fault, or drop the first press.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        if not profile.port.quiet_is_normal:
            field, found = "port.quiet_is_normal", "false"
            raise ProfileError(where=profile.name, field=field, found=found, wanted="true: no press, no line")
        if profile.frame.drop_first:
            field, found = "frame.drop_first", "true"
            raise ProfileError(where=profile.name, field=field, found=found, wanted="false: the first press counts")
        super().__init__(profile)
