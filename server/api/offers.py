"""What a tablet can choose from before it loads anything."""

from fastapi import APIRouter

from server.api.door import Record, Tablet
from server.store.offers import list_offers
from shared_schema.wire import Offers

__all__ = ["router"]

router = APIRouter()


@router.get("/offers")
def tell_offers(store: Record, tablet: Tablet) -> Offers:  # noqa: ARG001  # only tablets may ask
    """Which surveys and structures a pack can be asked of."""
    return list_offers(store)
