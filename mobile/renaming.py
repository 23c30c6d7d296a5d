"""Other ids for entries that were not sent yet: what the tablet keeps of its own, and names them in, follows.

A fragment or a dive that was named after an entry goes by its id too, so that an id may stand anywhere: alone, in a subject
(`fragment:k7f3qz-12`), in a sentence, in the name of a setting. All of them are found, wherever they stand, without a list
of places that would have to be kept complete.
"""

import re
from collections.abc import Mapping

from pydantic import JsonValue

__all__ = ["Renaming"]

_ID = re.compile(r"(?<![\w.-])[a-z0-9]{4,16}-[1-9][0-9]*(?![\w-]|\.\w)")  # whole: `k7f3qz-1` is not in `k7f3qz-12`


class Renaming:
    """Old id -> new id, applied to what a tablet remembers; never to what people wrote in the record."""

    def __init__(self, ids: Mapping[str, str]) -> None:
        self.ids = dict(ids)

    def text(self, text: str) -> str:
        """A text in which every old id is the new one."""
        return _ID.sub(lambda found: self.ids.get(found[0], found[0]), text)

    def value(self, value: JsonValue) -> JsonValue:
        """The same for all texts of a JSON value, keys included."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, list):
            return [self.value(each) for each in value]
        if isinstance(value, dict):
            return {self.text(name): self.value(each) for name, each in value.items()}
        return value
