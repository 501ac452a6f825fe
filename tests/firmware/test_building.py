"""The document that a rig is built from: its sums, drawings, tables and commands."""

from __future__ import annotations

import hashlib
import math
import re
import shlex
import subprocess
import threading
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import pytest

import firmware_protocol.conformance.__main__ as conformance
from firmware_protocol.conformance.controllers.bench import FIRMWARE
from rig.cli.main import run
from rig.model.bench_declaration import SCREW_CLASSES
from rig.model.bench_items import ITEM_OF_KEY, LINEAR, PERIODIC
from sim.options import build, read_options
from sim.serve import serve_pty

TEXT = (FIRMWARE / "BUILDING.md").read_text("utf-8")
README = (FIRMWARE / "README.md").read_text("utf-8")
DRAWINGS = FIRMWARE / "drawings"
NAMES = {name: getattr(math, name) for name in ("pi", "atan", "degrees", "log")}
SUM = re.compile(r"(?m)^\| (.+) \| `(.+)` \| (-?[\d.]+) \S.* \|$")
PART = re.compile(r"\b[RCDF]\d+\b")
_NOWHERE = "socket://127.0.0.1:9"  # the command runs, and says that nobody is there
SVG_TEXT = "{http://www.w3.org/2000/svg}text"


def rows(text: str, head: str) -> list[list[str]]:
    """Return the cells of the table that begins with this head."""
    _, _, after = text.partition(head + "\n")
    table = after.partition("\n\n")[0].splitlines()[1:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table]


def commands() -> list[list[str]]:
    blocks = re.findall(r"```sh\n(.*?)```", TEXT, flags=re.DOTALL)
    return [shlex.split(line) for block in blocks for line in block.splitlines()]


@pytest.mark.parametrize(
    ("what", "formula", "result"), SUM.findall(TEXT), ids=lambda part: part[:30]
)
def test_every_sum_comes_out_as_it_stands(what: str, formula: str, result: str) -> None:
    assert re.fullmatch(r"[\w\s.*/+()-]+", formula)

    value = eval(formula, {"__builtins__": {}}, NAMES)

    places = len(result.partition(".")[2])
    assert f"{value:.{places}f}" == result, what


def test_there_are_sums_to_be_held_to() -> None:
    assert len(SUM.findall(TEXT)) >= 40
    assert TEXT.count("| what | formula | result |") >= 8


def test_the_pins_are_those_of_the_firmware() -> None:
    labels = rows(TEXT, "| signal | pin of the chip | label on the board |")
    pins = rows(README, "| signal | pin of the chip | direction | level |")

    # Digital pins 0 to 7 are port D, 8 to 13 port B, A0 to A5 port C
    for (signal, pin, label), (theirs, chip, *_) in zip(labels, pins, strict=True):
        assert signal.split(",")[0] in theirs
        assert chip.startswith(pin)
        port, number = pin[1], int(pin[2:])
        first = {"D": f"D{number}", "B": f"D{number + 8}", "C": f"A{number}"}[port]
        assert label.split(",")[0] == first


def test_the_screws_are_the_classes_that_can_be_declared() -> None:
    head = (
        "| screw | over 300 mm, µm | within a turn, µm | linear, µm/mm |"
        " over an 8 mm gap, µm |"
    )
    classes = {each.name: each for each in SCREW_CLASSES}
    turn_um = ITEM_OF_KEY[PERIODIC].assumed

    table = rows(TEXT, head)

    assert len(table) == 5
    for screw, travel, turn, linear, over_gap in table:
        known = classes.get(screw.split(",")[0])
        travel_um = 210.0 if known is None else known.travel_um
        within = None if known is None else known.turn_um
        assert travel == f"{travel_um:g}"
        assert turn == (f"{turn_um:g} assumed" if within is None else f"{within:g}")
        assert float(linear) == pytest.approx(travel_um / 300, rel=0.02)
        assert float(over_gap) == pytest.approx(8 * travel_um / 300, rel=0.02)
    assert float(table[0][3]) == ITEM_OF_KEY[LINEAR].assumed


def test_parts_list_text_and_drawing_name_the_same_parts() -> None:
    listed, _, after = TEXT.partition("## 3. ")
    drawing = ET.parse(DRAWINGS / "inputs.svg")
    drawn = {
        name
        for element in drawing.iter(SVG_TEXT)
        for name in PART.findall(element.text or "")
    }

    parts = set(PART.findall(listed.partition("## 2. ")[2]))

    assert {"R1", "R11", "C3", "F2"} <= parts
    assert drawn - {"D2", "D3", "D4", "D5", "D6", "D7", "D8"} == parts - {"D0", "D13"}
    labels = {f"D{number}" for number in range(14)}
    assert set(PART.findall(after)) - labels <= parts


@pytest.mark.parametrize("name", ["inputs.svg", "probe.svg", "rig.svg"])
def test_each_drawing_is_shown_and_has_a_title(name: str) -> None:
    root = ET.parse(DRAWINGS / name).getroot()

    assert f"(drawings/{name})" in TEXT
    assert root.find("{http://www.w3.org/2000/svg}title") is not None
    assert len(list(DRAWINGS.glob("*.svg"))) == 3


@pytest.mark.long
@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_runs(
    words: list[str],
    needs: Callable[..., None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(tmp_path / "records.sqlite"))
    program, *rest = words
    if program == "make":
        needs("make", "avr-gcc")
        # What writes to a chip is only looked at
        dry = ["-n"] if {"flash", "fuses"} & set(rest) else []
        make = ["make", "-C", FIRMWARE, f"BUILD={tmp_path}/build", *dry, *rest]
        assert subprocess.run(make, capture_output=True, check=False).returncode == 0
    elif program == "gapsweep":
        here = [word.replace("PORT", "sim://?pace=fast") for word in rest]
        if here[0] == "watch":
            here += ["--seconds", "2"]
        if here[0] == "rigs":
            here = here[:1]
        assert run(here) == 0
    else:
        assert words[:3] == ["python", "-m", "firmware_protocol.conformance"]
        assert conformance.main([_NOWHERE]) == 3


@pytest.mark.long
@pytest.mark.alone  # the rig is served at real pace
def test_the_suite_of_the_document_runs_on_a_served_rig() -> None:
    server, path = serve_pty(build(read_options({})))
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        assert conformance.main([path]) == 0
    finally:
        server.stop()
        thread.join()


@pytest.mark.long
def test_the_image_has_its_checksum_and_is_the_same_from_any_folder(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "avr-gcc")
    told = []
    for name in ("one", "another"):
        make = ["make", "-s", "-C", FIRMWARE, "image", f"BUILD={tmp_path / name}"]
        done = subprocess.run(make, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr
        told.append(done.stdout.splitlines()[-1])
        image = tmp_path / name / "image"
        found = hashlib.sha256((image / "atmega328p.hex").read_bytes()).hexdigest()
        assert (image / "SHA256SUMS").read_text().split() == [found, "atmega328p.hex"]
        assert "avr-gcc 5.4.0, avr-libc 2.0.0" in (image / "TOOLCHAIN").read_text()

    assert told[0] == told[1]


@pytest.mark.long
def test_another_compiler_makes_no_image(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "avr-gcc")
    make = ["make", "-s", "-C", FIRMWARE, "image", f"BUILD={tmp_path}"]

    done = subprocess.run(
        [*make, "IMAGE_GCC=99.0.0"], capture_output=True, text=True, check=False
    )

    assert done.returncode != 0
    assert "takes avr-gcc 99.0.0" in done.stdout
    assert not (tmp_path / "image").exists()
