"""The pages are valid, stand alone, and no name can make them do anything."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import html5lib
import pytest

from maintain.render import phone, sheet
from maintain.render.html import embedded, escaped, piece
from maintain.results.paper import CheckStep, DueItem, Sheets, ShipSheet, StockLine
from maintain.results.phone import PhonePage, PhoneShip
from maintain.vocabulary import MODES, WETNESS

HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\"'&{{given}}\u2028\x00"
DAY = date(2026, 5, 30)
PAPER = Sheets(
    title=HOSTILE,
    made_on=DAY,
    battle=HOSTILE,
    days=(DAY,),
    sorties=6,
    ships=(
        ShipSheet(
            ship=HOSTILE,
            captain=HOSTILE,
            number=HOSTILE,
            steps=(CheckStep("Pump", (HOSTILE,), "s per litre", HOSTILE),),
            due=(DueItem(HOSTILE, HOSTILE, HOSTILE, HOSTILE),),
            suspects=(HOSTILE,),
        ),
    ),
    stock=(StockLine(HOSTILE, HOSTILE, 1, HOSTILE), StockLine(HOSTILE, None, 40, HOSTILE, 41)),
    paper="A4",
    notes=(HOSTILE,),
)
PHONE = PhonePage(HOSTILE, HOSTILE, (DAY,), (PhoneShip(HOSTILE, HOSTILE, (HOSTILE,)),))
PAGES = {"sheet": sheet.html(PAPER), "phone": phone.html(PHONE)}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_valid_html(name: str) -> None:
    """By html5lib, which follows the HTML standard and, when strict, refuses what that calls an error."""
    html5lib.HTMLParser(strict=True).parse(PAGES[name])


def test_a_page_that_is_not_valid_is_noticed() -> None:
    with pytest.raises(html5lib.html5parser.ParseError):
        html5lib.HTMLParser(strict=True).parse(PAGES["sheet"].replace("</table>", "</div>", 1))


@pytest.mark.parametrize("name", PAGES)
def test_hostile_names_are_shown_and_not_obeyed(name: str) -> None:
    tree = html5lib.parse(PAGES[name], namespaceHTMLElements=False)
    ours = 2 if name == "phone" else 0
    assert len(list(tree.iter("script"))) == ours
    assert list(tree.iter("img")) == []
    assert "\x00" not in PAGES[name]
    assert HOSTILE[:30] in "".join(tree.find(".//title").itertext())


def test_what_the_phone_is_given_comes_through_unchanged() -> None:
    tree = html5lib.parse(PAGES["phone"], namespaceHTMLElements=False)
    given = json.loads(next(each for each in tree.iter("script") if each.get("id") == "given").text)
    assert given["battle"] == {"uid": HOSTILE, "name": HOSTILE, "days": ["2026-05-30"]}
    assert given["ships"] == [{"uid": HOSTILE, "name": HOSTILE, "positions": [HOSTILE]}]
    assert set(given["wetness"]) == {*WETNESS, "unknown"}
    assert given["modes"] == list(MODES)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_fetches_nothing(name: str) -> None:
    tree = html5lib.parse(PAGES[name], namespaceHTMLElements=False)
    assert [each.tag for each in tree.iter() if each.get("src") or (each.tag != "a" and each.get("href"))] == []
    assert not re.search(r"url\(|@import|https?://", piece("phone.css") + piece("sheet.css") + piece("phone.js"))


@pytest.mark.parametrize("text", [HOSTILE, "<", "&lt;", "a\nb", "Ünïcödé", ""])
def test_embedded_text_holds_no_tag_and_reads_back(text: str) -> None:
    assert json.loads(embedded(text)) == text
    assert not set("<>&") & set(embedded(text))


def test_unknown_is_a_dash() -> None:
    assert escaped(None) == "–"
    assert escaped(0) == "0"


def test_the_page_of_the_phone_builds_no_html_from_text() -> None:
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", piece("phone.js"))


def _luminance(colour: str) -> float:
    """Relative luminance of #rrggbb as WCAG 2.2 defines it."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_contrast_follows_the_formula_of_wcag() -> None:
    """Black on white is 21 to 1 and #767676 on white 4.54 to 1 (WCAG 2.2, understanding success criterion 1.4.3)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_every_colour_of_the_phones_page_can_be_read_on_its_ground() -> None:
    css = piece("phone.css")
    inks = {each for each in re.findall(r"(?:[ {]color|outline|border[a-z-]*):[^;]*?(#[0-9a-f]{6})", css)}
    assert len(inks) >= 4
    for ink in inks:
        assert _contrast(ink, "#ffffff") >= 4.5, ink
    assert _contrast("#101820", "#d9e4ee") >= 4.5  # a button pressed down


def test_the_files_of_the_pages_are_in_the_package() -> None:
    folder = Path(phone.__file__).with_name("pages")
    assert sorted(each.name for each in folder.iterdir()) == ["phone.css", "phone.html", "phone.js", "sheet.css"]
