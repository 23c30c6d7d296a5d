"""What a crew means when it names a place: the fragment there, the subject of an entry, all that hangs from an arm."""

from mobile.chart import Hung
from mobile.store import Store
from shared_schema.errors import NothingSuch
from shared_schema.ids import parse_address

__all__ = ["Whereabouts"]


class Whereabouts:
    """Finds what is meant on one tablet. `where` is an address, or the name of a fragment or a structure.

    Raises NothingSuch where that is not clear.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def resolve(self, where: str, fragment: str | None = None) -> str | None:
        """The name of the fragment that is meant, None at an empty position."""
        if fragment is not None:
            return fragment
        if where.startswith("fragment:"):
            return where.removeprefix("fragment:")
        if "/" not in where:
            return self.known(where, "fragment")
        hung = self._store.at(str(parse_address(where)))
        # A lost fragment keeps its place in the record until something else hangs there.
        names = [one.fragment for one in hung if one.here] or [one.fragment for one in hung]
        if len(names) > 1:
            raise NothingSuch(f"{' and '.join(names)} both hang at {where}: say which fragment is meant")
        return names[0] if names else None

    def name(self, where: str, fragment: str | None = None) -> str:
        """The name of the fragment that is meant; there must be one."""
        name = self.resolve(where, fragment)
        if name is None:
            raise NothingSuch(f"nothing hangs at {where}: name the fragment, or plant one there first")
        return name

    def subject(self, where: str) -> str:
        """The subject of what is said about a place itself: of a position, a page, a structure, or a fragment by name."""
        if ":" in where:
            return where
        if "/" in where:
            return f"{'position' if '.' in parse_address(where).path else 'page'}:{where}"
        structure = f"structure:{where}"
        return structure if self._store.findings_of(structure) else f"fragment:{self.known(where, 'structure or fragment')}"

    def known(self, fragment: str, sort: str) -> str:
        """A fragment's name, where this tablet knows it: a slip of the finger must not call a coral into being."""
        if not self._store.findings_of(f"fragment:{fragment}"):
            raise NothingSuch(f"there is no {sort} {fragment!r} on this tablet: look again, or say fragment:{fragment}")
        return fragment

    def on_arm(self, arm: str) -> list[Hung]:
        """All fragments of an arm, row or stretch: page and number, as `T07/3.2`."""
        address = parse_address(arm)
        chart = self._store.on_structure(address.structure)
        page, _, number = address.path.partition(".")
        if chart.design is None:
            raise NothingSuch(f"structure {address.structure} has no design here: mark its positions one by one")
        for group in chart.design.page(page).groups:
            if str(group.number) == number:
                return [hung for one in group.positions for hung in chart.at(f"{address.structure}/{one.path}")]
        raise NothingSuch(f"there is no arm, row or stretch {arm} on {address.page}")
