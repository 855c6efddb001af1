"""What can go wrong with a record, each with its data and a sentence for the person."""

from __future__ import annotations


class RecordError(Exception):
    """The record could not do what was asked; nothing was recorded.

    Parameters
    ----------
    where : str
        The file.
    found : str
        What is wrong.
    wanted : str
        What would have been fine.
    do : str
        The next step.
    """

    what = "record"

    def __init__(self, where: str, *, found: str, wanted: str = "", do: str = "") -> None:
        self.where, self.found, self.wanted, self.do = where, found, wanted, do
        sentence = f"{self.what} {where}: {found}"
        if wanted:
            sentence += f"; wanted {wanted}"
        if do:
            sentence += f". {do[0].upper()}{do[1:]}"
        super().__init__(sentence)


class RecordFullError(RecordError):
    """The disk has no room."""


class RecordReadOnlyError(RecordError):
    """The file or folder cannot be written."""


class RecordBusyError(RecordError):
    """Another program writes this record."""


class RecordDamagedError(RecordError):
    """The file is not whole."""


class ForeignFileError(RecordError):
    """The file is something else; it is left untouched."""


class NewerRecordError(RecordError):
    """The file was made by a newer version of the program."""


class RecordMovedError(RecordError):
    """The file was moved or deleted while it was open."""
