"""Reads a text in which each run is a block of lines with keys."""

from __future__ import annotations

from drivers.balancers.balancer_profile import BalancerProfile, Block
from drivers.balancers.profiled_reader import ProfiledReader, missing
from drivers.balancers.run_building import RunBuilder, number_fault
from drivers.balancers.text_lines import TextLine
from drivers.contract import ExportFault, SpinReading
from drivers.number_style import both_readings
from drivers.showing import shown_text
from drivers.template import Template


class KeyedBlockReader(ProfiledReader):
    """Reads blocks of keyed lines.

    Parameters
    ----------
    profile : BalancerProfile
        What the text means; it must have a block.

    Raises
    ------
    ProfileError
        If the profile has no block.
    """

    def __init__(self, profile: BalancerProfile) -> None:
        super().__init__(profile)
        if profile.block is None:
            raise missing(profile, "block", "a [block] with begin, end and lines")
        self._block: Block = profile.block
        vocabulary = profile.vocabulary
        self._begin = Template(self._block.begin, vocabulary)
        self._end = Template(self._block.end, vocabulary)
        self._lines = [(Template(line.text, vocabulary), line) for line in self._block.line]
        # Figures outside of a run are never passed over: a run would be lost without a word.
        self._figures = [pair for pair in self._lines if {"amount", "angle"} & set(pair[0].fields)]

    def _runs(self, lines: list[TextLine]) -> list[SpinReading | ExportFault]:
        runs: list[SpinReading | ExportFault] = []
        run: RunBuilder | None = None
        needed: set[str] = set()
        for line in lines:
            text = line.text.strip(" \t\x0c\x1a")
            if not text:
                continue
            if run is None:
                begun = self._begun(line, text)
                if isinstance(begun, ExportFault):
                    return [begun]
                run = begun
                needed = {form.text for form in self._block.line if form.needed}
                continue
            run.keep(line)
            if self._end.match(text) is not None:
                done = run.finish(line.number) if not needed else self._incomplete(line, needed)
                if isinstance(done, ExportFault):
                    return [done]
                runs.append(done)
                run = None
                continue
            fault = self._take(run, line, text, needed)
            if fault is not None:
                return [fault]
        if run is not None:
            return [self._unended(run, len(lines))]
        return runs or [self._nothing()]

    def _begun(self, line: TextLine, text: str) -> RunBuilder | ExportFault | None:
        """Look for the begin of a run."""
        fields = self._begin.match(text)
        if fields is None:
            if self._block.others == "pass" and not any(template.match(text) for template, _ in self._figures):
                return None
            wanted = f"{self._block.begin!r}, which begins a run"
            do = "choose the machine's own profile, or teach one from this text"
            return ExportFault(line.number, shown_text(line.text), wanted, do)
        run = RunBuilder(self._profile, line.number)
        run.keep(line)
        return run.take(fields, line=line) or run

    def _take(self, run: RunBuilder, line: TextLine, text: str, needed: set[str]) -> ExportFault | None:
        """Take a line inside a run."""
        if self._begin.match(text) is not None:
            return self._unended(run, line.number)
        for template, form in self._lines:
            fields = template.match(text)
            if fields is not None:
                needed.discard(form.text)
                return run.take(fields, line=line, plane=form.plane)
        if self._block.others == "pass":
            return None
        for word in text.split():
            if both_readings(word):
                return number_fault(word, line.number, self._profile, "a number")
        wanted = " or ".join(repr(form.text) for form in self._block.line) + f" or {self._block.end!r}"
        do = "check the machine's setting against the profile; nothing of this text was taken"
        return ExportFault(line.number, shown_text(line.text), wanted, do)

    def _incomplete(self, line: TextLine, needed: set[str]) -> ExportFault:
        wanted = "also " + " and ".join(repr(text) for text in sorted(needed))
        return ExportFault(line.number, "the end of the run", wanted, "save the whole run and try again")

    def _unended(self, run: RunBuilder, line: int) -> ExportFault:
        found = f"no end of the run that begins on line {run.first_line}"
        do = "wait until the machine has written the whole text, or save it again"
        return ExportFault(line, found, f"{self._block.end!r}", do)

    def _nothing(self) -> ExportFault:
        do = "choose the machine's own profile, or teach one from this text"
        return ExportFault(0, "no run", f"{self._block.begin!r}, which begins a run", do)
