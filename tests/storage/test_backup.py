"""Story 20: one file holds the shop, and another PC starts from it. Nothing is ever lost on the way."""

import shutil
import sqlite3
import zipfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from server.actions.attachment import attach
from server.cli.main import main
from server.errors import ShopError
from server.files.attachment import attachment_folder, read_attachment
from server.storage.backup import DATABASE_FILE, restore_backup, write_backup
from server.storage.database import Database
from server.storage.queries.attachment import list_attachments
from server.storage.queries.job import get_job, list_jobs

NOW = datetime(2026, 11, 25, 14, 5, 9, tzinfo=UTC)


@pytest.fixture
def data(filled_file: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "shop data"
    folder.mkdir()
    shutil.copyfile(filled_file, folder / DATABASE_FILE)
    database = Database(folder / DATABASE_FILE)
    with database.writing() as session:
        attach(
            session,
            attachment_folder(database.path),
            noun="job",
            key="J-1041",
            name="drawing.pdf",
            data=b"%PDF a drawing",
            by="Ann",
        )
    database.close()
    return folder


def test_a_backup_of_a_working_server_restores_on_another_pc(data: Path, tmp_path: Path) -> None:
    file, other = tmp_path / "backup.zip", tmp_path / "other pc" / "shop_data"
    working = Database(data / DATABASE_FILE)
    with working.writing() as session:
        get_job(session, "J-1043").note = "not yet written to the main file"
    assert main(["backup", str(file), "--data", str(data)]) == 0
    with working.writing() as session:
        jobs_count = len(list_jobs(session))
        get_job(session, "J-1043").note = "after the backup"
    working.close()
    assert main(["restore", str(file), "--data", str(other)]) == 0
    restored = Database(other / DATABASE_FILE)
    with restored.reading() as session:
        assert get_job(session, "J-1043").note == "not yet written to the main file"
        assert len(list_jobs(session)) == jobs_count > 10
        (row,) = list_attachments(session, "job", "J-1041")
    assert (
        read_attachment(attachment_folder(restored.path), row.content_sha256) == b"%PDF a drawing"
    )
    restored.close()


def test_a_shop_that_is_there_is_set_aside_and_not_lost(data: Path, tmp_path: Path) -> None:
    file = tmp_path / "backup.zip"
    assert write_backup(data, file) == 1
    with closing(sqlite3.connect(data / DATABASE_FILE)) as connection:
        connection.execute("UPDATE job SET note = 'newer'")
        connection.commit()
    aside = restore_backup(file, data, now=NOW)
    assert aside is not None
    assert aside.name == "shop data-before-20261125-140509"
    for folder, expected in ((aside, 1), (data, 0)):
        with closing(sqlite3.connect(folder / DATABASE_FILE)) as connection:
            query = "SELECT count(*) > 0 FROM job WHERE note = 'newer'"
            assert connection.execute(query).fetchone() == (expected,)


def test_a_server_that_works_on_the_folder_is_not_pulled_from_under(
    data: Path, tmp_path: Path
) -> None:
    file = tmp_path / "backup.zip"
    write_backup(data, file)
    working = Database(data / DATABASE_FILE)
    with working.writing() as session:
        get_job(session, "J-1043").note = "at work"
    with working.reading() as session:
        get_job(session, "J-1043")
        with pytest.raises(ShopError) as told:
            restore_backup(file, data, now=NOW)
    working.close()
    assert told.value.code == "shop_in_use"
    assert (data / DATABASE_FILE).is_file()


def test_a_backup_is_never_written_over(data: Path, tmp_path: Path) -> None:
    file = tmp_path / "backup.zip"
    file.write_bytes(b"the only copy")
    assert main(["backup", str(file), "--data", str(data)]) == 1
    assert file.read_bytes() == b"the only copy"
    assert main(["backup", str(tmp_path / "b.zip"), "--data", str(tmp_path / "nowhere")]) == 1


def damaged(tmp_path: Path, *entries: tuple[str, bytes]) -> Path:
    file = tmp_path / "bad.zip"
    with zipfile.ZipFile(file, "w") as packed:
        for name, content in entries:
            packed.writestr(name, content)
    return file


def test_what_is_no_backup_changes_nothing(data: Path, tmp_path: Path) -> None:
    good = (data / DATABASE_FILE).read_bytes()
    text = tmp_path / "letter.txt"
    text.write_text("hello", encoding="utf-8")
    for bad in (
        text,
        damaged(tmp_path, ("other.db", b"x")),
        damaged(tmp_path, (DATABASE_FILE, b"not a database")),
        damaged(tmp_path, (DATABASE_FILE, good), ("../evil.py", b"x")),
        damaged(tmp_path, (DATABASE_FILE, good), ("attachment/../../evil", b"x")),
    ):
        with pytest.raises(ShopError) as told:
            restore_backup(bad, data, now=NOW)
        assert told.value.code in ("no_backup", "backup_damaged")
        assert (data / DATABASE_FILE).read_bytes() == good
        assert not list(tmp_path.rglob("evil*"))
