"""What a server is told before it starts."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from platformdirs import user_data_path

__all__ = ["Settings"]


@dataclass(frozen=True, slots=True)
class Settings:
    """`data`: the folder for the database (unless `database_url` names another), photos and packs.

    `public_url`: the server's address as tablets and people reach it; empty for the one that a page was asked for under.
    """

    data: Path
    database_url: str
    public_url: str = ""

    @classmethod
    def of(cls, data: Path | None = None, database_url: str | None = None) -> Self:
        """Settings from what was said, else from CROSSTREE_DATA and CROSSTREE_DATABASE_URL, else the user's data folder.

        Without a URL the database is the file crosstree.sqlite in the data folder.
        """
        said = os.environ.get("CROSSTREE_DATA")
        folder = data or (Path(said) if said else user_data_path("crosstree"))
        url = database_url or os.environ.get("CROSSTREE_DATABASE_URL") or f"sqlite:///{folder / 'crosstree.sqlite'}"
        return cls(folder, url, os.environ.get("CROSSTREE_PUBLIC_URL", "").rstrip("/"))

    @property
    def photos(self) -> Path:
        """Where the bytes of photos are."""
        return self.data / "photos"

    @property
    def packs(self) -> Path:
        """Where packs wait to be fetched."""
        return self.data / "packs"

    @property
    def database_file(self) -> Path | None:
        """The database's file, None where it is a server's."""
        return Path(self.database_url.removeprefix("sqlite:///")) if self.database_url.startswith("sqlite:///") else None
