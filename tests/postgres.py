"""A private PostgreSQL server for the tests: on a socket in a temporary directory, gone afterwards."""

import os
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from pwd import getpwnam

import psycopg
import pytest
from psycopg import sql

__all__ = ["PostgresNotInstalledError", "PostgresServer", "find_binaries", "running_server"]

DEBIAN_BINARIES = Path("/usr/lib/postgresql")
SUPERUSER = "postgres"


class PostgresNotInstalledError(RuntimeError):
    """The server programs are not on this machine."""


@dataclass(frozen=True)
class PostgresServer:
    """A running server that listens on one socket only; every connection is the superuser's."""

    socket_directory: Path
    admin: psycopg.Connection[tuple[object, ...]]
    _numbers: Iterator[int]

    def url(self, database: str) -> str:
        """Return the SQLAlchemy address of a database on this server."""
        return f"postgresql+psycopg://{SUPERUSER}@/{database}?host={self.socket_directory}"

    @contextmanager
    def fresh_database(self, like: str = "template1") -> Iterator[str]:
        """Make a database, empty or `like` another; give its SQLAlchemy address; drop it even when connections are left open."""
        name = f"fresh_{next(self._numbers)}"
        made = sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(sql.Identifier(name), sql.Identifier(like))
        self.admin.execute(made)
        try:
            yield self.url(name)
        finally:
            self.admin.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))


def find_binaries(installed: Path = DEBIAN_BINARIES) -> Path:
    """Return the directory with initdb and pg_ctl of the newest version under ``installed``.

    Raises:
        PostgresNotInstalledError: no version is there.
    """
    versions = sorted(installed.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if not versions:
        message = (
            f"no PostgreSQL server under {installed}: these tests need the Debian package postgresql "
            "(apt-get install --no-install-recommends postgresql)"
        )
        raise PostgresNotInstalledError(message)
    return versions[-1].parent


@contextmanager
def running_server() -> Iterator[PostgresServer]:
    """Start a server in a temporary directory and stop it at the end."""
    binaries = find_binaries()
    # initdb refuses root, so root hands the directory to the account that Debian's package made.
    owner = SUPERUSER if os.geteuid() == 0 else None
    with tempfile.TemporaryDirectory(prefix="crosstree-pg-") as text:
        directory = Path(text)
        if owner is not None:
            account = getpwnam(owner)
            os.chown(directory, account.pw_uid, account.pw_gid)

        def run(program: str, *arguments: str) -> None:
            # To a file, not to a pipe: the server inherits it and would hold a pipe open.
            output = directory / f"{program}.out"
            with output.open("wb") as sink:
                finished = subprocess.run(
                    [binaries / program, "-D", directory / "data", *arguments],
                    user=owner,
                    cwd=directory,
                    stdin=subprocess.DEVNULL,
                    stdout=sink,
                    stderr=subprocess.STDOUT,
                    check=False,
                )
            if finished.returncode != 0:
                log = directory / "server.log"
                said = output.read_text() + (log.read_text() if log.exists() else "")
                message = f"{program} ended with {finished.returncode} in {directory}:\n{said}"
                raise RuntimeError(message)

        run("initdb", "-U", SUPERUSER, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        durability = "-c fsync=off -c full_page_writes=off -c synchronous_commit=off"
        options = f"-c listen_addresses= -c unix_socket_directories={directory} {durability}"
        run("pg_ctl", "-w", "-l", str(directory / "server.log"), "-o", options, "start")
        try:
            with psycopg.connect(host=text, user=SUPERUSER, dbname="postgres", autocommit=True) as admin:
                yield PostgresServer(directory, admin, count(1))
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    """Give the private PostgreSQL server of this run."""
    with running_server() as server:
        yield server


@pytest.fixture(scope="session")
def postgres_url(postgres_server: PostgresServer) -> str:
    """Give the SQLAlchemy address of the server's maintenance database."""
    return postgres_server.url("postgres")


@pytest.fixture
def postgres_database(postgres_server: PostgresServer) -> Iterator[str]:
    """Give the SQLAlchemy address of an empty database of this test's own."""
    with postgres_server.fresh_database() as url:
        yield url
