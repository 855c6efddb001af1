"""Where copies of the record go, and how old the newest may be."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Place = Annotated[str, Field(max_length=400)]


class CareSettings(BaseModel):
    """Copies of the record.

    Attributes
    ----------
    backup_folder : str
        Where `backup` puts copies, best on a medium that is taken away; empty for none.
    second_backup_folder : str
        A second place, best on another medium; empty for none.
    backup_after_days : int
        So many days without a backup are fine; after that the footer and `doctor` say so.
    text_copy : str
        File on a second medium that the trail is copied to as lines of text, as it grows; empty for none.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    backup_folder: Place = ""
    second_backup_folder: Place = ""
    backup_after_days: Annotated[int, Field(ge=1, le=365)] = 7
    text_copy: Place = ""

    @property
    def folders(self) -> list[Path]:
        """The folders that are named."""
        return [Path(one).expanduser() for one in (self.backup_folder, self.second_backup_folder) if one]

    @property
    def text_path(self) -> Path | None:
        """The text copy's file, None when there is none."""
        return Path(self.text_copy).expanduser() if self.text_copy else None
