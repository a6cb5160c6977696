"""Reading and keeping the shop's own choices."""

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from sqlmodel import Session

from server.settings import BendSettings, HandlingSeconds, ShopSettings
from server.storage.tables.column import utc_now
from server.storage.tables.event import Setting

SHOP = "shop"


def find_setting(session: Session, key: str) -> Any:
    """The value kept under a key, or None."""
    row = session.get(Setting, key)
    return None if row is None else row.value


def put_setting(session: Session, key: str, value: Any) -> None:
    """Keep a value under a key."""
    row = session.get(Setting, key) or Setting(key=key)
    row.value = value
    row.changed_at = utc_now()
    session.add(row)


def get_shop_settings(session: Session) -> ShopSettings:
    """The shop's choices; what it never chose has its default."""
    return settings_of(find_setting(session, SHOP) or {})


def get_shop_settings_version(session: Session) -> int:
    """How often the shop's choices were kept; grows with every change."""
    return int((find_setting(session, SHOP) or {}).get("version", 0))


def put_shop_settings(session: Session, settings: ShopSettings) -> None:
    """Keep the shop's choices as the next version."""
    version = get_shop_settings_version(session) + 1
    put_setting(session, SHOP, {**choices_of(settings), "version": version})


def choices_of(settings: ShopSettings) -> dict[str, Any]:
    """Every choice under its own name, in one level."""
    values = asdict(settings)
    return {**values.pop("bend"), **values.pop("handling"), **values}


def settings_of(choices: Mapping[str, Any]) -> ShopSettings:
    """`choices_of` inverted: a missing choice has its default, an unknown one is left out."""
    bend, handling, shop = (
        {field.name: choices[field.name] for field in fields(group) if field.name in choices}
        for group in (BendSettings, HandlingSeconds, ShopSettings)
    )
    return ShopSettings(**shop, bend=BendSettings(**bend), handling=HandlingSeconds(**handling))
