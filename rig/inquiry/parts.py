"""One figure of every part, from runs on record or from tables; decides nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace
from pathlib import Path

from rig.analysis.batch.common_errors import CommonError
from rig.analysis.edges.shared_causes import shared_contributions
from rig.analysis.limits.verdict import Decision
from rig.analysis.numbers.ratio import ratio
from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.analysis.standard.product_match import limited_target_differences
from rig.catalogue.table_input import TableRow, read_table
from rig.errors import InputError, NoFigures
from rig.inquiry.lot_terms import terms_of
from rig.inquiry.part_errors import errors_in_common
from rig.inquiry.parts_tried import (
    CountingOutcomes,
    PartWithout,
    counting_outcomes,
)
from rig.inquiry.products import product_in_force
from rig.inquiry.runs_behind import RunBehind, sound_runs_behind
from rig.inquiry.tried import Tried, tried_on_record
from rig.model.figure_kinds import KIND_OF_OPTION, figure_of
from rig.model.figures import Figure, RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.records import Reader, RunFilter, Store
from rig.records.lot_book import LotBook
from rig.records.product_book import ProductBook

RATIO = "reduction factor"
# By these the exported table of figures is known
_OF_AN_EXPORT = ("run_id", "figure", "run_void")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSelection:
    """Which runs on record make up a batch, or several.

    Each plan and each lot is a batch of its own; without any, all runs that fit are
    one batch.

    Attributes:
        run_ids: Identities of runs; empty for all that fit.
        plan_ids: Plans whose runs are taken.
        lot_ids: Lots whose parts are taken.
        sensor: Name of the sensor; None for any.
        target: Name of the target; None for any.
        against: Name of the standard target, for reduction factors; None for the
            figure itself.
        product: Name of the product to hold the parts against; None for the one that
            their runs were made for.
    """

    run_ids: tuple[str, ...] = ()
    plan_ids: tuple[str, ...] = ()
    lot_ids: tuple[str, ...] = ()
    sensor: str | None = None
    target: str | None = None
    against: str | None = None
    product: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TableSelection:
    """Which tables of values make up a batch, or several.

    Attributes:
        paths: CSV files; see `parts_from_tables`.
        sensor: Sensor of all parts; None if nobody says.
        target: Target that all parts were measured on; None if nobody says.
    """

    paths: tuple[Path, ...]
    sensor: Sensor | None = None
    target: Target | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFigure:
    """The figure of one part.

    Attributes:
        part: Serial or sample number.
        value: Value of the figure, in `unit`.
        expanded_uncertainty: Expanded uncertainty (95 %), in `unit`; None if there is
            none.
        unit: Unit of value and uncertainty.
        batch: Name of the batch that the part belongs to.
        run_id: Identity of the run behind it; empty for a value from elsewhere.
        reference_run_id: Identity of the run on the standard target behind a
            reduction factor; empty without one.
        simulated: Whether a simulated rig made that run.
    """

    part: str
    value: float
    expanded_uncertainty: float | None
    unit: str
    batch: str
    run_id: str
    reference_run_id: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """One figure of all parts that were asked for.

    Attributes:
        parts: The parts, in order of time or of the table.
        figure: Option name of the figure, or "reduction factor".
        sensor: Sensor of all parts; None where nobody said.
        standard_target: Whether all were measured on the target that limits are for:
            that of the product, or the standard one.
        runs: The runs behind the parts; empty where they come from tables.
        tables: Names of the files that the parts come from; empty for runs.
        run_warnings: Sentences that go with the figures, with how many runs say so.
        statements: What was chosen or left out.
        common: What each part has in common with others, in the order of the parts;
            None where nobody knows.
        without: Parts that were tried and whose outcome is no figures, on the target
            itself or on the one that a reduction factor is against.
        product: Product that they are held against; None without one.
    """

    parts: tuple[PartFigure, ...]
    figure: str
    sensor: Sensor | None
    standard_target: bool
    runs: tuple[RunBehind, ...]
    tables: tuple[str, ...]
    run_warnings: dict[str, int]
    statements: tuple[str, ...]
    common: tuple[tuple[CommonError, ...], ...] | None
    without: tuple[PartWithout, ...] = ()
    product: ProductVersion | None = None


def parts_on_record(store: Store, selection: RunSelection, figure: str) -> Parts:
    """Collect a figure of every part from the runs on record.

    Args:
        store: Open records; a snapshot where they may be written meanwhile.
        selection: Runs to take.
        figure: Option name of the figure.

    Raises:
        InputError: A run has no part or no figures, or they do not go together.
        RecordsError: The records cannot be read, or a run, plan or lot is not there.
    """
    against = selection.against
    if against is not None and figure != "operate":
        raise InputError(
            f"--against goes with the operate point, not with {figure}",
            hint="a reduction factor is a ratio of operate points",
        )
    reader = Reader(store)
    parts: list[PartFigure] = []
    found: dict[str, RunBehind] = {}
    references: dict[str, RunBehind] = {}
    said: list[str] = []
    common: list[tuple[CommonError, ...]] = []
    without: list[PartWithout] = []
    book = LotBook(store)
    of_lots = {f"lot {lot_id}": lot_id for lot_id in selection.lot_ids}
    kinds: set[tuple[Sensor, Target]] = set()
    tried_of = {
        batch: tried_on_record(store, wanted)
        for batch, wanted in _batches(store, selection).items()
    }
    product = _product(store, selection, tried_of)
    for batch, every_tried in tried_of.items():
        tried = [replace(one, product=product) for one in every_tried]
        counting = counting_outcomes(tried, batch)
        said += counting.statements
        of_batch = list(counting.without)
        if batch in of_lots:
            of_batch += _parts_without_run(of_lots[batch], book, batch)
        _check_any(batch, counting, of_batch)
        without += of_batch
        kinds |= {(one.sensor, one.target) for one in tried if one.part}
        behind = sound_runs_behind(reader, counting.run_ids)
        one_datum = len({one.run.header.conditions.datum for one in behind}) == 1
        for one in behind:
            reference = None
            if against is not None:
                on_standard = _reference(store, one, against, batch)
                if isinstance(on_standard, PartWithout):
                    without.append(on_standard)
                    continue
                reference = on_standard
                references[reference.run.header.run_id] = reference
            found[one.run.header.run_id] = one
            value = _value(one, reference, figure)
            parts.append(_part(one, reference, value, batch))
            common.append(
                errors_in_common(value, one.run.header.conditions, one_datum=one_datum)
            )
    runs = [one.run for one in found.values()]
    measured = {(run.header.sensor, run.header.target) for run in runs}
    sensor = _one_sensor(measured or kinds)
    specified = None if product is None else product.specification
    odd = any(
        limited_target_differences(one, on, specified) for one, on in measured or kinds
    )
    every = tuple((found | references).values())
    return Parts(
        parts=tuple(parts),
        figure=RATIO if against else figure,
        sensor=sensor,
        standard_target=not odd and against is None,
        runs=every,
        tables=(),
        run_warnings=dict(Counter(w for one in every for w in _figures(one).warnings)),
        statements=tuple(said),
        common=tuple(common),
        without=tuple(without),
        product=product,
    )


def _product(
    store: Store, selection: RunSelection, tried: Mapping[str, Sequence[Tried]]
) -> ProductVersion | None:
    """Return the product to hold the parts against; None without one.

    Raises:
        InputError: It is not on record, or the parts were made for several.
    """
    if selection.product is not None:
        return product_in_force(ProductBook(store), selection.product)
    book = LotBook(store)
    found = {terms_of(book.lot(i).terms).product for i in selection.lot_ids}
    if not selection.lot_ids:
        found = {one.product for own in tried.values() for one in own if one.part}
    if len(found) > 1:
        names = sorted("none" if one is None else one.title for one in found)
        raise InputError(
            f"the parts were made for several products ({'; '.join(names)})",
            hint="a batch is held against one: choose it with --product",
        )
    return next(iter(found), None)


def _batches(store: Store, selection: RunSelection) -> dict[str, RunFilter]:
    """Return which runs make up which batch."""
    reader, book = Reader(store), LotBook(store)
    fitting = RunFilter(sensor=selection.sensor, target=selection.target)
    for run_id in selection.run_ids:
        reader.run(run_id)
    found = {}
    for plan_id in selection.plan_ids:
        reader.plan(plan_id)
        found[f"plan {plan_id}"] = replace(fitting, plan_id=plan_id)
    for lot_id in selection.lot_ids:
        book.lot(lot_id)
        runs = tuple(part.run_id for part in book.parts(lot_id) if part.run_id)
        found[f"lot {lot_id}"] = replace(fitting, run_ids=runs)
    return found or {"batch": replace(fitting, run_ids=selection.run_ids or None)}


def _parts_without_run(lot_id: str, book: LotBook, batch: str) -> list[PartWithout]:
    """Return the parts of a lot that no run is behind, such as those seen to fail."""
    return [
        PartWithout(
            part=one.part,
            batch=batch,
            result="no run behind it",
            sentence=one.reason,
            causes="",
            decision=Decision(one.decision),
            run_id="",
            earlier_run_id="",
            simulated=one.simulated,
        )
        for one in book.parts(lot_id)
        if not one.run_id
    ]


def _check_any(
    batch: str, counting: CountingOutcomes, without: Sequence[PartWithout]
) -> None:
    """Refuse a batch of which no part was ever tried."""
    if not counting.run_ids and not without:
        raise InputError(
            f"no ended run that is not void fits ({batch})",
            hint="`gapsweep results` lists what is there",
        )


def _reference(
    store: Store, one: RunBehind, against: str, batch: str
) -> RunBehind | PartWithout:
    """Return the run of the same part on the standard target that counts.

    A part that was tried there later and failed has no reduction factor any more.
    """
    header = one.run.header
    wanted = RunFilter(sensor=header.sensor.name, target=against, part=header.part)
    counting = counting_outcomes(tried_on_record(store, wanted), batch)
    if counting.run_ids:
        (reference,) = sound_runs_behind(Reader(store), counting.run_ids[-1:])
        return reference
    if counting.without:
        (dead,) = counting.without
        return replace(dead, result=f"{dead.result} on {against}")
    raise InputError(
        f"part {header.part} has no run against {against!r}",
        hint="measure it on the standard target too",
    )


def _value(one: RunBehind, reference: RunBehind | None, figure: str) -> Figure:
    if reference is not None:
        return _factor(one, reference)
    return figure_of(_figures(one), figure)


def _part(
    one: RunBehind, reference: RunBehind | None, found: Figure, batch: str
) -> PartFigure:
    header = one.run.header
    return PartFigure(
        part=header.part,
        value=found.value,
        expanded_uncertainty=found.expanded_uncertainty,
        unit=found.unit,
        batch=batch,
        run_id=header.run_id,
        reference_run_id="" if reference is None else reference.run.header.run_id,
        simulated=header.conditions.simulated,
    )


def _factor(one: RunBehind, reference: RunBehind) -> Figure:
    own, other = one.run.header, reference.run.header
    return ratio(
        _figures(one).operate,
        _figures(reference).operate,
        shared=shared_contributions(own.conditions, other.conditions),
        labels=(own.target.name, other.target.name),
    )


def _figures(one: RunBehind) -> RunFigures:
    if one.computation is None:
        run_id = one.run.header.run_id
        raise NoFigures(run_id)
    return one.computation.figures


def _one_sensor(kinds: Set[tuple[Sensor, Target]]) -> Sensor:
    """Return the sensor of all runs, which are against one target."""
    sensors = {sensor for sensor, _ in kinds}
    if len(sensors) > 1:
        names = ", ".join(sorted({sensor.name for sensor in sensors}))
        raise InputError(
            f"the runs are of {len(sensors)} kinds of sensor ({names})",
            hint="a batch is of one: choose it with --sensor",
        )
    targets = sorted({target.name for _, target in kinds})
    if len(targets) > 1:
        raise InputError(
            f"the runs are against {len(targets)} targets ({', '.join(targets)})",
            hint="choose one with --target",
        )
    (sensor,) = sensors
    return sensor


def parts_from_tables(selection: TableSelection, figure: str) -> Parts:
    """Collect a figure of every part from tables.

    A table has the columns part and value, and may have expanded_uncertainty, unit and
    batch; or it is the exported table of figures.

    Args:
        selection: Tables to take.
        figure: Option name of the figure.

    Raises:
        InputError: A table or a cell is not right.
    """
    rows = [row for path in selection.paths for row in _rows(path, selection, figure)]
    warnings = Counter(
        sentence
        for row in rows
        for sentence in row.lines("warnings").split("\n")
        if sentence
    )
    sensor, target = selection.sensor, selection.target
    said = () if target else ("No --target: taken as measured on the standard one.",)
    return Parts(
        parts=tuple(_part_of_row(row, KIND_OF_OPTION[figure].unit) for row in rows),
        figure=figure,
        sensor=sensor,
        standard_target=sensor is not None
        and (target is None or not not_the_standard_target(target, sensor)),
        runs=(),
        tables=tuple(str(path) for path in selection.paths),
        run_warnings=dict(warnings),
        statements=said,
        common=None,
    )


def _rows(path: Path, selection: TableSelection, figure: str) -> list[TableRow]:
    rows = read_table(
        path,
        required=("part", "value"),
        optional=("expanded_uncertainty", "unit", "batch"),
        others_beside=_OF_AN_EXPORT,
    )
    if not set(_OF_AN_EXPORT) <= rows[0].cells.keys():
        return rows
    field = KIND_OF_OPTION[figure].field
    sensor, target = selection.sensor, selection.target
    rows = [
        row
        for row in rows
        if row.cells["figure"] == field
        and not row.cells["run_void"]
        and (sensor is None or row.cells["sensor"] == sensor.name)
        and (target is None or row.cells["target"] == target.name)
    ]
    if not rows:
        raise InputError(
            f"{path} has no row of the figure {field!r} that fits",
            hint="check --figure, --sensor and --target",
        )
    return rows


def _part_of_row(row: TableRow, unit: str) -> PartFigure:
    return PartFigure(
        part=row.part("part"),
        value=row.number("value"),
        expanded_uncertainty=row.optional_number("expanded_uncertainty"),
        unit=row.optional_text("unit") or unit,
        batch=row.optional_text("batch") or row.path.stem,
        run_id=row.optional_text("run_id"),
        reference_run_id="",
        simulated=row.optional_text("simulated") == "SIMULATED",
    )
