"""The command that serves the record to tablets and browsers."""

import os
from contextlib import suppress
from types import FrameType
from typing import Annotated, Final, cast

import typer
import uvicorn
from fastapi import FastAPI

from server.cli.options import Data, Database
from server.cli.output import say
from server.cli.processes import serve_in_processes
from server.main import create_app
from server.pages.live import end_watching
from server.settings import Settings

__all__ = ["run_server"]

LAST_ANSWERS_S: Final = 5
"""How long a server that stops waits for answers on their way."""


class _Server(uvicorn.Server):
    """Stops at once although pages listen for news."""

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Let the listening pages go."""
        end_watching(cast("FastAPI", self.config.app))
        super().handle_exit(sig, frame)


def run_server(
    data: Data = None,
    database: Database = None,
    host: Annotated[str, typer.Option(help="Where to listen; 0.0.0.0 for the whole network.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 takes any that is free.")] = 8000,
    workers: Annotated[int, typer.Option(min=1, max=64, help="Processes; more than one wants PostgreSQL.")] = 1,
) -> None:
    """Serve the record to tablets and browsers until Ctrl-C.

    Example: crosstree serve --host 0.0.0.0 --port 8000
    """
    settings = Settings.of(data, database)
    app = create_app(settings)  # also where workers follow: what is wrong is said once, and tables are brought up to date
    say(f"serving {settings.data} on {host}, port {port}; `crosstree office link` gives a link; Ctrl-C ends it")
    if workers == 1:
        config = uvicorn.Config(app, host=host, port=port, log_level="warning", timeout_graceful_shutdown=LAST_ANSWERS_S)
        with suppress(KeyboardInterrupt):  # uvicorn sends itself Ctrl-C once more when it has stopped
            _Server(config).run()
        return
    app.state.store.engine.dispose()
    os.environ["CROSSTREE_DATA"], os.environ["CROSSTREE_DATABASE_URL"] = str(settings.data), settings.database_url
    serve_in_processes("server.main:from_environment", host, port, workers, LAST_ANSWERS_S)
