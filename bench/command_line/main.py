"""The command `spinledger`: arguments in, an exit code out.

Nothing heavy is imported until a command needs it: `--help` and `--version` load only argparse.
"""

from __future__ import annotations

import argparse
import importlib
import os
import signal
import sys
from typing import NoReturn

from bench import __version__
from bench.command_line import safe_mode
from bench.command_line.collecting import collect_rarely, leave_uncollected
from bench.command_line.command_examples import EXAMPLES, GENERAL, told
from bench.command_line.exit_codes import ExitCode

# command -> (module, one line of help). The module has add_arguments(parser) and run(args) -> int.
COMMANDS: dict[str, tuple[str, str]] = {
    "open": ("open_command", "open a job in the dashboard"),
    "demo": ("demo_command", "the dashboard on the simulated bench; --hands-off plays the whole job"),
    "job": (
        "job_command",
        (
            "new, list, show, find, compare, files, template, parts, rotors, next-rotor, reopen, amend, note, attach, "
            "hand-over, take-over, import"
        ),
    ),
    "weigh": ("weigh_command", "hands-free weighing in plain lines"),
    "spin": ("spin_command", "take runs of the balancing machine from files or a folder"),
    "trail": ("trail_command", "everything that happened to a job"),
    "verify": ("verify_command", "is the record whole and unchanged"),
    "certificate": ("certificate_command", "write the certificate of a job"),
    "key": ("key_command", "the key this bench signs certificates with"),
    "export": ("export_command", "the job as CSV, spreadsheet or JSON"),
    "import": ("import_command", "bring weights in from CSV or a spreadsheet, with a preview"),
    "backup": ("backup_command", "copy the record, read back and verified"),
    "restore": ("restore_command", "bring a backup back; what is there is kept beside it"),
    "doctor": ("doctor_command", "is all well: record, disk, backups, clock, terminal, sound, instruments, drivers"),
    "instruments": ("instruments_command", "what is connected, which profiles there are"),
    "listen": ("listen_command", "live readings of a scale"),
    "teach": ("teach_command", "learn a scale's lines or a balancing machine's text"),
    "calc": ("calc_command", "the computations, JSON in and out"),
    "settings": ("settings_command", "what is set, where each value came from, and change it"),
    "share": ("share_command", "several benches, one record: ship to PostgreSQL, fetch what others shipped"),
    "wall": ("wall_command", "the bench on a wall screen or tablet, to look only"),
    "numbers": ("numbers_command", "jobs, runs, minutes, sets and scale checks by bench and month"),
    "guide": ("guide_command", "the guide: first job, connect a scale, read the certificate, and more"),
    "completion": ("completion_command", "completion for a shell, and the manual page"),
}

EXIT_CODES = """\
exit codes: 0 fine, 1 negative finding, 2 usage or settings, 3 try again, 4 input refused,
            5 record not whole, 6 storage, 70 our bug, 130 Ctrl-C, 143 terminated
"""


LONGEST_FAREWELL_S = 8.0
"""So long the program may take to leave after it was told to."""


def build_parser(*chosen: str) -> argparse.ArgumentParser:
    """Return the parser; only the chosen commands' own arguments are loaded.

    Parameters
    ----------
    *chosen : str
        Commands; as a rule the first word of the command line that names one.

    Returns
    -------
    argparse.ArgumentParser
        Ready to parse.
    """
    parser = argparse.ArgumentParser(
        prog="spinledger",
        description=f"Data logger and bench assistant for balancing rotating assemblies.\n\n{told(GENERAL)}",
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--safe-mode", action="store_true", help="run no plug-in (foreign driver), in any command")
    parser.add_argument("--version", action="version", version=f"spinledger {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, (module, words) in COMMANDS.items():
        sub = subparsers.add_parser(
            name,
            help=words,
            description=f"{words}\n\n{told(EXAMPLES.get(name, ()))}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if name in chosen:
            importlib.import_module(f"bench.command_line.{module}").add_arguments(sub)
    return parser


def _terminate(_signal: int, _frame: object) -> NoReturn:
    if hasattr(signal, "SIGCONT"):
        # a terminal that is closed tells a program to end and then to go on: a dashboard must not draw on it again
        signal.signal(signal.SIGCONT, signal.SIG_IGN)
    # a terminal that takes nothing any more would hold the last picture, and the program with it, for ever; what was
    # said to be taken is on disk, so nothing is lost by leaving at once
    import threading

    farewell = threading.Timer(LONGEST_FAREWELL_S, os._exit, (int(ExitCode.TERMINATED),))
    farewell.daemon = True
    farewell.start()
    raise SystemExit(ExitCode.TERMINATED)


# looking for plug-ins of the library of our models takes as long as our smallest command, and we have none
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


def run(arguments: list[str]) -> int:
    """Parse and run one command.

    Parameters
    ----------
    arguments : list[str]
        Without the program's name.

    Returns
    -------
    int
        Exit code.
    """
    arguments = safe_mode.take(arguments)
    chosen = next((word for word in arguments if not word.startswith("-")), None)
    args = build_parser(*([chosen] if chosen in COMMANDS else [])).parse_args(arguments)
    module = COMMANDS[args.command][0] if args.command else "open_command"
    if not args.command:
        args.job = None
    code: int = importlib.import_module(f"bench.command_line.{module}").run(args)
    return code


def main() -> NoReturn:
    """Run the command line and leave with its exit code."""
    collect_rarely()
    signal.signal(signal.SIGTERM, _terminate)
    if hasattr(signal, "SIGHUP"):
        signal.signal(signal.SIGHUP, _terminate)
    try:
        if "_ARGCOMPLETE" in os.environ:
            from bench.command_line.completion_command import complete

            complete()
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except KeyboardInterrupt:
        code = ExitCode.INTERRUPTED
    except BrokenPipeError:
        # the reader of our output has gone; keep the interpreter from complaining at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = ExitCode.FINE
    except Exception as fault:  # noqa: BLE001 the last stop: a person never sees a traceback
        from bench.command_line.say import explain

        code = explain(fault)
    leave_uncollected()
    sys.exit(int(code))


if __name__ == "__main__":
    main()
