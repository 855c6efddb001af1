"""What an operating system says about a port, sorted into states with a remedy each."""

from __future__ import annotations

import errno

from drivers.contract import LinkState

_ABSENT = {errno.ENOENT, errno.ENXIO, errno.ENODEV, errno.ECONNREFUSED, errno.EHOSTUNREACH, errno.ETIMEDOUT}
_BUSY = {errno.EBUSY, errno.EAGAIN}
_FORBIDDEN = {errno.EACCES, errno.EPERM}
_WINDOWS_ACCESS_DENIED = 5

REMEDIES: dict[LinkState, str] = {
    LinkState.OPEN: "",
    LinkState.CLOSED: "",
    LinkState.ABSENT: "plug the instrument in and switch it on; the program finds it by itself",
    LinkState.BUSY: "close the other program that uses this port; the program tries again by itself",
    LinkState.FORBIDDEN: "let this user use serial ports (on Linux usually the group 'dialout'), then log in again",
    LinkState.SILENT: "check that the instrument is on and sends by itself: cable, speed and its output setting",
    LinkState.LOST: "check the plug; the program goes on by itself when the instrument is back",
    LinkState.GARBLED: "check that speed and profile are this instrument's",
}


def state_of_error(error: BaseException, *, was_open: bool) -> LinkState:
    """Return the state an error means.

    Parameters
    ----------
    error : BaseException
        What opening, reading or writing raised.
    was_open : bool
        True when the port had been open.

    Returns
    -------
    LinkState
        Lost when it had been open; otherwise absent, busy or forbidden.

    Examples
    --------
    >>> state_of_error(FileNotFoundError(2, "No such file or directory"), was_open=False).value
    'absent'
    """
    if was_open:
        return LinkState.LOST
    numbers, words = _numbers_and_words(error)
    # Windows refuses access to a port that another program holds, with the same words as a missing right.
    if _WINDOWS_ACCESS_DENIED in numbers and "access is denied" in words:
        return LinkState.BUSY
    if numbers & _BUSY or "could not exclusively lock" in words or "resource busy" in words:
        return LinkState.BUSY
    if numbers & _FORBIDDEN or "permission denied" in words:
        return LinkState.FORBIDDEN
    return LinkState.ABSENT


def _numbers_and_words(error: BaseException) -> tuple[set[int], str]:
    """Collect error numbers and words along the chain of causes."""
    numbers: set[int] = set()
    words: list[str] = []
    seen: BaseException | None = error
    for _ in range(5):
        if seen is None:
            break
        if isinstance(seen, OSError):
            numbers.update(number for number in (seen.errno, getattr(seen, "winerror", None)) if number)
        words.append(str(seen).lower())
        seen = seen.__cause__ or seen.__context__
    text = " ".join(words)
    if ", none, 5)" in text:
        numbers.add(_WINDOWS_ACCESS_DENIED)
    return numbers, text
