"""The command `bendwright`."""

import argparse
import sys
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    parser = argparse.ArgumentParser(prog="bendwright", description="A press brake shop's tool.")
    commands = parser.add_subparsers(dest="command", required=True)
    calc = commands.add_parser("calc", help="answer one calculation: JSON in, JSON out")
    calc.add_argument("name", help="flat, airbend, angle, coupon, learn, gauge, length, ...")
    chosen = parser.parse_args(arguments)
    if chosen.command == "calc":
        from server.cli.calc import run_calc

        return run_calc(chosen.name, sys.stdin.buffer, sys.stdout, sys.stderr)
    raise AssertionError(chosen.command)


if __name__ == "__main__":
    sys.exit(main())
