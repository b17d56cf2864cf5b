"""Papers read back with pypdf, a reader that knows nothing of how they were written."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pypdf import PdfReader
from pypdf.generic import DictionaryObject


@dataclass
class Node:
    """A structure element. kids: other elements, and (page, number) of marked pieces, in reading order."""

    kind: str
    entries: dict[str, Any]
    kids: list[Node | tuple[int, int]] = field(default_factory=list)

    @property
    def children(self) -> list[Node]:
        return [kid for kid in self.kids if isinstance(kid, Node)]

    @property
    def pieces(self) -> list[tuple[int, int]]:
        return [kid for kid in self.kids if not isinstance(kid, Node)]

    def walk(self) -> Iterator[Node]:
        yield self
        for child in self.children:
            yield from child.walk()


class Read:
    """A paper as its reader sees it."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.file = PdfReader(io.BytesIO(data))
        self.catalog = self.file.root_object
        self.marked: dict[tuple[int, int], str] = defaultdict(str)
        self.unmarked: list[str] = []
        self._numbers = {page.indirect_reference.idnum: number for number, page in enumerate(self.file.pages)}
        for number, page in enumerate(self.file.pages):
            self.unmarked.append(self._pieces_of(number, page))
        self.tree = self._node(self.catalog["/StructTreeRoot"]["/K"])

    def _pieces_of(self, number: int, page: Any) -> str:
        """Fills ``marked``; the text of the page that belongs to no element."""
        inside: list[int | None] = []
        artifacts: list[str] = []

        def operator(name: bytes, operands: Any, *_: Any) -> None:
            if name in (b"BDC", b"BMC"):
                details = operands[1] if name == b"BDC" else {}
                inside.append(details.get("/MCID") if isinstance(details, DictionaryObject) else None)
            elif name == b"EMC":
                inside.pop()

        def said(words: str, *_: Any) -> None:
            if not words.strip():
                return
            assert inside, f"text outside any marked piece: {words!r}"
            if inside[-1] is None:
                artifacts.append(words)
            else:
                self.marked[number, inside[-1]] += words

        page.extract_text(visitor_operand_before=operator, visitor_text=said)
        assert not inside
        return "".join(artifacts)

    def _node(self, thing: Any) -> Node:
        entries = thing.get_object()
        node = Node(str(entries["/S"])[1:], entries)
        page = self._numbers[entries.raw_get("/Pg").idnum] if "/Pg" in entries else None
        for kid in entries["/K"]:
            if isinstance(kid, int):
                assert page is not None
                node.kids.append((page, int(kid)))
                continue
            found = kid.get_object()
            if "/MCID" in found:
                node.kids.append((self._numbers[found.raw_get("/Pg").idnum], int(found["/MCID"])))
            else:
                child = self._node(found)
                assert found.raw_get("/P").idnum == entries.indirect_reference.idnum
                node.kids.append(child)
        return node

    def text_of(self, node: Node) -> str:
        """Its text, and that of everything below it, in reading order."""
        return "".join(self.text_of(kid) if isinstance(kid, Node) else self.marked[kid] for kid in node.kids)

    @property
    def text(self) -> str:
        """All that is said, without heads, feet and repeated heads of tables."""
        return self.text_of(self.tree)

    def of_kind(self, *kinds: str) -> list[Node]:
        return [node for node in self.tree.walk() if node.kind in kinds]

    def pages(self) -> int:
        return len(self.file.pages)

    def fonts(self) -> dict[str, bool]:
        """Every font of every page and form, and whether it is embedded."""
        found: dict[str, bool] = {}
        for page in self.file.pages:
            for holder in (page, *(one.get_object() for one in _resources(page).get("/XObject", {}).values())):
                for font in _resources(holder).get("/Font", {}).values():
                    font = font.get_object()
                    below = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
                    described = below.get("/FontDescriptor", {})
                    found[str(font["/BaseFont"])[1:]] = "/FontFile2" in described
        return found

    def images(self) -> int:
        return sum(
            one.get_object()["/Subtype"] == "/Image"
            for page in self.file.pages
            for one in _resources(page).get("/XObject", {}).values()
        ) + sum(data.count(b"\nBI ") for data in (page.get_contents().get_data() for page in self.file.pages))


def _resources(holder: Any) -> Any:
    return holder.get("/Resources", {}).get_object() if "/Resources" in holder else {}


def squeezed(words: str) -> str:
    """Without white space, which lines and tables rearrange; the space of no width is one, where a line may break."""
    return "".join(words.replace("\u200b", " ").split())
