"""A PDF from values: tagged, the same every time, and never reading typed text as markup."""

import io
import subprocess
import sys
import threading
from datetime import date
from typing import Any

import pytest
from pypdf import PdfReader

from stell.press.compile import PressFailed, Printed, printed

DAY = date(2026, 8, 13)
PLAIN = b"""
#import "/press/look.typ": *
#show: printed
= Heading
#for line in data.lines [#line \\ ]
#stand-in-note()
"""
PICTURE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20">'
    b'<rect width="40" height="20"/></svg>'
)


def set_page(*lines: str, source: bytes = PLAIN, **more: Any) -> Printed:
    values = {"title": "A title", "author": "An author", "made_on": DAY} | more
    return printed(source, {"lines": lines}, **values)


def text_of(made: Printed) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(made.content)).pages)


def test_properties_and_tags() -> None:
    reader = PdfReader(io.BytesIO(set_page("x", language="cy").content))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value, "not tagged"
    assert root["/Lang"] == "cy"
    assert "/StructTreeRoot" in root, "no structure tree: a screen reader finds no headings"
    assert (reader.metadata.title, reader.metadata.author) == ("A title", "An author")
    assert reader.metadata.creation_date.date() == DAY
    assert b"pdfuaid:part" in reader.trailer["/Root"]["/Metadata"].get_data(), "not PDF/UA"


def test_same_values_same_bytes_also_in_another_process() -> None:
    here = set_page("Fell", "Gorse").content
    assert here == set_page("Fell", "Gorse").content
    program = (
        "import sys; sys.path.insert(0, '.')\n"
        "from tests.press.test_compile import set_page\n"
        "sys.stdout.buffer.write(set_page('Fell', 'Gorse').content)"
    )
    there = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True).stdout
    assert there == here


def test_other_values_other_bytes() -> None:
    assert set_page("Fell").content != set_page("Gorse").content


@pytest.mark.parametrize(
    "typed",
    [
        '#import "x"',
        "*bold* _slanted_ $x^2$ @ref <label>",
        "= Not a heading",
        "- not a list",
        "#panic()",
        "`raw` \\ // comment /* and more */",
        "[#]({}) ~ -- --- ...",
        '"quoted" & <b>html</b> &amp;',
    ],
)
def test_typed_text_is_never_markup(typed: str) -> None:
    assert typed in text_of(set_page(typed))


@pytest.mark.parametrize("word", ["Ωμέγα", "Иван", "ệ", "Þórður"])
def test_other_alphabets_are_printed(word: str) -> None:
    made = set_page(word)
    assert word in text_of(made)
    assert made.stand_ins == ()


@pytest.mark.parametrize("word", ["שלום", "العربية"])
def test_letters_written_from_right_to_left_are_drawn(word: str) -> None:
    assert set_page(word).stand_ins == ()


def test_what_no_font_draws_is_named_by_its_code_point() -> None:
    # U+65E5 U+672C U+1F411: The Unicode Standard, code charts
    made = set_page("日本 ram", "sheep 🐑", "bell \x07")
    text = text_of(made)
    assert "[U+65E5][U+672C] ram" in text
    assert "sheep [U+1F411]" in text
    assert "bell [U+0007]" in text
    assert "no font here can draw them" in text
    assert set(made.stand_ins) == {"日", "本", "🐑", "\x07"}


def test_undrawable_title_is_no_failure() -> None:
    assert PdfReader(io.BytesIO(set_page("x", title="日").content)).metadata.title


def test_a_picture_without_alternative_is_refused() -> None:
    bare = b'#import "/press/look.typ": *\n#show: printed\n#picture("p")'
    with pytest.raises(PressFailed, match="alt text"):
        set_page(source=bare, files={"p": PICTURE})


def test_a_picture_with_alternative_is_set() -> None:
    told = b'#import "/press/look.typ": *\n#show: printed\n#picture("p", alt: "A black box")'
    assert structure(set_page(source=told, files={"p": PICTURE}).content) == ["A black box"]


def structure(content: bytes) -> list[str]:
    """Return the text alternatives in the structure tree."""
    found = []

    def walk(node: Any) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for child in node:
                walk(child)
        elif isinstance(node, dict):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            if "/K" in node:
                walk(node["/K"])

    walk(PdfReader(io.BytesIO(content)).trailer["/Root"]["/StructTreeRoot"])
    return found


def test_a_broken_template_says_where() -> None:
    with pytest.raises(PressFailed, match="unknown variable: nonsense"):
        set_page(source=b"#nonsense")


def test_several_threads_take_turns() -> None:
    made: list[bytes] = []
    lines = [f"line {i}" for i in range(400)]
    threads = [
        threading.Thread(target=lambda: made.append(set_page(*lines).content)) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 4, "a compiler that is busy must wait, not fail"
    assert len(set(made)) == 1


def test_a_long_word_stays_on_the_page() -> None:
    narrow = b"""
    #import "/press/look.typ": *
    #show: printed
    #context assert(measure(block(width: 20mm, data.lines.first())).width <= 20mm)
    #table(columns: (20mm, 20mm), table.header([a], [b]), data.lines.first(), [b])
    """
    assert set_page("W" * 80, source=narrow).content
