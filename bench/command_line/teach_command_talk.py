"""Questions and answers in plain lines, for a person or for a script that pipes its answers in."""

from __future__ import annotations

import sys

from bench.command_line.say import line, printable
from bench.use_cases.errors import RefusedError

LEAVE = frozenset({"quit", "q", "exit"})


class LeftError(Exception):
    """The person said quit."""


class Talk:
    """Asks in plain lines and counts the answers."""

    def __init__(self) -> None:
        self.answers = 0

    @staticmethod
    def say(words: str) -> None:
        """Print one line.

        Parameters
        ----------
        words : str
            The line; cleaned on its way to the terminal.
        """
        line(words)

    def ask(self, question: str, *, default: str = "") -> str:
        """Ask and return the answer.

        Parameters
        ----------
        question : str
            One sentence.
        default : str
            What Enter alone means; shown in brackets.

        Returns
        -------
        str
            Without blanks around it.

        Raises
        ------
        LeftError
            When the answer is quit.
        RefusedError
            When there is nobody to answer.
        """
        hint = f" [{default}]" if default else ""
        encoding = sys.stdout.encoding or "utf-8"
        shown = printable(f"{question}{hint} ").encode(encoding, "replace").decode(encoding)
        print(shown, end="", flush=True)
        text = sys.stdin.readline()
        if not text:
            print(flush=True)
            do = "run it at a terminal, or give --from FILE --shown TEXT; see `spinledger teach -h`"
            raise RefusedError("teach", found=f"nobody answers '{question}'; nothing was saved", do=do)
        if not sys.stdin.isatty():
            print(flush=True)
        self.answers += 1
        answer = text.strip()
        if answer.lower() in LEAVE:
            raise LeftError
        return answer or default

    def yes(self, question: str, *, default: bool = True) -> bool:
        """Ask for yes or no.

        Parameters
        ----------
        question : str
            One sentence.
        default : bool
            What Enter alone means.

        Returns
        -------
        bool
            True for yes.
        """
        while True:
            answer = self.ask(question, default="yes" if default else "no").lower()
            if answer in {"y", "yes"}:
                return True
            if answer in {"n", "no"}:
                return False
            line(f"'{answer}' is neither yes nor no")

    def choose(self, question: str, among: tuple[str, ...], *, default: str = "") -> str:
        """Ask for one of a few words; their beginnings will do.

        Parameters
        ----------
        question : str
            One sentence.
        among : tuple[str, ...]
            The words.
        default : str
            What Enter alone means.

        Returns
        -------
        str
            One of the words.
        """
        words = f"{question} ({', '.join(among)})"
        while True:
            answer = self.ask(words, default=default).lower()
            fits = [one for one in among if one == answer] or [
                one for one in among if answer and one.startswith(answer)
            ]
            if len(fits) == 1:
                return fits[0]
            line(f"'{answer}' is none of {', '.join(among)}")
