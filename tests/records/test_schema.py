from __future__ import annotations

import dataclasses

from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from rig.model.figures import Figure
from rig.model.sweeps import Edge
from rig.records import schema


def test_every_table_can_be_put_to_a_server() -> None:
    dialect = postgresql.dialect()
    for table in schema.metadata.sorted_tables:
        text = str(CreateTable(table).compile(dialect=dialect))

        assert f"CREATE TABLE {table.name}" in text


def test_every_field_of_an_edge_and_of_a_figure_has_its_column() -> None:
    for kind, table in ((Edge, schema.edges), (Figure, schema.figures)):
        names = {field.name for field in dataclasses.fields(kind)}

        # Versions that wrote `figures` had nothing pooled to say
        assert names - {"pooled_runs"} <= set(table.columns.keys())
