"""How every screen looks in every size and theme, and that nothing is cut off."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from textual.command import CommandPalette
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import DataTable, Footer, OptionList

from rig.tui.app.app import GapsweepApp
from rig.tui.frame.framed_screen import FramedScreen
from tests.tui.conftest import MakeApp
from tests.tui.cut_cells import cut_cells
from tests.tui.look_text import Look, Size, look_text
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.screen_text import Picture, screen_picture

LOOKS = Path(__file__).with_name("looks")
Looks = dict[Size, dict[str, Picture]]
SIZES: tuple[Size, ...] = ((80, 24), (120, 40), (200, 60))


@pytest.fixture
def rewrite(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--rewrite-looks"))


@pytest.mark.long
@pytest.mark.parametrize("name", SCENES)
async def test_the_look_in_every_theme(
    still: MakeApp,
    records: str,
    rewrite: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    SCENES[name].prepare(records)
    looks: Looks = {size: {} for size in SIZES}
    for themes in (("dark", "light"), ("none",)):
        if "none" in themes:
            monkeypatch.setenv("NO_COLOR", "1")
        # With no habits and no drafts of the app before
        app = still(memory=tmp_path / f"{themes[0]}.json")
        found, amiss = await _seen(app, name, themes)
        assert amiss == {}
        for size in SIZES:
            looks[size] |= found[size]

    assert [size for size in SIZES if _differ(looks[size])] == []
    assert [size for size in SIZES if _hues(looks[size]["none"])] == []
    path = LOOKS / f"{name}.txt"
    if rewrite:
        path.write_text(look_text(looks), "utf-8")
    _hold_against(path, looks)


def test_every_look_is_of_a_scene_and_every_scene_has_a_look(rewrite: bool) -> None:
    if rewrite:
        for path in _strays():
            path.unlink()
        return

    assert [path.name for path in _strays()] == []
    assert [name for name in SCENES if not (LOOKS / f"{name}.txt").exists()] == []


def _strays() -> Iterator[Path]:
    return (path for path in sorted(LOOKS.iterdir()) if not _wanted(path))


def _wanted(path: Path) -> bool:
    return path.suffix == ".txt" and path.stem in SCENES


async def _seen(
    app: GapsweepApp, name: str, themes: tuple[str, ...]
) -> tuple[Looks, dict[Size, list[str]]]:
    """Return how a scene looks in each size, and where what is amiss with it."""
    looks: Looks = {size: {} for size in SIZES}
    amiss: dict[Size, list[str]] = {}
    async with app.run_test(size=SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        for size in SIZES:
            await pilot.resize_terminal(*size)
            for theme in themes:
                if app.current_theme.dark is (theme == "light"):
                    app.action_light_or_dark()
                await settled(pilot)
                looks[size][theme] = screen_picture(app)
                if words := _amiss(pilot):
                    amiss[size] = words
    return looks, amiss


def _hold_against(path: Path, looks: Looks) -> None:
    """Fail if a file tells something else than what was looked at."""
    now = look_text(looks)
    kept = path.read_text("utf-8") if path.exists() else ""
    if now != kept:
        lines = difflib.unified_diff(
            kept.splitlines(), now.splitlines(), "kept", "now", lineterm=""
        )
        changes = "\n".join(lines)
        pytest.fail(
            f"{path.name} does not show this; if it is meant, write it with "
            f"--rewrite-looks and read what changed\n{changes}",
            pytrace=False,
        )


def _differ(look: Look) -> bool:
    """Whether themes differ in more than colours."""
    return len({picture.lines for picture in look.values()}) > 1


def _hues(picture: Picture) -> list[str]:
    """Return the colours that are no grey."""
    words = {
        word for row in picture.styles for cell in set(row) for word in cell.split()
    }
    found = [word for word in words if word.startswith("#")]
    return [word for word in found if len({word[1:3], word[3:5], word[5:7]}) > 1]


def _amiss(pilot: Pilot[None]) -> list[str]:
    """Return what is cut off, or not in view though it must be."""
    screen = pilot.app.screen
    if isinstance(screen, CommandPalette):
        return []  # the UI library's own
    shown = [w for w in screen.query("*") if _is_shown(w) and not _scrolls(w)]
    keys = screen.query("FooterKey")
    found = [f"{w} outside" for w in shown if w.region not in screen.region]
    found += [f"{w} clipped" for w in shown if _clipped(w)]
    found += [f"{w} cut off" for w in shown if _wants_more(w)]
    for table in screen.query(DataTable):
        found += cut_cells(table)
    if screen.max_scroll_y:
        found.append("the screen scrolls")
    if isinstance(screen, FramedScreen):
        if not 1 <= len(keys) <= 8:
            found.append(f"{len(keys)} keys in the footer")
        elif max(key.region.right for key in keys) > screen.size.width:
            found.append("keys of the footer cut off")
        found += _untold(pilot)
    return found


def _untold(pilot: Pilot[None]) -> list[str]:
    """Return what of the trust in the rig is not in view, and the stop key if not."""
    app: Any = pilot.app
    status = str(app.screen.query_one("#status").render())
    words = ("link ", "datum ", "axis scale ", "axis ", "output ", "gap ")
    found = [f"no {word}" for word in words if word not in status]
    if ("SIMULATED" in status) is not app.situation.simulated:
        found.append("SIMULATED is not true")
    stop = app.screen.query_one("#stop")
    if "STOP" not in str(stop.label) or stop.region not in app.screen.region:
        found.append("no stop key")
    return found


def _is_shown(widget: Widget) -> bool:
    return all(
        one.display for one in (widget, *widget.ancestors) if isinstance(one, Widget)
    )


def _scrolls(widget: Widget) -> bool:
    """Whether it stands in something that scrolls, so that it may lie outside."""
    return any(
        isinstance(above, VerticalScroll | DataTable | OptionList)
        for above in widget.ancestors
    )


def _clipped(widget: Widget) -> bool:
    """Whether it is larger than what it stands in."""
    above = widget.parent
    return isinstance(above, Widget) and widget.region not in above.region


def _wants_more(widget: Widget) -> bool:
    """Whether a text needs more columns or lines than it was given."""
    if widget.children or isinstance(widget, DataTable | OptionList | Footer):
        return False
    size = widget.content_size
    if not size.width:
        return True
    return widget.get_content_height(size, size, size.width) > size.height
