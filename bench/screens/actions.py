"""Everything a person can do at the dashboard, once: its key, its words, and why it may not be possible now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bench.screens.why_not import (
    Why,
    always,
    needs_cuts,
    needs_due_part,
    needs_job,
    needs_job_to_write,
    needs_old_job,
    needs_parts,
    needs_real_bench,
    needs_sets,
    needs_unsigned,
    needs_writing,
)
from bench.use_cases.view import Step

WORK: Final = frozenset({Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN, Step.SIGN_OFF, Step.DONE})


@dataclass(frozen=True, slots=True)
class Act:
    """One thing a person can do.

    Attributes
    ----------
    id : str
        For key maps: "bench.skip".
    key : str
        Key as the screen library names it; several with commas.
    method : str
        Method of the dashboard that does it.
    label : str
        A word or two for the line of hints.
    words : str
        One sentence for help and for the list of everything.
    hints : frozenset[Step]
        Steps in whose hints it stands; intake stands for the list of jobs.
    why : Why
        Why it may not be done now; empty when it may.
    steps_number : int
        For the keys 1 to 4: their number, else 0.
    """

    id: str
    key: str
    method: str
    label: str
    words: str
    hints: frozenset[Step] = frozenset()
    why: Why = always
    steps_number: int = 0


_WEIGH = frozenset({Step.WEIGH})
_SPIN = frozenset({Step.SPIN})
_END = frozenset({Step.SIGN_OFF, Step.DONE})
_JOBS = frozenset({Step.INTAKE})

ACTS: Final[tuple[Act, ...]] = (
    Act("bench.due", "pagedown", "due", "yes", "Do what is due: the first answer, the confirmation.", WORK),
    Act(
        "bench.take-back",
        "pageup",
        "take_back",
        "take back",
        "Take back the last thing of this step; close a card.",
        WORK,
        needs_job_to_write,
    ),
    Act("bench.go-to", "g", "go_to", "go to", "Weigh another part next, or one again.", _WEIGH, needs_job_to_write),
    Act("bench.skip", "k", "skip", "later", "Leave the part that is due for later.", _WEIGH, needs_due_part),
    Act("bench.check", "6", "weigh_otherwise", "check", "Check scale or sums; set the order.", _WEIGH, needs_job),
    Act(
        "bench.match",
        "m",
        "match",
        "match",
        "Show what is heavy and how many grams come off each part.",
        _WEIGH,
        needs_sets,
    ),
    Act("bench.cuts", "a", "record_cuts", "cut as told", "Record the proposed cuts as made.", _SPIN, needs_cuts),
    Act(
        "bench.cut",
        "x",
        "edit_cut",
        "cut otherwise",
        "Record the cuts as they were really made: angle, grams, drill and depth, weighed chips.",
        _SPIN,
        needs_job_to_write,
    ),
    Act(
        "bench.stations",
        "f",
        "stations",
        "metal",
        "Enter where metal may be taken: arcs, radii, drills, depth limits, holes that are there.",
        _SPIN,
        needs_job_to_write,
    ),
    Act("bench.card", "5", "card", "card", "Show the cut card alone, or the pictures with it.", _SPIN, needs_cuts),
    Act(
        "bench.index-run",
        "7",
        "index_run",
        "set turned",
        "Say that the last run was made with the bobweight set turned: rotor and set are told apart.",
        _SPIN,
        needs_job_to_write,
    ),
    Act(
        "bench.machine-check",
        "8",
        "machine_check",
        "check angles",
        "Check with a known mass what the balancing machine's angles mean.",
        _SPIN,
        needs_job_to_write,
    ),
    Act(
        "bench.mounted",
        "9",
        "mounted",
        "mounted",
        "Say which parts of an externally balanced crank are on it: flywheel, damper.",
        why=needs_parts,
    ),
    Act(
        "bench.parts",
        "minus",
        "parts",
        "parts on the crank",
        "Enter which parts belong on the crank while it spins and what each carries.",
        why=needs_job_to_write,
    ),
    Act(
        "bench.next-rotor",
        "0",
        "next_rotor",
        "next rotor",
        "Begin the next rotor of the set: flywheel, damper, clutch cover; what is balanced is frozen.",
        why=needs_unsigned,
    ),
    Act("bench.one-plane", "z", "one_plane", "one plane", "Plan cuts for one plane a run, or all.", why=needs_job),
    Act(
        "bench.type",
        "e",
        "type",
        "type",
        "Type a weight, or a run in the spin step; it is marked as typed.",
        _WEIGH | _SPIN,
        needs_job_to_write,
    ),
    Act("bench.sign", "o", "sign_off", "sign off", "Sign the job off.", _END, needs_unsigned),
    Act("bench.certificate", "c", "certificate", "certificate", "Write the certificate.", _END, needs_job_to_write),
    Act("bench.new", "n", "new_job", "new", "Open a new job.", _JOBS, needs_writing),
    Act(
        "bench.copy",
        "y",
        "copy_job",
        "like before",
        "Open a new job like the one that is open or marked in the list.",
        _JOBS,
        needs_old_job,
    ),
    Act(
        "bench.keep-template",
        "plus",
        "keep_template",
        "template",
        "Keep this job's layout, parts and limits as a template to begin others with.",
        frozenset(),
        needs_job,
    ),
    Act(
        "bench.bring-in",
        "v",
        "bring_in",
        "bring in",
        "Bring weights in from a CSV file or a spreadsheet, with a preview.",
        frozenset(),
        needs_job_to_write,
    ),
    Act(
        "bench.simulate",
        "b",
        "simulate",
        "simulated bench",
        "Try it on a simulated bench: nothing is connected, everything is marked.",
        _JOBS,
        needs_real_bench,
    ),
    Act("bench.connect", "l", "connect", "connect scale", "Connect a scale: see its bytes, find its settings.", _JOBS),
    Act(
        "bench.trail",
        "t",
        "show_trail",
        "trail",
        "Show everything that happened to this job, or leave it.",
        WORK,
        needs_job,
    ),
    Act("bench.raw", "r", "raw", "raw lines", "Show the instruments' own lines in the trail.", frozenset(), needs_job),
    Act("bench.note", "w", "note", "note", "Write a note into the job.", frozenset(), needs_job_to_write),
    Act("bench.jobs", "j", "leave_job", "jobs", "Go back to the list of jobs.", WORK, needs_job),
    Act(
        "bench.weigh", "1", "number", "weigh", "Show the weigh step; answer 1 of a question.", frozenset(), needs_job, 1
    ),
    Act(
        "bench.bobweights",
        "2",
        "number",
        "bobweights",
        "Show the bobweights; answer 2 of a question.",
        frozenset(),
        needs_job,
        2,
    ),
    Act("bench.spin", "3", "number", "spin", "Show the spins; answer 3 of a question.", frozenset(), needs_job, 3),
    Act(
        "bench.sign-off",
        "4",
        "number",
        "sign-off",
        "Show the sign-off; answer 4 of a question.",
        frozenset(),
        needs_job,
        4,
    ),
    Act("bench.initials", "i", "initials", "initials", "Say who is at the bench.", _JOBS),
    Act("bench.colours", "d", "next_theme", "colours", "Change the colours: dark, light, high contrast, none."),
    Act("bench.glyphs", "s", "next_glyphs", "signs", "Change what pictures are drawn with, for older consoles."),
    Act("bench.pedal", "p", "pedal", "pedal", "Teach the program your foot pedal."),
    Act(
        "bench.help", "f1,question_mark", "explain", "help", "Say what is shown and what to do; all keys.", WORK | _JOBS
    ),
    Act("bench.everything", "f2", "everything", "everything", "Search everything that can be done.", WORK | _JOBS),
    Act("bench.guide", "h", "guide", "guide", "Read the guide: first job, connect a scale, and more.", _JOBS),
    Act("bench.tour", "u", "tour", "tour", "Take the tour: two minutes, one card after the other.", _JOBS),
    Act("bench.quit", "q", "leave", "quit", "Leave the program; everything is kept.", WORK | _JOBS),
)
"""In the order of the hints."""

BY_ID: Final = {act.id: act for act in ACTS}
KEY_WORDS: Final = {
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "question_mark": "?",
    "f1": "F1",
    "f2": "F2",
    "plus": "+",
    "minus": "-",
}


TERMINALS_KEEP: Final = frozenset(
    {"ctrl+b", "ctrl+c", "ctrl+d", "ctrl+q", "ctrl+s", "ctrl+z", "ctrl+backslash", "f10", "f11"}
)
"""Keys that multiplexers, shells or windows take before they come to us."""
CARDS_NEED: Final = frozenset(
    {"enter", "tab", "shift+tab", "escape", "up", "down", "left", "right", "backspace", "delete"}
)
"""Keys that move through cards and fields."""


def why_not_key(id_: str, key: str, others: Mapping[str, str]) -> str:
    """Return why a key cannot be another key for an action.

    Parameters
    ----------
    id_ : str
        The action.
    key : str
        The key's name.
    others : Mapping[str, str]
        All other keys that are set, this one among them.

    Returns
    -------
    str
        What is wanted instead; empty when the key will do.
    """
    if key in TERMINALS_KEEP:
        return "a key that terminals do not keep for themselves, e.g. f6"
    if key in CARDS_NEED:
        return "a key that cards and fields do not need, e.g. f6"
    if not key or not all(part.isalnum() or part == "_" for part in key.replace("+", "_")):
        return "the name of a key, e.g. f6, ctrl+k, pagedown"
    if id_ in {"bench.due", "bench.take-back"} and len(key) == 1:
        return "a key that types nothing into a field: pagedown, pageup, f6"
    for other, taken in (*((act.id, act.key) for act in ACTS if act.id not in others), *others.items()):
        if other != id_ and key in taken.split(","):
            return f"a key that is free: this one is for '{other}'"
    return ""


def key_words(key: str) -> str:
    """Return a key as people read it.

    Parameters
    ----------
    key : str
        The screen library's name or names.

    Returns
    -------
    str
        The first of several.
    """
    first = key.split(",", maxsplit=1)[0]
    return KEY_WORDS.get(first, first)
