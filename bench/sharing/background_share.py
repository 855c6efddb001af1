"""The loop behind `spinledger share`: ship, fetch, wait; when the shared record is out of reach, wait longer."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from bench.sharing.fetching import Fetcher
from bench.sharing.others import OthersCopy
from bench.sharing.shipping import Shipper
from bench.sharing.writer_token import token_of
from bench.trail.errors import RecordBusyError, RecordFullError, RecordMovedError
from bench.trail.postgres_opening import connect_shared, shown, told
from bench.trail.postgres_schema import CHANNEL
from bench.trail.sqlite_store import SqliteTrail

if TYPE_CHECKING:
    from psycopg import Connection

POLL_S = 0.03
"""How often the local record is asked whether something was committed; asking costs microseconds. [s]"""
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.5, 60.0
LINES_EVERY_S = 2.0
"""How often rows of the list of jobs are looked at again although no event came. [s]"""


def next_pause(before_s: float, *, chance: float) -> float:
    """Return how long to wait before the next try.

    Parameters
    ----------
    before_s : float
        The wait before; 0 for the first. [s]
    chance : float
        From 0 to 1: benches that lost the same network do not all come back in the same moment.

    Returns
    -------
    float
        Doubled, up to a minute, and shifted by up to a quarter. [s]

    Examples
    --------
    >>> [next_pause(before, chance=0.5) for before in (0.0, 0.5, 16.0, 60.0)]
    [0.5, 1.0, 32.0, 60.0]
    """
    doubled = min(max(before_s * 2.0, FIRST_PAUSE_S), LONGEST_PAUSE_S)
    return doubled * (0.75 + 0.5 * chance)


@dataclass
class ShareTold:
    """What the loop tells of; each does nothing until it is set.

    Attributes
    ----------
    said : Callable[[str], None]
        A sentence for the person.
    shipping, fetching : Callable[[int, int], None]
        Done so far, and how many there are in all.
    """

    said: Callable[[str], None] = field(default=lambda _: None)
    shipping: Callable[[int, int], None] = field(default=lambda _done, _all: None)
    fetching: Callable[[int, int], None] = field(default=lambda _done, _all: None)


class BackgroundShare:
    """Keeps a record and the shared one alike.

    Parameters
    ----------
    open_local : Callable[[], SqliteTrail]
        Opens this bench's record to look only.
    others : Path
        The copy of what other benches shipped.
    address : str
        postgresql://…
    tell : ShareTold | None
        What it tells of.
    moved : str
        Why another copy of the record shipped before; "" when none did.
    """

    def __init__(
        self,
        open_local: Callable[[], SqliteTrail],
        others: Path,
        address: str,
        *,
        tell: ShareTold | None = None,
        moved: str = "",
    ) -> None:
        self._open_local, self._others, self._address = open_local, others, address
        self._tell = tell or ShareTold()
        self._moved = moved
        self._ending = threading.Event()
        self.shipped = 0

    def end(self) -> None:
        """Ask the loop to end soon."""
        self._ending.set()

    def run(self, *, once: bool = False) -> None:
        """Ship and fetch until asked to end.

        Parameters
        ----------
        once : bool
            End when all is shipped and fetched; being out of reach is an error then.

        Raises
        ------
        RecordError
            What waiting does not mend: a forked chain, missing rights, a damaged record.
        """
        pause_s = 0.0
        while not self._ending.is_set():
            try:
                with closing(connect_shared(self._address)) as connection:
                    if pause_s:
                        self._tell.said("the shared record is back")
                    pause_s = 0.0
                    self._with(connection, once=once)
                    if once:
                        return
            except RecordMovedError:
                continue  # the record's file was replaced, by a restore for example: look at it anew
            except (RecordBusyError, RecordFullError) as fault:
                if once:
                    raise
                if not pause_s:
                    self._tell.said(f"{fault}. The bench goes on alone; what it records is shipped later")
                pause_s = next_pause(pause_s, chance=random.random())  # noqa: S311 no secret
                self._ending.wait(pause_s)

    def _with(self, connection: Connection, *, once: bool) -> None:
        import psycopg

        where = shown(self._address)
        local = self._open_local()
        copy = OthersCopy(self._others)
        try:
            token = token_of(local.path)
            shipper = Shipper(local, connection, where, token, moved=self._moved)
            fetcher = Fetcher(connection, where, own=local.bench, copy=copy)
            connection.execute(f"LISTEN {CHANNEL}".encode())
            # looked at before shipping: what is committed meanwhile is seen as new afterwards
            seen = _state_of(local)
            self._catch_up(shipper, fetcher)
            if not once:
                self._follow(connection, local, shipper, fetcher, seen)
        except psycopg.Error as fault:
            raise told(fault, where) from fault
        finally:
            copy.close()
            local.close()

    def _catch_up(self, shipper: Shipper, fetcher: Fetcher) -> None:
        behind = shipper.behind()
        done = shipper.ship_all(progress=lambda done: self._tell.shipping(done, max(behind, done)))
        self.shipped += done
        if done:
            self._tell.said(f"{done} events shipped")
        fetched = fetcher.fetch(progress=lambda done: self._tell.fetching(done, done))
        if fetched:
            self._tell.said(f"{fetched} events of other benches fetched")

    def _follow(
        self, connection: Connection, local: SqliteTrail, shipper: Shipper, fetcher: Fetcher, seen: _State
    ) -> None:
        looked = time.monotonic()
        while not self._ending.is_set():
            # each is told as "length bench"
            heard = frozenset(
                notice.payload.partition(" ")[2] for notice in connection.notifies(timeout=POLL_S, stop_after=1)
            )
            now = _state_of(local)
            if now[1] != seen[1]:
                raise RecordMovedError(str(local.path), found="the file was replaced", do="it is opened again")
            if now != seen:
                seen = now
                self.shipped += shipper.ship_all()
            if time.monotonic() - looked > LINES_EVERY_S:
                looked = time.monotonic()
                fetcher.fetch()
            elif heard - {local.bench}:
                fetcher.fetch(only=heard)


_State = tuple[int, tuple[int, int] | None]
"""A number that changes with each commit, and which file it is."""


def _state_of(local: SqliteTrail) -> _State:
    try:
        about = local.path.stat()
    except OSError:
        return local.data_version(), None
    return local.data_version(), (about.st_dev, about.st_ino)
