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
    from server.cli.serve import run_serve

    try:
        return run_serve(data=chosen.data, port=chosen.port, empty=chosen.empty, lan=chosen.lan)
    except ShopError as trouble:
        print(f"{trouble.what} {trouble.remedy}", file=sys.stderr)
        return 1


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
    serve.add_argument(
        "--data", type=Path, default=Path("shop_data"), help="folder of the shop's database"
    )
    serve.add_argument("--empty", action="store_true", help="start without the demo shop")
    serve.add_argument(
        "--lan", action="store_true", help="let other devices on this network in, and show a QR"
    )
    return parser


if __name__ == "__main__":
    sys.exit(main())
