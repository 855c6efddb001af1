"""Numbers over benches and months: of one record, or of all benches in the shared one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.trail.job_tally import Tally, numbers_of, tally_of
from bench.trail.postgres_reading import SharedReader

if TYPE_CHECKING:
    from bench.trail.contract import Trail

_SUMS = (
    b"count(*), count(*) FILTER (WHERE signed), count(*) FILTER (WHERE within), sum(runs), sum(cuts), sum(seconds), "
    b"sum(sets), sum(sets_out), sum(checks), sum(checks_failed) "
    b"FROM spinledger.job_lines WHERE NOT simulated AND opened_utc >= %s AND left(opened_utc, length(%s)) <= %s "
)
_BY_BOTH = b"SELECT bench, left(opened_utc, 7), " + _SUMS + b"GROUP BY 1, 2 ORDER BY 1, 2"


@dataclass(frozen=True, slots=True)
class MonthNumbers:
    """What jobs that were opened in one month at one bench came to.

    Attributes
    ----------
    bench : str
        Where; "" for all together.
    month : str
        "2031-05"; "" for all together.
    jobs, signed, within : int
        Opened, signed off, signed off within tolerance.
    runs, cuts : int
        Of all of them.
    seconds : float
        Time at work. [s]
    sets, sets_out : int
        Sets weighed whole, and those out of their limit.
    checks, checks_failed : int
        Scale checks.
    """

    bench: str
    month: str
    jobs: int = 0
    signed: int = 0
    within: int = 0
    runs: int = 0
    cuts: int = 0
    seconds: float = 0.0
    sets: int = 0
    sets_out: int = 0
    checks: int = 0
    checks_failed: int = 0

    @property
    def runs_a_job(self) -> float | None:
        """Runs a job; None without jobs."""
        return self.runs / self.jobs if self.jobs else None

    @property
    def minutes_a_job(self) -> float | None:
        """Minutes at work a job; None without jobs."""
        return self.seconds / 60.0 / self.jobs if self.jobs else None

    def plus(self, other: MonthNumbers) -> MonthNumbers:
        """Return both together, under this one's names.

        Parameters
        ----------
        other : MonthNumbers
            To be added.

        Returns
        -------
        MonthNumbers
            The sums.
        """
        return replace(
            self,
            jobs=self.jobs + other.jobs,
            signed=self.signed + other.signed,
            within=self.within + other.within,
            runs=self.runs + other.runs,
            cuts=self.cuts + other.cuts,
            seconds=self.seconds + other.seconds,
            sets=self.sets + other.sets,
            sets_out=self.sets_out + other.sets_out,
            checks=self.checks + other.checks,
            checks_failed=self.checks_failed + other.checks_failed,
        )


def shared_numbers(reader: SharedReader, *, since: str = "", until: str = "9999") -> list[MonthNumbers]:
    """Return the numbers of all benches in the shared record; simulated jobs do not count.

    Parameters
    ----------
    reader : SharedReader
        Any bench's.
    since : str
        First month or day the jobs were opened in.
    until : str
        Last one, with all of it.

    Returns
    -------
    list[MonthNumbers]
        By bench and month.
    """
    found = reader.all_of(_BY_BOTH, (since, until, until))
    return [_from_row(row) for row in found]


def _from_row(row: tuple[object, ...]) -> MonthNumbers:
    bench, month, *sums = row
    counts = [float(str(value)) for value in sums]
    jobs, signed, within, runs, cuts = (int(value) for value in counts[:5])
    sets, sets_out, checks, failed = (int(value) for value in counts[6:])
    return MonthNumbers(
        str(bench), str(month), jobs, signed, within, runs, cuts, counts[5], sets, sets_out, checks, failed
    )


def record_numbers(trail: Trail, *, since: str = "", until: str = "9999") -> list[MonthNumbers]:
    """Return the numbers of one record; simulated jobs do not count.

    Parameters
    ----------
    trail : Trail
        The record.
    since : str
        First month or day the jobs were opened in.
    until : str
        Last one, with all of it.

    Returns
    -------
    list[MonthNumbers]
        By month.
    """
    months: dict[str, MonthNumbers] = {}
    for line in trail.jobs():
        if line.simulated or line.opened_utc < since or line.opened_utc[: len(until)] > until:
            continue
        month = line.opened_utc[:7]
        one = _of_tally(trail.bench, month, tally_of(trail.events(job=line.number)))
        months[month] = months.get(month, MonthNumbers(trail.bench, month)).plus(one)
    return [months[month] for month in sorted(months)]


def _of_tally(bench: str, month: str, tally: Tally) -> MonthNumbers:
    if tally.state is None:
        return MonthNumbers(bench, month)
    told = numbers_of(tally.state)
    return MonthNumbers(
        bench,
        month,
        jobs=1,
        signed=int(told.signed),
        within=int(told.within),
        runs=told.runs,
        cuts=told.cuts,
        seconds=tally.seconds,
        sets=told.sets,
        sets_out=told.sets_out,
        checks=told.checks,
        checks_failed=told.checks_failed,
    )


def together(numbers: Iterable[MonthNumbers], *, by: tuple[str, ...]) -> list[MonthNumbers]:
    """Return numbers added up.

    Parameters
    ----------
    numbers : Iterable[MonthNumbers]
        By bench and month.
    by : tuple[str, ...]
        What stays apart: "bench", "month", both or neither.

    Returns
    -------
    list[MonthNumbers]
        In order of bench and month.
    """
    sums: dict[tuple[str, str], MonthNumbers] = {}
    for one in numbers:
        key = (one.bench if "bench" in by else "", one.month if "month" in by else "")
        sums[key] = sums.get(key, MonthNumbers(*key)).plus(one)
    return [sums[key] for key in sorted(sums)]
