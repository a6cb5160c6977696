"""What a new shop starts with: the reference tables, and the demo shop unless told otherwise."""

from server.actions.demo import load_demo_work
from server.actions.demo_brake import load_demo_brake
from server.actions.demo_history import load_demo_history
from server.actions.demo_office import load_demo_rates
from server.actions.demo_schedule import load_demo_schedule, load_shifts
from server.actions.demo_stock import load_demo_stock
from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.queries.setting import find_setting, put_setting
from server.storage.seed import load_demo_machine, load_materials

FILLED = "filled_with"


def fill_once(database: Database, *, empty: bool) -> None:
    """Fill a new database in one transaction; a database that was filled is left alone."""
    with database.reading() as session:
        if find_setting(session, FILLED) is not None:
            return
    with database.writing() as session:
        load_materials(session)
        load_shifts(session)
        if not empty:
            load_demo_machine(session)
            session.flush()
            load_demo_work(session, settings=ShopSettings())
            load_demo_stock(session)
            load_demo_brake(session, settings=ShopSettings())
            load_demo_rates(session, settings=ShopSettings())
            load_demo_history(session)
            load_demo_schedule(session)
        put_setting(session, FILLED, "reference tables" if empty else "demo shop")
