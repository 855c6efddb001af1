"""Declare a job done, and write its certificate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bench.computation.unbalance import PlaneVerdict
from bench.trail.contract import Checkpoint
from bench.trail.events import CertificateIssued, Event, JobSignedOff
from bench.trail.keeping_events import RecordSigned
from bench.use_cases.errors import RefusedError
from bench.use_cases.review_job import review_job
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Review, Step


def what_is_missing(review: Review) -> tuple[str, ...]:
    """Return what stands between a job and its sign-off, in words.

    Parameters
    ----------
    review : Review
        The job, computed.

    Returns
    -------
    tuple[str, ...]
        Empty when all is done.
    """
    missing: list[str] = []
    if review.step is Step.WEIGH:
        missing.append("parts are still to be weighed")
    if review.step in {Step.WEIGH, Step.BOBWEIGHTS} and not all(t.within for t in review.throws):
        missing.append("bobweights are still to be made")
    if review.no_verdict:
        missing.append(f"the last run is no verdict: {review.no_verdict}")
    elif review.whole_verdict is not PlaneVerdict.INSIDE:
        missing.append("the last run is not inside the tolerance in every plane")
    return (*missing, *review.set_open)


def sign_off(scribe: Scribe, *, deburred: bool, cleaned: bool, words: str) -> Event:
    """Record that the job is done.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    deburred : bool
        Every hole is deburred.
    cleaned : bool
        The crank is clean of chips.
    words : str
        Anything to add; needed when something is missing, to say why it is signed all the same.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When holes are not deburred, the crank is not clean, or something is missing and no word says why.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("sign-off", found="no job is open")
    drilled = state.cuts or any(done.cuts for done in state.rotors_done)
    if drilled and not (deburred and cleaned):
        raise RefusedError(
            "sign-off",
            found="not confirmed: "
            + " and ".join(w for w, ok in (("deburred", deburred), ("cleaned", cleaned)) if not ok),
            wanted="every hole deburred and the crank clean",
            do="deburr, clean, then sign off",
        )
    review = review_job(state)
    missing = what_is_missing(review)
    if missing and not words.strip():
        raise RefusedError(
            "sign-off",
            found="; ".join(missing),
            do="finish it, or write why the job is signed off all the same",
        )
    inside = review.whole_verdict is PlaneVerdict.INSIDE and not review.set_open
    payload = JobSignedOff(deburred=deburred, cleaned=cleaned, within_tolerance=inside, words=words.strip()[:200])
    return scribe.record([payload], how="typed")[0]


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """A certificate on disk.

    Attributes
    ----------
    path : str
        Where it is.
    file_name : str
        Its name.
    sha256 : str
        Hex digest of its bytes.
    signed : RecordSigned | None
        Its signature; None where the bench has no key.
    unsigned_why : str
        Why the bench's key could not be used; empty when it was, or there is none.
    """

    path: str
    file_name: str
    sha256: str
    signed: RecordSigned | None = None
    unsigned_why: str = ""


def issue_certificate(scribe: Scribe, write: Callable[[Scribe, Review, Checkpoint], WrittenFile]) -> WrittenFile:
    """Write the certificate with the trail's checkpoint in it, then record that it was issued.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    write : Callable[[Scribe, Review, Checkpoint], WrittenFile]
        Makes the file; given by the wiring.

    Returns
    -------
    WrittenFile
        Where it is.

    Raises
    ------
    RefusedError
        When no job is open.
    """
    if scribe.state is None:
        raise RefusedError("certificate", found="no job is open")
    checkpoint = scribe.trail.checkpoint()
    written = write(scribe, review_job(scribe.state), checkpoint)
    issued = CertificateIssued(
        file_name=written.file_name, sha256=written.sha256, length=checkpoint.length, head=checkpoint.head
    )
    scribe.record([issued] if written.signed is None else [issued, written.signed])
    return written
