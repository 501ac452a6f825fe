"""Column types that every table of the records shares, and their registry."""

from __future__ import annotations

from sqlalchemy import MetaData, String

IDENTITY = String(64)
TIME = String(27)  # 2026-11-25T09:34:12.512345Z
DAY = String(10)  # 2026-11-25
NAME = String(200)

metadata = MetaData()
