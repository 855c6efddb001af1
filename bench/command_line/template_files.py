"""Templates of a shop, kept beside the record as JSON files that a person can read and carry to another bench."""

from __future__ import annotations

import difflib
from pathlib import Path

from pydantic import ValidationError

from bench.reports.safe_names import slug
from bench.use_cases.errors import RefusedError
from bench.use_cases.job_templates import LONGEST_NAME, JobTemplate

LARGEST_FILE = 500_000
MOST_TEMPLATES = 500


class TemplateFiles:
    """One file a template in one folder.

    Parameters
    ----------
    folder : Path
        Made when the first one is kept.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def all(self) -> tuple[JobTemplate, ...]:
        """Return every template that can be read, by name.

        Returns
        -------
        tuple[JobTemplate, ...]
            What cannot be read is told by `damaged`.
        """
        return tuple(sorted(self._look()[0], key=lambda template: template.name.casefold()))

    def damaged(self) -> tuple[str, ...]:
        """Return the files that cannot be read.

        Returns
        -------
        tuple[str, ...]
            A sentence each.
        """
        return tuple(self._look()[1])

    def _look(self) -> tuple[list[JobTemplate], list[str]]:
        found: list[JobTemplate] = []
        wrong: list[str] = []
        for path in sorted(self._folder.glob("*.json"))[:MOST_TEMPLATES]:
            try:
                with path.open("rb") as file:
                    data = file.read(LARGEST_FILE + 1)
                if len(data) > LARGEST_FILE:
                    wrong.append(f"{path}: larger than any template; wanted a file that this program wrote")
                else:
                    found.append(JobTemplate.model_validate_json(data))
            except ValidationError as fault:
                first = fault.errors(include_url=False, include_input=False)[0]
                where = ".".join(str(part) for part in first["loc"]) or "the file"
                wrong.append(f"{path}: {where}: {first['msg']}")
            except OSError as fault:
                wrong.append(f"{path}: {fault.strerror or fault}")
        return found, wrong

    def named(self, name: str) -> JobTemplate:
        """Return a template.

        Parameters
        ----------
        name : str
            Its name; capitals do not matter.

        Returns
        -------
        JobTemplate
            The template.

        Raises
        ------
        RefusedError
            With the nearest name there is.
        """
        every = {template.name.casefold(): template for template in self.all()}
        wanted = " ".join(name.split()).casefold()
        if wanted in every:
            return every[wanted]
        near = difflib.get_close_matches(wanted, every, n=1)
        names = f"'{every[near[0]].name}', the nearest there is" if near else "one that `spinledger job template` lists"
        raise RefusedError(f"template '{name[:LONGEST_NAME]}'", found="not there", wanted=names)

    def keep(self, template: JobTemplate, *, replace: bool = False) -> None:
        """Keep a template.

        Parameters
        ----------
        template : JobTemplate
            What to keep.
        replace : bool
            One of that name gives way.

        Raises
        ------
        RefusedError
            When there is one of that name and it is not to give way, or the file cannot be written.
        """
        path = self._path(template.name)
        if path.exists() and not replace:
            raise RefusedError(
                f"template '{template.name}'", found="there already", do="choose another name, or replace it"
            )
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            part = path.with_suffix(".part")
            part.write_text(template.model_dump_json(indent=1) + "\n", encoding="utf-8")
            part.replace(path)
        except OSError as fault:
            raise RefusedError(f"template '{template.name}'", found=fault.strerror or str(fault)) from fault

    def forget(self, name: str) -> JobTemplate:
        """Take a template away.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        JobTemplate
            What it was.

        Raises
        ------
        RefusedError
            When there is none, or its file cannot be taken away.
        """
        template = self.named(name)
        try:
            self._path(template.name).unlink()
        except OSError as fault:
            raise RefusedError(f"template '{template.name}'", found=fault.strerror or str(fault)) from fault
        return template

    def _path(self, name: str) -> Path:
        return self._folder / f"{slug(name.casefold(), most=LONGEST_NAME)}.json"
