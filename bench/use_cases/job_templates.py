"""A job's intake to begin others with: of one job, or of a template the shop has named."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, field_validator

from bench.models.job import JobSpec

LONGEST_NAME = 60
LONGEST_NOTES = 4000


class JobTemplate(BaseModel):
    """An intake with a name of the shop's own.

    Attributes
    ----------
    name : str
        What it is chosen by.
    spec : JobSpec
        Layout, parts, share, planes and limits; nobody's engine yet.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    name: Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
    spec: JobSpec

    @field_validator("name")
    @classmethod
    def _can_be_read(cls, name: str) -> str:
        if name != " ".join(name.split()) or not name.isprintable():
            raise ValueError("wanted words with one blank between them")
        return name


def template_of(name: str, spec: JobSpec) -> JobTemplate:
    """Return a template of a job's intake.

    Parameters
    ----------
    name : str
        Its name; blanks too many are taken out.
    spec : JobSpec
        The job's intake. Customer, serial number, notes and the mark of the simulated bench stay with the job.

    Returns
    -------
    JobTemplate
        Ready to keep.

    Raises
    ------
    pydantic.ValidationError
        When the name is empty or too long.
    """
    bare = spec.model_copy(update={"customer": "", "serial": "", "notes": "", "simulated": False})
    return JobTemplate(name=" ".join(name.split()), spec=bare)


def spec_like(spec: JobSpec, *, origin: str, title: str, customer: str, serial: str) -> JobSpec:
    """Return the intake of a job like another one.

    Parameters
    ----------
    spec : JobSpec
        What it is like: everything but the words below is taken from it, no weight is.
    origin : str
        Where it comes from, for the notes: "like job 2031-0007".
    title : str
        What the new job is called.
    customer : str
        Whose engine it is.
    serial : str
        The engine's number.

    Returns
    -------
    JobSpec
        Of the new job.
    """
    words = {"title": title, "customer": customer, "serial": serial}
    notes = f"{origin}\n{spec.notes}".strip()[:LONGEST_NOTES]
    return JobSpec.model_validate({**spec.model_dump(), **words, "notes": notes})


def template_words(spec: JobSpec) -> str:
    """Return what an intake is in a line.

    Parameters
    ----------
    spec : JobSpec
        The intake.

    Returns
    -------
    str
        Layout, kinds of part, limits.
    """
    limit = spec.tolerance.shop_limit_g
    grade = spec.tolerance.grade_mm_per_s
    limits = [f"{limit:g} g a plane at {spec.planes[0].radius_mm:g} mm"] if limit is not None else []
    limits += [f"grade G {grade:g}"] if grade is not None else []
    weighed = f"{len(spec.kinds)} kinds of part" if spec.kinds else "no parts weighed"
    return f"{spec.layout.name}, {weighed}, {', '.join(limits)}"
