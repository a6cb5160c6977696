"""The web application: put together here, and nowhere else."""

import os
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from anyio import to_thread
from fastapi import FastAPI
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from server.actions.planner_pool import PlannerPool
from server.settings import DATABASE_VARIABLE, ShopSettings, house_folder
from server.storage.database import Database
from server.storage.queries.setting import get_shop_settings
from server.web.house import House
from server.web.problems import add_problem_handlers
from server.web.routes import (
    attachment,
    bend_sequence,
    brake,
    calc,
    care,
    care_task,
    coupon,
    customer,
    cut,
    door,
    draft,
    finder,
    first_article,
    flat_draft,
    install,
    job,
    key_in,
    learned_bend,
    lot,
    material,
    number,
    order,
    other_sheet,
    paper,
    part,
    planning,
    practice,
    program,
    quote,
    rate,
    run,
    schedule,
    setting,
    setup,
    stock,
    stoppage,
    table_import,
    today,
    tool,
    trial,
    worth,
)
from server.web.security import (
    LARGEST_BODY_BYTES,
    LARGEST_FIELD_BYTES,
    MOST_FIELDS,
    MOST_FILES,
    Guard,
)

THREADS = 6  # with 40 threads the slowest writes waited 0.7 s; with 4 to 8 under 0.1 s
ROUTERS = (
    run.router,  # routes are tried in order, and a tablet waits for these
    door.router,
    install.router,
    finder.router,
    today.router,
    calc.router,
    draft.router,
    flat_draft.router,
    part.router,
    material.router,
    tool.router,
    brake.router,
    lot.router,
    customer.router,
    order.router,
    job.router,
    stock.router,
    cut.router,
    attachment.router,
    setting.router,
    bend_sequence.router,
    planning.router,
    other_sheet.router,
    worth.router,
    learned_bend.router,
    stoppage.router,
    care_task.router,
    care.router,
    practice.router,
    coupon.router,
    key_in.router,
    program.router,
    paper.router,
    schedule.router,
    setup.router,
    rate.router,
    quote.router,
    number.router,
    table_import.router,
    trial.router,
    first_article.router,
)


BRAKE_SIDE = (
    run.router,
    trial.router,
    first_article.router,
    setup.router,
    key_in.router,
    program.router,
    stoppage.router,
    care.router,
    coupon.router,
)
"""What can be practised: the same pages again, on a practice's own copy of the shop."""


def make_app(
    database: Database, settings: ShopSettings, *, host_names: Iterable[str] = ()
) -> FastAPI:
    """The application on one database."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        to_thread.current_default_thread_limiter().total_tokens = THREADS
        yield
        app.state.planner.close()
        app.state.schedule_pool.close()
        app.state.house.practices.end_all()
        database.close()

    app = FastAPI(
        title="Bendwright",
        version=program_version(),
        lifespan=lifespan,
        docs_url="/api/docs",
        openapi_url="/api/openapi.json",
        redoc_url=None,
        form_limits={
            "max_fields": MOST_FIELDS,
            "max_files": MOST_FILES,
            "max_part_size": LARGEST_FIELD_BYTES,
        },
    )
    app.state.house = House(database, settings)
    app.state.planner = PlannerPool()
    app.state.schedule_pool = PlannerPool()
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=LARGEST_BODY_BYTES)
    app.add_middleware(GZipMiddleware, minimum_size=1024, compresslevel=5)
    app.add_middleware(Guard, host_names=host_names)  # outermost: every answer passes it
    app.mount("/static", LastingFiles(directory=house_folder("static")), name="static")
    for router in ROUTERS:
        app.include_router(router)
    for router in BRAKE_SIDE:
        app.include_router(router, prefix="/practice/{practice}")
    add_problem_handlers(app)
    return app


def app_from_environment() -> FastAPI:
    """The application on the database that the environment names; what the server starts."""
    database = Database(Path(os.environ[DATABASE_VARIABLE]))
    with database.reading() as session:
        settings = get_shop_settings(session)
    return make_app(database, settings)


class LastingFiles(StaticFiles):
    """Static files that a browser may keep, because their address changes with their content."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, kept for a year when asked for by its mark."""
        response = await super().get_response(path, scope)
        marked = b"v=" in scope.get("query_string", b"")
        keep = "public, max-age=31536000, immutable" if marked else "no-cache"
        response.headers["cache-control"] = keep
        return response


def program_version() -> str:
    """The installed version, or 'checkout'."""
    try:
        return version("bendwright")
    except PackageNotFoundError:
        return "checkout"
