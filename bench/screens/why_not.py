"""Why something cannot be done now: a sentence, or nothing where it can."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from bench.use_cases.view import BenchView, Doing, Step

Why = Callable[[BenchView], str]

NO_JOB: Final = "no job is open: choose one of the list, or open a new one with n"
NO_JOB_YET: Final = "no job is open yet: n opens the first"


def always(_view: BenchView) -> str:
    """Never refuse.

    Returns
    -------
    str
        Empty.
    """
    return ""


def needs_job(view: BenchView) -> str:
    """Refuse without an open job.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    if view.job is not None:
        return ""
    return NO_JOB if view.jobs else NO_JOB_YET


def needs_writing(view: BenchView) -> str:
    """Refuse when the record can only be looked at.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    return f"looking only: {view.read_only}" if view.read_only else ""


def needs_job_to_write(view: BenchView) -> str:
    """Refuse without an open job that can be written to.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    return needs_writing(view) or needs_job(view)


def needs_due_part(view: BenchView) -> str:
    """Refuse when no part is due.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    refused = needs_job_to_write(view)
    if refused:
        return refused
    return "" if view.shown_step is Step.WEIGH and view.want.cell is not None else "no part is due: go to weigh (key 1)"


def needs_cuts(view: BenchView) -> str:
    """Refuse when no cut is proposed.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    refused = needs_job_to_write(view)
    if refused:
        return refused
    if view.want.doing is Doing.CUT and view.proposal is not None and view.proposal.cuts:
        return ""
    return "no cut is proposed now: spin first (key 3)"


def needs_unsigned(view: BenchView) -> str:
    """Refuse when the job is signed off.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    refused = needs_job_to_write(view)
    if refused or view.job is None or view.job.signed_off is None:
        return refused
    return "this job is signed off; `spinledger job reopen` goes on with it"


def needs_sets(view: BenchView) -> str:
    """Refuse when nothing is weighed in this job.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    return needs_job(view) or ("" if view.review is not None and view.review.sets else "this job weighs no parts")


def needs_old_job(view: BenchView) -> str:
    """Refuse without a job to copy from.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    return needs_writing(view) or (
        "" if view.job is not None or view.jobs else "there is no job yet: n opens the first"
    )


def needs_real_bench(view: BenchView) -> str:
    """Refuse on the simulated bench.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    return "this is the simulated bench: q leaves it" if view.simulated else ""


def needs_parts(view: BenchView) -> str:
    """Refuse when no part belongs on the crank.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    str
        Why not, or empty.
    """
    refused = needs_unsigned(view)
    if refused or view.job is None or view.job.spec.mounted:
        return refused
    return "this job names no part that belongs on the crank: key - enters them"
