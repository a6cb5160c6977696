"""Between the database's UTC and the clock on the shop's wall, which is the office PC's own."""

from datetime import UTC, datetime


def wall_clock(at: datetime) -> datetime:
    """A UTC time as the shop's clock shows it, plain."""
    return at.astimezone().replace(tzinfo=None)


def utc_of(wall: datetime) -> datetime:
    """What the shop's clock shows, as UTC."""
    return wall.astimezone(UTC)
