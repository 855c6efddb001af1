"""`spinledger guide`: the guide's pages as plain text."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode

KEYS_PAGE = "keys"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("page", nargs="?", help="which page; the list of pages when left out")
    parser.add_argument("--find", metavar="WORD", help="lines of the guide with this word")


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 when nothing was found.
    """
    from bench.command_line.say import line
    from bench.screens.guide_pages import all_pages
    from bench.use_cases.errors import RefusedError

    pages = {page.name: page for page in all_pages()}
    if args.find:
        word = args.find.casefold()
        found = [(page, text) for page in pages.values() for text in page.text.splitlines() if word in text.casefold()]
        for page, text in found:
            line(f"{page.name}: {text.strip()}")
        return ExitCode.FINE if found else ExitCode.NEGATIVE
    if args.page is None:
        for page in pages.values():
            line(f"{page.name:22}  {page.title}")
        line("read one with: spinledger guide PAGE")
        return ExitCode.FINE
    if args.page not in pages:
        raise RefusedError(f"guide page '{args.page}'", found="no such page", wanted=", ".join(pages))
    for text in pages[args.page].text.splitlines():
        line(text)
    return ExitCode.FINE
