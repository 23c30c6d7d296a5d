"""Who the tablet is to the server: its writer id, its token, and how far the server acknowledged its entries."""

from dataclasses import astuple, dataclass

from mobile.database import Database
from shared_schema.errors import NotAllowed

__all__ = ["Identities", "Identity"]


@dataclass(frozen=True, slots=True)
class Identity:
    """`acknowledged`: the highest number of its own that the server has said, after its commit, to hold.

    One without a `token` is a fork (see fork.py): a name of entries that were written here, under which nobody calls.
    """

    writer: str
    token: str
    nursery: str
    nursery_name: str
    server: str
    acknowledged: int = 0

    @property
    def fork(self) -> bool:
        """Whether it is a fork."""
        return not self.token


_COLUMNS = "writer, token, nursery, nursery_name, server, acknowledged"


class Identities:
    """All identities that this file ever had; the newest is the tablet's own, the others count as somebody else's."""

    def __init__(self, database: Database) -> None:
        self._database = database

    @property
    def all(self) -> tuple[Identity, ...]:
        """First to newest."""
        rows = self._database.rows(f"SELECT {_COLUMNS} FROM identity ORDER BY place")  # noqa: S608 (no outside text)
        return tuple(Identity(*row) for row in rows)

    @property
    def current(self) -> Identity | None:
        """The tablet's own identity, None before it was enrolled."""
        rows = self._database.rows(f"SELECT {_COLUMNS} FROM identity ORDER BY place DESC LIMIT 1")  # noqa: S608
        return Identity(*rows[0]) if rows else None

    @property
    def own(self) -> Identity:
        """The tablet's own identity. Raises NotAllowed where it was never enrolled."""
        current = self.current
        if current is None:
            raise NotAllowed("this tablet is not enrolled: ask the supervisor for a code and enrol it first")
        return current

    def add(self, identity: Identity) -> None:
        """Become somebody new."""
        self._database.run(
            f"INSERT INTO identity ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",  # noqa: S608
            astuple(identity),
        )

    def add_fork(self, identity: Identity, of: str) -> None:
        """Keep a further name of entries that were written here, in the order of who speaks right after the one that it left."""
        several = list(self.all)
        place = [one.writer for one in several].index(of) + 1
        with self._database.writing():
            self._database.run("DELETE FROM identity")
            for one in (*several[:place], identity, *several[place:]):
                self.add(one)

    def acknowledge(self, writer: str, number: int) -> None:
        """The server holds this identity's entries up to `number`; lower than before where it was restored."""
        self._database.run("UPDATE identity SET acknowledged = ? WHERE writer = ?", (number, writer))
