"""A chain that does not go on from what was shipped: found, refused and explained."""

from __future__ import annotations

from collections.abc import Callable

from bench.trail.contract import Checkpoint
from bench.trail.errors import RecordDamagedError
from bench.trail.postgres_reading import SharedReader
from bench.trail.sqlite_reading import RecordReader


class ForkedChainError(RecordDamagedError):
    """Two records of one name went different ways, or this one is older than what was shipped.

    Parameters
    ----------
    where : str
        The shared record.
    found : str
        Where they part, in words.
    do : str
        The next step.
    alike : int
        Up to this event both are the same.
    """

    what = "shared record"

    def __init__(self, where: str, *, found: str, do: str, alike: int) -> None:
        self.alike = alike
        super().__init__(where, found=found, do=do)


def hash_at(trail: RecordReader | SharedReader, seq: int) -> str:
    """Return the hash of one event.

    Parameters
    ----------
    trail : RecordReader | SharedReader
        Where.
    seq : int
        Its place.

    Returns
    -------
    str
        "" when there is none.
    """
    row = next(trail.rows(after=seq - 1), None)
    return row.hash if row is not None and row.seq == seq else ""


def alike_up_to(same: Callable[[int], bool], shorter: int) -> int:
    """Return the last place up to which two chains are the same.

    Parameters
    ----------
    same : Callable[[int], bool]
        Whether both have the same event at a place; once false, false for all later ones, as each hash holds the one
        before.
    shorter : int
        Length of the shorter chain.

    Returns
    -------
    int
        0 when already the first differs.

    Examples
    --------
    >>> alike_up_to(lambda seq: seq <= 37, 1000)
    37
    """
    low, high = 0, shorter
    while low < high:
        middle = (low + high + 1) // 2
        if same(middle):
            low = middle
        else:
            high = middle - 1
    return low


def refuse_fork(local: RecordReader, shared: SharedReader, end: Checkpoint) -> None:
    """Refuse to ship when the local chain does not go on from what was shipped.

    Parameters
    ----------
    local : RecordReader
        This bench's record.
    shared : SharedReader
        Its chain in the shared record.
    end : Checkpoint
        How far that has come.

    Raises
    ------
    ForkedChainError
        With the place where they part, and what to do.
    """
    here = local.checkpoint()
    if here.length >= end.length and (end.length == 0 or hash_at(local, end.length) == end.head):
        return
    shorter = min(here.length, end.length)
    alike = alike_up_to(lambda seq: hash_at(local, seq) == hash_at(shared, seq), shorter)
    if alike == here.length:
        raise ForkedChainError(
            shared.where,
            found=f"it holds {end.length} events of bench '{end.bench}', this record only the first {here.length}: "
            "this is an older copy, and writing on it would make two records of one name",
            do="work on with the newer record; or, if it is lost, give this bench another name in the settings and a "
            "new record, and look at the old jobs in the shared one",
            alike=alike,
        )
    raise ForkedChainError(
        shared.where,
        found=f"bench '{end.bench}' went two ways after event {alike}: event {alike + 1} here "
        f"({_moment(local, alike + 1)}) is not the one that was shipped ({_moment(shared, alike + 1)}). "
        "The record was copied to another computer, or a backup was restored while the other went on",
        do="nothing of it was shipped and nothing is lost. Find the other copy, go on with one of them only, and take "
        "the other's jobs along with `spinledger export` and `job import`",
        alike=alike,
    )


def _moment(trail: RecordReader | SharedReader, seq: int) -> str:
    event = trail.event_at(seq)
    return f"{event.payload.kind} of {event.utc[:16]}Z"
