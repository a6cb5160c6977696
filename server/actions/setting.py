"""The shop's own choices."""

from server.actions.history import before_event, keep, settled
from server.errors import ShopError
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.queries.setting import (
    SHOP,
    choices_of,
    get_shop_settings,
    get_shop_settings_version,
    put_shop_settings,
    settings_of,
)

NOUN = "setting"


def save_settings(
    session: Session, settings: ShopSettings, *, version: int, by: str
) -> ShopSettings:
    """Changed choices of the shop.

    Raises: ShopError `edit_conflict`.
    """
    if version != get_shop_settings_version(session):
        raise ShopError(
            "edit_conflict",
            "Somebody changed the settings while you had them open.",
            remedy="Compare below, then save yours over them or take what is saved.",
            where="form",
        )
    return _change(session, settings, did="changed", by=by)


def put_settings_back(session: Session, event_id: int, *, by: str) -> ShopSettings:
    """Undo one change of the settings.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    now = choices_of(get_shop_settings(session))
    before = before_event(session, event_id, noun=NOUN, key=SHOP, now=now)
    return _change(session, settings_of({**now, **before}), did="put back", by=by)


def _change(session: Session, settings: ShopSettings, *, did: str, by: str) -> ShopSettings:
    before = choices_of(get_shop_settings(session))
    after = {name: settled(before[name], value) for name, value in choices_of(settings).items()}
    if after == before:
        return settings
    kept = settings_of(after)
    put_shop_settings(session, kept)
    keep(session, did, noun=NOUN, key=SHOP, by=by, before=before, after=after)
    return kept
