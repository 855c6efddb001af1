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

    Attributes
    ----------
    what : str
        What the sentence is about.
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


class RecordDeviceError(RecordError):
    """The drive failed a read or a write; the record is closed for writing until it is opened again."""


class RecordBusyError(RecordError):
    """Another program writes this record.

    Parameters
    ----------
    where : str
        The file.
    found : str
        What is wrong.
    held_by : str
        Who has it since when, in words; empty when not known.
    do : str
        The next step.
    """

    def __init__(self, where: str, *, found: str = "", held_by: str = "", do: str = "") -> None:
        self.held_by = held_by
        super().__init__(where, found=found or held_by, do=do or "close the other program, then try again")


class RecordDamagedError(RecordError):
    """The file is not whole."""


class ForeignFileError(RecordError):
    """The file is something else; it is left untouched."""


class NewerRecordError(RecordError):
    """The file was made by a newer version of the program."""


class RecordMovedError(RecordError):
    """The file was moved or deleted while it was open."""


class EventRefusedError(RecordError):
    """What was to be recorded is no event that could be read again; nothing was recorded."""

    what = "event"


class CopyError(RecordError):
    """A backup, text copy or job file could not be written, or is not what it should be."""

    what = "copy"
