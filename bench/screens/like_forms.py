"""A new job like another one, or from a template of the shop: three words are asked for, the rest is taken over."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from bench.models.job import JobSpec
from bench.models.job_state import JobState
from bench.models.rotor_set import first_spec
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.use_cases.commands import Command, CreateJob
from bench.use_cases.job_templates import JobTemplate, spec_like
from bench.use_cases.part_choices import NOTHING


def copied_job(job: JobState) -> FormDialog:
    """Return the dialog for a job like another one.

    Parameters
    ----------
    job : JobState
        The other one; all its settings are taken, none of its weights.

    Returns
    -------
    FormDialog
        Gives a CreateJob.
    """
    kinds = len(job.spec.kinds) or NOTHING
    title = f"A new job like {job.number}: {job.spec.layout.name}, {kinds} kinds of part, the same limits"
    return _form(
        title, first_spec(job), f"like job {job.number}", "Of this engine; the other one's is left out on purpose."
    )


def templated_job(template: JobTemplate) -> FormDialog:
    """Return the dialog for a job from a template.

    Parameters
    ----------
    template : JobTemplate
        The shop's.

    Returns
    -------
    FormDialog
        Gives a CreateJob.
    """
    title = f"A new job, 2 of 2: {template.name}"
    # no title is suggested: that of the job the template was made from would be taken by mistake
    bare = template.spec.model_copy(update={"title": ""})
    return _form(title, bare, f"from template {template.name}", "Of this engine; may stay empty.")


def _form(title: str, spec: JobSpec, origin: str, serial_help: str) -> FormDialog:
    def read(answers: Mapping[str, str]) -> Command:
        if not answers["title"]:
            raise FormComplaintError("title", "wanted a few words to find the job by")
        words = {name: answers[name] for name in ("title", "customer", "serial")}
        try:
            return CreateJob(spec_like(spec, origin=origin, **words))
        except ValidationError as fault:
            first = fault.errors(include_url=False, include_input=False)[0]
            field = str(first["loc"][0]) if first["loc"] and first["loc"][0] in words else "title"
            raise FormComplaintError(field, str(first["msg"])) from None

    return FormDialog(
        title,
        (
            FormField("title", "what the job is called", spec.title, help="One line to find it by."),
            FormField("customer", "whose engine", spec.customer, help="Stands on the certificate."),
            FormField("serial", "serial number", help=serial_help),
        ),
        read,
    )
