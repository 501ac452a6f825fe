"""Runs the terminal UI by itself: `python -m rig.tui`, as each browser tab does."""

from __future__ import annotations

import argparse
from pathlib import Path


def main() -> None:
    """Read what the server says and open the UI."""
    parser = argparse.ArgumentParser(prog="python -m rig.tui", description=__doc__)
    parser.add_argument("--rig", metavar="PORT", help="a rig to offer first")
    parser.add_argument("--records", metavar="FILE|URL", help="records to use")
    parser.add_argument(
        "--look-folder",
        type=Path,
        metavar="FOLDER",
        help="leave pictures of the screen there, for onlookers",
    )
    given = parser.parse_args()
    from rig.tui.app.app import GapsweepApp

    if given.look_folder is None:
        GapsweepApp(records=given.records, rig_name=given.rig).run()
        return
    from rig.tui.app.shown_app import ShownApp

    ShownApp(given.look_folder, records=given.records, rig_name=given.rig).run()


if __name__ == "__main__":
    main()
