"""Moments as a crew reads them: the hour for today, the day for another one."""

from datetime import datetime

__all__ = ["clock_text"]


def clock_text(moment: datetime | str, now: datetime | None = None) -> str:
    """`09:12`, or `2026-11-13 09:12` where that was another day than `now` (today, unless given), in this place's time."""
    then = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    local = then.astimezone()
    today = (now or datetime.now().astimezone()).astimezone()
    return f"{local:%H:%M}" if local.date() == today.date() else f"{local:%Y-%m-%d %H:%M}"
