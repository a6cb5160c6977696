"""The tablet at the brake: by touch from the queue to a finished job, with and without a network."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Locator, Page, Route, expect

from server.actions.run import start_job
from server.actions.running import count_parts, finish_run, pass_first_article, start_run
from server.settings import ShopSettings
from server.storage.queries.bend_sequence import list_keyed_steps
from server.storage.queries.job import get_job, get_run
from server.storage.queries.note import list_run_notes
from server.storage.queries.part import get_revision
from server.storage.queries.trial import list_run_trials
from server.storage.tables.job import Run
from server.storage.tables.part import Revision
from tests.browser.conftest import OFFICE, TABLET, WATCH, Watched
from tests.browser.test_every_page import is_wider_than_its_window, serious, too_small

EXPECTED = ("net::ERR", "422", "409")
"""What a browser itself notes when a network is cut or a form is refused."""
SIZES = pytest.mark.parametrize("size", [OFFICE, TABLET], ids=["landscape", "portrait"])
Tablets = Callable[[], Watched]


@pytest.fixture
def tablets(chromium: Browser, address: str) -> Iterator[Tablets]:
    """As many tablets as a test asks for; whatever goes wrong on one fails the test."""
    made: list[Watched] = []

    def another() -> Watched:
        context = chromium.new_context(
            viewport=OFFICE,  # type: ignore[arg-type]
            has_touch=True,
        )
        context.add_init_script(WATCH)
        context.set_default_timeout(10_000)
        made.append(Watched(context.new_page(), address))
        made[-1].watch()
        return made[-1]

    yield another
    for tablet in made:
        said = [one for one in tablet.said if not any(word in one for word in EXPECTED)]
        assert said == []
        assert tablet.foreign == []
        tablet.page.context.close()


def begun(shop: Any, *, quantity: int = 3, first_article: bool = False, job: str = "J-1047") -> int:
    with shop.writing() as session:
        run = start_job(session, job, settings=ShopSettings(), by="Ann")
        start_run(session, run.id or 0, by="Ann")
        if not first_article:
            pass_first_article(session, run.id or 0, by="Ann")
        run.quantity_count = quantity
        session.add(run)
        get_job(session, job).quantity_count = quantity
        return run.id or 0


def run_of(shop: Any, run_id: int) -> Run:
    with shop.reading() as session:
        return get_run(session, run_id)


def is_live(page: Page) -> None:
    expect(page.locator("#line-state")).to_have_attribute("data-state", "live")


def is_sent(page: Page) -> None:
    expect(page.locator("#line-state")).to_have_text("live", timeout=15_000)


def tap(page: Page, what: str | Locator) -> None:
    """A tap no double tap guard takes for the second of a pair."""
    target = page.locator(what) if isinstance(what, str) else what
    page.wait_for_timeout(380)
    target.tap()


def key(page: Page, panel: str, digits: str) -> None:
    for digit in digits:
        page.locator(f"{panel} [data-key='{digit}']").tap()


def a_part(page: Page, done: str = "Part done") -> None:
    """Through all steps of one part."""
    while page.locator("#next").is_visible():
        tap(page, "#next")
    tap(page, page.get_by_role("button", name=done))


def test_from_the_queue_to_a_finished_job_by_touch_only(tablets: Tablets, shop: Any) -> None:
    with shop.writing() as session:
        get_job(session, "J-1041").quantity_count = 2
    tablet = tablets()
    page = tablet.open("/brake")
    tap(page, page.get_by_role("button", name="J-1041"))
    tap(page, page.get_by_role("link", name="Set up", exact=True))
    page.locator("#who").fill("Ann")
    tap(page, page.get_by_role("button", name="That is me"))
    tap(page, page.get_by_role("button", name="Measure"))
    key(page, "#edges", "1.52")
    tap(page, page.get_by_role("button", name="Keep these readings"))
    tap(page, page.get_by_role("button", name="Touch off", exact=True))
    key(page, "#touch-off", "71.3")
    tap(page, page.get_by_role("button", name="Keep this touch-off"))
    done = page.locator(".do-it:enabled", has_text="✔ Done")
    while (left := done.count()) > 0:
        done.first.tap()
        expect(done).not_to_have_count(left)
    tap(page, page.get_by_role("button", name="Sign as Ann, first part"))
    is_live(page)
    run_id = int(page.url.rsplit("/", 1)[1])
    wanted = float(page.locator("main.run:visible").get_attribute("data-wanted") or 0)

    tap(page, "#measure-step")
    tap(page, page.locator("#measure .pick", has_text="bend angle"))
    key(page, "#measure", f"{wanted - 2:g}")
    tap(page, page.get_by_role("button", name="Keep this measurement"))
    expect(page.locator("#trial-answer")).to_contain_text("not bent far enough")
    told = page.locator(".rule", has_text="Learned").locator(".big").inner_text()
    tap(page, page.get_by_role("button", name="Key the learned Y"))
    expect(page.locator("main.run:visible [data-axis=y]")).to_have_text(told)

    a_part(page, "First part")
    tap(page, "#sign-first")
    expect(page.locator("#part-now")).to_have_text("2")
    a_part(page)
    tap(page, page.get_by_role("button", name="Finish", exact=True))
    page.wait_for_url("**/end")
    expect(page.locator(".tallies")).to_contain_text("good of 2")
    run = run_of(shop, run_id)
    with shop.reading() as session:
        assert get_job(session, "J-1041").state == "made"
        trials = list_run_trials(session, run_id)
    assert (run.state, run.good_count, run.operator) == ("done", 2, "Ann")
    assert [trial.bend_angle_deg for trial in trials] == [wanted - 2]
    assert tablet.blocked() == []


def test_a_network_cut_in_the_middle_loses_nothing_and_doubles_nothing(
    tablets: Tablets, shop: Any
) -> None:
    run_id = begun(shop, quantity=9)
    tablet = tablets()
    page = tablet.open(f"/brake/run/{run_id}")
    is_live(page)
    page.context.set_offline(True)
    expect(page.locator("#line-state")).to_contain_text("offline")
    a_part(page)  # every step is in the page
    expect(page.locator("#part-now")).to_have_text("2")
    tap(page, "#measure-step")
    tap(page, page.locator("#measure .pick", has_text="bend angle"))
    key(page, "#measure", "88.5")
    tap(page, page.get_by_role("button", name="Keep this measurement"))
    by_hand = page.locator("[data-take=hand]")  # the rule operators know needs no server
    keyed = (by_hand.get_attribute("data-y")) or ""
    tap(page, by_hand)
    expect(page.locator("main.run:visible [data-axis=y]")).to_have_text(keyed)
    tap(page, page.get_by_role("button", name="More"))
    tap(page, page.get_by_role("button", name="Note or photo"))
    page.locator("#note-text").fill("burr on the left")
    page.locator("#note-photo").set_input_files(
        {"name": "big.png", "mimeType": "image/png", "buffer": page.screenshot()}
    )
    tap(page, page.get_by_role("button", name="Keep it"))
    a_part(page)
    tap(page, "#line-state")
    expect(page.locator("#kept-list")).to_contain_text("burr on the left")
    assert run_of(shop, run_id).good_count == 0

    page = switched_off_and_on(tablet)
    page.context.set_offline(False)
    page.goto(f"{tablet.address}/brake")
    is_sent(page)
    with shop.reading() as session:
        run = get_run(session, run_id)
        assert run.good_count == 2
        (note,) = list_run_notes(session, run_id)
        trials = list_run_trials(session, run_id)
        step = list_keyed_steps(session, run.bend_sequence_id, run.setup_id)[0].keyed
    assert note.text == "burr on the left"
    photo = shop.path.parent / "photo" / note.photo
    assert photo.read_bytes().startswith(b"\xff\xd8\xff")  # made a small JPEG on the tablet
    assert [trial.bend_angle_deg for trial in trials] == [88.5]
    assert step is not None
    assert f"{step.y_mm:.2f}" == keyed


def switched_off_and_on(tablet: Watched) -> Page:
    """The same tablet with no page open but a new one."""
    context = tablet.page.context
    tablet.page.close()
    tablet.page = context.new_page()
    tablet.watch()
    return tablet.page


def test_an_answer_that_is_lost_on_its_way_is_asked_for_again_and_counts_once(
    tablets: Tablets, shop: Any
) -> None:
    run_id = begun(shop, quantity=9)
    page = tablets().open(f"/brake/run/{run_id}")
    is_live(page)
    lost: list[str] = []

    def lose(route: Route) -> None:
        if len(lost) < 2:
            lost.append(route.request.post_data or "")
            route.fetch()  # the server did it; nobody here hears of it
            route.abort()
        else:
            route.continue_()

    page.route("**/count", lose)
    a_part(page)
    is_sent(page)
    assert len(lost) == 2
    assert run_of(shop, run_id).good_count == 1
    expect(page.locator("#part-now")).to_have_text("2")


def test_a_double_tap_counts_once_and_a_count_is_taken_back(tablets: Tablets, shop: Any) -> None:
    run_id = begun(shop, quantity=9)
    page = tablets().open(f"/brake/run/{run_id}")
    while page.locator("#next").is_visible():
        tap(page, "#next")
    page.wait_for_timeout(400)
    page.evaluate("for (const _ of [1, 2, 3]) document.getElementById('part-done').click()")
    is_sent(page)
    assert run_of(shop, run_id).good_count == 1
    tap(page, "#undo-last")
    is_sent(page)
    expect(page.locator("#part-now")).to_have_text("1")
    assert run_of(shop, run_id).good_count == 0


def test_two_tablets_and_the_office_stay_in_step_and_count_together(
    tablets: Tablets, shop: Any
) -> None:
    run_id = begun(shop, quantity=9)
    left, right = tablets().open(f"/brake/run/{run_id}"), tablets().open(f"/brake/run/{run_id}")
    office = tablets().open("/office")
    is_live(left)
    is_live(right)
    expect(office.locator("#line-word")).to_have_text("live")
    tap(left, "#next")
    expect(right.locator("#step-now")).to_have_text("2")
    a_part(left)
    expect(right.locator("#part-now")).to_have_text("2")
    expect(office.locator("#at-brake")).to_contain_text("1 of 9")
    for page in (left, right):  # both at the same time
        page.context.set_offline(True)
        a_part(page)
    for page in (left, right):
        page.context.set_offline(False)
    for page in (left, right):
        is_sent(page)
        expect(page.locator("#part-now")).to_have_text("4")
    assert run_of(shop, run_id).good_count == 3


def test_a_server_started_anew_is_followed_and_a_run_finished_elsewhere_ends_here(
    tablets: Tablets, shop: Any, app: FastAPI
) -> None:
    run_id = begun(shop, quantity=9)
    page = tablets().open(f"/brake/run/{run_id}")
    is_live(page)
    app.state.house.live.boot = "another"
    with shop.writing() as session:
        count_parts(session, run_id, good=4, by="Bo")
    expect(page.locator("#part-now")).to_have_text("5")
    expect(page.locator("#run")).to_have_attribute("data-boot", "another")
    is_live(page)
    with shop.writing() as session:
        finish_run(session, run_id, by="Bo")
    expect(page.locator("#line-state")).to_have_attribute("data-state", "ended")
    expect(page.locator("#run-band")).to_contain_text("Finished")
    expect(page.locator("#part-done")).to_be_hidden()


def test_a_revision_made_meanwhile_stops_an_open_page(tablets: Tablets, shop: Any) -> None:
    run_id = begun(shop)
    page = tablets().open(f"/brake/run/{run_id}")
    is_live(page)
    with shop.writing() as session:
        old = get_revision(session, "HR-3005", "A")
        session.add(Revision(**{**old.model_dump(exclude={"made_at"}), "label": "B"}))
    expect(page.locator("#superseded")).to_be_visible()
    tap(page, page.get_by_role("button", name="Hold this run"))
    expect(page.locator("#run-band")).to_contain_text("superseded by B")
    is_sent(page)
    assert run_of(shop, run_id).state == "held"


def test_going_back_shows_what_is_true_now(tablets: Tablets, shop: Any) -> None:
    run_id = begun(shop, quantity=9)
    page = tablets().open("/brake")
    page.goto(f"{page.url}/run/{run_id}")
    a_part(page)
    is_sent(page)
    page.go_back()
    page.go_forward()
    expect(page.locator("#part-now")).to_have_text("2")
    assert run_of(shop, run_id).good_count == 1


def test_a_strange_angle_is_asked_about_on_the_tablet(tablets: Tablets, shop: Any) -> None:
    run_id = begun(shop, first_article=True)
    page = tablets().open(f"/brake/run/{run_id}")
    tap(page, "#measure-step")
    for typed, says in (("190", "No bend shows"), ("9", "far from")):
        page.locator("#trial-angle").fill(typed)
        tap(page, page.get_by_role("button", name="Keep this measurement"))
        expect(page.locator("#trial-answer")).to_contain_text(says)
    tap(page, page.locator("[data-meant]").first)
    expect(page.locator(".verdict.good")).to_be_visible()
    with shop.reading() as session:
        assert [one.bend_angle_deg for one in list_run_trials(session, run_id)] == [90.0]


@SIZES
def test_every_state_of_the_run_page_is_whole_and_readable(
    tablets: Tablets, shop: Any, size: dict[str, int]
) -> None:
    run_id = begun(shop, first_article=True)
    tablet = tablets()
    page = tablet.page
    page.set_viewport_size(size)  # type: ignore[arg-type]

    def looked_at(what: str) -> None:
        assert not is_wider_than_its_window(tablet), what
        assert too_small(tablet) == [], what
        assert serious(tablet) == [], what

    tablet.open("/brake")
    looked_at("queue")
    tablet.open(f"/brake/run/{run_id}")
    is_live(page)
    looked_at("step")
    assert page.evaluate("document.documentElement.scrollHeight") <= size["height"]
    tap(page, "#measure-step")
    looked_at("measure")
    page.locator("#trial-angle").fill("9")
    tap(page, page.get_by_role("button", name="Keep this measurement"))
    expect(page.locator("[data-meant]").first).to_be_visible()
    looked_at("asked")
    tap(page, page.locator("#measure .pick", has_text="bend angle"))
    page.locator("#trial-angle").fill("87")
    tap(page, page.get_by_role("button", name="Keep this measurement"))
    expect(page.locator(".rules")).to_be_visible()
    looked_at("answer")
    for panel in ("more", "scrap", "hold", "note", "finish", "first-part", "kept"):
        page.evaluate(
            "name => { document.querySelectorAll('dialog[open]').forEach(one => one.close());"
            " document.getElementById(name).showModal(); }",
            panel,
        )
        looked_at(panel)
    page.evaluate("document.querySelectorAll('dialog[open]').forEach(one => one.close())")
    page.evaluate(f"fetch('/brake/run/{run_id}/hold', {{method: 'POST'}})")
    expect(page.locator("#run-band .care")).to_be_visible()
    looked_at("held")
    for path in ("first-article", "end"):
        tablet.open(f"/brake/run/{run_id}/{path}")
        looked_at(path)
    assert tablet.blocked() == []
