"""Runs the terminal UI by itself: `python -m rig.tui`, as each browser tab does."""

from __future__ import annotations

import argparse


def main() -> None:
    """Read what the server says and open the UI."""
    parser = argparse.ArgumentParser(prog="python -m rig.tui", description=__doc__)
    parser.add_argument("--rig", metavar="PORT", help="a rig to offer first")
    parser.add_argument("--records", metavar="FILE|URL", help="records to use")
    given = parser.parse_args()
    from rig.tui.app import GapsweepApp

    GapsweepApp(records=given.records, rig_name=given.rig).run()


if __name__ == "__main__":
    main()
