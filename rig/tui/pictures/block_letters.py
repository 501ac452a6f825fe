"""Letters of blocks that can be read from the back of a room."""

from __future__ import annotations

from typing import Final

_ROWS: Final = 5
# Five rows a letter, separated by blanks; X is a block
_SHAPES: Final = {
    " ": ". . . . .",
    "-": "... ... XXX ... ...",
    "–": "... ... XXX ... ...",
    "+": "... .X. XXX .X. ...",
    "±": ".X. XXX .X. ... XXX",
    ".": ". . . . X",
    "%": "X..X ..X. .XX. .X.. X..X",
    "0": "XXX X.X X.X X.X XXX",
    "1": ".X. XX. .X. .X. XXX",
    "2": "XXX ..X XXX X.. XXX",
    "3": "XXX ..X XXX ..X XXX",
    "4": "X.X X.X XXX ..X ..X",
    "5": "XXX X.. XXX ..X XXX",
    "6": "XXX X.. XXX X.X XXX",
    "7": "XXX ..X ..X .X. .X.",
    "8": "XXX X.X XXX X.X XXX",
    "9": "XXX X.X XXX ..X XXX",
    "A": "XXX X.X XXX X.X X.X",
    "C": "XXX X.. X.. X.. XXX",
    "D": "XX. X.X X.X X.X XX.",
    "E": "XXX X.. XX. X.. XXX",
    "F": "XXX X.. XX. X.. X..",
    "H": "X.X X.X XXX X.X X.X",
    "I": "XXX .X. .X. .X. XXX",
    "K": "X.X X.X XX. X.X X.X",
    "L": "X.. X.. X.. X.. XXX",
    "M": "X...X XX.XX X.X.X X...X X...X",
    "N": "X..X XX.X X.XX X..X X..X",
    "O": "XXX X.X X.X X.X XXX",
    "P": "XXX X.X XXX X.. X..",
    "R": "XXX X.X XX. X.X X.X",
    "S": "XXX X.. XXX ..X XXX",
    "T": "XXX .X. .X. .X. .X.",
    "U": "X.X X.X X.X X.X XXX",
    "V": "X.X X.X X.X X.X .X.",
    "W": "X...X X...X X.X.X X.X.X .X.X.",
    "m": "..... ..... XXXXX X.X.X X.X.X",
    "✓": "......X .....X. X...X.. .X.X... ..X....",
    "✗": "X...X .X.X. ..X.. .X.X. X...X",
    "?": "XXX ..X .XX ... .X.",
    "◉": "XXXXX XXXXX XXXXX XXXXX XXXXX",
    "○": "XXXXX X...X X...X X...X XXXXX",
    "·": "..... ..... ..X.. ..... .....",
}


def block_letters(text: str, width: int, height: int) -> list[str]:
    """Return text in the largest block letters that fit; plain where none do.

    A block is twice as wide as high in cells, so that it looks square, and in the
    smallest letters half of that, which still fits narrow places.

    Raises:
        ValueError: A letter has no shape.
    """
    wide, down = _largest(text, width, height)
    return _drawn(text, wide, down) if wide else [text[:width]]


def block_words(text: str, width: int, height: int) -> list[str]:
    """Return words in block letters, over two lines where they are larger so.

    "NOT" stays beside the word that it denies.

    Raises:
        ValueError: A letter has no shape.
    """
    size = _largest(text, width, height)
    best = [text]
    words = text.split(" ")
    for at in range(1, len(words)):
        if words[at - 1] == "NOT":
            continue
        lines = [" ".join(words[:at]), " ".join(words[at:])]
        # A blank line between the two
        both = min(_largest(line, width, (height - 1) // 2) for line in lines)
        if both > size:
            best, size = lines, both
    if not all(size):
        return [text[:width]]
    drawn = [_drawn(line, *size) for line in best]
    room = max(len(lines[0]) for lines in drawn)
    rows: list[str] = []
    for lines in drawn:
        rows += [""] if rows else []
        rows += [line.center(room) for line in lines]
    return rows


def _largest(text: str, width: int, height: int) -> tuple[int, int]:
    """Return columns and rows of a block of the largest letters that fit; 0 for none.

    Raises:
        ValueError: A letter has no shape.
    """
    unknown = set(text) - set(_SHAPES)
    if unknown:
        raise ValueError(f"no block letter for {''.join(sorted(unknown))!r}")
    across = sum(len(_SHAPES[sign].split()[0]) + 1 for sign in text) - 1
    for down in range(height // _ROWS, 0, -1):
        for wide in (2 * down, 2 * down - 1) if down > 1 else (2, 1):
            if text and across * wide <= width:
                return wide, down
    return 0, 0


def _drawn(text: str, wide: int, down: int) -> list[str]:
    lines = []
    for row in range(_ROWS):
        shapes = ".".join(_SHAPES[sign].split()[row] for sign in text)
        line = "".join(("█" if dot == "X" else " ") * wide for dot in shapes)
        lines += [line] * down
    return lines
