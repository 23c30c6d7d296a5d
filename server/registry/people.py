"""People in the record: those whom entries may name as having seen, typed or ruled."""

from server.store.record import RecordStore
from shared_schema.entries import PersonListed

__all__ = ["list_person"]


def list_person(store: RecordStore, person: str, name: str, role: str, by: str) -> bool:
    """List somebody, or list them anew where the record says otherwise; gives whether anything had to be written.

    `role` is "crew" or "supervisor". Raises StorageError.
    """
    with store.office(by) as office:
        stated = store.finding("", f"person:{person}")
        said = {fact: slot.value for fact, slot in stated.slots.items()}
        if said == {"name": name, "role": role}:
            return False
        heads = {head for slot in stated.slots.values() for head in slot.heads}
        office.write(PersonListed, f"person:{person}", name=name, role=role, replaces=tuple(sorted(heads)))
    return True
