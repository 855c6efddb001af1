"""Examples of every command: what `--help` shows first. A test parses each of them."""

from __future__ import annotations

from typing import Final

GENERAL: Final = (
    ("spinledger", "the dashboard, at the last job; an empty record explains what to do"),
    ("spinledger demo", "the dashboard on a simulated bench"),
    ("spinledger demo --hands-off", "the whole demo job without a person"),
    ("spinledger job new --from job.json", "open a job from a file"),
    ("spinledger weigh 2031-0007 --scale /dev/ttyUSB0", "weigh in plain lines"),
    ("spinledger spin 2031-0007 run-001.txt", "take a run from a file"),
    ("spinledger guide first-job", "how it goes, step by step"),
)

EXAMPLES: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "open": (
        ("spinledger open", "at the last job"),
        ("spinledger open 2031-0007 --scale COM3", "this job, with the scale at COM3"),
    ),
    "demo": (
        ("spinledger demo", "look around, nothing is connected"),
        ("spinledger demo --hands-off --pace 20", "watch the whole job in plain lines"),
    ),
    "job": (
        ("spinledger job new --example", "print a job file to start from"),
        ("spinledger job new --from job.json --by mk", "open it"),
        ("spinledger job find rescue", "jobs with this word"),
        ('spinledger job template 2031-0007 "harbour V8"', "keep its intake under a name"),
        ('spinledger job new --template "harbour V8" --title "port engine"', "begin with it"),
        ("spinledger job new --like 2031-0007 --serial 4711", "begin like a job before"),
        ('spinledger job reopen 2031-0007 --reason "pistons changed"', "go on with a signed job"),
        (
            'spinledger job parts 2031-0007 --part "flywheel; at 540; carries 900 g mm; heavy 90" --reason "sheet"',
            "an externally balanced crank: what belongs on it",
        ),
        ("spinledger job next-rotor 2031-0007 flywheel --at 540 --radius 150 --limit 0.5", "a set: the next part"),
    ),
    "weigh": (("spinledger weigh 2031-0007 --scale /dev/ttyUSB0", "hands-free, a line an event"),),
    "spin": (
        ("spinledger spin 2031-0007 run-001.txt run-002.txt", "runs from files"),
        ("spinledger spin 2031-0007 --folder /mnt/machine", "runs as they appear in a folder"),
        ("spinledger spin 2031-0007 run-003.txt --mounted flywheel,damper", "with both on the crank"),
    ),
    "trail": (("spinledger trail 2031-0007 --raw", "with the instruments' own lines"),),
    "verify": (
        ("spinledger verify", "is the record whole"),
        ("spinledger verify --against certificate.html", "is it what the certificate saw"),
    ),
    "certificate": (("spinledger certificate 2031-0007", "write it and say where it is"),),
    "export": (
        ("spinledger export 2031-0007 --as csv", "a file a table"),
        ("spinledger export 2031-0007 --as labels", "labels for the parts trays, to print"),
        ("spinledger export 2031-0007 --as form", "an empty sheet to write on by hand"),
    ),
    "import": (
        ("spinledger import 2031-0007 weights.xlsx", "show what would be taken; take nothing"),
        ('spinledger import 2031-0007 weights.csv --map "Kolben g"=piston --yes', "name a column, take it"),
    ),
    "backup": (("spinledger backup /media/stick /mnt/office", "two copies, read back and checked"),),
    "restore": (("spinledger restore /media/stick/BACKUP", "what is there now is set aside"),),
    "instruments": (
        ("spinledger instruments", "ports and profiles"),
        ("spinledger instruments try plain-stream recording.txt", "what a profile reads in a recording"),
    ),
    "doctor": (
        ("spinledger doctor", "everything, a line each, with the next step"),
        ("spinledger doctor --reset-terminal", "after a program was killed and the terminal is strange"),
    ),
    "listen": (
        ("spinledger listen /dev/ttyUSB0 --lines 20", "twenty readings, then end"),
        ("spinledger listen COM3 --record scale.rec", "write all that comes down, with its times"),
    ),
    "teach": (
        ("spinledger teach", "asked step by step, from an unknown scale to a saved profile"),
        ("spinledger teach scale --port COM3", "this port"),
        ('spinledger teach --from all.rec --shown "0 g" --shown "512.3 g"', "from a recording, nobody is asked"),
    ),
    "calc": (("spinledger calc tolerance tolerance.json", "JSON in, JSON out"),),
    "settings": (
        ("spinledger settings", "what is set and where it came from"),
        ("spinledger settings --set theme=chalk", "change one; comments in the file stay"),
        ("spinledger settings --set keys.bench.skip=f6", "another key for an action"),
    ),
    "share": (
        ("spinledger share --prepare --to postgresql://owner@shop/spinledger", "make the shared record, once"),
        ("spinledger share --to postgresql://north@shop/spinledger", "ship and fetch until it is stopped"),
        ("spinledger share --status", "how much of this record is shipped"),
    ),
    "wall": (
        ("spinledger wall", "a page on this computer: http://127.0.0.1:8321/"),
        ("spinledger wall --listen 192.168.7.4 --pair", "for a tablet in the shop's own network"),
    ),
    "numbers": (
        ("spinledger numbers --bars minutes_a_job", "this bench, month by month"),
        ("spinledger numbers --record postgresql://office@shop/spinledger --by bench", "all benches"),
    ),
    "guide": (
        ("spinledger guide", "the pages there are"),
        ("spinledger guide first-job", "read one"),
        ("spinledger guide --find label", "pages with this word"),
    ),
    "completion": (
        ("spinledger completion bash >> ~/.bashrc", "bash; zsh, fish and powershell likewise"),
        ("spinledger completion man > spinledger.1", "the manual page"),
    ),
}


def told(examples: tuple[tuple[str, str], ...]) -> str:
    """Return examples as aligned lines.

    Parameters
    ----------
    examples : tuple[tuple[str, str], ...]
        Command and what it does.

    Returns
    -------
    str
        With a heading; empty when there are none.
    """
    if not examples:
        return ""
    width = min(max(len(command) for command, _ in examples), 50)
    lines = (f"  {command:{width}}  {words}" for command, words in examples)
    return "examples:\n" + "\n".join(lines) + "\n"
