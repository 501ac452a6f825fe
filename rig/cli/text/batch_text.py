"""A batch in words for a terminal, and the command's way from options to them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rig.analysis.batch.batch_summary import BatchSummary
from rig.analysis.batch.compare import Comparison
from rig.analysis.batch.control_charts import Chart
from rig.analysis.limits.verdict import RULES
from rig.catalogue.catalogue import load_catalogue
from rig.cli.batches import (
    BatchFigures,
    BatchResult,
    Wishes,
    batch_words,
    class_names,
    collection_document,
    limits_of,
    simulated_in,
    work_out,
)
from rig.cli.documents import emit
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.part_figures import Collection, parts_from_runs, parts_from_tables
from rig.cli.text.standard_text import status_of
from rig.cli.text.table import SIMULATED, table
from rig.errors import InputError
from rig.model.plain import plain
from rig.records import Reader, RunFilter
from rig.records.lot_book import LotBook


def run_batch(options: dict[str, Any]) -> int:
    """Work a batch out as the command line asks, and return the exit status.

    Raises:
        RigError: The parts do not make a batch.
    """
    collection = collected(options)
    limits, why_none = limits_of(collection, options["lower"], options["upper"])
    bounds = options["classes"]
    wishes = Wishes(
        limits=limits,
        rule=RULES[options["rule_name"]],
        content=options["content"],
        confidence=options["confidence"],
        subgroup=options["subgroup"],
        bounds=bounds,
        class_names=class_names(bounds, options["class_names"]),
    )
    result = work_out(collection, wishes)
    if options["as_json"]:
        emit(_document(collection, result, why_none))
    else:
        _say(collection, result, why_none)
    return status_of(result.decisions)


def collected(options: dict[str, Any]) -> Collection:
    """Collect the parts that the command line chooses.

    Raises:
        RigError: The parts do not make a batch.
    """
    tables: tuple[Path, ...] = options["tables"]
    chosen = options["run_ids"] or options["plans"] or options["lots"]
    if tables and (chosen or options["against"]):
        raise InputError(
            "--from goes with neither runs, --plan, --lot nor --against",
            hint="export the runs, or leave --from out",
        )
    if tables:
        known = load_catalogue(options["catalogue_path"])
        sensor, target = options["sensor"], options["target"]
        return parts_from_tables(
            tables,
            figure=options["figure_name"],
            sensor=known.sensor(sensor) if sensor else None,
            target=known.target(target) if target else None,
        )
    with open_store(options["records"], read_only=True) as store:
        reader = Reader(store)
        for run_id in options["run_ids"]:
            reader.run(run_id)
        for plan_id in options["plans"]:
            reader.plan(plan_id)
        found = parts_from_runs(
            reader,
            _batches(options, LotBook(store)),
            figure=options["figure_name"],
            against=options["against"],
        )
    return found


def _batches(options: dict[str, Any], book: LotBook) -> dict[str, RunFilter]:
    sensor, target = options["sensor"], options["target"]
    found = {
        f"plan {plan_id}": RunFilter(plan_id=plan_id, sensor=sensor, target=target)
        for plan_id in options["plans"]
    }
    for lot_id in options["lots"]:
        book.lot(lot_id)
        runs = tuple(part.run_id for part in book.parts(lot_id) if part.run_id)
        found[f"lot {lot_id}"] = RunFilter(run_ids=runs, sensor=sensor, target=target)
    if found:
        return found
    ids = options["run_ids"] or None
    return {"batch": RunFilter(run_ids=ids, sensor=sensor, target=target)}


def _document(
    collection: Collection, result: BatchResult, why_none: tuple[str, ...]
) -> dict[str, Any]:
    return {
        "simulated": simulated_in(collection),
        **collection_document(collection),
        "limit_statements": list(why_none),
        "batches": {name: plain(one) for name, one in result.batches.items()},
        "comparison": plain(result.comparison),
    }


def _say(
    collection: Collection, result: BatchResult, why_none: tuple[str, ...]
) -> None:
    if simulated_in(collection):
        say(SIMULATED)
    for name, one in result.batches.items():
        say(f"{collection.figure}, {name}: {one.summary.n} parts")
        say(_parts_table(one))
        say("")
        say("\n".join(_summary_lines(one.summary)))
        say("\n".join(_chart_lines(one)))
        say("")
    if result.comparison is not None:
        say(_comparison_text(result.comparison))
    for sentence in (*why_none, *collection.statements):
        say(sentence)
    for sentence, count in collection.run_warnings.items():
        say(f"Note of {count} runs: {sentence}")


def _parts_table(one: BatchFigures) -> str:
    unit = one.summary.unit
    classes = list(one.sorting.parts) if one.sorting else []
    rows = []
    for index, row in enumerate(one.summary.rows):
        known = row.expanded_uncertainty
        value = f"{row.value:.5f}" + (f" ± {known:.2g}" if known is not None else "")
        own = classes[index] if classes else None
        rows.append(
            [
                row.part,
                value,
                "outlier" if row.outlier else "",
                row.decision.value if row.decision else "",
                "" if own is None else " or ".join(own.may_be),
            ]
        )
    head = ["part", f"value {unit}".removesuffix(" 1"), "", "verdict", "class"]
    return table(head, rows)


def _summary_lines(s: BatchSummary) -> list[str]:
    def words(value: float | None) -> str:
        return batch_words(s.unit, value)

    content = f"{100 * s.tolerance.content:g} %"
    lines = [
        f"mean {words(s.mean)}, 95 % interval {words(s.mean_interval.lower)} to"
        f" {words(s.mean_interval.upper)}",
        f"standard deviation {words(s.sd)}, 95 % interval"
        f" {words(s.sd_interval.lower)} to {words(s.sd_interval.upper)}",
        f"smallest {words(s.smallest)}, largest {words(s.largest)}, n = {s.n}",
        f"tolerance interval: {content} of the batch within"
        f" {words(s.tolerance.lower)} to {words(s.tolerance.upper)}, confidence"
        f" {100 * s.tolerance.confidence:g} % ({s.tolerance.method})",
    ]
    known = s.capability
    if known is not None:
        cp = "" if known.cp is None else f"Cp {known.cp:.3f}, "
        lines.append(
            f"capability: {cp}Cpk {known.cpk:.3f}, lower bound"
            f" {known.cpk_lower_bound:.3f} ({100 * known.confidence:g} %);"
            f" {known.statement}"
        )
    if s.decisions:
        counts = ", ".join(f"{n} {word}" for word, n in s.decisions.items())
        lines.append(f"verdicts: {counts}; rule: {s.rule}")
    plot = s.normal_plot
    if plot is not None and plot.p is not None:
        lines.append(
            f"normal plot: correlation {plot.correlation:.4f}, Anderson-Darling"
            f" p = {plot.p:.3g}"
        )
    return [*lines, *(f"Note: {words}." for words in s.statements)]


def _chart_lines(one: BatchFigures) -> list[str]:
    unit = one.summary.unit
    pairs = [pair for pair in (one.individuals, one.subgroups) if pair is not None]
    lines = [
        _chart_line(chart, unit)
        for pair in pairs
        for chart in (pair.location, pair.spread)
    ]
    if one.sorting is not None:
        counts = ", ".join(
            f"{name} {n} ({one.sorting.unsure[name]} unsure)"
            for name, n in one.sorting.counts.items()
        )
        lines.append(f"classes: {counts}")
    return [*lines, *one.statements]


def _chart_line(chart: Chart, unit: str) -> str:
    words = [batch_words(unit, at) for at in (chart.lower, chart.centre, chart.upper)]
    line = f"chart of {chart.name}: limits {words[0]} to {words[2]}, centre {words[1]}"
    if not chart.signals:
        return f"{line}; no rule broken"
    broken = "; ".join(
        f"point {signal.at + 1}: {signal.rule}" for signal in chart.signals
    )
    return f"{line}; {broken}"


def _comparison_text(found: Comparison) -> str:
    rows = [
        [
            f"{pair.second} less {pair.first}",
            f"{pair.difference:.5g}",
            f"{pair.interval.lower:.5g} to {pair.interval.upper:.5g}",
            f"{pair.p:.3g}",
            f"{pair.sd_ratio:.3g}",
        ]
        for pair in found.pairs
    ]
    head = ["batches", "difference", "interval", "p", "ratio of spreads"]
    lines = [
        table(head, rows),
        f"means differ by chance with p = {found.means.p:.3g}, spreads with"
        f" p = {found.spreads.p:.3g}",
        *(f"Note: {words}." for words in found.statements),
    ]
    return "\n".join(lines)
