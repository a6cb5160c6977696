"""Start Bendwright, or run its tests, on a machine that has nothing but Python 3.11 or newer.

    python3 start.py [--port N] [--data DIR] [--empty] [--lan]
    python3 start.py test [pytest arguments]

Uses only the standard library. What the program needs is installed into `.venv` beside this file,
at the exact versions of the lock file; a second start finds it there and starts at once.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

HOUSE = Path(__file__).resolve().parent
VENV = HOUSE / ".venv"
LEAST = (3, 11)
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")


def main(arguments: list[str]) -> int:
    """Prepare what is needed, then hand over."""
    if sys.version_info < LEAST:
        print(f"Bendwright needs Python {LEAST[0]}.{LEAST[1]} or newer; this is {sys.version}.")
        return 1
    if arguments[:1] == ["test"]:
        python = prepared("requirements-test.lock")
        environment = {**os.environ, "BENDWRIGHT_BROWSER": find_browser()}
        command = [str(python), "-m", "pytest", "--numprocesses=auto", "--dist=worksteal"]
        command += arguments[1:]
        return subprocess.run(command, cwd=HOUSE, env=environment, check=False).returncode
    python = prepared("requirements.lock")
    command = [str(python), "-m", "server.cli.main", "serve", *arguments]
    if "--data" not in " ".join(arguments):
        command += ["--data", str(HOUSE / "shop_data")]
    environment = {**os.environ, "PYTHONPATH": str(HOUSE)}
    if os.name == "posix":
        sys.stdout.flush()
        os.execve(str(python), command, environment)  # noqa: S606 - our own interpreter
    try:
        return subprocess.run(command, env=environment, check=False).returncode
    except KeyboardInterrupt:
        return 0


def prepared(lock: str) -> Path:
    """The Python of `.venv` with everything of a lock file in it; installs only what changed."""
    folder = "Scripts" if os.name == "nt" else "bin"
    python = VENV / folder / ("python.exe" if os.name == "nt" else "python")
    content = (HOUSE / lock).read_bytes() + sys.version.encode()
    mark = hashlib.sha256(content).hexdigest()
    done = VENV / f"installed-{lock}.txt"
    if python.exists() and done.exists() and done.read_text(encoding="utf-8") == mark:
        return python
    print("Installing what Bendwright needs (only this once) ...", flush=True)
    if not python.exists():
        try:
            venv.EnvBuilder(with_pip=True).create(VENV)
        except (subprocess.CalledProcessError, OSError) as trouble:
            print(f"A virtual environment could not be made: {trouble}")
            print("On Debian or Ubuntu: sudo apt-get install python3-venv")
            raise SystemExit(1) from None
    install = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    install += ["--require-hashes", "--no-deps", "-r", str(HOUSE / lock)]
    if subprocess.run(install, check=False).returncode:
        print("Installing failed. Is this machine on the network? Run the same line again.")
        raise SystemExit(1)
    add_command(python)
    done.write_text(mark, encoding="utf-8")
    return python


def add_command(python: Path) -> None:
    """Put the command `bendwright` into `.venv`, running this checkout."""
    if os.name == "nt":
        script = python.parent / "bendwright.cmd"
        text = f'@set "PYTHONPATH={HOUSE}"\r\n@"{python}" -m server.cli.main %*\r\n'
    else:
        script = python.parent / "bendwright"
        text = f'#!/bin/sh\nPYTHONPATH="{HOUSE}" exec "{python}" -m server.cli.main "$@"\n'
    script.write_text(text, encoding="utf-8")
    script.chmod(0o755)


def find_browser() -> str:
    """Where Chromium is for the browser tests: installed by Debian's package manager when root."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), "")
    apt = shutil.which("apt-get")
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not found and apt and is_root:
        print("Installing Chromium for the browser tests ...", flush=True)
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for step in (["update"], ["install", "-y", "--no-install-recommends", "chromium"]):
            subprocess.run([apt, "-qq", *step], env=quiet, check=False, stdout=subprocess.DEVNULL)
        found = shutil.which("chromium") or ""
    if not found:
        print("=" * 72)
        print("NO BROWSER: the browser tests will be skipped. Install Chromium to run them.")
        print("=" * 72, flush=True)
    return found


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
