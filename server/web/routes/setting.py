"""The shop's own choices: see, change, put back."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import setting as actions
from server.settings import ShopSettings
from server.storage.queries import setting as queries
from server.storage.queries.history import list_events
from server.web.forms.conflict import conflict_of
from server.web.forms.form import Form
from server.web.forms.setting import UNIT_CHOICES, read_settings, typed_of_settings
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.setting import SettingEdit
from server.web.problems import status_of

router = APIRouter(prefix="/office/setting", include_in_schema=False)


@router.get("")
def settings(visit: Visiting, saved: bool = False) -> Response:
    """The shop's choices as they are."""
    return visit.answer(_edit(visit, None, saved=saved))


@router.post("")
def save_settings(visit: Visiting, typed: Typed) -> Response:
    """Change the shop's choices; every page uses them at once."""
    form = Form.posted(typed, visit.unit)
    values, version = read_settings(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_settings(session, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    visit.house.reload_settings()
    return visit.go_to("/office/setting?saved=yes")


@router.post("/put-back")
def put_settings_back(visit: Visiting, typed: Typed) -> Response:
    """Undo one change."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_settings_back(session, event_id, by=visit.person)
    visit.house.reload_settings()
    return visit.go_to("/office/setting?saved=yes")


def _edit(visit: Visit, form: Form | None, *, saved: bool = False) -> SettingEdit:
    """The page around a form, or around what is kept when there is none."""
    show = replace(visit.show, unit=form.unit) if form is not None else visit.show
    with visit.database.reading() as session:
        version = queries.get_shop_settings_version(session)
        typed_now = typed_of_settings(queries.get_shop_settings(session), version, show)
        events = list_events(session, noun=actions.NOUN, key=queries.SHOP)
    form = form or Form(typed_now, visit.unit)
    return SettingEdit(
        frame=visit.frame(
            "Settings", "setting", styles=("tool",), notice="Saved." if saved else ""
        ),
        form=form,
        usual=ShopSettings(),
        units=UNIT_CHOICES,
        conflict=conflict_of(form, typed_now, version=version),
        history=history_of(events, visit.show, put_back_path="/office/setting/put-back"),
    )
