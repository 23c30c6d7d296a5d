"""The only place where the server's parts are put together."""

import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI

from server.api.problems import answer_with_problems
from server.api.routes import mount_api
from server.pages import answer_with_page, mount_pages
from server.pages.warming import Warming
from server.settings import Settings
from server.store.opening import open_nursery

__all__ = ["create_app", "from_environment"]


def create_app(settings: Settings) -> FastAPI:
    """The server for the nursery in these settings. Raises NothingSuch where there is none, StorageError."""
    _collect_less()
    app = FastAPI(title="Crosstree", docs_url=None, redoc_url=None, openapi_url="/api/openapi.json", lifespan=_living)
    app.state.settings = settings
    app.state.store = open_nursery(settings)
    answer_with_problems(app, answer_with_page)
    mount_api(app)
    mount_pages(app)
    return app


@asynccontextmanager
async def _living(app: FastAPI) -> AsyncIterator[None]:
    warming = app.state.warming = Warming(app.state.store)
    warming.begin()
    yield
    warming.end()


def _collect_less() -> None:
    """Look for reference cycles less often: a push makes many objects and no cycles, and looking took a third of its time."""
    gc.freeze()
    gc.set_threshold(50_000, 5, 50)


def from_environment() -> FastAPI:
    """The server as CROSSTREE_DATA and CROSSTREE_DATABASE_URL say: for several uvicorn workers."""
    return create_app(Settings.of())
