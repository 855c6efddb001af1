"""The command `calc`: reads one JSON object, writes one, or says which field is wrong."""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterator, Sequence, Sized
from pathlib import Path
from typing import TYPE_CHECKING, cast

from bench.command_line.exit_codes import ExitCode
from bench.computation.errors import QuantityError

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

    from bench.command_line.calc.subject import Subject

LARGEST_INPUT = 8_000_000
"""Bytes of JSON that are read."""
LONGEST_FOUND = 80
"""Characters of a wrong value that are repeated."""


def run(subject: str, text: str, *, schema: bool = False) -> tuple[int, str, str]:
    """Compute one subject.

    Parameters
    ----------
    subject : str
        Its name.
    text : str
        One JSON object; not looked at with `schema`.
    schema : bool
        Return the JSON schemas of what comes in and goes out instead.

    Returns
    -------
    tuple[int, str, str]
        Exit code, what goes to stdout, what goes to stderr. With any exit code but 0, stdout is empty.
    """
    from bench.command_line.calc.subject import subject_named, subject_names

    try:
        found = subject_named(subject)
    except KeyError:
        return ExitCode.USAGE, "", f"calc: subject {subject!r} · wanted one of {', '.join(subject_names())}\n"
    if schema:
        schemas = {
            "in": found.asked.model_json_schema(mode="validation"),
            "out": found.answered.model_json_schema(mode="serialization"),
        }
        return ExitCode.FINE, json.dumps(schemas, indent=2, ensure_ascii=False) + "\n", ""
    try:
        answer = _computed(found, text)
    except _InputRefusedError as refused:
        complaint = "".join(f"{line}\n" for line in refused.lines)
        return ExitCode.INPUT_REFUSED, "", complaint
    return ExitCode.FINE, answer + "\n", ""


class _InputRefusedError(Exception):
    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = tuple(lines)
        super().__init__("; ".join(lines))


def _computed(subject: Subject[BaseModel], text: str) -> str:
    from pydantic import ValidationError

    whole = _parsed(text)
    try:
        asked = subject.asked.model_validate_json(text)
    except ValidationError as fault:
        raise _InputRefusedError(_field_faults(fault)) from fault
    try:
        answer = subject.answer(asked)
    except QuantityError as fault:
        if isinstance(fault.found, float) and not math.isfinite(fault.found):
            raise _InputRefusedError(_extreme_field(whole, result=fault.quantity)) from fault
        path = _path_of(fault.quantity, subject)
        raise _InputRefusedError([f"{path}: found {_short(fault.found)} · wanted {fault.wanted}"]) from fault
    except (OverflowError, ZeroDivisionError, ValidationError) as fault:
        # the model of what goes out takes finite numbers only
        raise _InputRefusedError(_extreme_field(whole, result="the answer")) from fault
    return answer.model_dump_json(by_alias=True, exclude_none=True)


def _path_of(quantity: str, subject: Subject[BaseModel]) -> str:
    # the quantity may carry what follows: planes[1].radius_mm is looked for whole, then as planes
    if quantity in subject.fields:
        return subject.fields[quantity]
    for name, path in subject.fields.items():
        if quantity.startswith((f"{name}.", f"{name}[")):
            return path + quantity[len(name) :]
    return quantity


def _extreme_field(whole: object, *, result: str) -> list[str]:
    """Name the number furthest from usual size: what was asked is sound field by field, but not together."""
    numbers = [(abs(math.log10(abs(value))), path, value) for path, value in _numbers_of(whole, "") if value]
    if not numbers:
        return [f"(whole input): found no finite result for {result} · wanted numbers of usual size"]
    _, path, value = max(numbers)
    return [f"{path}: found {_short(value)} · wanted a number of usual size, so that {result} can be computed"]


def _numbers_of(value: object, path: str) -> Iterator[tuple[str, float]]:
    if isinstance(value, dict):
        for key, inner in cast("dict[str, object]", value).items():
            yield from _numbers_of(inner, f"{path}.{_shown(key)}" if path else _shown(key))
    elif isinstance(value, list):
        for index, inner in enumerate(cast("list[object]", value)):
            yield from _numbers_of(inner, f"{path}[{index}]")
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, value


def _parsed(text: str) -> object:
    """Return the JSON object; refuse what is not one with each key once."""

    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        seen: dict[str, object] = {}
        for key, value in pairs:
            if key in seen:
                raise _InputRefusedError([f"{_short(key)}: found twice in one object · wanted once"])
            seen[key] = value
        return seen

    try:
        whole: object = json.loads(text, object_pairs_hook=once)
    except json.JSONDecodeError as fault:
        raise _InputRefusedError(
            [f"(line {fault.lineno}, column {fault.colno}): found no JSON: {fault.msg} · wanted one JSON object"]
        ) from fault
    except (RecursionError, ValueError) as fault:
        raise _InputRefusedError(
            ["(whole input): found JSON nested too deep or a number too long · wanted one JSON object"]
        ) from fault
    if not isinstance(whole, dict):
        raise _InputRefusedError([f"(whole input): found {type(whole).__name__} · wanted one JSON object"])
    return cast("object", whole)


def _field_faults(fault: ValidationError) -> list[str]:
    lines: list[str] = []
    errors = fault.errors(include_url=False)
    for error in errors[:20]:
        if any(other["loc"][: len(error["loc"])] == error["loc"] != other["loc"] for other in errors):
            # a list whose items are refused also counts as too short: the items say what is wrong
            continue
        path = ""
        for part in error["loc"]:
            path += f"[{part}]" if isinstance(part, int) else f".{_shown(part)}" if path else _shown(part)
        found = "nothing" if error["type"] == "missing" else _short(error.get("input"))
        wanted = error["msg"].removeprefix("Value error, ")
        lines.append(f"{path or '(whole input)'}: found {found} · wanted: {wanted}")
    return lines


def _shown(words: str) -> str:
    """Return text from outside with its control characters spelled out."""
    return "".join(letter if letter.isprintable() else letter.encode("unicode_escape").decode() for letter in words)


def _short(found: object) -> str:
    if isinstance(found, Sized) and not isinstance(found, str) and len(found) > 4:
        return f"{len(found)} entries"
    words = repr(found) if isinstance(found, str) else str(found)
    words = _shown(words)
    return words if len(words) <= LONGEST_FOUND else words[: LONGEST_FOUND - 1] + "…"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `calc` and one worked example a subject.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's parser.
    """
    from bench.command_line.calc.subject import subject_named, subject_names

    names = subject_names()
    shown = list(names)

    class Chosen(argparse.Action):
        """Keeps the subject; a help asked for after it shows its example alone."""

        def __call__(
            self,
            parser: argparse.ArgumentParser,
            namespace: argparse.Namespace,
            values: object,
            option_string: str | None = None,
        ) -> None:
            # a positional argument has no option, and the help is this parser's own
            del parser, option_string
            setattr(namespace, self.dest, values)
            shown[:] = [str(values)]

    parser.add_argument("subject", metavar="SUBJECT", choices=names, action=Chosen, help=", ".join(names))
    parser.add_argument("file", metavar="FILE", nargs="?", default="-", help="JSON file; - or nothing reads stdin")
    parser.add_argument("--schema", action="store_true", help="print the JSON schemas of what goes in and comes out")

    # subjects are loaded for their examples only when a help is really printed: a computation loads its own alone
    def help_with_examples(prog: str) -> argparse.HelpFormatter:
        parser.epilog = "\n".join(("worked examples:", *(_worked(name, subject_named(name)) for name in shown)))
        return argparse.RawDescriptionHelpFormatter(prog)

    parser.formatter_class = help_with_examples


def _worked(name: str, subject: Subject[BaseModel]) -> str:
    command = f"$ spinledger calc {name} <<'END'\n{subject.example}\nEND"
    return f"\n{name}: {subject.words}\n{command}\n{subject.example_answer}"


def main(args: argparse.Namespace) -> int:
    """Run `calc` with parsed arguments.

    Parameters
    ----------
    args : argparse.Namespace
        subject, file, schema.

    Returns
    -------
    int
        Exit code.
    """
    text = ""
    if not args.schema:
        try:
            raw = _read(args.file)
        except OSError as fault:
            print(f"calc: {args.file}: {fault.strerror} · wanted a file that can be read", file=sys.stderr)
            return ExitCode.USAGE
        if len(raw) > LARGEST_INPUT:
            print(f"(whole input): found more than {LARGEST_INPUT // 1_000_000} MB · wanted less", file=sys.stderr)
            return ExitCode.INPUT_REFUSED
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as fault:
            print(f"(byte {fault.start}): found no UTF-8 · wanted JSON in UTF-8", file=sys.stderr)
            return ExitCode.INPUT_REFUSED
    code, out, complaint = run(args.subject, text, schema=args.schema)
    sys.stdout.write(out)
    sys.stderr.write(complaint)
    return code


def _read(name: str) -> bytes:
    if name == "-":
        return sys.stdin.buffer.read(LARGEST_INPUT + 1)
    with Path(name).open("rb") as file:
        return file.read(LARGEST_INPUT + 1)
