"""A job's customer was a name once; the migration makes customers of the names, and back."""

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command

from server.storage.migrate import alembic_config

GIVEN = {"kind": "profile", "family": "steel", "state": "asked", "number": "P", "part_number": "P"}


def insert(connection: sqlite3.Connection, table: str, **values: object) -> None:
    """A row with a plain value in every column that must have one."""
    row: dict[str, object] = {}
    for _, name, kind, needed, _, _ in connection.execute(f"PRAGMA table_info({table})"):
        if needed and name not in values:
            plain = "2026-01-01 00:00:00" if kind == "DATETIME" else "x"
            row[name] = GIVEN.get(name, 1 if kind in ("INTEGER", "FLOAT", "BOOLEAN") else plain)
    row |= values
    marks = ", ".join("?" for _ in row)
    connection.execute(
        f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", list(row.values())
    )


def test_names_become_customers_and_names_again(tmp_path: Path) -> None:
    file = tmp_path / "shop.db"
    command.upgrade(alembic_config(file), "0003")
    names = {"J-1": "Ångström & Co.", "J-2": "Angstrom Co", "J-3": "", "J-4": "ÅÅ", "J-5": "Zwei"}
    with closing(sqlite3.connect(file)) as connection:
        insert(connection, "material", code="M")
        insert(connection, "part")
        insert(connection, "revision", label="A", material_code="M", drawn="{}", faces="{}")
        for number, name in (*names.items(), ("J-6", "Zwei")):
            insert(connection, "job", number=number, customer=name, revision_label="A")
        connection.commit()
    command.upgrade(alembic_config(file), "0004")
    with closing(sqlite3.connect(file)) as connection:
        query = (
            "SELECT job.number, customer.name FROM job"
            " LEFT JOIN customer ON customer.code = job.customer_code ORDER BY job.number"
        )
        found = dict(connection.execute(query).fetchall())
        codes = [code for (code,) in connection.execute("SELECT code FROM customer")]
    assert found == {**{n: name or None for n, name in names.items()}, "J-6": "Zwei"}
    assert len(codes) == len(set(codes)) == 4
    command.downgrade(alembic_config(file), "0003")
    with closing(sqlite3.connect(file)) as connection:
        back = dict(connection.execute("SELECT number, customer FROM job").fetchall())
    assert back == {**names, "J-6": "Zwei"}
