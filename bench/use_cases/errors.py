"""A wish that cannot be granted, said so that the person knows the next step."""

from __future__ import annotations


class RefusedError(Exception):
    """Something asked for was refused; nothing was recorded.

    Parameters
    ----------
    what : str
        The thing it is about: "job 2026-0007", "piston 3", "run from run-002.txt".
    found : str
        What is there.
    wanted : str
        What would have been fine; may be empty.
    do : str
        The next step; may be empty.
    """

    of_settings = False
    """The settings are at fault, not what was asked for."""

    def __init__(self, what: str, *, found: str, wanted: str = "", do: str = "") -> None:
        self.what, self.found, self.wanted, self.do = what, found, wanted, do
        sentence = f"{what}: {found}"
        if wanted:
            sentence += f"; wanted {wanted}"
        if do:
            sentence += f". {do[0].upper()}{do[1:]}"
        super().__init__(sentence)
