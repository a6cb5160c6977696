"""The door holds: who may write, which hosts are answered, what a page may load, how much it takes."""

from collections.abc import AsyncIterator
from typing import Any
from urllib.parse import quote

import httpx
import pytest
from fastapi import FastAPI

from server.web.security import HEADERS, POLICY
from tests.conftest import BASE, Office

WRITE = "/office/material/S235JR/archived"


def answers(office: Office, app: FastAPI) -> dict[str, httpx.Response]:
    """One answer of every kind the server gives."""

    @app.get("/broken-on-purpose")
    def broken() -> None:
        raise RuntimeError("a bug of ours")

    return {
        "page": office.get("/office/material"),
        "redirect": office.post("/reader", {"unit": "mm"}),
        "static": office.get("/static/css/tokens.css"),
        "not found": office.get("/nowhere"),
        "not found in static": office.get("/static/css/no-such.css"),
        "no such tool": office.get("/office/punch/NOBODY"),
        "wrong method": office.send("DELETE", "/office/material", headers={"Origin": BASE}),
        "form refused": office.post("/office/material/new", {"name": ""}),
        "bad query": office.get("/office/tool?archived=maybe"),
        "bug": office.get("/broken-on-purpose"),
        "foreign origin": office.post(WRITE, headers={"Origin": "https://evil.example"}),
        "foreign host": office.get("/", headers={"Host": "evil.example"}),
        "api": office.send("POST", "/api/calc/gauge", json={"family": "steel", "gauge": 11}),
        "api refused": office.send("POST", "/api/calc/gauge", json={"family": "steel"}),
        "api docs": office.get("/api/openapi.json"),
    }


def test_every_kind_of_answer_carries_the_security_headers(office: Office, app: FastAPI) -> None:
    statuses = {}
    for kind, answer in answers(office, app).items():
        statuses[kind] = answer.status_code
        for name, value in HEADERS.items():
            assert answer.headers.get(name) == value, f"{kind} ({answer.status_code}): {name}"
    assert statuses == {
        "page": 200,
        "redirect": 303,
        "static": 200,
        "not found": 404,
        "not found in static": 404,
        "no such tool": 404,
        "wrong method": 405,
        "form refused": 422,
        "bad query": 422,
        "bug": 500,
        "foreign origin": 403,
        "foreign host": 400,
        "api": 200,
        "api refused": 422,
        "api docs": 200,
    }


def test_the_policy_allows_no_inline_and_nothing_from_outside() -> None:
    assert "unsafe" not in POLICY
    assert "http" not in POLICY
    assert "default-src 'none'" in POLICY
    assert "frame-ancestors 'none'" in POLICY


def test_a_bug_shows_a_reference_and_not_our_code(
    office: Office, app: FastAPI, caplog: pytest.LogCaptureFixture
) -> None:
    page = answers(office, app)["bug"].text
    assert "a bug of ours" not in page
    assert "Traceback" not in page
    logged = next(record.getMessage() for record in caplog.records if record.exc_info)
    reference = logged.split()[1]
    assert len(reference) == 8
    assert reference in page


@pytest.mark.parametrize(
    "origin",
    [
        None,
        "null",
        "",
        "https://evil.example",
        "http://127.0.0.1:8041",
        "http://127.0.0.1",
        "http://127.0.0.1:8040.evil.example",
        "http://localhost:8040",
        "127.0.0.1:8040",
    ],
)
def test_a_write_from_another_origin_is_refused(
    office: Office, shop: Any, origin: str | None
) -> None:
    answer = office.post(WRITE, {"archived": "yes"}, headers={"Origin": origin})
    assert answer.status_code == 403
    assert is_archived(shop) is False


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_write_a_browser_calls_foreign_is_refused(office: Office, shop: Any, site: str) -> None:
    answer = office.post(WRITE, {"archived": "yes"}, headers={"Sec-Fetch-Site": site})
    assert answer.status_code == 403
    assert is_archived(shop) is False


@pytest.mark.parametrize("site", [None, "same-origin", "none"])
def test_a_write_from_our_own_page_is_carried_out(
    office: Office, shop: Any, site: str | None
) -> None:
    answer = office.post(WRITE, {"archived": "yes"}, headers={"Sec-Fetch-Site": site})
    assert answer.status_code == 303
    assert is_archived(shop) is True


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "QUERY"])
def test_no_other_method_slips_past_the_origin_check(office: Office, method: str) -> None:
    assert office.send(method, WRITE, headers={"Origin": "null"}).status_code == 403


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8040",
        "127.0.0.1.evil.example",
        "localhost.evil.example",
        "evil.example#127.0.0.1",
        "0x7f.1",
        "",
    ],
)
def test_a_foreign_host_name_is_not_answered(office: Office, host: str) -> None:
    """A page of another site that made its name point at this machine reads nothing."""
    assert office.get("/office/material", headers={"Host": host}).status_code == 400


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "192.168.1.20:8040", "localhost:8040", "LOCALHOST", "[::1]:8040"]
)
def test_addresses_and_own_names_are_answered(office: Office, host: str) -> None:
    assert office.get("/health", headers={"Host": host}).status_code == 200


def test_a_body_beyond_the_limit_is_refused_with_words(office: Office) -> None:
    answer = office.send(
        "POST",
        "/office/material/new",
        headers={"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"},
        content=b"name=" + b"x" * 20_000_001,
    )
    assert answer.status_code == 413
    assert "at most 20 MB" in answer.text
    assert answer.headers["content-security-policy"] == POLICY


def test_a_body_of_untold_length_is_cut_off_at_the_limit(office: Office) -> None:
    async def pieces() -> AsyncIterator[bytes]:
        for _ in range(21):
            yield b"f=" + b"x" * 1_000_000 + b"&"

    answer = office.send(
        "POST",
        "/office/material/new",
        headers={"Origin": BASE, "Content-Type": "application/x-www-form-urlencoded"},
        content=pieces(),
    )
    assert answer.status_code == 413
    assert answer.headers["content-security-policy"] == POLICY


def test_too_many_fields_are_refused(office: Office) -> None:
    answer = office.post("/office/material/new", {f"f{i}": "1" for i in range(3100)})
    assert answer.status_code in (400, 413)


def test_an_overlong_field_is_refused(office: Office) -> None:
    answer = office.send(
        "POST",
        "/office/material/new",
        headers={"Origin": BASE},
        files={"name": (None, "x" * 2_100_000)},
    )
    assert answer.status_code in (400, 413)


SQL_PROBES = ["'; DROP TABLE material; --", "S235JR' OR '1'='1", "S235JR\0", "%", "_______"]


@pytest.mark.parametrize("probe", SQL_PROBES)
def test_sql_typed_as_a_number_is_only_text(office: Office, shop: Any, probe: str) -> None:
    before = material_count(shop)
    assert office.get(f"/office/material/{quote(probe, safe='')}").status_code == 404
    assert office.post("/office/material/new", {"code": probe}).status_code == 422
    assert material_count(shop) == before


HTML_PROBES = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' autofocus onfocus=alert(1) x='",
    "{{ 7 * 7 }}",
    "</textarea><script>alert(1)</script>",
]


@pytest.mark.parametrize("probe", HTML_PROBES)
def test_html_typed_into_a_field_comes_back_as_text(office: Office, probe: str) -> None:
    typed = {"code": probe, "name": probe, "source": probe, "yield_typical_mpa": probe}
    page = office.post("/office/material/new", typed)
    assert page.status_code == 422
    assert "<script>alert" not in page.text
    assert "<img src=x" not in page.text
    assert "value=\"' autofocus" not in page.text.replace("&#39;", "?")
    assert "49" not in page.text.replace(POLICY, "")


@pytest.mark.parametrize("probe", HTML_PROBES)
def test_html_kept_in_a_record_is_shown_as_text_everywhere(office: Office, probe: str) -> None:
    name = probe[:40]
    typed = {"name": name, "height": "60", "profile": "-10 0; 10 0; 10 60; -10 60"}
    made = office.post("/office/holder/new", {**typed, "code": "PROBE"})
    assert made.status_code == 303
    for path in ("/office/tool", "/office/holder/PROBE", "/office/brake/BRAKE-1"):
        page = office.get(path).text
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "onfocus=alert(1) x='" not in page.replace("&#39;", "?")


def test_a_name_with_a_line_break_cannot_split_a_header(office: Office) -> None:
    answer = office.post("/reader", {"person": "Ann\r\nSet-Cookie: evil=1", "back": "/"})
    assert answer.status_code == 303
    assert "evil" not in office.cookies


@pytest.mark.parametrize(
    "back", ["//evil.example/", "https://evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_the_reader_is_never_sent_to_another_site(office: Office, back: str) -> None:
    assert office.post("/reader", {"unit": "mm", "back": back}).headers["location"] == "/"


def is_archived(shop: Any) -> bool:
    from server.storage.queries.material import get_material

    with shop.reading() as session:
        return get_material(session, "S235JR").archived_at is not None


def material_count(shop: Any) -> int:
    from server.storage.queries.material import list_materials

    with shop.reading() as session:
        return len(list_materials(session, with_archived=True))
