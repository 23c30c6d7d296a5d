"""The record that the pages show."""

from typing import Annotated

from fastapi import Depends, Request

from server.store.record import RecordStore

__all__ = ["Record"]


def _record(request: Request) -> RecordStore:
    store: RecordStore = request.app.state.store
    return store


Record = Annotated[RecordStore, Depends(_record)]
