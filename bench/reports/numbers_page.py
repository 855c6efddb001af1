"""Numbers over benches and months as one page: a small picture a quantity, and the table below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.reports.figures import figure
from bench.reports.pages import page


@dataclass(frozen=True, slots=True)
class Figures:
    """One bench's month.

    Attributes
    ----------
    bench, month : str
        Where and when the jobs were opened.
    jobs, signed, within : int
        Opened, signed off, signed off within tolerance.
    runs_a_job, minutes_a_job : float or None
        Means over the jobs.
    sets, sets_out, checks, checks_failed : int
        Sets weighed and those out of limit; scale checks.
    """

    bench: str
    month: str
    jobs: int
    signed: int
    within: int
    runs_a_job: float | None
    minutes_a_job: float | None
    sets: int
    sets_out: int
    checks: int
    checks_failed: int


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: where it lies, how far it reaches and what it says; all in the picture's own units."""

    top: float
    width: float
    words: str
    label: str


@dataclass(frozen=True, slots=True)
class Picture:
    """One quantity, a bar a month and bench."""

    title: str
    height: float
    bars: tuple[Bar, ...]


STEP, WIDTH = 18.0, 320.0


def _picture(title: str, figures: Sequence[Figures], values: Sequence[float | None], decimals: int) -> Picture:
    most = max((value for value in values if value is not None), default=0.0)
    bars = tuple(
        Bar(
            top=index * STEP,
            width=WIDTH * value / most if value and most else 0.0,
            words=figure(value, decimals),
            label=f"{one.month} {one.bench}",
        )
        for index, (one, value) in enumerate(zip(figures, values, strict=True))
    )
    return Picture(title, len(bars) * STEP, bars)


def numbers_page(figures: Sequence[Figures]) -> str:
    """Return the page.

    Parameters
    ----------
    figures : Sequence[Figures]
        By bench and month; shown by month, then bench.

    Returns
    -------
    str
        A whole HTML document without scripts or outside requests.
    """
    shown = sorted(figures, key=lambda one: (one.month, one.bench))
    pictures = [
        _picture("jobs", shown, [float(one.jobs) for one in shown], 0),
        _picture("runs a job", shown, [one.runs_a_job for one in shown], 1),
        _picture("minutes a job", shown, [one.minutes_a_job for one in shown], 0),
        _picture(
            "sets out of their limit, of a hundred",
            shown,
            [100.0 * one.sets_out / one.sets if one.sets else None for one in shown],
            1,
        ),
        _picture(
            "scale checks that failed, of a hundred",
            shown,
            [100.0 * one.checks_failed / one.checks if one.checks else None for one in shown],
            1,
        ),
    ]
    rows = [
        (
            one.month,
            one.bench,
            *(str(count) for count in (one.jobs, one.signed, one.within)),
            figure(one.runs_a_job, 1),
            figure(one.minutes_a_job, 0),
            *(str(count) for count in (one.sets, one.sets_out, one.checks, one.checks_failed)),
        )
        for one in shown
    ]
    return page("numbers.html.j2", pictures=pictures, rows=rows)
