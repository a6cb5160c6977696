"""`bendwright serve`: bring the database up to date, put the demo in on a first start, serve."""

import logging
import os
import socket
from pathlib import Path

import segno
import uvicorn

from server.actions.first_start import fill_once
from server.settings import DATABASE_VARIABLE
from server.storage.database import Database
from server.storage.migrate import is_newest, migrate

DATABASE = "shop.db"
STOP_S = 2  # open live streams would otherwise keep a stopping server waiting


def run_serve(*, data: Path, port: int, empty: bool, lan: bool) -> int:
    """Serve until stopped; returns the exit status."""
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s")
    open_shop(data, empty=empty).close()
    os.environ[DATABASE_VARIABLE] = str(data / DATABASE)
    host = "0.0.0.0" if lan else "127.0.0.1"  # noqa: S104 - asked for with --lan
    config = uvicorn.Config(
        "server.web.app:app_from_environment",
        factory=True,
        host=host,
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=STOP_S,
    )
    server = uvicorn.Server(config)
    listening = config.bind_socket()
    listening.listen()  # whoever opens the printed address at once waits instead of being refused
    port = listening.getsockname()[1]
    print(f"http://127.0.0.1:{port}", flush=True)
    if lan:
        address = f"http://{lan_address()}:{port}"
        print(f"On the network: {address}   brake side: {address}/brake", flush=True)
        print(qr_for_terminal(f"{address}/brake"), flush=True)
    server.run(sockets=[listening])
    return 0


def open_shop(data: Path, *, empty: bool) -> Database:
    """The shop's database in a folder, brought up to date, filled on a first start."""
    path = data / DATABASE
    if not is_newest(path):
        migrate(path)
    database = Database(path)
    fill_once(database, empty=empty)
    return database


def lan_address() -> str:
    """The address of this machine on its network, as other devices see it. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address: only picks the route
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def qr_for_terminal(address: str) -> str:
    """A QR code made of block characters, two rows a line."""
    matrix = [list(row) for row in segno.make(address, error="m").matrix_iter(border=2)]
    if len(matrix) % 2:
        matrix.append([0] * len(matrix[0]))
    shade = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    lines = []
    for upper, lower in zip(matrix[::2], matrix[1::2], strict=True):
        lines.append(
            "".join(shade[int(a > 0), int(b > 0)] for a, b in zip(upper, lower, strict=True))
        )
    return "\n".join(lines)
