"""Imports every table, so that the metadata is whole for migrations and checks."""

from server.storage.tables import (
    attachment,
    bend_sequence,
    brake,
    care,
    customer,
    event,
    first_article,
    job,
    learned_bend,
    material,
    measured_time,
    note,
    order,
    part,
    planning,
    program,
    setup,
    stock,
    stoppage,
    tolerance,
    tool,
)
from server.storage.tables.column import METADATA

MODULES = (
    attachment,
    bend_sequence,
    brake,
    care,
    customer,
    event,
    first_article,
    job,
    learned_bend,
    material,
    measured_time,
    note,
    order,
    part,
    planning,
    program,
    setup,
    stock,
    stoppage,
    tolerance,
    tool,
)

__all__ = ["METADATA", "MODULES"]
