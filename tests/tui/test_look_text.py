"""The text of a look says all that a screen shows, in every theme."""

from __future__ import annotations

from tests.tui.look_text import look_text, pictures_of
from tests.tui.screen_text import Picture


def picture(lines: str, styles: str, words: dict[str, str]) -> Picture:
    return Picture(
        tuple(lines.split()),
        tuple(tuple(words[letter] for letter in row) for row in styles.split()),
    )


def test_a_size_stands_once_and_a_theme_is_a_legend() -> None:
    words = {"x": "white on black", "y": "bold"}
    paper = {"x": "black on white", "y": "bold"}
    looks = {
        (2, 1): {
            "dark": picture("ab", "xy", words),
            "light": picture("ab", "xy", paper),
        },
        (3, 2): {
            "dark": picture("abc def", "yxx yxx", words),
            "light": picture("abc def", "yxx yxx", paper),
        },
    }

    assert look_text(looks) == (
        "== 2x1 ==\n|ab|\n\n1x 1a 1b\n\n"
        "== 3x2 ==\n|abc|\n|def|\n\n2x 1b 2a\n\n"
        "== dark ==\na white on black\nb bold\n\n"
        "== light ==\na black on white\nb bold\n"
    )


def test_styles_that_are_alike_in_one_theme_alone_have_two_names() -> None:
    dark = picture("ab", "xy", {"x": "grey", "y": "grey"})
    light = picture("ab", "xy", {"x": "grey", "y": "red"})

    assert look_text({(2, 1): {"dark": dark, "light": light}}) == (
        "== 2x1 ==\n|ab|\n\n1x 1a 1b\n\n"
        "== dark ==\na grey\nb grey\n\n"
        "== light ==\na grey\nb red\n"
    )


def test_names_go_on_after_the_alphabet() -> None:
    styles = tuple(f"style {n}" for n in range(54))
    text = look_text({(54, 1): {"dark": Picture(("-" * 54,), (styles,))}})

    assert "1Z 1aa 1ab\n" in text
    assert text.endswith("\naa style 52\nab style 53\n")


def test_a_text_gives_back_what_was_put_into_it() -> None:
    many = tuple(f"style {n} on grey" for n in range(60))
    looks = {
        (60, 3): {
            "dark": Picture(("-" * 60, " " * 60, ""), (many, many, ())),
            "light": Picture(("-" * 60, " " * 60, ""), (many[::-1], many, ())),
        },
        (2, 1): {
            "dark": Picture(("| ",), (("plain", "plain"),)),
            "light": Picture(("| ",), (("plain", "plain"),)),
        },
    }

    assert pictures_of(look_text(looks)) == looks
