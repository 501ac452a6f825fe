"""Says which lines of core/ the tests ran; fails when they are too few.

Usage: coverage.py <folder with the .gcda files> <least per cent>
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path


def main(folder: Path, least_percent: float) -> int:
    """Print a line for each file of the core, one for all; return the exit status."""
    lines: dict[str, dict[int, int]] = {}
    for data in sorted(folder.glob("*.gcda")):
        done = subprocess.run(
            ["gcov", "--json-format", "--stdout", data.name],
            cwd=folder,
            capture_output=True,
            check=True,
        )
        for entry in json.loads(done.stdout)["files"]:
            path = Path(entry["file"])
            if path.parent.name == "core":
                seen = lines.setdefault(path.name, {})
                for line in entry["lines"]:
                    number = line["line_number"]
                    seen[number] = seen.get(number, 0) + line["count"]
    run = sum(count > 0 for seen in lines.values() for count in seen.values())
    total = sum(len(seen) for seen in lines.values())
    for name, seen in sorted(lines.items()):
        missed = [number for number, count in sorted(seen.items()) if count == 0]
        print(f"{name}: {len(seen) - len(missed)} of {len(seen)}; not run: {missed}")  # noqa: T201
    percent = 100.0 * run / total
    print(f"core: {run} of {total} lines, {percent:.1f} %")  # noqa: T201
    return 0 if percent >= least_percent else 1


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), float(sys.argv[2])))
