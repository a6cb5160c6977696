"""start.py on a machine that has nothing: what it would install, reuse, run and say."""

import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import start


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout without an environment; nothing leaves the machine."""
    (tmp_path / "requirements.lock").write_text("one==1 --hash=sha256:0\n", encoding="utf-8")
    (tmp_path / "requirements-test.lock").write_text("two==2\n", encoding="utf-8")
    monkeypatch.setattr(start, "HOUSE", tmp_path)
    monkeypatch.setattr(start, "VENV", tmp_path / ".venv")
    return tmp_path


@pytest.fixture
def ran(bare: Path, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Commands that would have been run; an environment is only pretended."""
    commands: list[list[str]] = []

    def run(command: list[str], **_: Any) -> SimpleNamespace:
        commands.append([str(part) for part in command])
        return SimpleNamespace(returncode=0)

    class Builder:
        def __init__(self, **_: Any) -> None:
            pass

        def create(self, folder: Path) -> None:
            commands.append(["venv", str(folder)])
            (folder / "bin").mkdir(parents=True)
            (folder / "bin" / "python").write_text("", encoding="utf-8")

    monkeypatch.setattr("subprocess.run", run)
    monkeypatch.setattr("venv.EnvBuilder", Builder)
    monkeypatch.setattr("os.name", "posix")
    return commands


def test_it_uses_only_the_standard_library() -> None:
    source = Path(start.__file__).read_text(encoding="utf-8")
    imported = {
        line.split()[1].split(".")[0]
        for line in source.splitlines()
        if line.startswith(("import ", "from "))
    }
    assert imported <= set(sys.stdlib_module_names)


def test_a_first_start_makes_the_environment_and_installs_exactly_the_lock(
    bare: Path, ran: list[list[str]]
) -> None:
    python = start.prepared("requirements.lock")
    assert python == bare / ".venv" / "bin" / "python"
    made, installed = ran
    assert made[0] == "venv"
    assert "--require-hashes" in installed
    assert "--no-deps" in installed
    assert installed[-1].endswith("requirements.lock")


def test_a_second_start_installs_nothing(ran: list[list[str]]) -> None:
    start.prepared("requirements.lock")
    ran.clear()
    start.prepared("requirements.lock")
    assert ran == []


def test_a_changed_lock_is_installed_into_the_same_environment(
    bare: Path, ran: list[list[str]]
) -> None:
    start.prepared("requirements.lock")
    ran.clear()
    (bare / "requirements.lock").write_text("one==2\n", encoding="utf-8")
    start.prepared("requirements.lock")
    assert [command[0] for command in ran] == [str(bare / ".venv" / "bin" / "python")]


def test_an_installation_that_fails_says_what_to_do_and_is_not_taken_for_done(
    bare: Path,
    ran: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("subprocess.run", lambda *_, **__: SimpleNamespace(returncode=1))
    with pytest.raises(SystemExit):
        start.prepared("requirements.lock")
    assert "Run the same line again" in capsys.readouterr().out
    assert not list((bare / ".venv").glob("installed-*"))


def test_a_python_without_venv_is_told_which_package_to_install(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken:
        def __init__(self, **_: Any) -> None:
            pass

        def create(self, folder: Path) -> None:
            raise subprocess.CalledProcessError(1, "ensurepip")

    monkeypatch.setattr("venv.EnvBuilder", Broken)
    with pytest.raises(SystemExit):
        start.prepared("requirements.lock")
    assert "python3-venv" in capsys.readouterr().out


def test_a_python_that_is_too_old_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.version_info", (3, 10, 0))
    assert start.main([]) == 1
    assert "3.11" in capsys.readouterr().out


def test_tests_are_run_with_the_browser_named(
    bare: Path, ran: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shutil.which", lambda name: "/usr/bin/" + name)
    assert start.main(["test", "-q", "-k", "x"]) == 0
    assert ran[-1][1:3] == ["-m", "pytest"]
    assert ran[-1][-3:] == ["-q", "-k", "x"]


def test_an_installed_browser_is_found_and_nothing_is_installed_for_it(
    ran: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    here = {"google-chrome": "/opt/google-chrome", "apt-get": "/usr/bin/apt-get"}
    monkeypatch.setattr("shutil.which", here.get)
    assert start.find_browser() == "/opt/google-chrome"
    assert ran == []


def test_without_root_a_missing_browser_is_said_loudly(
    ran: list[list[str]], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("shutil.which", lambda _: None)
    assert start.find_browser() == ""
    assert "NO BROWSER" in capsys.readouterr().out
    assert ran == []


def test_the_command_in_the_environment_runs_this_checkout(bare: Path) -> None:
    folder = bare / ".venv" / "bin"
    folder.mkdir(parents=True)
    start.add_command(folder / "python")
    script = (folder / "bendwright").read_text(encoding="utf-8")
    assert str(bare) in script
    assert "server.cli.main" in script
    assert (folder / "bendwright").stat().st_mode & 0o100
