"""The command `crosstree`."""

from server.cli.program import app

__all__ = ["app"]
