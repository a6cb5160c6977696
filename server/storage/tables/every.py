"""Imports every table, so that the metadata is whole for migrations and checks."""

from server.storage.tables import (
    bend_sequence,
    brake,
    care,
    event,
    first_article,
    job,
    learned_bend,
    material,
    measured_time,
    note,
    part,
    planning,
    program,
    setup,
    stoppage,
    tolerance,
    tool,
)
from server.storage.tables.column import METADATA

MODULES = (
    bend_sequence,
    brake,
    care,
    event,
    first_article,
    job,
    learned_bend,
    material,
    measured_time,
    note,
    part,
    planning,
    program,
    setup,
    stoppage,
    tolerance,
    tool,
)

__all__ = ["METADATA", "MODULES"]
