"""Long lists in pages: which part is shown, and where the parts before and after are."""

from dataclasses import dataclass

__all__ = ["Part"]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a list of `total`, `size` at a time; `number` counts from 1."""

    number: int
    size: int
    total: int

    @property
    def first(self) -> int:
        """The index of the first one shown."""
        return (self.number - 1) * self.size

    @property
    def last(self) -> int:
        """The index after the last one shown."""
        return min(self.first + self.size, self.total)

    @property
    def before(self) -> int | None:
        """The number of the part before."""
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        """The number of the part after."""
        return self.number + 1 if self.last < self.total else None
