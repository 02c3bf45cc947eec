"""Pictures in files: the same bytes each time, whole or not at all, refused in a sentence."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from maintain.errors import DatabaseUnusable, InvalidRecord
from maintain.render import figure


def draw(path: Path, label: str = "grease") -> bytes:
    with figure.drawing(path) as page:
        axes = page.subplots()
        for place, name in enumerate((label, "oil film", "none")):
            figure.steps(axes, figure.look(place), [0, 5, 9], ([1, 0.8, 0.5], [1, 0.5, 0.2], [1, 0.9, 0.8]), name)
            figure.ticks(axes, figure.look(place), [7], [0.8])
        figure.share_axis(axes, "Still working")
        axes.legend()
        figure.risk_table(axes, [0, 5], {label: (0, [9, 4]), "oil film": (1, [8, 1])}, "watched")
    return path.read_bytes()


@pytest.mark.parametrize(
    ("suffix", "start"), [("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF"), ("PNG", b"\x89PNG")]
)
def test_the_same_picture_is_the_same_bytes(tmp_path, suffix, start):
    first = draw(tmp_path / f"one.{suffix}")
    assert first.startswith(start)
    assert draw(tmp_path / f"two.{suffix}") == first


def test_the_same_picture_is_the_same_bytes_on_another_day_in_another_process_with_another_style(tmp_path):
    (tmp_path / "matplotlibrc").write_text("lines.linewidth: 9\nsavefig.dpi: 30\n", encoding="utf-8")
    code = (
        f"from tests.render.test_figure import draw; from pathlib import Path; draw(Path({str(tmp_path / 'b.svg')!r}))"
    )
    env = {"MATPLOTLIBRC": str(tmp_path), "SOURCE_DATE_EPOCH": "0", "PYTHONHASHSEED": "7", "PATH": ""}
    subprocess.run([sys.executable, "-c", code], check=True, env=env, cwd=Path(__file__).parents[2])
    assert (tmp_path / "b.svg").read_bytes() == draw(tmp_path / "a.svg")


def test_letters_that_a_font_lacks_or_that_mean_formulas_are_drawn_without_a_word(tmp_path, capsys):
    draw(tmp_path / "odd.png", "漢字 $5_x^")
    assert capsys.readouterr() == ("", "")


def test_a_picture_that_fails_leaves_the_one_before_and_nothing_beside_it(tmp_path):
    path = tmp_path / "curve.svg"
    before = draw(path)
    with pytest.raises(ZeroDivisionError), figure.drawing(path):
        raise ZeroDivisionError
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir()] == ["curve.svg"]


@pytest.mark.parametrize("name", ["curve", "curve.gif", "curve.svg.txt"])
def test_a_kind_of_picture_that_there_is_not_is_refused(tmp_path, name):
    with pytest.raises(InvalidRecord, match="does not say what kind of picture it is") as refused:
        figure.check_target(tmp_path / name)
    assert refused.value.hint == "end its name in .svg, .png or .pdf"


def test_a_place_that_cannot_be_written_is_refused_in_a_sentence(tmp_path):
    (tmp_path / "folder.svg").mkdir()
    with pytest.raises(DatabaseUnusable, match="it is a folder"):
        figure.check_target(tmp_path / "folder.svg")
    with pytest.raises(DatabaseUnusable, match="there is no folder"):
        figure.check_target(tmp_path / "nowhere" / "curve.svg")
    with pytest.raises(DatabaseUnusable, match=r"can't draw .*: File name too long"):
        draw(tmp_path / ("x" * 254 + ".svg"))
    assert [each.name for each in tmp_path.iterdir()] == ["folder.svg"]


def test_groups_differ_by_more_than_colour():
    looks = [figure.look(place) for place in range(49)]
    for kind in ("colour", "marker", "hatch"):
        assert len({getattr(each, kind) for each in looks[:7]}) == 7
    assert len({(each.colour, each.marker) for each in looks}) == 49


def contrast(colour: str) -> float:
    """Contrast against white paper, as WCAG 2.1 (W3C, section 1.4.11) defines it."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 1.05 / (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05)


def test_the_first_colours_stand_out_on_paper():
    # Okabe and Ito (2008). WCAG asks 3:1 of lines that carry meaning; theirs reach it for the first three groups.
    assert [figure.look(place).colour for place in range(3)] == ["#0072B2", "#D55E00", "#009E73"]
    assert all(contrast(figure.look(place).colour) >= 3 for place in range(3))
    assert all(contrast(figure.look(place).colour) >= 2 for place in range(7))
