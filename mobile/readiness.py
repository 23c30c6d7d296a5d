"""Whether a tablet has all that a dive needs, asked while there is still a network."""

import shutil
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias

from mobile.outbox import Outbox
from mobile.packs import Packs
from mobile.store import Store

__all__ = ["ENOUGH_BYTES", "SMALL_OFFSET_S", "Readiness", "Todo", "TodoSort", "check_readiness"]

ENOUGH_BYTES: Final = 500_000_000
"""Free space that a day of photos should find."""
SMALL_OFFSET_S: Final = 120
"""A clock that is off by more than this should be set: times are for reading, and should read true."""

TodoSort: TypeAlias = Literal["enrol", "load_pack", "load_again", "make_room", "set_clock", "update_program", "send_first"]


@dataclass(frozen=True, slots=True)
class Todo:
    """Something to do before leaving; `sort` is for translation, `detail` says it in English."""

    sort: TodoSort
    detail: str


@dataclass(frozen=True, slots=True)
class Readiness:
    """What a look at the tablet found.

    `complete`: it holds the pack of this survey, and knows the design of each structure in it. `hash_right`: the bytes
    of that pack were those that the server promised. `clock_off_s`: the tablet's clock less the server's when it last
    heard of it, None where it never did.
    """

    complete: bool
    hash_right: bool
    structures: tuple[str, ...]
    free_bytes: int
    clock_off_s: int | None
    todo: tuple[Todo, ...]

    @property
    def ready(self) -> bool:
        """Whether the boat can leave. Entries that wait to be sent do not keep it."""
        return all(todo.sort == "send_first" for todo in self.todo)


def check_readiness(store: Store, survey: str, free_bytes: int | None = None) -> Readiness:
    """Look at the tablet; `free_bytes` is asked of its disk unless given."""
    free = shutil.disk_usage(store.path.parent).free if free_bytes is None else free_bytes
    promised: Any = store.settings.get("pack") or {}
    loaded = {pack.sha256: pack for pack in Packs(store).all if pack.survey == survey}
    hash_right = promised.get("survey") == survey and promised.get("sha256") in loaded
    structures = max(loaded.values(), key=lambda pack: pack.loaded).structures if loaded else ()
    designed = {one.id for one in store.catalogue.structures() if one.design is not None}
    clock_off = store.settings.get("clock_off_s")
    clock_off_s = clock_off if isinstance(clock_off, int) else None
    bare = [name for name in structures if name not in designed]
    complete = hash_right and not bare
    todo: list[Todo] = []
    if store.identities.current is None:
        todo.append(Todo("enrol", "this tablet is not enrolled: ask the supervisor for a code"))
    if not hash_right:
        begun = promised.get("survey") == survey and bool(promised.get("sha256"))
        sort: TodoSort = "load_again" if begun else "load_pack"
        todo.append(Todo(sort, f"the pack of survey {survey} is not here whole: load it while there is a network"))
    if bare:
        todo.append(Todo("load_again", f"{', '.join(bare)}: no design is known: have the office enter it, and load again"))
    if free < ENOUGH_BYTES:
        todo.append(Todo("make_room", f"{free // 1_000_000} MB are free: make room for {ENOUGH_BYTES // 1_000_000}"))
    if clock_off_s is not None and abs(clock_off_s) > SMALL_OFFSET_S:
        todo.append(Todo("set_clock", f"this tablet's clock is {clock_off_s} s ahead of the server's: set it"))
    if any(aside.reason in ("newer", "unknown") for aside in store.set_aside()):
        todo.append(Todo("update_program", "a newer program wrote entries that this one cannot read: update it"))
    waiting = Outbox(store).waiting
    if waiting:
        todo.append(Todo("send_first", f"{waiting} entries are still to be sent: sync before leaving"))
    return Readiness(complete, hash_right, structures, free, clock_off_s, tuple(todo))
