"""Runs migrations on the connection that opening.migrate hands over, inside its transaction."""

from alembic import context
from sqlmodel import SQLModel

from server.store import models, office_tables

_ = models, office_tables  # their import fills the metadata
context.configure(connection=context.config.attributes["connection"], target_metadata=SQLModel.metadata)
context.run_migrations()
