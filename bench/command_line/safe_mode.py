"""`--safe-mode`, which may stand anywhere: the program runs, and no foreign driver does."""

from __future__ import annotations

OPTION = "--safe-mode"
_chosen = [False]


def take(arguments: list[str]) -> list[str]:
    """Take the option out of the arguments, and remember whether it was there.

    Parameters
    ----------
    arguments : list[str]
        Of the command line; what follows "--" is no option.

    Returns
    -------
    list[str]
        The others.
    """
    end = arguments.index("--") if "--" in arguments else len(arguments)
    _chosen[0] = OPTION in arguments[:end]
    return [word for word in arguments[:end] if word != OPTION] + arguments[end:]


def chosen() -> bool:
    """Tell whether the program was started in safe mode.

    Returns
    -------
    bool
        True when no foreign driver may run.
    """
    return _chosen[0]
