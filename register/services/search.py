"""Search by number, mark, name, former number, tag, maker or source: tolerant of case, accents, spaces and
signs.

Every word asked for must be found in a record; the closest answers come first. The texts that are searched
are read in one query a table and compared here, since no collation of the databases that we run on treats
Ł, ø and é, "B 112" and "B112", alike; that does for tens of thousands of records.
"""

from __future__ import annotations

import heapq
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from register.exchange.schema import TABLES
from register.models import Citation, Part, RetiredId, Vehicle
from register.services.tables import MODELS

LONGEST = 100
"""Characters of a question that are looked at."""
MOST = 50
MOST_SOURCES = 20
"""Sources whose parts are told too, and persons whose property is."""
WHERE: dict[str, tuple[str, ...]] = {
    "vehicles": ("code", "name", "number", "former_numbers", "tag", "builder", "works_number"),
    "positions": ("code", "name", "tag"),
    "parts": ("code", "name", "marks", "date_mark", "tag", "maker", "material"),
    "sources": ("code", "title", "author", "reference", "repository"),
    "places": ("code", "name"),
    "people": ("code", "name", "role", "public_as"),
}
"""What is searched in each table, the columns that identify best first."""
OPEN = tuple(table for table in WHERE if table != "people")
"""The tables that anybody who signs in may search. A private column is in none of them: whether it says something
could be found out by asking."""
MAY_BE_RESTRICTED = ("parts", "sources")
"""Tables with rows that not everybody who signs in may read."""
NUMBER = WHERE["vehicles"].index("number")
SAID = {
    "code": "id",
    "former_numbers": "former number",
    "works_number": "works number",
    "date_mark": "date mark",
    "public_as": "public name",
}
IDENTIFIES = ("code", "tag", "number", "former_numbers", "works_number", "marks", "date_mark", "reference")
"""Columns in which "b112" finds "B 112"."""
_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"})
_SIGNS = re.compile(r"[\W_]+")


@dataclass(frozen=True, slots=True)
class Hit:
    """A record found. column: in which the best word was found, in words ("former number"); text: what it
    says there. rank: 0 the id, tag or number itself; 1 a text as asked; 2 one that begins so; 3 with all
    words; 4 within words. alias: the id of a merged record that was asked for, "" else."""

    table: str
    key: str
    code: str
    name: str
    column: str
    text: str
    rank: int
    alias: str = ""


def search(
    *, text: str, tables: Sequence[str] = OPEN, limit: int = MOST, restricted: bool = False
) -> list[Hit]:
    """The records that answer, the closest first, at most ``limit``; none for a blank question. In one
    query a table, one for merged ids, and two for owners. KeyError for a table that is not searched.

    restricted: whether the reader may know of restricted parts and sources; nothing is found in or by way
    of them else. Whoever asks for ``people`` also finds what they own: only for those who may read
    persons' names."""
    words = [word for typed in text[:LONGEST].split() if (word := folded(typed))]
    if not words:
        return []
    asked = _Question(words)
    hits = {
        (hit.table, hit.key): hit for table in tables for hit in _in_table(table, asked, restricted=restricted)
    }
    for hit in _by_way_of_others(hits, tables, asked, restricted=restricted):
        hits.setdefault((hit.table, hit.key), hit)
    order = {table: at for at, table in enumerate(tables)}
    found = heapq.nsmallest(limit, hits.values(), key=lambda hit: (hit.rank, order[hit.table], hit.key))
    return [*_aliases(asked, tables, restricted=restricted), *found][:limit]


def answers(text: str, record: Mapping[str, str]) -> bool:
    """Whether a record with these texts by column would be found: for the filter of a list. Nothing asked
    for is answered by every record."""
    words = [word for typed in text[:LONGEST].split() if (word := folded(typed))]
    if not words:
        return not text.strip()
    asked = _Question(words)
    if not asked.may_be_in(folded(" ".join(record.values()))):
        return False
    return _closest(tuple(record.values()), tuple(record), asked) is not None


def folded(text: str) -> str:
    """As it is compared: without case, accents or signs, one space between words."""
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text.casefold()).translate(_LETTERS)
        text = "".join(letter for letter in text if not unicodedata.combining(letter))
    return _SIGNS.sub(" ", text.lower()).strip()


class _Question:
    """The words asked for, as they were typed apart ("s 032" is one, typed S-032), and how close a text
    comes."""

    def __init__(self, words: list[str]) -> None:
        self.words = words
        self.whole = " ".join(words)
        self.joined = self.whole.replace(" ", "")

    def may_be_in(self, plain: str) -> bool:
        """A first look at all that a record says, so that most records are read through once."""
        return all(word in plain for word in self.words) or self.joined in plain.replace(" ", "")

    def rank(self, column: str, text: str) -> int | None:
        """How close one text comes to the whole question; None where not all words are in it."""
        plain = folded(text)
        identifies = column in IDENTIFIES
        parts = [folded(one) for one in text.split(";")] if column == "former_numbers" else [plain]
        if any(self.whole == one or (identifies and self.joined == one.replace(" ", "")) for one in parts):
            return 0 if identifies else 1
        if any(one.startswith(self.whole) for one in parts):
            return 2
        if identifies and len(self.joined) > 2 and self._begins_somewhere(plain):
            return 3
        ranks = [self.word_rank(word, plain) for word in self.words]
        return None if None in ranks else max(rank for rank in ranks if rank is not None)

    def _begins_somewhere(self, plain: str) -> bool:
        """Whether, spaces aside, the text has what is asked for from the beginning of a word on."""
        words = plain.split()
        return any("".join(words[at:]).startswith(self.joined) for at in range(len(words)))

    @staticmethod
    def word_rank(word: str, plain: str) -> int | None:
        """3 where a word begins so, 4 where it is within one. Short words and numbers are not looked for
        within words: 12 is not meant by 1912."""
        if f" {word}" in f" {plain}":
            return 3
        within = len(word) > 2 and not any(letter.isdigit() for letter in word)
        return 4 if within and word in plain else None


def _in_table(table: str, asked: _Question, *, restricted: bool) -> Iterator[Hit]:
    columns = WHERE[table]
    title = "title" if table == "sources" else "name"
    names = ("key", "code", title, *columns)
    records = MODELS[table]._default_manager.all()
    if table in MAY_BE_RESTRICTED and not restricted:
        records = records.filter(access="public")
    for row in records.values_list(*names).iterator(5000):
        texts = row[3:]
        if table == "vehicles" and row[3 + NUMBER]:  # she is asked for as she is called
            texts = (*texts, f"No. {row[3 + NUMBER]} {row[2]}")
        if not asked.may_be_in(folded(" ".join(texts))):
            continue
        found = _closest(texts, (*columns, "name"), asked)
        if found is not None:
            rank, at = found
            yield Hit(table, row[0], row[1], row[2], _said((*columns, "name")[at]), texts[at], rank)


def _by_way_of_others(
    hits: Mapping[tuple[str, str], Hit], tables: Sequence[str], asked: _Question, *, restricted: bool
) -> Iterator[Hit]:
    """Parts of which a source found speaks; vehicles and parts that a person found owns."""
    if "parts" in tables:
        known = [hit for hit in hits.values() if hit.table == "sources"]
        sources = known if "sources" in tables else _in_table("sources", asked, restricted=restricted)
        yield from _by_source(sources, restricted=restricted)
    if "people" in tables:
        yield from _by_owner([hit for hit in hits.values() if hit.table == "people"], tables)


def _by_source(found: Iterable[Hit], *, restricted: bool) -> Iterator[Hit]:
    """The parts of which the sources found speak: after what says it of itself, the best source first."""
    sources = {hit.key: hit for hit in found if hit.rank <= 3}
    best = heapq.nsmallest(MOST_SOURCES, sources.values(), key=lambda hit: (hit.rank, hit.key))
    cited = Citation.objects.filter(source__in=[hit.key for hit in best]).order_by("part", "source")
    if not restricted:
        cited = cited.filter(part__access="public")
    for source, part, code, name in cited.values_list("source", "part", "part__code", "part__name"):
        hit = sources[source]
        yield Hit("parts", part, code, name, "source", f"{hit.code}, {hit.name}", 4)


def _by_owner(people: Iterable[Hit], tables: Sequence[str]) -> Iterator[Hit]:
    owners = {hit.key: hit for hit in heapq.nsmallest(MOST_SOURCES, people, key=lambda one: (one.rank, one.key))}
    for table, model in (("vehicles", Vehicle), ("parts", Part)):
        if table in tables:
            owned = model._default_manager.filter(owner__in=list(owners)).order_by("key")
            for key, code, name, owner in owned.values_list("key", "code", "name", "owner"):
                yield Hit(table, key, code, name, "owner", owners[owner].name, 4)


def _closest(texts: Sequence[str], columns: Sequence[str], asked: _Question) -> tuple[int, int] | None:
    """(rank, which column); the words may also be found in different columns of one record."""
    best: tuple[int, int] | None = None
    for at, text in enumerate(texts):
        rank = asked.rank(columns[at], text) if text else None
        if rank is not None and (best is None or rank < best[0]):
            best = rank, at
    if best is not None or len(asked.words) == 1:
        return best
    places = []
    for word in asked.words:
        one = _Question([word])
        found = next(
            (at for at, text in enumerate(texts) if text and one.rank(columns[at], text) is not None), None
        )
        if found is None:
            return None
        places.append(found)
    return 4, places[0]


def _said(column: str) -> str:
    return SAID.get(column, column)


def _aliases(asked: _Question, tables: Sequence[str], *, restricted: bool) -> Iterator[Hit]:
    """The records to which a merged id leads: whoever holds an old label or an old list finds them first."""
    merged = {
        (row.table, row.key): row
        for row in RetiredId.objects.filter(table__in=tables).exclude(merged_into="").order_by("table", "key")
    }
    for (table, key), row in merged.items():
        if folded(row.code).replace(" ", "") != asked.joined:
            continue
        into, seen = row.merged_into.lower(), {key}
        while (table, into) in merged and into not in seen:
            seen.add(into)
            into = merged[table, into].merged_into.lower()
        title = "title" if table == "sources" else "name"
        records = MODELS[table]._default_manager.filter(key=into)
        if table in MAY_BE_RESTRICTED and not restricted:
            records = records.filter(access="public")
        record = records.values_list("code", title).first()
        if record is not None:
            text = f"{row.code}, a {TABLES[table].noun} that was merged into it"
            yield Hit(table, into, record[0], record[1], "id", text, 0, row.code)
