"""One plain sentence for each kind of event."""

from __future__ import annotations

from bench.models.job import Cell, JobSpec, label_of
from bench.trail import events as e
from bench.trail import keeping_events as k
from bench.trail.spin_events import AnglesChecked, PartsMounted, RotorBegun, RotorWithdrawn, RunIndexed, SpinEvents


def event_in_words(event: e.Event, spec: JobSpec | None = None) -> str:  # noqa: C901, PLR0911, PLR0912 one kind a line
    """Return what an event says, for timelines.

    Parameters
    ----------
    event : Event
        Any.
    spec : JobSpec | None
        The job it belongs to, for the words of the trade; a part is told by its key when None.

    Returns
    -------
    str
        One sentence; text from outside is in it as it is, faces clean it.
    """

    def part(cell: Cell) -> str:
        return str(cell) if spec is None else label_of(spec, cell)

    match event.payload:
        case e.JobOpened(number=number, spec=spec):
            return f"job {number} opened: {spec.title}"
        case e.ScaleChecked() as p:
            return f"scale checked with {p.nominal_g} g: shows {p.shown_g} g, {'fine' if p.passed else 'out'}"
        case e.WeightTaken() as p:
            again = f", {p.reason}" if p.reason else (", amended at lift" if p.supersedes else "")
            doubt = ", uncertain" if p.doubtful else ""
            return f"{part(p.cell)}: {p.grams} g (u {p.standard_uncertainty_g:.3f} g{doubt}){again}"
        case e.WeightWithdrawn() as p:
            return f"weight taken back: {p.reason}"
        case e.CellSkipped() as p:
            return f"{part(p.cell)}: {'left for later' if p.skipped else 'asked for again'}"
        case e.BobweightBuilt() as p:
            return f"bobweight {p.throw}: {p.grams} g, target {p.target_g:.2f} g"
        case e.SpinRun() as p:
            planes = "; ".join(f"{s.plane} {s.amount_g:.2f} g at {s.heavy_angle_deg:.1f}°" for s in p.planes)
            return f"run {p.number}: {planes}"
        case e.SpinWithdrawn() as p:
            return f"run taken back: {p.reason}"
        case e.CutMade() as p:
            verb = "removed" if p.grams > 0 else "added"
            hole = f", drill {p.diameter_mm:g} mm" if p.diameter_mm else ""
            hole += f", {p.depth_mm:.1f} mm deep" if p.depth_mm else ""
            place = f"{p.plane} ({p.station})" if p.station and p.station != p.plane else p.plane
            chips = f", chips {p.chips_g:g} g" if p.chips_g else ""
            if p.grams == 0.0:
                return f"put right: the cut at {p.plane} {p.angle_deg:.1f}° was not made"
            right = "put right: " if p.supersedes else ""
            return f"{right}{abs(p.grams):.1f} g {verb} at {place} {p.angle_deg:.1f}°{hole}{chips}"
        case RunIndexed() | AnglesChecked() | PartsMounted() | RotorBegun() | RotorWithdrawn() as p:
            return _spin_in_words(p)
        case e.CutWithdrawn() as p:
            return f"cut taken back: {p.reason}"
        case e.NoteWritten(text=text):
            return f"note: {text}"
        case e.JobSignedOff() as p:
            return f"signed off, {'within' if p.within_tolerance else 'not within'} tolerance" + (
                f": {p.words}" if p.words else ""
            )
        case e.JobReopened(reason=reason):
            return f"opened again: {reason}"
        case e.CertificateIssued() as p:
            return f"certificate {p.file_name} written over {p.length} events"
        case e.LinkChanged() as p:
            return f"{p.instrument}: {p.state}"
        case e.ClockStepped() as p:
            return f"the clock stepped by {p.by_seconds:+.0f} s"
        case e.FileAttached() as p:
            return f"file {p.file_name} kept ({p.size} bytes)" + (f": {p.about}" if p.about else "")
        case e.StationsEntered(stations=s):
            return f"stations of crank type {s.crank_type} entered: {', '.join(one.name for one in s.stations)}"
        case e.JobAmended() as p:
            return f"{', '.join(p.changed)} put right: {p.reason}"
        case e.RebuildBegun() as p:
            return f"rebuild of job {p.of_number}, its numbers up to event {p.of_seq} are the reference"
        case e.JobHandedOver() as p:
            return f"handed over to bench {p.to_bench}: {p.reason}"
        case e.JobTakenOver() as p:
            gone = ", which is gone" if p.gone else ""
            return f"taken over from bench {p.from_bench}{gone}, job {p.number}, {p.events} events: {p.reason}"
        case e.RouteChosen(route=route):
            return f"asked for from here on: all of one {route}, then the next"
        case e.TemperatureNoted(celsius=celsius):
            return f"{celsius:.1f} °C at the scale"
        case k.GapFound() as p:
            count = "1 entry" if p.entries == 1 else f"{p.entries} entries"
            return f"the drive lost {count}, {p.first_seq} to {p.last_seq}: {p.words}"
        case k.KeyShown() as p:
            return f"this bench signs with the key {p.public[:16]}" + (f": {p.reason}" if p.reason else "")
        case k.UncleanEndSeen() as p:
            how = "somebody saw it" if p.by_what == "key" else "the work went on"
            return f"the bench had not ended the usual way after entry {p.last_seq}; it was shown first, and {how}"
        case k.RecordSigned() as p:
            return f"signed with the key {p.public[:16]}, over {p.length} entries"
        case e.JobBroughtIn() as p:
            return f"job {p.number} of bench {p.from_bench} brought in to look at, {p.events} events"


def _spin_in_words(payload: SpinEvents) -> str:
    match payload:
        case RunIndexed() as p:
            return f"that run was made with the bobweight set turned by {p.turned_deg:g}°"
        case AnglesChecked() as p:
            return f"angles of {p.instrument or 'the machine'} checked with {p.mass_g:g} g at the {p.plane}: {p.words}"
        case PartsMounted() as p:
            when = "in that run" if p.spin else "from here on"
            why = f": {p.reason}" if p.reason else ""
            return f"mounted on the crank {when}: {', '.join(p.mounted) or 'nothing'}{why}"
        case RotorBegun() as p:
            where = "on an arbor" if p.rotor.on == "arbor" else "on the balanced crank"
            before = "the one before is inside" if p.inside else f"the one before is not inside: {p.words}"
            return f"next rotor: {p.rotor.name}, {where}; {before}"
        case RotorWithdrawn() as p:
            return f"next rotor taken back: {p.reason}"
