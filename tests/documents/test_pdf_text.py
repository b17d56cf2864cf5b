"""Text on paper is the text that was typed: nothing is read as mark-up, nothing is cut, nothing becomes a box."""

from __future__ import annotations

import ast
import subprocess
import sys
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from register.documents.escape import LONGEST, Markup, as_drawn, bold, joined, split_paragraphs, text
from register.documents.fonts import GLYPHS, fitted, missing_glyphs, printable, width_of
from register.documents.pdf import Paper, Sheet
from tests.documents.reading import Read, squeezed

DOCUMENTS = Path(__file__).resolve().parents[2] / "register" / "documents"

SHEET = Sheet("A paper", date(2024, 6, 30), "Selmouth & Harrenby Railway", "A paper, draft", "DRAFT", ("a", "b"))

HOSTILE = (
    "bolt <M12> long",
    '<img src="/etc/hostname"/>',
    '<img src="http://127.0.0.1:9/x.png" width="10"/>',
    "&pound; &amp; &#163; &lt;b&gt;",
    "<font color=red>red</font>",
    '<font color="[[[getattr(pow, Word)(1)]]]">x</font>',
    "<b>never closed",
    "closed only</b></para>",
    '<a href="javascript:alert(1)">link</a>',
    "<para>nested</para> <br/> <!-- note --> <![CDATA[x]]> <?xml?>",
    "Gŵr yn y tŷ, ŷd; Łódź, Świętochłowice; Ωμέγα; Ёлка",
    "1⅜″ × ⅛ in, ≈ 3′, ≤ 4, ≥ 5, −6, → ✓ ■ №",
    "W" * 400,
    "zero\u200bwidth\u200djoiner\ufeff and \u202eoverride\u202c",
    "%s {0} \\n \\( ) (",
    "]] >> endobj /JavaScript (",
)


def printed(words: str) -> Read:
    paper = Paper(SHEET)
    paper.add(*paper.heading("A paper", "title"), *paper.words(words))
    return Read(paper.finished())


def lines_of(read: Read) -> str:
    return "".join(read.text_of(node) for node in read.of_kind("P"))


@pytest.mark.parametrize("typed", HOSTILE, ids=lambda typed: typed[:20])
def test_hostile_text_is_printed_as_it_was_typed(typed):
    read = printed(typed)
    assert squeezed(lines_of(read)) == squeezed(typed)
    assert read.images() == 0
    assert not any(page.get("/Annots") for page in read.file.pages)


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cs",), exclude_characters="\u00ad"), max_size=80))
def test_any_text_is_printed_as_it_was_typed_or_by_the_number_of_the_letter(typed):
    """pypdf is the reader; it has rules of its own for the order of right-to-left letters, so letters are counted."""
    read = printed(typed)
    assert sorted(squeezed(lines_of(read))) == sorted(squeezed(printable("".join(split_paragraphs(typed)))))


def test_a_soft_hyphen_is_where_a_word_may_break_and_prints_as_nothing():
    assert squeezed(lines_of(printed("soft\u00adhyphen"))) == "softhyphen"


@pytest.mark.parametrize("letters", [20_000, 3 * LONGEST])
def test_a_word_without_end_is_broken_and_not_cut(letters):
    typed = "".join(chr(97 + number % 26) for number in range(letters))
    read = printed(typed)
    assert squeezed(lines_of(read)) == typed
    assert read.pages() > 1


def test_a_note_of_thirty_pages_flows_over_them():
    paragraph = "The plate was taken off, cleaned, drawn and measured. " * 12
    typed = "\n\n".join(f"{number}. {paragraph}" for number in range(260))
    read = printed(typed)
    assert read.pages() >= 30
    assert squeezed(lines_of(read)) == squeezed(typed)


def test_lines_of_a_text_are_paragraphs_of_their_own():
    read = printed("one\r\ntwo\n\n  \nthree\u2028four\rfive")
    assert [read.text_of(node).strip() for node in read.of_kind("P")] == ["one", "two", "three", "four", "five"]


def test_pieces_of_a_long_line_break_between_words():
    line = "word " * 2000
    pieces = split_paragraphs(line)
    assert "".join(pieces) == line
    assert len(pieces) > 1
    assert all(len(piece) <= LONGEST and piece.split() == ["word"] * len(piece.split()) for piece in pieces)


def test_markup_is_escaped_once_and_text_always():
    assert text("a < b & c") == "a &lt; b &amp; c"
    assert text(text("a < b")) == "a &lt; b"
    assert bold("<i>") == "<b>&lt;i&gt;</b>"
    assert joined(bold("x"), " <", "y") == "<b>x</b> &lt;y"
    assert isinstance(joined("x"), Markup)


# The choke point


@cache
def trees() -> dict[str, ast.Module]:
    """Of the modules that name a paragraph or mark-up at all."""
    found = {path.name: path.read_text(encoding="utf-8") for path in DOCUMENTS.parent.rglob("*.py")}
    return {name: ast.parse(code) for name, code in found.items() if "Paragraph" in code or "Markup" in code}


def calls_of(name: str) -> set[str]:
    """The modules of the register that call it."""
    return {
        module
        for module, tree in trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and name in (getattr(node.func, "id", ""), getattr(node.func, "attr", ""))
    }


def importers_of(name: str) -> set[str]:
    return {
        module
        for module, tree in trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and name in {alias.name for alias in node.names}
    }


def test_paragraphs_are_made_in_one_module_of_markup_made_in_another():
    assert calls_of("Paragraph") == set()
    assert calls_of("Words") == {"pdf_words.py"}
    assert calls_of("Markup") == {"escape.py"}
    assert importers_of("Paragraph") == {"pdf_words.py"}


def test_the_parser_is_given_markup_alone():
    """One call that parses mark-up, one that puts text in unparsed, one for a constant."""
    made = [
        ast.unparse(node.args[0])
        for node in ast.walk(trees()["pdf_words.py"])
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Words", "Heading", "kind")
    ]
    assert sorted(made) == ["'x'", "None", "words"]


# Right-to-left letters


@pytest.mark.parametrize(
    ("typed", "drawn"),
    [
        ("plate", "plate"),
        ("שלום", "םולש"),
        ("plate שלום end", "plate םולש end"),
        ("plate אבג דהו, end", "plate והד גבא, end"),  # the comma stands between the two directions
        ("אב 12 גד", "דג 12 בא"),  # numbers keep their order
        ("שָׁ", "שָׁ"),  # a letter with its points
    ],
)
def test_a_run_of_hebrew_is_turned_for_drawing(typed, drawn):
    """As the Unicode bidirectional algorithm orders a line of left-to-right text (UAX 9, rules N1, N2 and L2, from
    memory): strong letters of one kind hold what is between them, numbers are not turned."""
    assert as_drawn(typed) == drawn


def test_right_to_left_words_read_back_as_typed():
    """pypdf gives the letters of a run back in reading order."""
    typed = "plate אבג דהו end"
    assert squeezed(lines_of(printed(typed))) == squeezed(typed)


# Letters without a glyph


def test_a_letter_without_a_glyph_is_shown_by_its_number():
    assert printable("漢字 ok") == "[U+6F22][U+5B57] ok"
    assert printable("\x00\x1f\x85") == "[U+0000][U+001F][U+0085]"
    assert printable("a\u3000b") == "a b"
    assert printable("😀") == "[U+1F600]"  # the font has it, but it could not be copied or read aloud
    assert squeezed(lines_of(printed("plate 漢 \x07"))) == "plate[U+6F22][U+0007]"


def test_letters_without_a_glyph_are_reported_once_and_white_space_never():
    assert missing_glyphs("漢字漢 \t\n\u3000\x07") == ("漢", "字", "\x07")
    assert missing_glyphs("Gŵr, Łódź, ⅛ ≈ ≤ ≥ − → ✓ ■") == ()


def test_a_lone_surrogate_does_not_break_the_paper():
    assert squeezed(lines_of(printed("a\ud800b"))) == "a[U+D800]b"


def test_the_letters_of_europe_and_of_the_workshop_have_glyphs():
    """Welsh and Polish by their alphabets (general reference), Greek and Cyrillic by the Unicode blocks."""
    letters = "âêîôûŵŷÂÊÎÔÛŴŶ" "ąćęłńóśźżĄĆĘŁŃÓŚŹŻ" "⅛⅜⅝⅞¼½¾⅓⅔′″№×÷±°µΩ" "≈≤≥−→✓■"
    greek = "".join(map(chr, [*range(0x391, 0x3A2), *range(0x3A3, 0x3AA), *range(0x3B1, 0x3CA)]))
    cyrillic = "".join(map(chr, range(0x410, 0x450)))
    assert {ord(letter) for letter in letters + greek + cyrillic} <= GLYPHS


def test_a_running_head_is_shortened_to_fit_and_no_further():
    assert fitted("short", 7.5, 100) == "short"
    name = "A very long name of a vehicle indeed"
    cut = fitted(name, 7.5, 80)
    kept = cut.removesuffix("…")
    assert name.startswith(kept) and kept != cut
    assert width_of(cut, 7.5) <= 80 < width_of(name[: len(kept) + 2] + "…", 7.5)


# Fonts


def test_only_our_fonts_are_in_a_paper_even_where_others_came_first():
    """In a process that imported ReportLab's layout before ours, with its own default font in every style."""
    program = (
        "import reportlab.platypus, reportlab.graphics.shapes, sys\n"
        "from datetime import date\n"
        "from register.documents.statement import render\n"
        "from tests.documents.statements import statement\n"
        "from tests.documents.reading import Read\n"
        "fonts = Read(render(statement())).fonts()\n"
        "assert all(fonts.values()), fonts\n"
        "print(sorted(name.split('+')[1] for name in fonts))\n"
    )
    root = DOCUMENTS.parents[1]
    done = subprocess.run([sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "['DejaVuSans', 'DejaVuSans-Bold']"


def test_a_drawing_of_another_module_takes_our_font_too():
    from reportlab.graphics import shapes

    assert shapes.STATE_DEFAULTS["fontName"] == "DejaVuSans"
    assert shapes.String(0, 0, "x").fontName == "DejaVuSans"
