"""Rows to runs: a row a plane, or a row a run."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.run_building import RunBuilder
from drivers.balancers.text_lines import TextLine
from drivers.contract import ExportFault, SpinReading

Row = tuple[TextLine, dict[str, str]]


@dataclass
class RunCollector:
    """Collects the runs of a text, and stops at the first fault.

    Attributes
    ----------
    profile : BalancerProfile
        What the text means.
    """

    profile: BalancerProfile
    _runs: list[SpinReading] = field(default_factory=list[SpinReading])
    _run: RunBuilder | None = None
    _label: str = ""
    _rows: int = 0

    def collect(self, rows: Iterable[Row | ExportFault]) -> list[SpinReading | ExportFault]:
        """Take all rows.

        Parameters
        ----------
        rows : Iterable[Row | ExportFault]
            The rows in their order; a fault ends the text.

        Returns
        -------
        list[SpinReading | ExportFault]
            The runs, or a single fault.
        """
        last = 0
        for row in rows:
            if isinstance(row, ExportFault):
                return [row]
            last = row[0].number
            fault = self._take_plane(row) if "plane" in row[1] else self._take_run(row)
            if fault is not None:
                return [fault]
        fault = self._close(last)
        if fault is not None:
            return [fault]
        if not self._runs:
            do = "choose the machine's own profile, or teach one from this text"
            return [ExportFault(0, "no run", "at least one row of figures", do)]
        return list(self._runs)

    def _take_run(self, row: Row) -> ExportFault | None:
        """Take a row that is a whole run."""
        line, fields = row
        run = RunBuilder(self.profile, line.number)
        run.keep(line)
        shared = {name: text for name, text in fields.items() if "." not in name}
        fault = run.take(shared, line=line)
        for plane in dict.fromkeys(name.split(".")[0] for name in fields if "." in name):
            if fault is None:
                own = {what: fields[f"{plane}.{what}"] for what in ("amount", "angle")}
                fault = run.take(own, line=line, plane=plane)
        if fault is not None:
            return fault
        done = run.finish(line.number)
        if isinstance(done, ExportFault):
            return done
        self._runs.append(done)
        return None

    def _take_plane(self, row: Row) -> ExportFault | None:
        """Take a row that is one plane of a run; a new label, or a full run, begins the next."""
        line, fields = row
        label = fields.get("label", "").strip()
        full = self._rows == len(self.profile.bench_planes)
        if self._run is not None and (label != self._label or ("label" not in fields and full)):
            fault = self._close(line.number)
            if fault is not None:
                return fault
        if self._run is None:
            self._run, self._label, self._rows = RunBuilder(self.profile, line.number), label, 0
        self._run.keep(line)
        self._rows += 1
        return self._run.take(fields, line=line)

    def _close(self, line: int) -> ExportFault | None:
        if self._run is None:
            return None
        done = self._run.finish(line)
        self._run = None
        if isinstance(done, ExportFault):
            return done
        self._runs.append(done)
        return None
