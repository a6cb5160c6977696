"""From an empty file to the newest shape and back: nothing lost, nothing the models do not know."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.script import ScriptDirectory

from server.actions.first_start import fill_once
from server.storage.database import Database, IntegrityError
from server.storage.migrate import alembic_config, is_newest, migrate


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "shop.db"


def revisions() -> list[str]:
    script = ScriptDirectory.from_config(alembic_config(Path("unused.db")))
    return [revision.revision for revision in script.walk_revisions()][::-1]


def read(path: Path, sql: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(sql).fetchall()


def schema(path: Path) -> list[tuple[object, ...]]:
    return read(
        path,
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' "
        "AND name != 'alembic_version' ORDER BY type, name",
    )


def test_there_is_one_head() -> None:
    script = ScriptDirectory.from_config(alembic_config(Path("unused.db")))
    assert len(script.get_heads()) == 1
    assert revisions()[0] == "0001"


def test_from_nothing_to_the_newest_shape_equals_the_models(file: Path) -> None:
    migrate(file)
    command.check(alembic_config(file))  # raises when the models would need another migration
    assert read(file, "PRAGMA foreign_key_check") == []
    assert read(file, "PRAGMA integrity_check") == [("ok",)]


def test_a_model_the_migrations_do_not_know_would_be_seen(file: Path) -> None:
    """The test of the test: a column taken away is noticed."""
    migrate(file)
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("ALTER TABLE lot DROP COLUMN note")
        connection.commit()
    with pytest.raises(Exception, match="New upgrade operations detected"):
        command.check(alembic_config(file))


def test_the_shape_is_recognised_so_that_a_restart_is_quick(file: Path) -> None:
    assert not is_newest(file)
    assert not file.exists()
    for older in revisions()[:-1]:
        command_file(file, older)
        assert not is_newest(file)
    migrate(file)
    assert is_newest(file)
    migrate(file)  # once more changes nothing


def command_file(file: Path, revision: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    command.upgrade(alembic_config(file), revision)


def test_every_step_down_and_up_again_gives_the_same_shape(file: Path) -> None:
    steps = revisions()
    shapes = {}
    for revision in steps:
        command_file(file, revision)
        shapes[revision] = columns(file)
    for revision in reversed(steps[:-1]):
        command.downgrade(alembic_config(file), revision)
        assert columns(file) == shapes[revision]
    migrate(file)
    assert columns(file) == shapes[steps[-1]]
    command.downgrade(alembic_config(file), "base")
    assert schema(file) == []


def columns(file: Path) -> dict[str, set[str]]:
    tables = [str(name) for kind, name, _ in schema(file) if kind == "table"]
    return {
        table: {str(row[1]) for row in read(file, f"PRAGMA table_info('{table}')")}
        for table in tables
    }


def test_a_filled_shop_survives_every_later_migration(file: Path) -> None:
    """Rows that hang on others by a foreign key with CASCADE must not vanish on the way."""
    first, *later = revisions()
    command_file(file, first)
    with closing(sqlite3.connect(file)) as connection:
        now = "2026-01-01 00:00:00"
        connection.execute(
            "INSERT INTO punch (version, created_at, changed_at, code, name, tip_radius_mm, "
            f"angle_deg, height_mm, profile_mm, note) VALUES (1,'{now}','{now}','P','P',1,86,100,"
            "'[]','')"
        )
        connection.execute("INSERT INTO punch_segment VALUES ('P', 500.0, 2)")
        connection.execute(
            "INSERT INTO material (version, created_at, changed_at, code, name, family, standard,"
            "yield_typical_mpa, tensile_typical_mpa, youngs_modulus_mpa, poisson_ratio,"
            f"density_kg_m3, radius_ratio, source, sure) VALUES (1,'{now}','{now}','M','M',"
            "'steel','',200,300,210000,0.3,7850,0.16,'','')"
        )
        connection.execute(
            "INSERT INTO lot (version, created_at, changed_at, code, material_code, thickness_mm,"
            f"heat_number, note) VALUES (1,'{now}','{now}','L','M',2.0,'','')"
        )
        connection.commit()
    for revision in later:
        command_file(file, revision)
        assert read(file, "PRAGMA foreign_key_check") == []
    assert read(file, "SELECT pieces_count FROM punch_segment") == [(2,)]
    assert read(file, "SELECT thickness_mm, thickness_standard FROM lot") == [(2.0, "")]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("schema") / "shop.db"
    migrate(path)
    database = Database(path)
    fill_once(database, empty=False)
    database.close()
    return path


REFUSED = {
    "a punch without a name": "UPDATE punch SET name = NULL",
    "a rating below zero": "UPDATE punch SET rating_kn_per_m = -1",
    "a rating of zero": "UPDATE die SET rating_kn_per_m = 0",
    "a V of zero": "UPDATE die SET v_opening_mm = 0",
    "a shoulder radius below zero": "UPDATE die SET shoulder_radius_mm = -0.1",
    "a tip radius below zero": "UPDATE punch SET tip_radius_mm = -0.1",
    "a code that is too long": "UPDATE holder SET code = printf('%.*c', 41, 'x')",
    "pieces of no length": "UPDATE punch_segment SET length_mm = 0",
    "no pieces": "UPDATE die_segment SET pieces_count = 0",
    "segments of a punch that is not there": "UPDATE punch_segment SET punch_code = 'NOBODY'",
    "a brake with a holder that is not there": "UPDATE brake SET holder_code = 'NOBODY'",
    "a holder that a brake still carries": "DELETE FROM holder",
    "an axis that ends before it begins": "UPDATE brake SET x_most_mm = x_least_mm - 1",
    "a finger upside down": "UPDATE brake SET finger_high_mm = finger_low_mm",
    "a Y that counts neither way": "UPDATE brake SET y_sense = 0",
    "a control in yards": "UPDATE brake SET control_unit = 'yd'",
    "a family we do not know": "UPDATE material SET family = 'wood'",
    "a strength of zero": "UPDATE material SET tensile_typical_mpa = 0",
    "a lot of a material that is not there": (
        "INSERT INTO lot (version, created_at, changed_at, code, material_code, thickness_mm, "
        "heat_number, note) VALUES (1,'2026-01-01','2026-01-01','L','NOBODY',2.0,'','')"
    ),
    "a sheet of no width": (
        "INSERT INTO lot (version, created_at, changed_at, code, material_code, thickness_mm, "
        "heat_number, note, sheet_width_mm) "
        "VALUES (1,'2026-01-01','2026-01-01','L','S235JR',2.0,'','',0)"
    ),
    "the same code twice": "INSERT INTO holder SELECT * FROM holder",
}


@pytest.mark.parametrize("what", REFUSED)
def test_the_schema_itself_refuses(filled: Path, what: str) -> None:
    database = Database(filled)
    with database.writer.connect() as connection, pytest.raises(IntegrityError):
        connection.exec_driver_sql(REFUSED[what])
    database.close()


def test_deleting_a_tool_nobody_used_takes_its_pieces_with_it(filled: Path) -> None:
    database = Database(filled)
    with database.writer.connect() as connection:
        unused = (
            connection.exec_driver_sql(
                "SELECT die_code FROM die_segment"
                " WHERE die_code NOT IN (SELECT die_code FROM step)"
                " AND die_code NOT IN (SELECT blank_die_code FROM revision)"
            )
            .scalars()
            .first()
        )
        connection.exec_driver_sql("DELETE FROM die WHERE code = ?", (unused,))
        left = connection.exec_driver_sql(
            "SELECT count(*) FROM die_segment WHERE die_code = ?", (unused,)
        ).scalar()
        connection.rollback()
    database.close()
    assert left == 0
