"""The details of a dive while they are typed: kept at every change, and made into an entry when they are saved."""

from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, time, timedelta, tzinfo
from decimal import Decimal, InvalidOperation
from typing import Any, Final, Literal, Self, TypeAlias

from mobile.preferences import Memory
from shared_schema.errors import SchemaError

__all__ = ["DiveDraft", "Figure", "read_clock", "read_figure"]

Figure: TypeAlias = Literal["depth_cm", "visibility_cm", "water_temp_dc"]

_STEPS: Final[dict[Figure, int]] = {"depth_cm": 100, "visibility_cm": 100, "water_temp_dc": 10}
_HIGHEST: Final[dict[Figure, int]] = {"depth_cm": 20_000, "visibility_cm": 20_000, "water_temp_dc": 500}
_USUAL: Final[dict[Figure, tuple[int, int]]] = {"depth_cm": (0, 4000), "visibility_cm": (0, 6000), "water_temp_dc": (100, 350)}
"""Where a figure is unusual for a nursery dive, and so perhaps a slip of the finger. Common practice, not a limit."""
_LONG: Final = timedelta(hours=3)


def read_clock(digits: str) -> str:
    """`912` or `0912` -> `09:12`, empty for nothing. Raises SchemaError for what is no time of day."""
    if not digits:
        return ""
    padded = digits.zfill(4)
    if not padded.isdigit() or len(padded) != 4 or int(padded[:2]) > 23 or int(padded[2:]) > 59:
        raise SchemaError(f"{digits!r} is no time of day: write hours and minutes, as 0912")
    return f"{padded[:2]}:{padded[2:]}"


def read_figure(figure: Figure, digits: str) -> int | None:
    """Metres or degrees as typed -> whole centimetres or tenths of a degree, None for nothing. Raises SchemaError."""
    if not digits:
        return None
    try:
        value = int(Decimal(digits) * _STEPS[figure])
    except InvalidOperation as error:
        raise SchemaError(f"{digits!r} is no number: write digits, as 12.5") from error
    if not 0 <= value <= _HIGHEST[figure]:
        raise SchemaError(f"{digits} is too much: at most {_HIGHEST[figure] // _STEPS[figure]}")
    return value


@dataclass(frozen=True, slots=True)
class DiveDraft:
    """`visit` is the dive's id once it was saved; `day` YYYY-MM-DD; `went_in` and `came_out` HH:MM, empty where not known.

    `saved` says whether all of it is in the record as it stands here.
    """

    visit: str = ""
    day: str = ""
    went_in: str = ""
    came_out: str = ""
    place: str = ""
    people: tuple[str, ...] = ()
    depth_cm: int | None = None
    visibility_cm: int | None = None
    water_temp_dc: int | None = None
    saved: bool = False

    @classmethod
    def read(cls, memory: Memory) -> Self:
        """What was kept; an empty draft where nothing was, or where it makes no sense."""
        kept: Any = memory.get("dive_draft")
        if not isinstance(kept, dict) or set(kept) != set(asdict(cls())):
            return cls()
        return cls(**kept | {"people": tuple(kept["people"])})

    @classmethod
    def of(cls, visit: str, dive: dict[str, Any], zone: tzinfo | None) -> Self:
        """A dive that is in the record."""
        moments = {name: _local(dive.get(name), zone) for name in ("went_in", "came_out")}
        first = next((moment for moment in moments.values() if moment is not None), None)
        return cls(
            visit=visit,
            day="" if first is None else first.date().isoformat(),
            went_in=_clock(moments["went_in"]),
            came_out=_clock(moments["came_out"]),
            place=str(dive.get("place") or ""),
            people=tuple(dive.get("people") or ()),
            depth_cm=dive.get("depth_cm"),
            visibility_cm=dive.get("visibility_cm"),
            water_temp_dc=dive.get("water_temp_dc"),
            saved=True,
        )

    def keep(self, memory: Memory) -> None:
        """Keep it."""
        memory.put(dive_draft=asdict(self) | {"people": list(self.people)})

    def changed(self, **values: Any) -> Self:
        """With other values, and so no longer as it was saved."""
        return replace(self, **values, saved=False)

    def as_saved(self, visit: str) -> Self:
        """All of it is in the record now, as this dive."""
        return replace(self, visit=visit, saved=True)

    def fields(self, zone: tzinfo | None) -> dict[str, Any]:
        """What Recorder.log_dive takes. Who comes out earlier on the clock than they went in came out after midnight."""
        went_in, came_out = self._moment(self.went_in, zone), self._moment(self.came_out, zone)
        if went_in is not None and came_out is not None and came_out < went_in:
            came_out += timedelta(days=1)
        return {
            "people": self.people,
            "place": self.place or None,
            "went_in": went_in,
            "came_out": came_out,
            "depth_cm": self.depth_cm,
            "visibility_cm": self.visibility_cm,
            "water_temp_dc": self.water_temp_dc,
        }

    def unusual(self, now: datetime) -> tuple[str, ...]:
        """The fields that may hold a slip of the finger: they are asked about, and never refused."""
        found: list[str] = [name for name, (least, most) in _USUAL.items() if not least <= (getattr(self, name) or least) <= most]
        fields = self.fields(now.tzinfo)
        went_in, came_out = fields["went_in"], fields["came_out"]
        if went_in is not None and went_in > now:
            found.append("went_in")
        if came_out is not None and (came_out > now or (went_in is not None and came_out - went_in > _LONG)):
            found.append("came_out")
        return tuple(found)

    def _moment(self, clock: str, zone: tzinfo | None) -> datetime | None:
        if not clock or not self.day:
            return None
        return datetime.combine(date.fromisoformat(self.day), time.fromisoformat(clock), zone)


def _local(text: object, zone: tzinfo | None) -> datetime | None:
    return datetime.fromisoformat(text).astimezone(zone) if isinstance(text, str) else None


def _clock(moment: datetime | None) -> str:
    return "" if moment is None else f"{moment:%H:%M}"
