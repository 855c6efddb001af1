"""The verbs of `spinledger job` that only look: list, show, find, compare, files."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from bench.models.job_state import JobLine, JobState
    from bench.use_cases.rebuild_job import Rebuild


def list_jobs(args: argparse.Namespace) -> int:
    """List the jobs, this bench's own or those that were brought in.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.office_wiring import found_jobs, shared_address
    from bench.command_line.record_wiring import read_trail

    places, settings = places_and_settings(args)
    if address := shared_address(args):
        return _print_all(found_jobs(args, address), as_json=args.json)
    if args.others:
        from bench.sharing.others import lines_of_others

        return _print_all(lines_of_others(places.others), as_json=args.json)
    trail = read_trail(places, settings)
    if trail is None:
        return _print_jobs([], as_json=args.json)
    try:
        if not args.brought_in:
            return _print_jobs(trail.jobs(), as_json=args.json)
        from bench.trail.guests import guest_benches, guest_lines

        return _print_jobs(guest_lines(trail), as_json=args.json, benches=guest_benches(trail))
    finally:
        trail.close()


def find_jobs(args: argparse.Namespace) -> int:
    """Find jobs by words.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 when nothing fits.
    """
    from bench.command_line.office_wiring import found_jobs, shared_address
    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import talk

    places, settings = places_and_settings(args)
    benches: list[str] | None = None
    if address := shared_address(args):
        pairs = found_jobs(args, address)
        found, benches = [line for _, line in pairs], [bench for bench, _ in pairs]
    else:
        trail = read_trail(places, settings)
        if trail is None:
            return _print_jobs([], as_json=args.json)
        try:
            found = trail.find(" ".join(args.words), most=args.most)
        finally:
            trail.close()
    if found or args.json:
        _print_jobs(found, as_json=args.json, benches=benches)
    else:
        talk(f"no job with {' and '.join(args.words)}; each must begin a word of number, title, customer, engine, "
             "serial, parts, notes or dates")  # fmt: skip
    return ExitCode.FINE if found else ExitCode.NEGATIVE


def _print_all(pairs: list[tuple[str, JobLine]], *, as_json: bool) -> int:
    return _print_jobs([line for _, line in pairs], as_json=as_json, benches=[bench for bench, _ in pairs])


def _print_jobs(jobs: list[JobLine], *, as_json: bool, benches: list[str] | None = None) -> int:
    from dataclasses import asdict

    from bench.command_line.say import document, table, talk

    rows = [asdict(job) for job in jobs]
    columns = {"number": "job", "step": "step", "title": "title", "customer": "customer", "last_utc": "last"}
    if benches is not None:
        for row, bench in zip(rows, benches, strict=True):
            row["bench"] = bench
        columns = {"bench": "bench"} | columns
    if as_json:
        document(rows)
    elif rows:
        from bench.trail.clock import local_moment

        for row in rows:
            row["last_utc"] = local_moment(str(row["last_utc"]))
        table([{key: str(value) for key, value in row.items()} for row in rows], columns)
    else:
        talk("no job yet: `spinledger demo` shows one, `spinledger job new` opens one")
    return ExitCode.FINE


def show_job(args: argparse.Namespace) -> int:
    """Show one job.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.office_wiring import shared_address
    from bench.command_line.record_wiring import load_job
    from bench.command_line.say import document
    from bench.use_cases.review_job import review_job

    places, settings = places_and_settings(args)
    address = shared_address(args)
    state = load_job(places, settings, args.job, bench=args.bench, shared=address)
    rebuild = None if args.bench or address else _rebuild(args, state)
    if args.json:
        from dataclasses import asdict

        document(
            {
                "job": state.number,
                "spec": state.spec.model_dump(mode="json"),
                "review": asdict(review_job(state)),
                "rebuild": None if rebuild is None else asdict(rebuild),
            }
        )
    else:
        _print_job(state)
        if rebuild is not None:
            print_rebuild(rebuild)
    return ExitCode.FINE


def _rebuild(args: argparse.Namespace, state: JobState) -> Rebuild | None:
    from bench.command_line.record_wiring import read_trail
    from bench.use_cases.rebuild_job import look_at_rebuild

    if state.rebuild_of is None:
        return None
    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        return None
    try:
        return look_at_rebuild(trail, state)
    finally:
        trail.close()


def print_rebuild(rebuild: Rebuild) -> None:
    """Print what new parts do to the crank.

    Parameters
    ----------
    rebuild : Rebuild
        As computed.
    """
    from bench.command_line.say import line

    line(f"rebuild of job {rebuild.of_number}:")
    for one in rebuild.bobweights:
        then = "not known" if one.then_g is None else f"{one.then_g:.1f} g"
        now = "not known yet" if one.now_g is None else f"{one.now_g:.1f} g"
        change = "" if one.then_g is None or one.now_g is None else f", {one.now_g - one.then_g:+.1f} g"
        kept = f" ({len(one.as_they_were)} parts as they were)" if one.as_they_were else ""
        line(f"  bobweight {one.throw}: {then} then, {now} now{change}{kept}")
    for plane in rebuild.planes:
        words = f"  {plane.plane}: {plane.amount_g:.1f} g at {plane.angle_deg:.0f}° from the new parts"
        if plane.whole_g is not None:
            words += f"; {plane.whole_g:.1f} g at {plane.whole_deg:.0f}° with what the old job left"
        line(words)
    for missing in rebuild.missing:
        line(f"  how far out the crank would be is not known yet: {missing}")


def _print_job(state: JobState) -> None:
    from bench.command_line.job_rotors import print_set
    from bench.command_line.say import line
    from bench.models.job import label_of
    from bench.trail.clock import local_moment
    from bench.use_cases.review_job import review_job

    review = review_job(state)
    mark = " SIMULATED" if state.spec.simulated else ""
    line(f"job {state.number}: {state.spec.title}, {state.spec.customer}, {state.spec.engine}{mark}")
    line(f"step: {review.step.value}")
    for change in state.amendments:
        day = local_moment(change.entry.utc)[:10]
        line(f"amended by {change.entry.by} on {day}: {', '.join(change.changed)}: {change.reason}")
    for sheet in review.sets:
        values = "  ".join("---" if g is None else str(g) for g in sheet.grams)
        spread = "" if sheet.spread_g is None else f"  spread {sheet.spread_g:.1f} g"
        line(f"{sheet.label}: {values}{spread}")
    for cell, weighed in state.weighed.items():
        if weighed.earlier:
            part, last = label_of(state.spec, cell), weighed.earlier[-1]
            line(f"{part} weighed again: {last} g before, {weighed.grams - last:+} g")
    for throw in review.throws:
        if throw.target_g is not None:
            made = "not made" if throw.made_g is None else f"made {throw.made_g} g"
            line(f"bobweight {throw.throw}: {throw.target_g:.1f} g, {made}")
    print_set(state)
    for plane in review.planes:
        line(plane.words)
    for warning in review.warnings:
        line(f"look: {warning}")


def compare(args: argparse.Namespace) -> int:
    """Show two jobs side by side.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 when they differ in something.
    """
    from dataclasses import asdict

    from bench.command_line.record_wiring import load_job
    from bench.command_line.say import document, line, table
    from bench.use_cases.compare_jobs import compare_jobs, differing

    places, settings = places_and_settings(args)
    one, other = load_job(places, settings, args.job), load_job(places, settings, args.other, bench=args.bench)
    lines = compare_jobs(one, other)
    apart = differing(lines)
    shown = lines if args.all else apart
    if args.json:
        document({"jobs": [one.number, other.number], "lines": [asdict(entry) for entry in shown]})
    elif shown:
        heads = {"group": "what", "name": "", "one": one.number, "other": other.number, "difference": "difference"}
        table([asdict(entry) for entry in shown], heads)
    else:
        line(f"jobs {one.number} and {other.number} tell the same")
    return ExitCode.NEGATIVE if apart else ExitCode.FINE


def files(args: argparse.Namespace) -> int:
    """List a job's attachments, or write them out.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import document, line
    from bench.trail.attachments import attachment
    from bench.trail.events import FileAttached
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        raise RefusedError(f"job {args.job}", found="there is no record yet", do="`spinledger job new` opens a job")
    try:
        told = [(e.seq, e.by, e.payload) for e in trail.events(job=args.job) if isinstance(e.payload, FileAttached)]
        folder: Path | None = args.folder
        if folder is not None:
            for _, _, file in told:
                line(str(write_out(folder, args.job, file.file_name, attachment(trail, file.sha256))))
    finally:
        trail.close()
    if args.json:
        document(
            [
                {"no": seq, "name": f.file_name, "size": f.size, "sha256": f.sha256, "about": f.about, "by": by}
                for seq, by, f in told
            ]
        )
    elif args.folder is None:
        for seq, _, file in told:
            about = f": {file.about}" if file.about else ""
            line(f"{seq:>6}  {file.file_name} ({file.size} bytes, {file.sha256[:16]}){about}")
    return ExitCode.FINE


def write_out(folder: Path, job: str, name: str, content: bytes) -> Path:
    """Write an attachment under a safe name of the program's own making.

    Parameters
    ----------
    folder : Path
        Where to.
    job : str
        Job number.
    name : str
        As it was called when it was kept; hostile names become plain ones.
    content : bytes
        As it was.

    Returns
    -------
    Path
        Where it is.

    Raises
    ------
    RefusedError
        When it cannot be written.
    """
    from bench.reports.safe_names import ExportError, export_name, write_new
    from bench.use_cases.errors import RefusedError

    stem, _, ending = name.rpartition(".")
    plain = ending.isascii() and ending.isalnum() and ending.islower() and len(ending) <= 10 and bool(stem)
    suffix = f".{ending}" if plain else ""
    try:
        return write_new(folder, export_name(job=job, title=stem if plain else name, suffix=suffix), content)
    except ExportError as fault:
        raise RefusedError(str(folder), found=str(fault)) from fault
