"""Colours that can be told apart on paper and on the screen, and shapes that need no colour."""

import pytest

from stell.press.look import look


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (W3C Recommendation, 5 Oct 2023), definition in section 8."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_standards_ends() -> None:
    # WCAG 2.2: contrast runs from 1:1 to 21:1
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


# WCAG 2.2: success criteria 1.4.6 (text, 7:1), 1.4.3 (text, 4.5:1), 1.4.11 (graphics, 3:1)
@pytest.mark.parametrize(("name", "least"), [("slate", 7), ("lead", 4.5), ("heather", 4.5)])
@pytest.mark.parametrize("ground", ["paper", "chalk", "heather-pale"])
def test_text_is_readable(name: str, ground: str, least: float) -> None:
    colours = look().colours
    assert contrast(colours[name], colours[ground]) >= least, f"{name} on {ground}"


@pytest.mark.parametrize("outcome", ["satisfactory", "deferred", "incomplete", "unsatisfactory"])
def test_marks_stand_out(outcome: str) -> None:
    assert contrast(look().marks[outcome].colour, "#ffffff") >= 3, outcome


def test_marks_differ_without_colour() -> None:
    drawn = {(m.path, m.filled) for m in look().marks.values()}
    assert len(drawn) == 4, "a verdict must be told by its shape alone"
