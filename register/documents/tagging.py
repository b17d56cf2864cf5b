"""Tagged PDF: what is a heading, a paragraph, a table cell or a figure, written beside the drawing of it.

ReportLab has none of this. Its canvas takes literal operators and its catalogue further entries, so a
tree of ``Element`` is filled while pages are drawn and written at the end (ISO 32000-1, 14.6 marked
content, 14.7 logical structure, 14.8 tagged PDF). What no element claims is an artifact: rules, repeated
heads, running heads. No claim is made of PDF/UA or PDF/A, which nothing here could check.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFObject, PDFPage
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.tables import Table, TableRenderCB

from register.documents.fonts import REGULAR

VERSION = (1, 7)


class Piece(NamedTuple):
    """A marked stretch of the drawing on a page, both numbered from 0."""

    page: int
    number: int


class Element:
    """One of ISO 32000-1's standard structure types, with its children and marked pieces in reading order.

    alternative: what a figure shows, in words. spoken: what its letters stand for, if not themselves.
    attributes: PDF text of one attribute dictionary. once: a repeated drawing of it is decoration.
    """

    __slots__ = ("alternative", "attributes", "kids", "kind", "once", "spoken")

    def __init__(
        self, kind: str, *, alternative: str = "", spoken: str = "", attributes: str = "", once: bool = False
    ) -> None:
        self.kind, self.alternative, self.spoken = kind, alternative, spoken
        self.attributes, self.once = attributes, once
        self.kids: list[Element | Piece] = []

    def add(self, kind: str, **details: Any) -> Element:
        """A new last child."""
        child = Element(kind, **details)
        self.kids.append(child)
        return child

    @property
    def is_drawn(self) -> bool:
        return any(isinstance(kid, Piece) for kid in self.kids)


class _Written(PDFObject):  # type: ignore[misc]
    """An indirect object given as PDF text."""

    __RefOnly__ = 1
    text = ""

    def format(self, document: Any) -> bytes:
        return self.text.encode("ascii")


Furniture = Callable[["TaggedCanvas", int, int], None]
"""Draws the running head and foot of a page, given its number and how many there are."""


class TaggedCanvas(Canvas):  # type: ignore[misc]
    """A canvas that writes ``tree`` into the file it saves, and the furniture on each page once their
    number is known."""

    def __init__(self, filename: Any, *, tree: Element, furniture: Furniture, **details: Any) -> None:
        super().__init__(filename, **{**details, "pdfVersion": VERSION, "initialFontName": REGULAR})
        self.tree, self.furniture = tree, furniture
        self._is_marking = False
        self._on_page: list[Element] = []
        self._pages: list[tuple[PDFPage, list[Element]]] = []

    def begin(self, element: Element | None) -> None:
        """What is drawn until ``end`` is a piece of the element; of none, or of one that is drawn again: an
        artifact."""
        if element is None or (element.once and element.is_drawn):
            self._begin("/Artifact BMC")
        else:
            piece = Piece(len(self._pages), len(self._on_page))
            element.kids.append(piece)
            self._on_page.append(element)
            self._begin(f"/{element.kind} <</MCID {piece.number}>> BDC")

    def _begin(self, operator: str) -> None:
        if self._is_marking:
            raise RuntimeError(f"{operator} inside another marked piece")
        self._is_marking = True
        self.addLiteral(operator)

    def end(self) -> None:
        self._is_marking = False
        self.addLiteral("EMC")

    def showPage(self) -> None:
        self._begin("/Artifact <</Type /Pagination>> BDC")
        self.doForm(_form(len(self._pages)))  # which is drawn when all pages are
        self.end()
        super().showPage()
        self._pages.append((self._doc.Pages.pages[-1], self._on_page))
        self._on_page = []

    def save(self) -> None:
        for number in range(len(self._pages)):
            self.beginForm(_form(number))
            self.furniture(self, number + 1, len(self._pages))
            self.endForm()
        self._write_structure()
        super().save()

    def _write_structure(self) -> None:
        catalog, written = self._doc.Catalog, _Structure(self._doc, self._pages)
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})
        catalog.StructTreeRoot = written.root(self.tree)
        for number, (page, _) in enumerate(self._pages):
            page.__NoDefault__ = [*PDFPage.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = number, "/S"


def _form(page: int) -> str:
    return f"page{page}"


class _Structure:
    """Writes a tree as PDF objects."""

    def __init__(self, document: Any, pages: list[tuple[PDFPage, list[Element]]]) -> None:
        self.document, self.pages = document, pages
        self.objects: dict[int, tuple[_Written, str]] = {}

    def reference(self, thing: PDFObject) -> str:
        return str(self.document.Reference(thing).format(self.document), "ascii")

    def object_of(self, element: Element) -> tuple[_Written, str]:
        """Its object and the reference to it."""
        if id(element) not in self.objects:
            made = _Written()
            self.objects[id(element)] = made, self.reference(made)
        return self.objects[id(element)]

    def root(self, tree: Element) -> _Written:
        root, parents = _Written(), _Written()
        root_name = self.reference(root)
        waiting = [(tree, root_name)]
        while waiting:
            element, parent = waiting.pop()
            made, name = self.object_of(element)
            made.text = self.described(element, parent)
            waiting += [(kid, name) for kid in element.kids if isinstance(kid, Element)]
        numbers = [
            f"{page} [{' '.join(self.object_of(element)[1] for element in elements)}]"
            for page, (_, elements) in enumerate(self.pages)
        ]
        parents.text = f"<< /Nums [{chr(10).join(numbers)}] >>"
        root.text = (
            f"<< /Type /StructTreeRoot /K {self.object_of(tree)[1]}"
            f" /ParentTree {self.reference(parents)} /ParentTreeNextKey {len(self.pages)} >>"
        )
        return root

    def described(self, element: Element, parent: str) -> str:
        pages = [kid.page for kid in element.kids if isinstance(kid, Piece)]
        entries = [f"/Type /StructElem /S /{element.kind} /P {parent}"]
        if pages:
            entries.append(f"/Pg {self.reference(self.pages[pages[0]][0])}")
        kids = [
            self.object_of(kid)[1]
            if isinstance(kid, Element)
            else str(kid.number)
            if kid.page == pages[0]
            else f"<</Type /MCR /Pg {self.reference(self.pages[kid.page][0])} /MCID {kid.number}>>"
            for kid in element.kids
        ]
        entries.append(f"/K [{' '.join(kids)}]")
        if element.alternative:
            entries.append(f"/Alt {_string(element.alternative)}")
        if element.spoken:
            entries.append(f"/ActualText {_string(element.spoken)}")
        if element.attributes:
            entries.append(f"/A << {element.attributes} >>")
        return f"<< {' '.join(entries)} >>"


def _string(words: str) -> str:
    """A PDF text string, ISO 32000-1, 7.9.2.2."""
    return f"<FEFF{words.encode('utf-16-be', 'replace').hex().upper()}>"


class TableTags(TableRenderCB):  # type: ignore[misc]
    """Marks the grounds and the rules of a table as artifacts; its cells mark themselves."""

    def startBG(self, table: Table) -> None:
        table.canv.begin(None)

    def endBG(self, table: Table) -> None:
        table.canv.end()

    startLines, endLines = startBG, endBG

    def _nothing(self, *details: Any) -> None:
        """Called for each row and cell."""

    startTable = endTable = startRow = endRow = startCell = endCell = _nothing
