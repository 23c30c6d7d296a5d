"""Days, moments and numbers, written as the reader's language has them."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache

from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal

from server.pages.wording import gettext, language, ngettext

__all__ = [
    "ago_words",
    "clock_words",
    "day_words",
    "list_words",
    "moment_words",
    "numeral",
    "signed",
    "site_time",
    "tenths_words",
    "zone_words",
]


def numeral(number: float | Decimal) -> str:
    """A number, with at most three digits after the point."""
    return _numeral(number, language().locale)


@lru_cache(maxsize=8192)
def _numeral(number: float | Decimal, locale: str) -> str:
    """The same numbers stand on a page hundreds of times, and were a sixth of the work on it."""
    return format_decimal(number, locale=locale)


def tenths_words(tenths: int) -> str:
    """A number of tenths, with the one digit after the point shown: 961 is 96.1."""
    return format_decimal(Decimal(tenths) / 10, "#,##0.0", locale=language().locale)


def signed(number: Decimal, places: int | None = None) -> str:
    """A rate with its sign, each of its digits shown, or as many after the point as `places` says."""
    places = max(0, -int(number.as_tuple().exponent)) if places is None else places
    digits = "0" * places
    shape = f"#,##0.{digits}" if places else "#,##0"
    return format_decimal(number, f"+{shape};−{shape}", locale=language().locale)


def list_words(words: tuple[str, ...]) -> str:
    """Several things in a row: A, B and C."""
    return format_list(list(words), locale=language().locale)


def day_words(day: date | str | None) -> str:
    """A day, as 14 Nov 2026; what is no day, as it is."""
    try:
        found = date.fromisoformat(day) if isinstance(day, str) else day
    except ValueError:
        return str(day)
    return "" if found is None else format_date(found, "medium", locale=language().locale)


def site_time(moment: datetime | str) -> str:
    """A moment in the time that its own clock kept, as 14 Nov 2026, 09:42; zone_words says which time that is."""
    if isinstance(moment, str):
        try:
            moment = datetime.fromisoformat(moment)
        except ValueError:
            return str(moment)
    return f"{day_words(moment.date())}, {moment:%H:%M}"


def zone_words(moment: datetime) -> str:
    """The offset of a clock from UTC, as UTC−4."""
    minutes = int((moment.utcoffset() or timedelta()).total_seconds()) // 60
    hours, rest = divmod(abs(minutes), 60)
    sign = "−" if minutes < 0 else "+"
    return f"UTC{sign}{hours}" + (f":{rest:02}" if rest else "")


def moment_words(ms: int) -> str:
    """A moment, milliseconds since 1970, in UTC."""
    return site_time(datetime.fromtimestamp(ms / 1000, UTC))


def ago_words(ms: int, now: datetime) -> str:
    """How long ago a moment was."""
    minutes = max(0, int(now.timestamp() - ms / 1000) // 60)
    if minutes < 2:
        return gettext("just now")
    if minutes < 120:
        return gettext("%(n)s minutes ago") % {"n": minutes}
    if minutes < 48 * 60:
        return gettext("%(n)s hours ago") % {"n": minutes // 60}
    days = minutes // 1440
    return ngettext("%(n)s day ago", "%(n)s days ago", days) % {"n": numeral(days)}


def clock_words(off_s: int) -> str:
    """How far a tablet's clock was off when it brought the entry."""
    if off_s == 0:
        return gettext("clock right to the second")
    amount = abs(off_s)
    if amount < 120:
        size = ngettext("%(n)s second", "%(n)s seconds", amount) % {"n": amount}
    elif amount < 2 * 3600:
        size = gettext("%(n)s minutes") % {"n": round(amount / 60)}
    else:
        size = gettext("%(n)s hours") % {"n": numeral(round(amount / 3600))}
    return (gettext("clock %(size)s fast") if off_s > 0 else gettext("clock %(size)s slow")) % {"size": size}
