"""What a column of a list may be, and the words over a column by which that is guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass

ITEM, NUMBER, STATUS, QUANTITY = "item", "number", "status", "quantity"
MASS_EACH, MASS_TOTAL, MASS = "mass each", "mass total", "mass"
FITTED, REMOVED, SEEN_ON, DONE_BY, REMARKS = "fitted", "removed", "seen on", "done by", "remarks"
MATERIAL, MARKS, MAKER, MADE, VISIBILITY = "material", "marks", "maker", "made", "visibility"
SECTION, PLACE, KEEP, IGNORE = "section", "place", "keep", "ignore"


@dataclass(frozen=True, slots=True)
class Role:
    """about: what it means, for the page on which the columns are chosen. several: whether several columns
    may have it. headings: what may stand over such a column, as a pattern of the whole folded heading."""

    name: str
    about: str
    headings: str = ""
    several: bool = False


_WEIGHT = r"(?:weight|wt|mass)s?"
_UNIT = r"(?: ?\(?(?:kgs?|lbs?|cwt|t|tonnes?|tons?|g)\)?)?"

ROLES: dict[str, Role] = {
    role.name: role
    for role in (
        Role(
            NUMBER,
            "the list's own number of the line",
            r"(?:item |ref(?:erence)? |line |part )?(?:no|nr|num|number|ref|reference|id|#)|item #",
        ),
        Role(
            ITEM,
            "what the thing is; every list has this one",
            r"(?:item|part|component|piece|bit|object|thing|article|description|name|what)s?"
            r"|(?:part|item|component) (?:name|description)|description of (?:part|item)|what (?:it is|"
            r"is it)|fitting",
        ),
        Role(
            STATUS,
            "whether it is original: its words are given their meaning next",
            r"(?:is it |still )?(?:orig|original|genuine|authentic|ours)(?: ?\(?y/?n\)?)?|originality|"
            r"provenance|old or new|old/new|status",
        ),
        Role(
            QUANTITY, "how many", r"qty|quantity|quan|count|number off|no off|off|pcs|pieces|how many|amount"
        ),
        Role(
            MASS_EACH,
            "what one of them weighs",
            rf"{_WEIGHT} (?:each|per piece|of one){_UNIT}|(?:unit|single) {_WEIGHT}{_UNIT}|each{_UNIT}|"
            rf"(?:kgs?|lbs?) each",
        ),
        Role(
            MASS_TOTAL,
            "what they weigh together",
            rf"{_WEIGHT} (?:total|all|together|of all){_UNIT}|(?:total|all-?up) {_WEIGHT}{_UNIT}|(?:kgs?|"
            rf"lbs?) (?:total|all)",
        ),
        Role(
            MASS,
            "a weight: of one or of all is asked where there are several",
            rf"{_WEIGHT}{_UNIT}|kgs?|lbs?",
        ),
        Role(
            FITTED,
            "when it was fitted",
            r"(?:when |date |year )?(?:fitted|installed|put (?:in|on))(?: when| date)?|when|dated?|year|age",
        ),
        Role(
            REMOVED,
            "when it was taken off",
            r"(?:when |date |year )?(?:removed|taken (?:off|out)|came (?:off|out))",
        ),
        Role(
            SEEN_ON,
            "a day on which it was seen in place",
            r"(?:date |when |last )?(?:seen|checked|inspected|looked at)(?: on)?",
        ),
        Role(
            DONE_BY,
            "who did the work",
            r"(?:work )?(?:done|fitted|made|work|repaired) by|by(?: whom)?|who(?: did it)?|worker",
        ),
        Role(
            REMARKS,
            "whatever else is said; kept word for word",
            r"(?:other )?(?:remark|note|comment|observation)s?|anything else|details?|history",
            several=True,
        ),
        Role(MATERIAL, "what it is made of", r"materials?|made (?:of|from)|mat'?l"),
        Role(
            MARKS,
            "what is stamped, cast or painted on it",
            r"marks?|markings?|stamp(?:s|ed|ings?)?|numbers? on (?:it|part)|lettering",
        ),
        Role(MAKER, "who made it", r"makers?|manufacturers?|supplier"),
        Role(MADE, "when it was made", r"(?:when |date |year )?made"),
        Role(
            VISIBILITY,
            "in view, close inspection or hidden",
            r"visib(?:le|ility)\??|(?:can be )?seen\?|in view\??",
        ),
        Role(
            SECTION,
            "the assembly it belongs to",
            r"sections?|assembly|sub-?assembly|group|system|area of vehicle",
        ),
        Role(
            PLACE,
            "where it is kept, for what is not on the vehicle",
            r"(?:stored|kept|store|storage|shelf|rack)(?: (?:at|in|where))?|where (?:stored|kept)",
        ),
        Role(KEEP, "nothing the register has a place for: kept word for word in the remarks", several=True),
        Role(IGNORE, "left out altogether", several=True),
    )
}
_PATTERNS = {name: re.compile(role.headings) for name, role in ROLES.items() if role.headings}
_UNITS = {
    "kg": "kg",
    "kgs": "kg",
    "lb": "lb",
    "lbs": "lb",
    "cwt": "cwt",
    "t": "t",
    "tonne": "t",
    "tonnes": "t",
    "g": "g",
}
_UNIT_IN = re.compile(r"(?<![a-z])(kgs?|lbs?|cwt|tonnes?|t|g)(?![a-z])")


def fold(text: str) -> str:
    """Lower case, single spaces, no edges: what is compared when words are."""
    return " ".join(text.split()).casefold()


def role_of_heading(heading: str) -> str:
    """The role that a heading names, "" where it names none."""
    plain = fold(heading).strip(" .:?*").replace(".", "")
    return next((name for name, pattern in _PATTERNS.items() if pattern.fullmatch(plain)), "")


def unit_of_heading(heading: str) -> str:
    """The unit that a heading gives to bare numbers under it ("Weight (lb)"); "" where it names none."""
    found = _UNIT_IN.search(fold(heading))
    return _UNITS[found[1]] if found else ""
