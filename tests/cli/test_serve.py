"""`bendwright serve` from the outside: it opens, answers, keeps, and stops."""

import os
import re
import signal
import socket
import sqlite3
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import segno

from server.cli.main import main
from server.cli.serve import lan_address, open_shop, qr_for_terminal

HOUSE = Path(__file__).parents[2]
WAIT_S = 60


@dataclass
class Served:
    """A running server: its address, and everything it printed so far."""

    address: str
    process: "subprocess.Popen[str]"

    def read(self, path: str) -> str:
        with urllib.request.urlopen(f"{self.address}{path}", timeout=WAIT_S) as answer:
            return str(answer.read().decode())

    def printed(self, lines: int) -> str:
        assert self.process.stdout is not None
        return "".join(self.process.stdout.readline() for _ in range(lines))


@contextmanager
def serving(data: Path, *arguments: str) -> Iterator[Served]:
    command = [sys.executable, "-m", "server.cli.main", "serve", "--port", "0"]
    process = subprocess.Popen(
        [*command, "--data", str(data), *arguments],
        cwd=data.parent,
        env={**os.environ, "PYTHONPATH": str(HOUSE), "PYTHONIOENCODING": "utf-8"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    try:
        assert process.stdout is not None
        first = process.stdout.readline().strip()
        if not first:
            raise AssertionError(process.communicate()[1])
        yield Served(first, process)
    finally:
        process.terminate()
        try:
            process.communicate(timeout=WAIT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


def test_it_prints_its_address_answers_and_keeps_what_was_changed(tmp_path: Path) -> None:
    data = tmp_path / "our shop"
    with serving(data) as served:
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+", served.address)
        assert served.read("/health") == '{"state":"up"}'
        assert "<strong>P1-STRAIGHT</strong>" in served.read("/office/tool")
        request = urllib.request.Request(
            f"{served.address}/office/punch/P1-STRAIGHT/archived",
            data=b"archived=yes",
            headers={"Origin": served.address},
        )
        with urllib.request.urlopen(request, timeout=WAIT_S) as answer:
            assert answer.status == 200
    assert (data / "shop.db").exists()
    with serving(data) as again:
        assert "<strong>P1-STRAIGHT</strong>" not in again.read("/office/tool")
        assert "P2-GOOSE" in again.read("/office/tool")


def test_an_empty_shop_has_the_reference_tables_and_nothing_of_the_demo(tmp_path: Path) -> None:
    with serving(tmp_path / "empty", "--empty") as served:
        assert "No punches yet" in served.read("/office/tool")
        assert "S235JR" in served.read("/office/material")
        assert "No brake yet" in served.read("/office/brake")


def test_on_the_network_it_prints_the_address_and_a_code_for_the_tablet(tmp_path: Path) -> None:
    with serving(tmp_path / "lan", "--lan", "--empty") as served:
        told = served.printed(1)
        port = served.address.rsplit(":", 1)[1]
        assert f"http://{lan_address()}:{port}" in told
        assert "/brake" in told
        border = served.printed(1).rstrip("\n")
        assert border == "█" * len(border)
        assert len(border) > 20
        assert served.read("/health")


def test_with_tls_it_serves_both_ways_and_a_tablet_can_install_it(tmp_path: Path) -> None:
    data = tmp_path / "secure"
    with serving(data, "--empty", "--tls", "--tls-port", "0") as served:
        told = re.search(r"https://127\.0\.0\.1:\d+", served.printed(1))
        assert told
        plain = served.read("/authority.crt")
        assert plain == (data / "tls" / "authority.crt").read_text(encoding="ascii")
        trusting = ssl.create_default_context(cafile=str(data / "tls" / "authority.crt"))

        def read(path: str) -> str:
            with urllib.request.urlopen(told[0] + path, timeout=WAIT_S, context=trusting) as got:
                return str(got.read().decode())

        assert 'rel="manifest"' in read("/brake")
        assert 'rel="manifest"' not in served.read("/brake")  # a browser could not use it
        assert '"standalone"' in read("/manifest.webmanifest")
        assert "addEventListener" in read("/worker.js")
        assert "trusts the server" in read("/install")
        assert ":" in served.read("/install").split('class="fingerprint">')[1][:10]
        served.process.terminate()
        assert served.process.wait(timeout=10) in (0, -signal.SIGTERM)


def test_the_certificates_are_told_with_their_fingerprint(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tls", "--data", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert re.search(r"SHA-256: ([0-9A-F]{2}:){31}[0-9A-F]{2}\n", told)
    assert (tmp_path / "tls" / "server.crt").exists()


def test_by_default_it_listens_on_this_machine_only(tmp_path: Path) -> None:
    own = lan_address()
    if own == "127.0.0.1":
        pytest.skip("this machine has no other address")
    with serving(tmp_path / "here", "--empty") as served:
        port = int(served.address.rsplit(":", 1)[1])
        with socket.socket() as probe:
            probe.settimeout(2)
            assert probe.connect_ex((own, port)) != 0


def test_a_port_that_is_taken_is_told_and_is_not_a_trace(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        command = [sys.executable, "-m", "server.cli.main", "serve", "--port", port, "--empty"]
        ended = subprocess.run(
            [*command, "--data", str(tmp_path / "shop")],
            env={**os.environ, "PYTHONPATH": str(HOUSE)},
            capture_output=True,
            text=True,
            timeout=WAIT_S,
            check=False,
        )
    assert ended.returncode != 0
    assert "in use" in ended.stderr
    assert "Traceback" not in ended.stderr


@pytest.mark.skipif(os.name == "nt", reason="no SIGTERM there")
def test_it_stops_when_asked_although_a_browser_keeps_its_connection(tmp_path: Path) -> None:
    with serving(tmp_path / "stop", "--empty") as served:
        port = int(served.address.rsplit(":", 1)[1])
        with socket.create_connection(("127.0.0.1", port), timeout=10) as browser:
            browser.sendall(b"GET /health HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            assert b"200" in browser.recv(1000)
            served.process.send_signal(signal.SIGTERM)
            assert served.process.wait(timeout=10) in (0, -signal.SIGTERM)


def test_the_code_on_the_terminal_is_the_code_of_the_address() -> None:
    """Read back from the printed blocks, two rows a line, against the matrix itself."""
    address = "http://192.0.2.7:8040/brake"
    light = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}
    rows: list[list[int]] = []
    for line in qr_for_terminal(address).splitlines():
        rows += [[light[sign][half] for sign in line] for half in (0, 1)]
    wanted = [
        [int(dot > 0) for dot in row]
        for row in segno.make(address, error="m").matrix_iter(border=2)
    ]
    assert rows[: len(wanted)] == wanted


def test_a_command_it_does_not_know_is_refused_with_the_choices(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["dance"])
    assert ended.value.code == 2
    assert "serve" in capsys.readouterr().err


def test_data_of_a_newer_program_is_left_alone_and_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    open_shop(tmp_path, empty=True).close()
    with closing(sqlite3.connect(tmp_path / "shop.db")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    before = (tmp_path / "shop.db").read_bytes()
    assert main(["serve", "--port", "0", "--data", str(tmp_path)]) == 1
    told = capsys.readouterr()
    assert "newer Bendwright" in told.err
    assert "backup" in told.err
    assert told.out == ""
    assert (tmp_path / "shop.db").read_bytes() == before


def test_a_shop_is_filled_only_once(tmp_path: Path) -> None:
    from server.storage.queries.tool import list_punches

    for _ in range(2):
        database = open_shop(tmp_path, empty=False)
        with database.reading() as session:
            assert len(list_punches(session)) == 6
        database.close()
    database = open_shop(tmp_path, empty=True)
    with database.reading() as session:
        assert len(list_punches(session)) == 6
    database.close()
