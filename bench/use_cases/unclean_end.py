"""After an end that was not the usual one: it is said before anything else, until somebody has seen it."""

from __future__ import annotations

from collections.abc import Sequence

from bench.trail.at_work import UncleanEnd
from bench.trail.errors import RecordError
from bench.trail.events import AnyPayload, ClockStepped, LinkChanged
from bench.trail.keeping_events import UncleanEndSeen
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Notice, Tone

GOES_AWAY = "it goes away by Enter, the pedal, or the next part that is taken"


class EndWatch:
    """Keeps what is to be said of the last end until it was seen; work that goes on has seen it.

    Parameters
    ----------
    scribe : Scribe
        Records that it was seen.
    end : UncleanEnd | None
        None when the last end was the usual one.
    """

    def __init__(self, scribe: Scribe, end: UncleanEnd | None) -> None:
        self._scribe = scribe
        self.end = end
        if end is not None:
            scribe.before_recording = self._before

    def notices(self) -> list[Notice]:
        """Return what a hearer is to hear first.

        Returns
        -------
        list[Notice]
            A sentence each; none when there is nothing to say.
        """
        words = (*self.end.lines, GOES_AWAY) if self.end else ()
        return [Notice(number=0, words=one, tone=Tone.ATTENTION, level="ask") for one in words]

    def seen(self, how: str) -> None:
        """Record that it was seen; nothing happens when there is nothing to see.

        Parameters
        ----------
        how : str
            "key" or "work".
        """
        end, self.end = self.end, None
        if end is None:
            return
        payload = UncleanEndSeen(
            last_seq=end.last_seq, last_utc=end.last_utc, by_what="key" if how == "key" else "work"
        )
        try:
            self._scribe.record([payload])
        except RefusedError:  # another bench goes on with the job
            self._scribe.record([payload], job="")
        except RecordError:
            self.end = end
            raise

    def _before(self, payloads: Sequence[AnyPayload]) -> None:
        if not all(isinstance(payload, LinkChanged | ClockStepped | UncleanEndSeen) for payload in payloads):
            self.seen("work")
