"""Names on record that a terminal would obey are shown as text by every screen."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from rich.segment import Segment
from textual.color import Color

from rig.records import Writer, open_records
from rig.tui.app.app import GapsweepApp
from rig.tui.app.plain_lines import PLAIN_LINES
from tests import builders
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.pending import settled

# One moves the cursor and paints over a row, one turns the direction of what follows
PAINT = "A3\x1b[1A\x1b[2KA2 conforms"
TURNED = "\u202esmrofnoc"
UNFIT = {"\x1b", "\x9b", "\u202e"}


def words_of(app: GapsweepApp) -> Iterator[str]:
    """Return the text of each line as it goes to the terminal."""
    for row in app.screen._compositor.render_strips():
        yield "".join(segment.text for segment in row if not segment.control)


@pytest.fixture
def painted(records: str) -> str:
    """Records of an earlier version, which looked at no name."""
    header = builders.header(sensor={"name": PAINT}, target={"name": TURNED})
    with open_records(records) as store:
        Writer(store).begin_run(header)
    return records


@pytest.mark.long
async def test_no_screen_gives_a_name_on_record_to_the_terminal_to_obey(
    still: MakeApp, painted: str
) -> None:
    app = still(records=painted)

    async with app.run_test(size=(120, 40)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.app.run_action("app.open_screen('runs')")
        await until(pilot, lambda: any("A3" in line for line in words_of(app)))
        await settled(pilot)
        lines = list(words_of(app))

    assert not UNFIT & set("".join(lines))
    assert any("A3[1A[2KA2 conforms" in line for line in lines)


@pytest.mark.parametrize(
    "text", [PAINT, TURNED, "a\tb", "a\nb", "soft\u00adhyphen", "\x9b1A", "plain µm"]
)
def test_a_line_stays_as_wide_as_it_was_laid_out(text: str) -> None:
    before = Segment(text)

    (after,) = PLAIN_LINES.apply([before], Color(0, 0, 0))

    assert after.cell_length == before.cell_length
    assert after.text.isprintable()
    assert (after is before) == text.isprintable()
