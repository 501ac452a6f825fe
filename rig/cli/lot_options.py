"""Options and examples that the verbs of `gapsweep lot` share."""

from __future__ import annotations

import click

LOT_EXAMPLE = "20261125-093412-512-7f3a"
LEVELS = ["S-1", "S-2", "S-3", "S-4", "I", "II", "III", "IV", "V", "VI", "VII"]
SAMPLINGS = ["single", "double", "zero"]
SAMPLING_HELP = (
    "One sample, two if the first does not decide, or one with no nonconforming part"
    " allowed."
)
METHODS = ["attributes", "variables"]
METHOD_HELP = "Count nonconforming parts, or judge mean and spread of a figure."
lot_argument = click.argument("lot_id", metavar="LOT")
lot_or_none_argument = click.argument("lot_id", metavar="[LOT]", required=False)
sample_option = click.option(
    "--sample",
    type=int,
    help="Number of parts to measure, by variables only. Default: by the level.",
)
