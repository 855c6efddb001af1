"""`--record postgresql://…`: the commands that look, over all benches of the shared record."""

from __future__ import annotations

import argparse
from collections.abc import Generator, Iterable
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.use_cases.errors import RefusedError

if TYPE_CHECKING:
    from bench.models.job_state import JobLine
    from bench.trail.contract import Checkpoint
    from bench.trail.events import Event


def add_record(parser: argparse.ArgumentParser) -> None:
    """Add `--record`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--record", default="", metavar="postgresql://…", help="all benches of the shared record")


def shared_address(args: argparse.Namespace) -> str:
    """Return the address of the shared record when one was given.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    str
        "" when this computer's record is meant.

    Raises
    ------
    RefusedError
        When it is another kind of address.
    """
    from bench.trail.postgres_opening import is_shared

    given = str(getattr(args, "record", "") or "")
    if given and not is_shared(given):
        raise RefusedError("--record", found=f"'{given[:40]}'", wanted="an address that begins with postgresql://")
    return given


def found_jobs(args: argparse.Namespace, address: str) -> list[tuple[str, JobLine]]:
    """Return the jobs of all benches that are asked for.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments; with `words` those that fit, else all.
    address : str
        postgresql://…

    Returns
    -------
    list[tuple[str, JobLine]]
        Bench and row.
    """
    from bench.sharing.office import looking

    with looking(address) as office:
        if hasattr(args, "words"):
            return office.find(" ".join(args.words), most=args.most)
        return office.jobs()


@contextmanager
def shared_events(address: str, number: str, *, bench: str) -> Generator[tuple[Iterable[Event], Checkpoint]]:
    """Give the events of a job in the shared record, and how far its bench's chain has come.

    Parameters
    ----------
    address : str
        postgresql://…
    number : str
        Job number.
    bench : str
        Whose; "" where only one bench has such a number.

    Yields
    ------
    tuple[Iterable[Event], Checkpoint]
        Oldest first.

    Raises
    ------
    RefusedError
        When there is no such job, or several and nobody said which.
    """
    from bench.sharing.office import looking

    with looking(address) as office:
        whose = [bench] if bench else office.whose(number)
        if len(whose) > 1:
            raise RefusedError(
                f"job {number}", found=f"benches {', '.join(whose)} have one each", do="say which: --bench NAME"
            )
        events = office.chain(whose[0]).events(job=number) if whose else iter(())
        first = next(events, None)
        if first is None:
            raise RefusedError(
                f"job {number}",
                found="not in the shared record" + (f" for bench '{bench}'" if bench else ""),
                do="`spinledger job list --record …` shows what there is",
            )
        yield chain([first], events), office.chain(first.bench).checkpoint()


def office_certificate(args: argparse.Namespace, address: str, folder: Path) -> Path:
    """Write a certificate from the shared record: a copy for the office, of which the record does not tell.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.
    address : str
        postgresql://…
    folder : Path
        Where to.

    Returns
    -------
    Path
        The page.
    """
    from datetime import UTC, datetime

    from bench import __version__
    from bench.command_line.say import line, talk
    from bench.reports.certificate import certificate_html
    from bench.reports.safe_names import export_name, write_new
    from bench.trail.fold import fold
    from bench.use_cases.review_job import review_job

    with shared_events(address, args.job, bench=args.bench) as (events, checkpoint):
        state = fold(events)
    html = certificate_html(
        state=state,
        review=review_job(state),
        checkpoint=checkpoint,
        written_utc=datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
        app_version=__version__,
    )
    name = export_name(job=state.number, title=f"{checkpoint.bench} office copy", suffix=".html")
    page = write_new(folder, name, html.encode("utf-8"))
    line(str(page))
    talk("a copy for the office: the bench's record does not tell of it")
    return page


def verify_shared(args: argparse.Namespace, address: str) -> int:
    """Walk every chain of the shared record, and compare it with what was seen outside.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.
    address : str
        postgresql://…

    Returns
    -------
    int
        5 when a chain is not whole or does not agree.
    """
    from bench.command_line.outside_checkpoint import seen_outside
    from bench.command_line.progress import ProgressBar
    from bench.command_line.say import document, line
    from bench.sharing.office import looking
    from bench.trail.checkpoints import against

    seen = seen_outside(args.against) if args.against is not None else None
    with looking(address) as office:
        bars: dict[str, ProgressBar] = {}

        def show(bench: str, done: int, total: int) -> None:
            bars.setdefault(bench, ProgressBar(total))(bench[:20], done)

        told = office.verify(progress=show)
        for bar in bars.values():
            bar.end()
        apart = list(seen.faults) if seen else []
        if seen:
            fault = against(office.chain(seen.checkpoint.bench), seen.checkpoint)
            apart += [f"{fault.found}; wanted {fault.wanted}"] if fault else []
    rows = [
        {
            "bench": end.bench,
            "length": end.length,
            "head": end.head,
            "fault": "" if fault is None else f"event {fault.seq}: {fault.found}; wanted {fault.wanted}",
        }
        for end, fault in told
    ]
    if args.json:
        outside = None if seen is None else {"name": seen.name, "agrees": not apart, "faults": apart}
        document({"record": office.where, "benches": rows, "against": outside})
    else:
        for row in rows:
            end = f"whole: {row['length']} entries, the last one's hash {row['head']}"
            whole = f"not whole: {row['fault']}" if row["fault"] else end
            line(f"{row['bench']}  {whole}")
        for words in apart:
            line(f"does not agree with {seen.name if seen else ''}: {words}")
        if seen and not apart:
            line(f"agrees with {seen.name}: the {seen.checkpoint.length} events it saw are unchanged")
    return ExitCode.NOT_WHOLE if apart or any(row["fault"] for row in rows) else ExitCode.FINE
