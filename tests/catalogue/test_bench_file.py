"""The declaration of a bench as a file: read whole, or refused with the place."""

from __future__ import annotations

from pathlib import Path

import pytest

from rig.catalogue.bench_file import load_bench
from rig.errors import InputError
from rig.model.bench_declaration import DeclaredValue, ValueSource

WHOLE = """
[screw]
class = "P5"
source = "maker"
lead_mm = 2
periodic_um = { value = 1.5, source = "certificate" }

[probe]
source = "certificate"
delay_ms = 0
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(text, "utf-8")
    return path


def test_every_number_keeps_its_own_source(tmp_path: Path) -> None:
    found = load_bench(written(tmp_path, WHOLE))

    assert found.screw_class == "ISO 3408-3 P5"
    assert found.screw_class_source is ValueSource.MAKER
    assert set(found.values) == {
        DeclaredValue("screw.lead_mm", 2.0, ValueSource.MAKER),
        DeclaredValue("screw.periodic_um", 1.5, ValueSource.CERTIFICATE),
        DeclaredValue("probe.delay_ms", 0.0, ValueSource.CERTIFICATE),
    }


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[probe]\ndelay_ms = 3", "line 2: nothing says where the number comes from"),
        (
            '[probe]\nsource = "maker"\ndelay = 3',
            "line 3: there is no item 'probe.delay'",
        ),
        ('[probe]\nsource = "maker"\ndelay_ms = -1', "line 3: probe.delay_ms is -1"),
        ('[probe]\nsource = "hearsay"\ndelay_ms = 1', "'hearsay' is no source"),
        ('[screw]\nsource = "maker"\nclass = "P99"', "no accuracy class 'P99'"),
        ('[screw]\nsource = "maker"\nclass = 5', "must be a text"),
        ('[screw]\nsource = "maker"\nlead_mm = "2"', "must be a number"),
        ("[spindle]\nlead_mm = 2", "spindle"),
    ],
)
def test_what_is_not_right_is_named_with_its_place(
    tmp_path: Path, text: str, words: str
) -> None:
    path = written(tmp_path, text)

    with pytest.raises(InputError) as refused:
        load_bench(path)

    assert words in str(refused.value)
    assert str(path) in str(refused.value)
