from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from firmware_protocol.conformance.controllers.bench import FIRMWARE


def _make(target: str, build: Path, **variables: str) -> str:
    settings = [f"{name}={value}" for name, value in variables.items()]
    done = subprocess.run(
        ["make", "-C", str(FIRMWARE), target, f"BUILD={build}", *settings],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return done.stdout


@pytest.mark.long
def test_unit_tests_pass_and_run_95_percent_of_the_core(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "gcc", "gcov")

    assert "core: " in _make("coverage", tmp_path / "build")


@pytest.mark.long
def test_sanitized_unit_tests_pass(needs: Callable[..., None], tmp_path: Path) -> None:
    needs("make", "gcc")

    assert "tests passed" in _make("test", tmp_path / "build")


@pytest.mark.long
def test_both_compilers_and_cppcheck_find_nothing(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "gcc", "avr-gcc", "cppcheck")

    _make("lint", tmp_path / "build")


@pytest.mark.long
def test_the_image_leaves_a_fifth_of_flash_and_memory(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "avr-gcc")

    said = _make("avr", tmp_path / "build")

    assert "flash " in said
    assert "memory " in said


def _build_number(build: Path, **variables: str) -> int:
    said = _make("avr", build, **variables)
    (number,) = re.findall(r"build (\d+)", said)
    return int(number)


@pytest.mark.long
def test_the_build_number_follows_settings_and_compiler(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "avr-gcc", "git")

    first = _build_number(tmp_path / "first")
    again = _build_number(tmp_path / "again")
    other = _build_number(tmp_path / "other", AVR_CC="avr-gcc -DRIG_ENABLE_REST_S=60")

    assert 0 < first < 2**31
    assert again == first
    assert other not in (0, first)


@pytest.mark.long
def test_the_core_is_built_for_32_bits_as_it_is(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "arm-none-eabi-gcc")

    said = _make("m3", tmp_path / "build")

    assert "core and port: flash " in said


def _compiles(source: str, *settings: str) -> bool:
    """Whether a file of the firmware compiles for the chip with these settings."""
    command = ["avr-gcc", "-std=c11", "-fsyntax-only", "-mmcu=atmega328p"]
    command += ["-DF_CPU=16000000UL", "-Icore", "-Iports/atmega328p"]
    command += [f"-D{setting}" for setting in settings]
    done = subprocess.run(
        [*command, source], cwd=FIRMWARE, capture_output=True, text=True, check=False
    )
    return done.returncode == 0


@pytest.mark.parametrize(
    ("source", "setting"),
    [
        ("core/config_check.c", 'RIG_FIRMWARE_VERSION=""'),
        ("core/config_check.c", 'RIG_FIRMWARE_VERSION="0.1.0-of-a-long-name"'),
        ("core/config_check.c", "RIG_STEPS_PER_M=1999"),
        ("core/config_check.c", "RIG_STEPS_PER_M=2147483648"),
        ("core/config_check.c", "RIG_HOME_CLEAR=0"),
        ("core/config_check.c", "RIG_HOME_CLEAR=4000"),
        ("core/config_check.c", "RIG_HOME_SEARCH=200"),
        ("core/config_check.c", "RIG_HOME_SEARCH=80001"),
        ("core/config_check.c", "RIG_BUILD=-1"),
        ("core/config_check.c", "RIG_SPEED_LIMIT=799"),
        ("core/config_check.c", "RIG_ACCELERATION_LIMIT=0"),
        ("core/config_check.c", "RIG_ACCELERATION_LIMIT=6400001"),
        ("core/config_check.c", "RIG_SILENCE_LIMIT_MS=199"),
        ("core/config_check.c", "RIG_SILENCE_LIMIT_MS=2001"),
        ("core/config_check.c", "RIG_SILENCE_LIMIT_MS=5000"),
        ("core/config_check.c", "RIG_TIME_TICK_NS=999"),
        ("core/config_check.c", "RIG_EDGE_RATE_LIMIT=0"),
        ("core/config_check.c", "RIG_EDGE_RATE_LIMIT=210"),
        ("core/config_check.c", "RIG_LATE_US=0"),
        ("core/config_check.c", "RIG_LATE_US=16384"),
        ("core/config_check.c", "RIG_AHEAD_TICKS=0"),
        ("core/config_check.c", "RIG_AHEAD_TICKS=150"),
        ("core/config_check.c", "RIG_SETTLE_US=0"),
        ("core/config_check.c", "RIG_SETTLE_US=16384"),
        ("core/config_check.c", "RIG_MIN_PULSE_US=1000000"),
        ("core/config_check.c", "RIG_SCALE_PER_M=0"),
        ("core/config_check.c", "RIG_ENABLE_REST_S=3601"),
        ("core/config_check.c", "RIG_RING_SIZE=256"),
        ("core/config_check.c", "RIG_NOTICES_BEFORE_REPLY=0"),
        ("core/config_check.c", "RIG_NOTICES_BEFORE_REPLY=17"),
        ("core/config_check.c", "RIG_PULSES_KEPT=3"),
        ("core/config_check.c", "RIG_QUEUE_SIZE=12"),
        ("core/config_check.c", "RIG_QUEUE_SIZE=256"),
        ("core/config_check.c", "RIG_RX_SIZE=64"),
        ("core/config_check.c", "RIG_RX_SIZE=100"),
        ("core/config_check.c", "RIG_TX_SIZE=130"),
        ("core/notice.c", "RIG_RING_SIZE=8"),
        ("core/notice.c", "RIG_RING_SIZE=48"),
        ("core/notice.c", "RIG_TX_SIZE=64"),
        ("core/notice.c", "RIG_TX_SIZE=512"),
        ("core/motion.c", "RIG_TRAVEL_LOW=0"),
        ("core/motion.c", "RIG_TRAVEL_HIGH=400"),
        ("core/motion.c", "RIG_TRAVEL_HIGH=536870912"),
        ("core/plan.c", "RIG_SPEED_LIMIT=30001"),
        ("core/plan.c", "RIG_START_SPEED=61"),
        ("core/plan.c", "RIG_START_SPEED=2001"),
        ("core/plan.c", "RIG_ACCELERATION_LIMIT=10000001"),
        ("core/config_check.c", 'RIG_NAME=""'),
        ("core/config_check.c", 'RIG_NAME="a-bench-of-19-chars"'),
        ("core/control.c", "RIG_SUPPLY_LOW_MV=-1"),
        ("core/control.c", "RIG_SUPPLY_HIGH_MV=23999"),
        ("core/control.c", "RIG_SUPPLY_START_MV=9999"),
        ("ports/atmega328p/main.c", "PORT_ABILITIES=128"),
        ("ports/atmega328p/main.c", "PORT_QUANTITIES=1"),
        ("ports/atmega328p/main.c", "PORT_CONTROLS=3"),
    ],
)
def test_a_setting_that_cannot_work_does_not_compile(
    needs: Callable[..., None], source: str, setting: str
) -> None:
    needs("avr-gcc")

    assert _compiles(source)
    assert not _compiles(source, setting)


def test_settings_at_the_ends_of_their_ranges_compile(
    needs: Callable[..., None],
) -> None:
    needs("avr-gcc")

    assert _compiles("core/config_check.c", "RIG_SILENCE_LIMIT_MS=200")
    assert _compiles("core/config_check.c", "RIG_SILENCE_LIMIT_MS=2000")
    assert _compiles("core/config_check.c", 'RIG_NAME="0123456789abcdef"')


def test_every_setting_has_a_value_that_does_not_compile() -> None:
    config = (FIRMWARE / "core" / "config.h").read_text("utf-8")
    settings = set(re.findall(r"#define (RIG_\w+)", config)) - {"RIG_CONFIG_H"}
    (marks,) = test_a_setting_that_cannot_work_does_not_compile.pytestmark
    tried = {setting.partition("=")[0] for _, setting in marks.args[1]}

    assert settings <= tried


def test_the_fuses_set_brown_out_and_clock(needs: Callable[..., None]) -> None:
    """Bits by avr-libc's iom328p.h; levels from the data sheet, from memory.

    Brown-out level 100 (two bits programmed, which reads 0) is 4.3 V; the chip is good
    for 16 MHz from about 3.8 V. A low fuse with nothing programmed is an undivided
    crystal with the longest start-up time.
    """
    needs("make", "avr-gcc")
    probe = "#include <avr/io.h>\nint e = FUSE_BODLEVEL0 & FUSE_BODLEVEL1;\n"
    expanded = subprocess.run(
        ["avr-gcc", "-mmcu=atmega328p", "-E", "-P", "-"],
        input=probe,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()[-1]
    bits = {int(bit) for bit in re.findall(r"~\(?1 << \(?(\d)", expanded)}

    said = subprocess.run(
        ["make", "-n", "-C", str(FIRMWARE), "fuses", "PROGRAMMER=p", "PORT=q"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout

    assert bits == {0, 1}
    extended = 0xFF & ~sum(1 << bit for bit in bits)
    assert f"-U efuse:w:0x{extended:02X}:m" in said
    assert "-U lfuse:w:0xFF:m" in said
    assert "hfuse" not in said
