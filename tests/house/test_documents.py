"""What the documents name exists: paths, pictures, floors, commands and options."""

import re
from pathlib import Path

import pytest

from server.actions.calc.front import NAMES
from server.cli.main import main

HOUSE = Path(__file__).parents[2]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "CHANGELOG.md")
IN_THE_HOUSE = ("server/", "templates/", "static/", "migrations/", "tests/", "seed_data/", ".ci/")
QUOTED = re.compile(r"`([^`\n]+)`")
LINKED = re.compile(r"\]\(([^)#]+)\)")


def text_of(name: str) -> str:
    return (HOUSE / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_path_a_document_names_is_there(name: str) -> None:
    named = [
        word.split()[0] for word in QUOTED.findall(text_of(name)) if word.startswith(IN_THE_HOUSE)
    ]
    missing = [path for path in named if "<" not in path and not (HOUSE / path).exists()]
    assert missing == []
    assert named or name == "CHANGELOG.md"


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_link_and_picture_leads_somewhere(name: str) -> None:
    links = [link for link in LINKED.findall(text_of(name)) if "://" not in link]
    assert [link for link in links if not (HOUSE / link).exists()] == []


def test_the_picture_of_the_house_has_every_floor() -> None:
    told = text_of("DEVELOPERS.md")
    rooms = [path for path in (HOUSE / "server").iterdir() if not path.name.startswith("_")]
    floors = [path for path in rooms if path.is_dir() or path.suffix == ".py"]
    assert len(floors) > 10
    for floor in floors:
        assert f"`server/{floor.name}`" in told, floor.name


def test_every_folder_of_tests_is_told() -> None:
    told = text_of("DEVELOPERS.md")
    for folder in (HOUSE / "tests").iterdir():
        if folder.is_dir() and not folder.name.startswith("_"):
            assert f"`tests/{folder.name}`" in told, folder.name


def test_the_start_options_in_the_readme_are_the_real_ones(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = set(re.findall(r"^\| `(--[a-z]+)", text_of("README.md"), flags=re.MULTILINE))
    with pytest.raises(SystemExit):
        main(["serve", "--help"])
    real = set(re.findall(r"(--[a-z]+)", capsys.readouterr().out)) - {"--help"}
    assert told == real


def test_the_calculation_in_the_readme_is_one_we_answer() -> None:
    asked = re.findall(r"bendwright calc ([a-z]+)", text_of("README.md"))
    assert asked
    assert set(asked) <= set(NAMES)
