"""Which surveys are planned and which structures hang: what a tablet chooses from before it loads a pack."""

from sqlalchemy import select
from sqlmodel import col

from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.wire import PROTOCOL, Offers, StructureOffer, SurveyOffer

__all__ = ["list_offers"]


def list_offers(store: RecordStore) -> Offers:
    """Every survey, latest first, and every structure, by id."""
    statement = (
        select(col(StandingRow.sort), col(StandingRow.subject), col(StandingRow.facts))
        .where(col(StandingRow.nursery) == store.nursery, col(StandingRow.sort).in_(["structure", "survey"]))
        .order_by(col(StandingRow.subject))
    )
    with reading(store.engine) as connection:
        rows = connection.execute(statement).all()
    known = [(row.sort, row.subject.partition(":")[2], load_standing(row.subject, row.facts)) for row in rows]
    surveys = [
        SurveyOffer(
            id=name,
            name=survey.value("name") or name,
            opens=survey.value("opens") or "",
            closes=survey.value("closes") or "",
            structures=tuple(survey.value("structures") or ()),
        )
        for sort, name, survey in known
        if sort == "survey"
    ]
    structures = [StructureOffer(id=name, name=one.value("name") or name) for sort, name, one in known if sort == "structure"]
    return Offers(protocol=PROTOCOL, surveys=tuple(reversed(surveys)), structures=tuple(structures))
