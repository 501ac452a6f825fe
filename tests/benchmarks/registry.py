"""What a benchmark is and gives, and the list of them."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

Cell = str | int | float | bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of results.

    Attributes:
        title: What it shows.
        columns: Heads, with units.
        rows: As many cells each as there are columns.
    """

    title: str
    columns: tuple[str, ...]
    rows: Sequence[tuple[Cell, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Something that a benchmark has to show.

    Attributes:
        claim: In words, with the limit.
        measured: What came out, with its unit.
        met: Whether it holds.
    """

    claim: str
    measured: str
    met: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """How long something takes beside something else.

    Attributes:
        what: What was measured.
        beside: A floor, or how others do the same.
        ratio: Time of the one over time of the other.
    """

    what: str
    beside: str
    ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything that a benchmark found.

    Attributes:
        tables: In the order in which to read them.
        claims: What it had to show.
        comparisons: With floors, and with how others do the same.
        notes: Whole sentences: how it was measured, why a claim is not met.
    """

    tables: tuple[Table, ...]
    claims: tuple[Claim, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Benchmark:
    """A benchmark by name.

    Attributes:
        name: For `--only`.
        title: One line.
        run: Carries it out.
    """

    name: str
    title: str
    run: Callable[[], Report]


_found: dict[str, Benchmark] = {}


def benchmark(name: str, title: str) -> Callable[[Callable[[], Report]], Benchmark]:
    """Put the decorated function on the list."""

    def add(run: Callable[[], Report]) -> Benchmark:
        if name in _found:
            raise ValueError(f"two benchmarks are called {name!r}")
        _found[name] = Benchmark(name=name, title=title, run=run)
        return _found[name]

    return add


def every_benchmark() -> dict[str, Benchmark]:
    """Import all modules of this package and return what they put on the list."""
    package = importlib.import_module(__package__)
    for module in pkgutil.iter_modules(package.__path__):
        if not module.name.startswith("_"):
            importlib.import_module(f"{__package__}.{module.name}")
    return dict(sorted(_found.items()))
