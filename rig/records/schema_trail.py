"""The trail of changes that people make, and the list of those people. Adds only.

Each entry of the trail carries a hash over itself and the hash of the one before.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Index, Integer, LargeBinary, String, Table, Text

from rig.records.columns import NAME, TIME, metadata

TRAIL_BEGAN = 10  # version of these tables that is the first to keep a trail
HASH = String(64)  # SHA-256 in hexadecimal digits

trail = Table(
    "trail",
    metadata,
    # From 1, without gaps
    Column("entry", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(32), nullable=False),
    Column("subject", NAME, nullable=False),
    Column("action", String(32), nullable=False),
    Column("person", NAME, nullable=False),
    Column("authority", NAME, nullable=False),
    Column("reason", Text, nullable=False),
    # What was on record and what is from then on, as JSON; null for nothing
    Column("state_before", Text, nullable=False),
    Column("state_after", Text, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("previous_hash", HASH, nullable=False),
    Column("hash", HASH, nullable=False),
    Index("trail_by_subject", "kind", "subject"),
)

# The last row of a name counts
operators = Table(
    "operators",
    metadata,
    Column("operator_entry", Integer, primary_key=True),
    Column("name", NAME, nullable=False),
    Column("authorises", Boolean, nullable=False),
    Column("active", Boolean, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("operators_by_name", "name"),
)

# The last row of a name counts; the settings are those of scrypt, RFC 7914
operator_pins = Table(
    "operator_pins",
    metadata,
    Column("pin_entry", Integer, primary_key=True),
    Column("name", NAME, nullable=False),
    Column("salt", LargeBinary, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Column("cost", Integer, nullable=False),
    Column("block_size", Integer, nullable=False),
    Column("parallelization", Integer, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Index("operator_pins_by_name", "name"),
)

# Every PIN that was tried, right or wrong, but not the PIN
pin_trials = Table(
    "pin_trials",
    metadata,
    Column("trial_entry", Integer, primary_key=True),
    Column("name", NAME, nullable=False),
    Column("accepted", Boolean, nullable=False),
    Column("tried_at", TIME, nullable=False),
    Index("pin_trials_by_name", "name"),
)

TRAIL_TABLES = (trail, operators, operator_pins, pin_trials)
