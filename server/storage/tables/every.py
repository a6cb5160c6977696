"""Imports every table, so that the metadata is whole for migrations and checks."""

from server.storage.tables import (
    bend_sequence,
    brake,
    event,
    job,
    material,
    part,
    setup,
    tool,
)
from server.storage.tables.column import METADATA

MODULES = (bend_sequence, brake, event, job, material, part, setup, tool)

__all__ = ["METADATA", "MODULES"]
