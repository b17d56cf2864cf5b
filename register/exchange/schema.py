"""The tables of the exchange format: their columns, keys and what each column may hold.

One definition, read by the importer, the exporter, the forms, the blank workbook, the data package and the
documentation. docs/exchange.md is the reader's version; a test holds the two together.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from register.fabric.vocabulary import (
    ACCESS,
    DISPOSAL,
    EVENT_KINDS,
    HAZARDS,
    MASS_BASIS,
    PATTERN_BASIS,
    SAFETY,
    SIGNIFICANCE,
    SOURCE_KINDS,
    STATES,
    STATUSES,
    VEHICLE_KINDS,
    VISIBILITY,
)

MAX_TEXT = 20_000
"""Letters in one cell. Longer notes belong in a document that a source refers to."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    kind: ``id`` (made here), ``ref`` (an id of table ``to``), ``text``, ``words`` (a list, ``;`` between), ``date``,
    ``day``, ``yes`` (yes/no), ``choice``, ``choices``, ``mass``, ``fraction``, ``count``, ``person``, ``tag``,
    ``sha256``, ``file``.
    part: ``low``, ``best`` or ``high`` of the trio whose middle column is named in ``trio``; ``whole`` for a single
    column that may hold a range.
    default: what an empty cell means.
    """

    name: str
    kind: str = "text"
    required: bool = False
    key: bool = False
    to: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""
    trio: str = ""
    part: str = ""
    as_built: bool = False
    about: str = ""
    example: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table: ``noun`` is what one row is called; ``own_id`` the column that is an id, or ""; ``row_id`` whether
    rows carry one."""

    name: str
    noun: str
    columns: tuple[Column, ...]
    row_id: bool = False
    by_name: dict[str, Column] = field(init=False, repr=False, compare=False)
    key: tuple[str, ...] = field(init=False)
    own_id: str = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_name", {column.name: column for column in self.columns})
        object.__setattr__(self, "key", tuple(column.name for column in self.columns if column.key))
        ids = [column.name for column in self.columns if column.kind == "id"]
        object.__setattr__(self, "own_id", ids[0] if ids else "")

    @property
    def header(self) -> tuple[str, ...]:
        """Column names in the order of an export, ``row_id`` first where rows carry one."""
        return (("row_id",) if self.row_id else ()) + tuple(column.name for column in self.columns)


def _id(name: str, about: str, example: str) -> Column:
    return Column(name, "id", required=True, key=True, about=about, example=example)


def _ref(
    name: str, to: str, *, required: bool = False, key: bool = False, about: str = "", example: str = ""
) -> Column:
    return Column(name, "ref", required=required, key=key, to=to, about=about, example=example)


def _choice(
    name: str,
    choices: tuple[str, ...],
    *,
    required: bool = False,
    default: str = "",
    key: bool = False,
    about: str = "",
    example: str = "",
) -> Column:
    return Column(
        name,
        "choice",
        required=required,
        choices=choices,
        default=default,
        key=key,
        about=about,
        example=example,
    )


def _trio(
    name: str, kind: str, *, default: str = "", about: str = "", examples: tuple[str, str, str] = ("", "", "")
) -> tuple[Column, ...]:
    return (
        Column(f"{name}_low", kind, trio=name, part="low", about=f"{about}, lowest", example=examples[0]),
        Column(name, kind, trio=name, part="best", default=default, about=about, example=examples[1]),
        Column(f"{name}_high", kind, trio=name, part="high", about=f"{about}, highest", example=examples[2]),
    )


_TAG = Column("tag", "tag", about="eight characters for the label; made here if left empty")
_ACCESS = _choice("access", ACCESS, default="public", about="who may read of it")

TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        Table(
            "vehicles",
            "vehicle",
            (
                _id("vehicle_id", "your short id for the vehicle", "L7"),
                Column("name", required=True, about="what she is called", example="Brindle"),
                Column("number", about="the number she carries", example="7"),
                Column(
                    "former_numbers",
                    "words",
                    about="numbers she carried before, ; between",
                    example="3;B 112",
                ),
                _choice("kind", VEHICLE_KINDS, required=True, about="what she is", example="locomotive"),
                Column("builder", about="who built her", example="Harl & Tew"),
                Column("works_number", example="88"),
                Column("built", "date", required=True, about="when she was built", example="May 1894"),
                Column("gauge", example="4 ft 8 1/2 in"),
                Column(
                    "heritage_from",
                    "date",
                    as_built=True,
                    about="since when she has been looked after as heritage",
                    example="1968",
                ),
                Column(
                    "empty_mass",
                    "mass",
                    part="whole",
                    about="without water, fuel or crew",
                    example="32 ton 10 cwt ±1%",
                ),
                Column(
                    "identity_basis",
                    about="in words: what makes this vehicle this vehicle",
                    example="Main frames stamped 88.",
                ),
                Column("owner", "person", about="a person_id, or a name"),
                Column("title_notes", about="how title was got; never public"),
                _TAG,
                Column(
                    "in_fleet", "yes", default="yes", about="no: known only as where a part came from or went"
                ),
                Column("published", "yes", default="no", about="yes: has a public page"),
                Column(
                    "summary", about="one sentence that a visitor understands", example="A small tank engine."
                ),
            ),
        ),
        Table(
            "reference_periods",
            "reference period",
            (
                _ref("vehicle_id", "vehicles", required=True, key=True, example="L7"),
                Column("label", required=True, key=True, about="what it is called", example="as built"),
                Column(
                    "date",
                    "date",
                    required=True,
                    as_built=True,
                    about="the state measured against; its last day counts",
                    example="as built",
                ),
                Column(
                    "default", "yes", default="no", about="the one used when none is named", example="yes"
                ),
                Column("reason", about="why this period matters", example="The state the drawings show."),
            ),
        ),
        Table(
            "positions",
            "position",
            (
                _id("position_id", "your id for the place in the vehicle", "L7-CHIMNEY"),
                _ref("vehicle_id", "vehicles", required=True, example="L7"),
                _ref("parent_id", "positions", about="the position it is part of"),
                Column("name", required=True, about="what the place is called", example="Chimney"),
                _choice(
                    "visibility",
                    VISIBILITY,
                    required=True,
                    about="seen by a bystander, on a close look, or only when opened",
                    example="in view",
                ),
                _choice(
                    "significance", SIGNIFICANCE, about="a judgement, printed as one", example="considerable"
                ),
                Column("significance_by", "person", about="whose judgement"),
                Column("significance_reason", about="why"),
                Column(
                    "wear_part",
                    "yes",
                    default="no",
                    about="renewed as a matter of course, left out of the figures",
                    example="no",
                ),
                *_trio(
                    "design_mass",
                    "mass",
                    about="mass by the drawing, used where the part has none",
                    examples=("", "60 kg", ""),
                ),
                Column("safety", "choices", choices=SAFETY, about="what work on it can touch, ; between"),
                _TAG,
            ),
        ),
        Table(
            "parts",
            "part",
            (
                _id("part_id", "your id for the object itself", "P-0041"),
                Column("name", required=True, about="what it is", example="Chimney, cast iron"),
                Column("material", example="cast iron"),
                Column("made", "date", about="when it was made", example="c. 1894"),
                Column("maker", about="who made it", example="Harl & Tew"),
                Column("marks", about="what is stamped, cast or painted on it, as read", example="88"),
                Column("date_mark", about="how a new part is marked as new", example="R 1987 stamped inside"),
                Column(
                    "quantity",
                    "count",
                    default="1",
                    about="how many, where a set is registered as one",
                    example="1",
                ),
                *_trio(
                    "mass",
                    "mass",
                    about="of the whole set, without the parts registered under it",
                    examples=("", "1 cwt 2 qr", ""),
                ),
                _choice("mass_basis", MASS_BASIS, about="how the mass is known", example="weighed"),
                Column("gross_mass", "mass", part="whole", about="as weighed complete; only checks the sum"),
                Column("hazards", "choices", choices=HAZARDS, about="; between"),
                Column("owner", "person", about="a person_id, or a name"),
                _choice("disposal", DISPOSAL, default="none", about="what became of it"),
                Column("disposal_date", "date", about="required with a disposal"),
                _TAG,
                _ACCESS,
                Column("public_note", about="what a visitor may read of it"),
                Column("remarks", about="never public"),
            ),
        ),
        Table(
            "installations",
            "installation",
            (
                _ref("position_id", "positions", required=True, key=True, example="L7-CHIMNEY"),
                _ref("part_id", "parts", required=True, key=True, example="P-0041"),
                Column(
                    "fitted",
                    "date",
                    key=True,
                    as_built=True,
                    about="when it was fitted; empty if only seen",
                    example="as built",
                ),
                Column("seen_on", "day", key=True, about="a day on which it was known to be in place"),
                Column("removed", "date", about="when it came out; empty: still fitted"),
                Column("temporary", "yes", default="no", about="a stand-in: enters no figure"),
                _choice("visibility", VISIBILITY, about="if other than the position's"),
                Column("reason", about="why it was fitted or removed; never public"),
            ),
            row_id=True,
        ),
        Table(
            "assessments",
            "assessment",
            (
                _ref("part_id", "parts", required=True, key=True, example="P-0041"),
                Column("assessed_on", "day", required=True, key=True, example="2026-05-02"),
                _choice(
                    "state",
                    STATES,
                    default="accepted",
                    key=True,
                    about="only accepted counts",
                    example="draft",
                ),
                _choice("status", STATUSES, required=True, example="restored"),
                _ref(
                    "original_to",
                    "vehicles",
                    about="the vehicle it belonged to first; worked out if left empty",
                ),
                Column(
                    "original_since",
                    "date",
                    as_built=True,
                    about="when it became part of that vehicle; empty: as built",
                ),
                *_trio(
                    "fraction",
                    "fraction",
                    about="of original fabric surviving in it",
                    examples=("0.6", "0.7", "0.8"),
                ),
                _choice("pattern_basis", PATTERN_BASIS, about="what a replica was copied from"),
                Column("assessor", "person", about="whose statement it is"),
                Column("reason", about="why; never public"),
            ),
            row_id=True,
        ),
        Table(
            "treatments",
            "treatment",
            (
                _ref("part_id", "parts", required=True, key=True, example="P-0041"),
                Column("date", "date", required=True, key=True, example="1998"),
                Column(
                    "work", required=True, key=True, about="what was done", example="rim built up by welding"
                ),
                Column("done_by", "person", about="a person_id, or a name; never public"),
                *_trio(
                    "replaced",
                    "fraction",
                    default="0",
                    about="share of its material replaced",
                    examples=("0.02", "0.05", "0.1"),
                ),
            ),
            row_id=True,
        ),
        Table(
            "sources",
            "source",
            (
                _id("source_id", "your id for the piece of evidence", "S-01"),
                _choice("kind", SOURCE_KINDS, required=True, example="mark"),
                Column("title", required=True, about="what it is", example="Stamp 88 on the frame"),
                Column("author", about="who made or read it"),
                Column(
                    "date",
                    "date",
                    about="when it was made; an undated photograph counts for less",
                    example="2026-04",
                ),
                Column("repository", about="who keeps it", example="Works office"),
                Column("reference", about="under which number", example="Mark book 1, p 4"),
                _ACCESS,
            ),
        ),
        Table(
            "citations",
            "citation",
            (
                _ref("part_id", "parts", required=True, key=True, example="P-0041"),
                _ref("source_id", "sources", required=True, key=True, example="S-01"),
                Column(
                    "supports",
                    "yes",
                    default="yes",
                    key=True,
                    about="no: it speaks against the assessment",
                    example="yes",
                ),
                Column("locator", key=True, about="page, sheet or place", example="p 4"),
                Column(
                    "assessed_on",
                    "day",
                    about="the assessment it belongs to; empty: the latest accepted, else the latest draft",
                ),
                Column("note", about="what it says; never public"),
            ),
            row_id=True,
        ),
        Table(
            "events",
            "event",
            (
                _ref("vehicle_id", "vehicles", required=True, key=True, example="L7"),
                Column("date", "date", required=True, key=True, as_built=True, example="1912"),
                _choice("kind", EVENT_KINDS, required=True, key=True, example="rebuilt"),
                Column("title", required=True, key=True, example="New boiler"),
                _ref("part_id", "parts", about="the part it concerns"),
                Column("until", "date", as_built=True, about="when it ended"),
                _ref("source_id", "sources"),
                Column("reference", about="page or paper"),
                Column("holder", "person", about="who holds the paper of an examination"),
                _ACCESS,
            ),
            row_id=True,
        ),
        Table(
            "places",
            "place",
            (
                _id("place_id", "your id for the place", "STORE-1"),
                Column("name", required=True, example="Store, rack 1"),
                _ref("parent_id", "places", about="the place it is in"),
                _choice("access", ACCESS, default="restricted", about="restricted places are never public"),
            ),
        ),
        Table(
            "movements",
            "movement",
            (
                _ref("part_id", "parts", required=True, key=True, example="P-0041"),
                Column("moved_on", "date", required=True, key=True, example="3 May 2026"),
                _ref("place_id", "places", about="where to", example="STORE-1"),
                _ref("with_part", "parts", about="or: the part it lies with"),
                Column("due_back", "date"),
                Column("reason"),
            ),
            row_id=True,
        ),
        Table(
            "people",
            "person",
            (
                _id("person_id", "your short id for the person", "AB"),
                Column("name", required=True, about="kept here only", example="A. Bell"),
                Column("role", example="recorder"),
                Column("public_as", about="what the public may read instead of the name", example="recorder"),
                Column("consent", about="what was agreed, and when"),
            ),
        ),
        Table(
            "photographs",
            "photograph",
            (
                Column("file", "file", required=True, key=True, about="its name beside the tables"),
                Column("sha256", "sha256"),
                _ref("vehicle_id", "vehicles"),
                _ref("part_id", "parts"),
                _ref("source_id", "sources"),
                Column("caption"),
                Column("credit"),
                Column("licence"),
                Column("taken", "date"),
                _ACCESS,
            ),
        ),
        Table(
            "export",
            "export",
            (
                Column("register_id", about="which register wrote the file"),
                Column("change_no", about="the last change that the file holds"),
                Column("written_at", about="when it was written"),
            ),
        ),
    )
}

ORDER = tuple(name for name in TABLES if name != "export")
"""The register's tables in the order in which they are written: what is referred to before what refers to it."""
WRITE_ORDER = (
    "people",
    "vehicles",
    "reference_periods",
    "positions",
    "parts",
    "sources",
    "places",
    "installations",
    "assessments",
    "treatments",
    "citations",
    "events",
    "movements",
    "photographs",
)
