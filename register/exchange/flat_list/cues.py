"""What a remark says that bears on status, place and visibility: fixed words only, each with what it may
mean.

A cue never makes a statement stronger than the list: it stops a draft, or names the one that a "no" leaves
open.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from register.exchange.flat_list.roles import fold

SENTENCE = re.compile(r"(?<=[.;!])\s+|\s+[-–—]\s+|\n+")
CLAUSE = re.compile(r"(?<=[.;!,])\s+|\s+[-–—]\s+|\n+")

_NEW_WITHIN = (
    r"\bnew (?:end|piece|section|corner|lid|cap|top|bottom|half|bit|tip|foot|face|edge|flange|plate let)\b",
    r"\b(?:end|piece|section|bit|tip|foot|corner|patch)s? (?:let|spliced|scarfed|pieced|welded|glued) in\b",
    r"\b\w+ is new\b",
    r"\bpatch(?:ed)?\b",
    r"\b(?:repaired|re-?tipped|re-?faced|spliced|scarfed|part[- ]renewed|built up)\b",
    r"\bmore new than old\b",
    r"\b[0-9]{1,3} ?% (?:is |of it )?new\b",
)
_REPLICA = (
    r"\bcop(?:y|ied) (?:of|from)\b",
    r"\b(?:from|to) (?:our |the |an? )?(?:old )?pattern\b",
    r"\bnew casting\b",
    r"\b(?:made|new|built) (?:from|to) (?:the )?(?:drawing|drg|dwg)s?\b",
    r"\breplica\b",
)
_SURVIVOR = r"\bcop(?:y|ied) (?:of|from) (?:the )?(?:other|old|original|remaining|surviving|good)\b"
_DRAWN = r"\b(?:from|to) (?:the )?(?:works )?(?:drawing|drg|dwg)s?\b"
_MODERN = (
    r"\bmetric\b",
    r"\bstainless\b",
    r"\bplywood\b",
    r"\bmild steel instead\b",
    r"\bso (?:that )?(?:we|it|they|you) can\b",
    r"\bnobody sees\b",
    r"\bmade to look\b",
    r"\bnot to (?:the )?(?:old |original )?pattern\b",
    r"\b(?:no|without|instead of) (?:lead|asbestos)\b",
)
_REASON = re.compile(
    r"\bso (?:that )?(?:we|it|they|you) can [^.;!]*|\b(?:no|without|instead of) (?:lead|asbestos)\b|"
    r"\bfor safety\b[^.;!]*",
    re.IGNORECASE,
)
_DONOR = (
    r"\b(?:off|ex|from|out of) (?:no\.? ?|number |wagon |van |coach |engine |loco )?(?!1[6-9][0-9]{2}|"
    r"20[0-9]{2})[0-9]{1,6}\b",
    r"\b(?:bought|purchased|second[- ]hand|swapped|borrowed)\b",
    r"\bcame (?:with|under|from|on|off)\b",
    r"\bex[- ](?!works\b|factory\b|new\b)[a-z]\w+",
    r"\bfrom (?:the |a |an )?(?:scrap|scrapyard|another|sister|donor)\b",
    r"\bdonor\b",
    r"\boff (?:another|a different|the other) \w+",
)
_BOUGHT = r"\b(?:bought|purchased)\b"
_OTHERWISE = (
    r"\bnot (?:what|as|like) (?:the )?(?:drawing|drg|drawn|photo)",
    r"\bnot as drawn\b",
    r"\bwrong (?:type|pattern|one|sort)\b",
    r"\bshould be\b",
)
_UNSEEN = (
    r"\bnot (?:been )?seen\b",
    r"\b(?:never|can'?t|cannot) (?:be )?(?:seen|see)\b",
    r"\bnot looked at\b",
    r"\bnot checked\b",
)
_HIDDEN = (
    r"\bhidden\b",
    r"\bnobody sees\b",
    r"\bout of sight\b",
    r"\bnot (?:been )?seen since\b",
    r"\bunder (?:the )?(?:floor|planks|boards|sheet)\b",
)
_ANOTHER_THING = re.compile(r"^\s*(?:\+|plus|incl\.?|including)\s+(?P<thing>[a-z][a-z /&-]*)", re.IGNORECASE)
_EVIDENCE = (
    r"\b(?:lettering|old numbers?|signwriting|old paint|original paint|wallpaper|newspaper)\b"
    r"[^.;]*\b(?:under|behind|beneath)\b"
)
_AWAY = (
    r"\b(?:for|being|awaiting|under|getting) (?:\w+ )?"
    r"(?:repair|overhaul|restor|machin|weld|refurb|attention|rebuil|paint|test)"
)
_RENEWED = re.compile(r"\b(?:replaced|renewed|changed|remade|rebuilt|new)\b", re.IGNORECASE)
_DENIED = re.compile(
    r"\b(?:not|never|no|un|isn'?t|wasn'?t|aren'?t|without|"
    r"nothing)\s+(?:\w+\s+){0,2}$",
    re.IGNORECASE,
)
_UNMARKED = r"\b(?:no|not) (?:mark|marked|date[- ]mark)"
_TIMBER = (
    "pitch pine|douglas fir|softwood|hardwood|larch|oak|deal|pine|ash|elm|teak|mahogany|beech|spruce|fir"
)
_OTHER = (
    "white metal|gun ?metal|cast iron|wrought iron|malleable iron|mild steel|cast steel|stainless steel|"
    "steel|iron|brass|bronze|copper|aluminium|canvas|leather|rubber|horsehair|plywood"
)
_IS_WOOD = re.compile(rf"\b(?:{_TIMBER})\b", re.IGNORECASE)
_MATERIAL = re.compile(
    rf"(?<!should be )(?<!instead of )(?<!was )(?<!not )\b(?:{_TIMBER}|{_OTHER})\b", re.IGNORECASE
)
_STORES = (
    r"van|loft|shed|stores?|storeroom|yard|workshop|works|barn|garage|cellar|tin box|box|container|"
    r"cupboard|office|museum|house|attic|crate|rack|"
    r"shelf|lean-to|hut"
)
_LOOSE = re.compile(
    rf"^(?:now |still |kept |stored |is |lies |put away |on display )*(?:in|at|on) (?P<place>(?:the |a |"
    rf"an |our )?(?:[\w'’-]+ ){{0,3}}?(?:{_STORES}))\b",
    re.IGNORECASE,
)
_SPARE = re.compile(r"^(?:a |the )?spares?$|^(?:kept|as) (?:as )?(?:a )?spare\b", re.IGNORECASE)
_SEE_ABOVE = re.compile(
    r"(?:see|as|same as|ditto|with) (?:the )?(?:above|below|previous|last|(?:line |no\.? ?)?[0-9]+)|ditto|"
    r"do\.?",
    re.IGNORECASE,
)


def _any(patterns: tuple[str, ...], text: str) -> str:
    """The first words of the text that one of the patterns finds, "" for none."""
    found = [match for pattern in patterns if (match := re.search(pattern, text, re.IGNORECASE))]
    return min(found, key=lambda match: match.start())[0] if found else ""


@dataclass(frozen=True, slots=True)
class Cues:
    """What a remark says, each as the words that say it, "" for nothing.

    new_within: new material in an old thing. another: a second thing in the same line. place: where a thing
    lies that is not where it belongs; is_loose: it is not on the vehicle; is_away: it is off for work.
    timber: it is of wood. is_cut: there is more of the remark than was read. renewed: it is said to be new,
    or some of it.
    """

    new_within: str = ""
    replica: str = ""
    pattern_basis: str = ""
    modern: str = ""
    reason: str = ""
    donor: str = ""
    bought: str = ""
    otherwise: str = ""
    unseen: str = ""
    hidden: str = ""
    another: str = ""
    evidence: str = ""
    unmarked: str = ""
    asks: bool = False
    material: str = ""
    timber: bool = False
    should_be: str = ""
    is_loose: bool = False
    place: str = ""
    is_cut: bool = False
    is_away: bool = False
    renewed: str = ""

    def against_original(self) -> str:
        """Why a "yes" in this line is not taken as original, "" where nothing speaks against it."""
        if self.donor:
            return f"“{self.donor}” may mean that it came from another vehicle"
        if self.otherwise:
            return f"“{self.otherwise}” speaks against it"
        if self.another:
            return f"“{self.another}” is another thing in the same line"
        if self.unseen:
            return f"“{self.unseen}”: nobody has looked at it for the list"
        if self.is_cut:
            return "the remark is too long to be read by its words"
        return "the remark itself asks a question" if self.asks else ""


def cues_of(remark: str, *, is_cut: bool = False) -> Cues:
    """Everything that the remark of a line says, by fixed words. is_cut: whether there is more of it."""
    clauses = [clause.strip(" .,;!+") for clause in CLAUSE.split(remark) if clause.strip()]
    places = [found["place"] for clause in clauses if (found := _LOOSE.match(clause))]
    reason = _REASON.search(remark)
    another = _ANOTHER_THING.match(remark)
    material = _MATERIAL.search(remark)
    is_away = any(_LOOSE.match(clause) and _any((_AWAY,), clause) for clause in clauses)
    return Cues(
        new_within=_any(_NEW_WITHIN, remark),
        replica=_any(_REPLICA, remark),
        pattern_basis=_pattern_basis(remark),
        modern=_any(_MODERN, remark),
        reason=reason[0].strip() if reason else "",
        donor=next((clause for clause in clauses if _any(_DONOR, clause)), ""),
        bought=_any((_BOUGHT,), remark),
        otherwise=_any(_OTHERWISE, remark),
        unseen=_any(_UNSEEN, remark),
        hidden=_any(_HIDDEN, remark),
        another=another[0].strip(" +") if another else "",
        evidence=_any((_EVIDENCE,), remark),
        unmarked=_any((_UNMARKED,), remark),
        asks="?" in remark,
        material=material[0].lower() if material else "",
        timber=bool(material and _IS_WOOD.fullmatch(material[0])),
        should_be=_any((r"\bshould be [a-z ]+",), remark).strip(),
        is_loose=not is_away and (bool(places) or any(_SPARE.search(clause) for clause in clauses)),
        is_away=is_away,
        renewed=_renewed(remark),
        place=_without_article(places[0]) if places else "",
        is_cut=is_cut,
    )


def _renewed(remark: str) -> str:
    """A word of renewal that is not denied: "replaced", and not "never replaced"."""
    for found in _RENEWED.finditer(remark):
        if not _DENIED.search(remark[: found.start()][-40:]):
            return found[0]
    return ""


def _pattern_basis(remark: str) -> str:
    """What a copy was made from, where the remark says so."""
    if _any((_SURVIVOR,), remark):
        return "survivor"
    return "drawing" if _any((_DRAWN,), remark) else ""


def _without_article(place: str) -> str:
    return re.sub(r"^(?:the|a|an|our) ", "", place, flags=re.IGNORECASE)


def says_see_above(remark: str) -> bool:
    return bool(_SEE_ABOVE.fullmatch(fold(remark).strip(" .!")))
