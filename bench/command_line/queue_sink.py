"""A link's sink for commands that listen without a desk."""

from __future__ import annotations

import queue

from drivers.contract import LinkChange


class QueueSink:
    """A link's sink that keeps what comes, in order.

    Attributes
    ----------
    items : queue.SimpleQueue
        Bytes or changes, each with its moment. [ns]
    """

    def __init__(self) -> None:
        self.items: queue.SimpleQueue[tuple[bytes | LinkChange, int]] = queue.SimpleQueue()

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Keep bytes.

        Parameters
        ----------
        chunk : bytes
            As they came.
        at_ns : int
            Moment of arrival. [ns]
        """
        self.items.put((chunk, at_ns))

    def link_changed(self, change: LinkChange) -> None:
        """Keep a change.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        self.items.put((change, change.at_ns))
