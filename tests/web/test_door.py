"""The door: both sides, the reader's own unit and name, health, static files."""

import pytest

from tests.conftest import Office


def test_the_door_leads_to_both_sides(office: Office) -> None:
    page = office.get("/").text
    assert 'href="/office"' in page
    assert 'href="/brake"' in page


def test_the_reader_chooses_the_unit_for_this_device(office: Office) -> None:
    assert "16\u202fmm" in office.get("/office/tool").text
    answer = office.post("/reader", {"unit": "in", "back": "/office/tool"})
    assert answer.headers["location"] == "/office/tool"
    assert "samesite=lax" in answer.headers["set-cookie"].lower()
    page = office.get("/office/tool").text
    assert "0.6299\u202fin" in page  # 16 mm
    assert "\u202fmm" not in page
    office.post("/reader", {"unit": "furlong"})
    assert "0.6299\u202fin" in office.get("/office/tool").text


def test_an_open_page_is_told_where_to_go_instead_of_being_redirected(office: Office) -> None:
    answer = office.post(
        "/reader", {"unit": "in", "back": "/office"}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 204
    assert answer.headers["hx-redirect"] == "/office"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("Ann", "Ann"), ("  Bo   Li ", "Bo Li"), ("<b>x</b>", "&lt;b&gt;x&lt;/b&gt;"), ("", "office")],
)
def test_the_name_of_whoever_works_here_stands_on_the_page(
    office: Office, typed: str, shown: str
) -> None:
    office.post("/reader", {"person": typed})
    assert f'popovertarget="person">{shown}<' in office.get("/").text


def test_a_name_beyond_40_signs_is_cut(office: Office) -> None:
    office.post("/reader", {"person": "x" * 500})
    assert "x" * 41 not in office.get("/").text


def test_health_asks_the_database(office: Office) -> None:
    assert office.get("/health").json() == {"state": "up"}


def test_a_marked_static_file_is_kept_for_a_year_and_an_unmarked_one_is_not(
    office: Office,
) -> None:
    page = office.get("/").text
    marked = page.split('href="/static/css/tokens.css')[1].split('"')[0]
    assert "immutable" in office.get(f"/static/css/tokens.css{marked}").headers["cache-control"]
    assert office.get("/static/css/tokens.css").headers["cache-control"] == "no-cache"


def test_nothing_is_served_from_outside_the_static_folder(office: Office) -> None:
    for path in (
        "/static/../pyproject.toml",
        "/static/%2e%2e/pyproject.toml",
        "/static//etc/passwd",
    ):
        assert office.get(path).status_code == 404


@pytest.mark.parametrize("path", ["/", "/office/tool", "/office/brake/BRAKE-1", "/office/setting"])
def test_a_page_with_all_it_loads_weighs_under_150_kb(office: Office, path: str) -> None:
    page = office.get(path)
    assets = {part.split('"')[0] for part in page.text.split('="/static/')[1:]}
    loaded = [office.get(f"/static/{asset}") for asset in assets]
    fonts = [office.get(f"/static/vendor/b612/b612-latin-{w}-normal.woff2") for w in (400, 700)]
    assert all(answer.status_code == 200 for answer in (*loaded, *fonts))
    weight = sum(
        int(answer.headers.get("content-length", len(answer.content)))
        for answer in (page, *loaded, *fonts)
    )
    assert weight < 150_000, f"{path} weighs {weight} bytes as sent"


@pytest.mark.parametrize("path", ["/", "/office/tool", "/office/brake/BRAKE-1"])
def test_nothing_is_fetched_from_outside_the_server(office: Office, path: str) -> None:
    page = office.get(path).text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "http://" not in page
    assert "https://" not in page
    assert 'src="//' not in page
