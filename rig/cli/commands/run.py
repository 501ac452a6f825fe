"""`gapsweep run`: a whole plan, resumable."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rig.cli.motions import moves
from rig.cli.options import (
    catalogue_option,
    check_temperature,
    example,
    json_option,
    quiet_option,
    records_option,
    rig_option,
)
from rig.cli.output import say_aside
from rig.errors import InputError
from rig.procedures.motions_ahead import touch_off_and_run_ahead

if TYPE_CHECKING:
    from rig.catalogue.plan_file import Plan
    from rig.procedures.particulars import Particulars
    from rig.procedures.plan_walk import GoOn
    from rig.procedures.rounds import Visit
    from rig.procedures.unmeasured import Unmeasured
    from rig.records import PlanEntry, Store
    from rig.wiring import Rig


@click.command(epilog=example("gapsweep run incoming.toml --rig sim://"))
@click.argument("plan_path", metavar="PLAN.toml", type=click.Path(path_type=Path))
@rig_option
@click.option("--resume", is_flag=True, help="Resume the plan where it stopped.")
@click.option(
    "--retry",
    is_flag=True,
    help="With --resume: take the pairs that gave no figures once more.",
)
@click.option(
    "--go-on",
    is_flag=True,
    help="Go on past a pair that gives no figures without asking.",
)
@click.option(
    "--verdict",
    "for_verdict",
    is_flag=True,
    help="End each run as soon as operate point and H are clear of their limits, as "
    "`sweep --verdict` does; the plan is resumed likewise.",
)
@click.option("--operator", default="", help="Who answers for the runs.")
@click.option("--temperature", type=float, metavar="°C", help="Ambient temperature.")
@records_option
@catalogue_option
@quiet_option
@json_option
@moves(touch_off_and_run_ahead(), "for every pair")
def command(
    plan_path: Path,
    rig_name: str,
    resume: bool,
    retry: bool,
    go_on: bool,
    for_verdict: bool,
    operator: str,
    temperature: float | None,
    records: str | None,
    catalogue_path: Path | None,
    as_json: bool,
) -> None:
    """Carry out every run of a plan, one after another.

    After a crash, a stop or a power cut, --resume goes on at the sweep that was due.
    With interleave = true in the plan or in one of its runs, the pairs are taken in
    rounds, so that warm-up does not look like a difference between materials. A pair
    that gives no figures (a sensor that never switches, is always on, chatters) is on
    record as such: the plan asks whether to go on past it, and with --go-on does; with
    nobody to ask it stops, and --resume begins with the next pair.
    """
    # Deferred: help must answer at once
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.plan_file import load_plan
    from rig.cli.open_rig import open_rig, open_store
    from rig.inquiry.operators import chosen_operator
    from rig.procedures.particulars import Particulars

    check_temperature(temperature)
    if retry and not resume:
        raise InputError("--retry goes with --resume: a plan that begins retries all")
    plan = load_plan(plan_path, load_catalogue(catalogue_path))
    with open_store(records) as store:
        answering = chosen_operator(store, operator)
        beside = Particulars(operator=answering, temperature_c=temperature)
        with open_rig(rig_name) as rig:
            entry = _carry_out(
                plan,
                store,
                rig,
                resume=resume,
                retry=retry,
                for_verdict=for_verdict,
                go_on=_always if go_on else _ask_to_go_on,
                beside=beside,
            )
        _say(entry, store, as_json=as_json)


def _carry_out(
    plan: Plan,
    store: Store,
    rig: Rig,
    *,
    resume: bool,
    retry: bool,
    for_verdict: bool,
    go_on: GoOn,
    beside: Particulars,
) -> PlanEntry:
    """Carry out what is due of a plan; return it as it is on record."""
    from rig.cli.open_rig import SETTINGS, mount_by_hand
    from rig.cli.progress import progress_on_stderr
    from rig.procedures.begin_plan import plan_on_record
    from rig.procedures.plan_walk import PlanWalk
    from rig.procedures.run_context import RunContext
    from rig.sheets.duration_words import duration_text

    motions = touch_off_and_run_ahead(SETTINGS)
    with progress_on_stderr(motions, "for every pair") as tell:
        context = RunContext.on(rig.mover, SETTINGS, store, tell)
        entry = plan_on_record(plan, context, resume=resume, for_verdict=for_verdict)
        if entry.for_verdict:
            say_aside("Each run ends as soon as its verdict is clear.")
        mount = rig.simulation.mount if rig.simulation else mount_by_hand
        walk = PlanWalk(entry, context, mount, beside, retry=retry)
        say_aside(
            f"This takes {duration_text(walk.seconds_left())}, mounting by hand "
            "counted."
        )
        walk.carry_out_rest(go_on)
    return entry


def _always(visit: Visit, why: Unmeasured) -> bool:
    return True


def _ask_to_go_on(visit: Visit, why: Unmeasured) -> bool:
    """Ask whoever sits at the terminal; with nobody there the plan stops."""
    if not sys.stdin.isatty():
        say_aside(
            "The plan stops here: --resume begins with the next pair, and --go-on goes"
            " on past such pairs."
        )
        return False
    # Deferred: only a plan that comes upon such a pair needs it
    from rig.cli.open_rig import agreed

    say_aside(f"{why}\n  {why.hint}")
    return agreed("Go on with the next pair?")


def _say(entry: PlanEntry, store: Store, *, as_json: bool) -> None:
    from rig.cli.output import say, say_document
    from rig.cli.text.plan_text import plan_text
    from rig.inquiry.plan import plan_document, plan_result
    from rig.sheets.plan_sheet import plan_sheet

    result = plan_result(store, entry.plan_id)
    if as_json:
        say_document("plan", plan_document(result))
    else:
        say(plan_text(plan_sheet(result)))
        say(f"plan {entry.plan_id}: `gapsweep report --plan {entry.plan_id}`")
