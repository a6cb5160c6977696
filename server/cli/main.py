"""The command `bendwright`."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from server.errors import ShopError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    chosen = _parser().parse_args(arguments)
    if chosen.command == "calc":
        from server.cli.calc import run_calc

        return run_calc(chosen.name, sys.stdin.buffer, sys.stdout, sys.stderr)
    try:
        if chosen.command in ("backup", "restore"):
            return _backup(chosen)
        return _serve(chosen) if chosen.command == "serve" else _tls(chosen)
    except ShopError as trouble:
        print(f"{trouble.what} {trouble.remedy}", file=sys.stderr)
        return 1


def _serve(chosen: argparse.Namespace) -> int:
    from server.cli.serve import run_serve

    return run_serve(
        data=chosen.data,
        port=chosen.port,
        empty=chosen.empty,
        lan=chosen.lan,
        tls_port=chosen.tls_port if chosen.tls else None,
    )


def _backup(chosen: argparse.Namespace) -> int:
    from server.cli.backup import run_backup, run_restore

    run = run_backup if chosen.command == "backup" else run_restore
    return run(chosen.file, data=chosen.data)


def _tls(chosen: argparse.Namespace) -> int:
    from server.cli.tls import run_tls

    return run_tls(data=chosen.data)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bendwright",
        description="The whole press brake job of a small shop, on the office PC and a tablet.",
    )
    commands = parser.add_subparsers(dest="command", required=True)
    calc = commands.add_parser("calc", help="answer one calculation: JSON in, JSON out")
    calc.add_argument("name", help="flat, airbend, angle, coupon, learn, gauge, length, plan, ...")
    serve = commands.add_parser("serve", help="serve the shop's pages")
    serve.add_argument("--port", type=int, default=8040, help="port to listen on (0: any free)")
    tls = commands.add_parser("tls", help="make certificates of the shop's own, for --tls")
    backup = commands.add_parser("backup", help="write the whole shop into one file")
    restore = commands.add_parser("restore", help="put a backup back; the server must be stopped")
    for command in (backup, restore):
        command.add_argument("file", type=Path, help="the backup, such as shop-2026-11-25.zip")
    for command in (serve, tls, backup, restore):
        command.add_argument(
            "--data", type=Path, default=Path("shop_data"), help="folder of the shop's database"
        )
    serve.add_argument("--empty", action="store_true", help="start without the demo shop")
    serve.add_argument(
        "--lan", action="store_true", help="let other devices on this network in, and show a QR"
    )
    serve.add_argument(
        "--tls", action="store_true", help="serve https too, so that a tablet can install the app"
    )
    serve.add_argument("--tls-port", type=int, default=8443, help="port for https (0: any free)")
    return parser


if __name__ == "__main__":
    sys.exit(main())
