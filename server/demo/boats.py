"""Tablets as programs of their own: the server knows them as it knows any tablet, by what they say over HTTP."""

import json
import subprocess
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shared_schema.errors import CrosstreeError

__all__ = ["TabletFailed", "TabletProgram"]

_PATIENCE_S = 120


class TabletFailed(CrosstreeError):
    """A tablet's program ended with trouble; the message is what it said."""


@dataclass(frozen=True, slots=True)
class TabletProgram:
    """`python -m mobile` with its own database file."""

    name: str
    file: Path

    def enrol(self, url: str, code: str) -> None:
        """Spend a one-time code."""
        self._run("enrol", "--url", url, "--code", code, "--name", self.name)

    def load(self, survey: str, structures: Iterable[str]) -> None:
        """Take a map along."""
        self._run("load", "--survey", survey, "--structures", *structures)

    def record(self, slip: Iterable[Mapping[str, Any]]) -> None:
        """Type observations."""
        self._run("record", "-", stdin="".join(json.dumps(line, ensure_ascii=False) + "\n" for line in slip))

    def sync(self) -> None:
        """Exchange with the server until neither lacks anything."""
        self._run("sync")

    def state(self) -> dict[str, Any]:
        """What it holds and shows, as hashes."""
        state: dict[str, Any] = json.loads(self._run("state"))
        return state

    def _run(self, verb: str, *arguments: str, stdin: str = "") -> str:
        command = [sys.executable, "-m", "mobile", verb, "--data", str(self.file), *arguments]
        try:
            done = subprocess.run(command, input=stdin, capture_output=True, encoding="utf-8", timeout=_PATIENCE_S, check=False)
        except subprocess.TimeoutExpired as error:
            raise TabletFailed(f"{self.name} did not end {verb!r} within {_PATIENCE_S} s") from error
        if done.returncode:
            raise TabletFailed(f"{self.name} could not {verb}: {done.stderr.strip() or done.stdout.strip()}")
        return done.stdout
