"""`bendwright serve`: bring the database up to date, put the demo in on a first start, serve."""

import asyncio
import logging
import os
import socket
from pathlib import Path
from typing import Any

import segno
import uvicorn

from server.actions.first_start import fill_once
from server.cli.tls import make_certificates
from server.files.authority import Certificates
from server.settings import DATABASE_VARIABLE
from server.storage.backup import DATABASE_FILE as DATABASE
from server.storage.database import Database
from server.storage.migrate import is_newest, migrate

STOP_S = 2  # open live streams would otherwise keep a stopping server waiting


def run_serve(*, data: Path, port: int, empty: bool, lan: bool, tls_port: int | None = None) -> int:
    """Serve until stopped, over https as well where a port for it is given.

    Returns the exit status.
    """
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s")
    open_shop(data, empty=empty).close()
    os.environ[DATABASE_VARIABLE] = str(data / DATABASE)
    host = "0.0.0.0" if lan else "127.0.0.1"  # noqa: S104 - asked for with --lan
    plain = _config("server.web.app:app_from_environment", host, port, factory=True)
    listening = _listening(plain)
    port = listening.getsockname()[1]
    print(f"http://127.0.0.1:{port}", flush=True)
    if lan:
        address = f"http://{lan_address()}:{port}"
        print(f"On the network: {address}   brake side: {address}/brake", flush=True)
        print(qr_for_terminal(f"{address}/brake"), flush=True)
    if tls_port is None:
        uvicorn.Server(plain).run(sockets=[listening])
    else:
        files = make_certificates(data)
        plain.load()  # both ways in lead to one application, so that its live pages hear each other
        secure = _config(plain.loaded_app, host, tls_port, files=files)
        secure_listening = _listening(secure)
        named = lan_address() if lan else "127.0.0.1"
        print(
            f"https://{named}:{secure_listening.getsockname()[1]}/install   to install the app",
            flush=True,
        )
        asyncio.run(_serve_both((plain, listening), (secure, secure_listening)))
    return 0


async def _serve_both(*ways: tuple[uvicorn.Config, socket.socket]) -> None:
    """Serve one application in several ways; a stop asked of one is a stop of all."""
    servers = [uvicorn.Server(config) for config, _ in ways]
    going = [
        asyncio.create_task(server.serve(sockets=[listening]))
        for server, (_, listening) in zip(servers, ways, strict=True)
    ]
    await asyncio.wait(going, return_when=asyncio.FIRST_COMPLETED)
    for server in servers:
        server.should_exit = True
    await asyncio.gather(*going)


def _config(
    app: Any,
    host: str,
    port: int,
    *,
    factory: bool = False,
    files: Certificates | None = None,
) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        factory=factory,
        host=host,
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=STOP_S,
        lifespan="off" if files else "auto",
        ssl_certfile=files.server if files else None,
        ssl_keyfile=files.server_key if files else None,
    )


def _listening(config: uvicorn.Config) -> socket.socket:
    listening = config.bind_socket()
    listening.listen()  # whoever opens the printed address at once waits instead of being refused
    return listening


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
