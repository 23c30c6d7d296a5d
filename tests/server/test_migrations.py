"""A database of an older program is brought up to date with all that it holds, on each database."""

from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, inspect
from sqlmodel import SQLModel

import server.store
from server.access.accounts import list_accounts, make_first_supervisor
from server.access.trail import COMMAND_LINE
from server.settings import Settings
from server.store.checking import check_record
from server.store.engine import make_engine, reading, writing
from server.store.opening import migrate, open_nursery
from server.store.tablets import list_tablets
from shared_schema.entries import FragmentMoved, FragmentOutplanted, NoteMade, SizeMeasured
from tests.server.conftest import Nursery
from tests.server.small_nursery import NOW, fill


def test_the_tables_are_those_that_the_program_describes(nursery: Nursery) -> None:
    """What migrations made, step by step, is what the classes say."""
    _, store = nursery
    with reading(store.engine) as connection:
        assert compare_metadata(MigrationContext.configure(connection), SQLModel.metadata) == []


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def first_tables(request: pytest.FixtureRequest, tmp_path: Path) -> Settings:
    """A database as the first program made it, with a nursery and a tablet in it."""
    url = f"sqlite:///{tmp_path / 'crosstree.sqlite'}"
    if request.param == "postgresql":
        url = request.getfixturevalue("postgres_database")
    config = _config()
    engine = make_engine(url)
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.exec_driver_sql(
            "INSERT INTO nursery (id, name_id, name, office, demo) VALUES (1, 'n1', 'Ours', 'office0000', false)"
        )
        connection.exec_driver_sql(
            "INSERT INTO writer (nursery, writer, sort, name, withdrawn, enrolled, seen, clock_off_s, program, waiting)"
            " VALUES (1, 'k7f3qz', 'tablet', 'Deck', true, 5, 6, 7, 'old', 8)"
        )
    engine.dispose()
    return Settings.of(tmp_path, url)


def test_what_pages_count_by_is_filled_in_for_what_an_older_program_stored(nursery: Nursery) -> None:
    """Every row of the read tables is then what its entries fold to, indexes included; going back and forth loses nothing."""
    settings, store = nursery
    fill(store)
    with store.office("ines") as office:
        office.write(FragmentOutplanted, "fragment:T1-090", NOW, place="site:reef")
        office.write(FragmentMoved, "fragment:T1-032", NOW, place="removed")
        office.write(SizeMeasured, "fragment:T1-033", NOW, length_mm=80)
        office.write(NoteMade, "page:T1/5", NOW, text='as "alive": as ever, "place":[1')
    config = _config()
    with writing(store.engine) as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0005")
    again = open_nursery(settings)
    assert check_record(again).wrong == ()
    with reading(again.engine) as connection:
        assert compare_metadata(MigrationContext.configure(connection), SQLModel.metadata) == []
    again.engine.dispose()


def test_an_index_that_was_made_for_a_while_is_gone(first_tables: Settings) -> None:
    """A database that was at the step which made it opens as any other, and no other ever has it."""
    engine, config = make_engine(first_tables.database_url), _config()
    with writing(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0005")
        assert "finding_marked" not in _indexes(connection)
        columns = "nursery, survey, status, structure, subject"
        connection.exec_driver_sql(f"CREATE INDEX finding_marked ON finding ({columns}) WHERE status <> 'alive'")
        command.downgrade(config, "0004")
        assert "finding_marked" not in _indexes(connection)
        command.upgrade(config, "0005")
        connection.exec_driver_sql(f"CREATE INDEX finding_marked ON finding ({columns}) WHERE status <> 'alive'")
    engine.dispose()
    store = open_nursery(first_tables)
    with reading(store.engine) as connection:
        assert "finding_marked" not in _indexes(connection)
        assert compare_metadata(MigrationContext.configure(connection), SQLModel.metadata) == []
    with writing(store.engine) as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0004")
        assert "finding_marked" not in _indexes(connection)
    store.engine.dispose()


def _indexes(connection: Connection) -> set[str | None]:
    return {one["name"] for one in inspect(connection).get_indexes("finding")}


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(server.store.__file__).parent / "migrations"))
    return config


def test_a_nursery_from_before_there_were_accounts_keeps_its_tablets(first_tables: Settings) -> None:
    """It opens as it was, a withdrawn tablet still withdrawn, and its first supervisor can be made."""
    store = open_nursery(first_tables)
    (tablet,) = list_tablets(store)
    assert (tablet.writer, tablet.waiting, tablet.withdrawn, tablet.withdrawn_why) == ("k7f3qz", 8, True, "")
    assert list_accounts(store) == []
    make_first_supervisor(store, "ines", "Inés", COMMAND_LINE)
    migrate(store.engine)
    assert [one.person for one in list_accounts(store)] == ["ines"]
    store.engine.dispose()
