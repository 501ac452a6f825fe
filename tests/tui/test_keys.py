"""That a key means one thing on all screens: the table, and that all come from it."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.binding import Binding

import rig.tui
from rig.tui.state.keys import MEANINGS, bound

SOURCE = Path(rig.tui.__file__).parent
TABLE = "state/keys.py"
# What the UI library or the app itself sees to, with no binding of a screen
_WITHOUT_A_BINDING = {"shift+tab", "space", "enter", "ctrl+c"}


def _bindings() -> Iterator[tuple[str, Binding]]:
    """Yield what each class of the terminal UI binds, with the name of the class."""
    for module in pkgutil.walk_packages(rig.tui.__path__, "rig.tui."):
        if module.name.endswith("__main__"):
            continue
        for name, kind in vars(importlib.import_module(module.name)).items():
            if inspect.isclass(kind) and kind.__module__ == module.name:
                for binding in vars(kind).get("BINDINGS", ()):
                    yield name, binding


def test_no_key_has_two_meanings_and_no_two_meanings_one_name() -> None:
    keys = Counter(key for one in MEANINGS for key in one.keys)
    labels = Counter(label for one in MEANINGS for label in one.labels)

    assert [key for key, count in keys.items() if count > 1] == []
    assert [label for label, count in labels.items() if count > 1] == []
    assert len({one.sentence for one in MEANINGS}) == len(MEANINGS)


@pytest.mark.long
def test_no_binding_is_made_past_the_table() -> None:
    made = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path in SOURCE.rglob("*.py")
        if path != SOURCE / TABLE
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == Binding.__name__
    ]

    assert made == []


def test_every_key_and_label_of_the_screens_is_in_the_table_and_used() -> None:
    known = {key: one for one in MEANINGS for key in one.keys}
    used_keys, used_labels = set(), set()
    for name, binding in _bindings():
        assert isinstance(binding, Binding), name
        for key in binding.key.split(","):
            label = binding.description
            assert key in known, (name, key)
            assert not label or label in known[key].labels, (name, key, label)
            used_keys.add(key)
            used_labels.add(label)

    assert set(known) - used_keys - _WITHOUT_A_BINDING == set()
    assert {label for one in MEANINGS for label in one.labels} - used_labels == set()


@pytest.mark.parametrize(
    ("key", "label"), [("y", "Theory"), ("r", "Other rig"), ("n", "Other batch")]
)
def test_a_key_cannot_be_given_another_meaning(key: str, label: str) -> None:
    with pytest.raises(ValueError, match=r"table of keys|does not mean"):
        bound(key, "something", label)
