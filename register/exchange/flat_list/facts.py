"""What a remark holds beside status: marks as read, hazards, who says what, work with its year, documents
named."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from register.exchange.flat_list.cues import CLAUSE, SENTENCE
from register.fabric.dates import read_date

_MARKING = (
    r"stamped|marked|cast|carved|cut|painted|branded|punched|lettered|numbered|engraved|embossed|chalked|"
    r"scribed|incised|chiselled|"
    r"burnt|written"
)
_SIDE = r"(?:inside|outside|end|side|face|back|front|underside|rim|web|edge|top|bottom|flange|boss)"
_VERB = re.compile(rf"\b(?:{_MARKING})\b", re.IGNORECASE)
_MARK = re.compile(r"(?<![\w.])(?:[A-Za-z]{0,6}[./-]?\d[\w./-]*)(?![\w%])")
_MARK_RUN = re.compile(rf"{_MARK.pattern}(?: {_MARK.pattern})*")
_ON_SIDE = re.compile(
    rf"({_MARK.pattern}) (?:on|in) (?:the |one |each |either |both |outer |inner )?{_SIDE}\b", re.IGNORECASE
)
_OTHER_SIDE = re.compile(
    rf"^\s*({_MARK.pattern}) (?:on )?(?:the |t['’])?(?:other|another|opposite)\b", re.IGNORECASE
)
_MEASURE = re.compile(
    r"\d[\d./]*(?:ft|in|mm|cm|m|kg|lbs?|cwt|qr|t|st|oz)\b|\d[\d./]* (?:ft|in|mm|cm|kg|lbs?|cwt|coats?|"
    r"times|of|off|old|new)\b",
    re.IGNORECASE,
)
_YEAR = re.compile(r"(?:1[6-9]|20)\d\d")
_DATED = re.compile(
    r"\b(?:in|by|before|after|since|about|c\.?|circa|from) ?(?:1[6-9]|20)\d\d\b", re.IGNORECASE
)
_TARE = re.compile(r"\btare\b[^.;]*?\b(\d{1,2})[.-](\d{1,2})[.-](\d)\b", re.IGNORECASE)
_PLATE = re.compile(r"\b(?:number|works|maker'?s|builder'?s|register) ?plate\b|\bplate\b", re.IGNORECASE)

_HAZARDS = (
    ("asbestos", r"\basbestos\b|\bblue lagging\b"),
    ("lead paint", r"\blead(?:ed)?[ -]paint\b|\bred lead\b|\bwhite lead\b"),
    ("chromate", r"\bchromate\b"),
    ("mercury", r"\bmercury\b"),
    ("pcb", r"\bpcbs?\b"),
    ("radioactive paint", r"\b(?:radium|luminous|radioactive)\b"),
)
_NOT = r"\b(?:no|not|without|free of|never|instead of|for)\s+(?:\w+\s+)?$"

_SAYS = re.compile(
    r"\b([A-Z][\w'’-]+(?: [A-Z][\w'’-]+)?) (?:says?|said|reckons?|thinks?|thought|remembers?|swears|"
    r"insists|told us)(?: that)?\s+((?:[^,.;!\n]|\.(?=\S))+)"
)
_AGAINST = re.compile(
    r"\b(?:chang|new|replac|renew|copy|copied|bought|modern|different|wrong|made in|not (?:orig|ours|the)|"
    r"isn'?t|wasn'?t)",
    re.IGNORECASE,
)
_FOR = re.compile(
    r"\b(?:never|orig|old|always|first|same|untouched|not (?:been )?(?:chang|replac|renew|touch))",
    re.IGNORECASE,
)

_DOCUMENT = re.compile(
    r"\b((?:the )?(?:(?:red|blue|black|green|brown|log|day|work|works|shed|repair|mark|stock|minute|order|"
    r"note)[ -]?book|ledger|works drawing|general arrangement))\b"
    r"(?:,? ?((?:pp?|pages?|no|sheet|fol(?:io)?)\.? ?[0-9][\w-]*))?",
    re.IGNORECASE,
)
_TO_FIND = re.compile(
    r"\b(?:see )?((?:drawing|drg|dwg|photo(?:graph)?|picture|postcard|letter|"
    r"newsletter)s?\b(?: (?:of )?(?:1[6-9]|20)\d\d)?)",
    re.IGNORECASE,
)
_BY_NAME = re.compile(r"\b((?:1[6-9]|20)\d\d),? (?:by )?([A-Z][a-z'’-]+(?: [A-Z][a-z'’-]+)?)\b")


def marks_of(remark: str) -> list[str]:
    """What is stamped, cast, cut or painted on it, as read; measures, shares and dates of work are none."""
    found: list[str] = []
    marked_before = False
    for clause in CLAUSE.split(remark):
        plain = _DATED.sub(" ", _MEASURE.sub(" ", clause))
        verb = _VERB.search(plain)
        here = [run[0].rstrip(".,;") for run in _MARK_RUN.finditer(plain)] if verb else []
        if verb and verb[0].lower() == "painted":
            here = [mark for mark in here if not _YEAR.fullmatch(mark)]  # painted 2012 is a date
        if not here:
            one = _ON_SIDE.search(plain) or (_OTHER_SIDE.match(plain) if marked_before else None)
            here = [one[1]] if one else []
        marked_before = bool(here)
        found.extend(mark for mark in here if mark not in found)
    return found


def marks_disagree(marks: Iterable[str]) -> bool:
    """Whether two marks name different numbers, years aside: 31 and W31 agree, 31 and 27 do not."""
    numbers = {
        number.lstrip("0")
        for mark in marks
        for number in re.findall(r"\d+", mark)
        if not _YEAR.fullmatch(number)
    }
    return len(numbers) > 1


def date_mark_of(remark: str) -> str:
    """How a new part is marked as new: the clause that says that a year is stamped, cast or carved on it."""
    for clause in CLAUSE.split(remark):
        if _VERB.search(clause) and any(_YEAR.fullmatch(mark) for mark in marks_of(clause)):
            return clause.strip(" .,;")
    return ""


def year_on_plate(item: str, marks: Iterable[str]) -> str:
    """The year on a number or works plate, "" where the thing is no plate or bears none."""
    years = [year for mark in marks for year in _YEAR.findall(mark)]
    return years[0] if years and _PLATE.search(item) else ""


def tare_of(remark: str) -> tuple[str, str] | None:
    """(as painted, in words) of a tare painted as tons, hundredweights and quarters."""
    found = _TARE.search(remark)
    if not found or int(found[2]) > 19 or int(found[3]) > 3:
        return None
    tons, hundredweights, quarters = found.groups()
    return f"{tons}.{hundredweights}.{quarters}", f"{tons} ton {hundredweights} cwt {quarters} qr"


def hazards_of(*texts: str) -> list[str]:
    """Hazards named; "no asbestos" names none. In the order of the vocabulary."""
    whole = " . ".join(texts)
    return [
        hazard
        for hazard, pattern in _HAZARDS
        if any(
            not re.search(_NOT, whole[: match.start()], re.IGNORECASE)
            for match in re.finditer(pattern, whole, re.IGNORECASE)
        )
    ]


@dataclass(frozen=True, slots=True)
class Testimony:
    """Who says what, word for word. supports: for (True) or against (False) its being original; None:
    neither."""

    who: str
    words: str
    supports: bool | None


def testimonies_of(remark: str) -> list[Testimony]:
    found = []
    for match in _SAYS.finditer(remark):
        says = match[2]
        supports = True if _FOR.search(says) else False if _AGAINST.search(says) else None
        found.append(Testimony(match[1], match[0].strip(), supports))
    return found


@dataclass(frozen=True, slots=True)
class Work:
    """A sentence about work done, its year and by whom, "" where it does not say."""

    words: str
    date: str = ""
    done_by: str = ""


def work_of(remark: str, cue: str, people: Collection[str] = ()) -> Work:
    """The sentence that holds the words ``cue``, with the year and the name in it: a name after "by", or one
    of ``people``."""
    sentences = (one for one in SENTENCE.split(remark) if cue.lower() in one.lower())
    sentence = next(sentences, remark).strip(" .;")
    named = _BY_NAME.search(sentence)
    year = named[1] if named else next(iter(_YEAR.findall(sentence)), "")
    is_name = bool(named and (named[2] in people or " by " in named[0]))
    return Work(sentence, year, named[2] if named and is_name else "")


def documents_of(text: str) -> list[tuple[str, str]]:
    """(title, page) of the books named: "red book", "p12"."""
    return [
        (re.sub(r"^the ", "", match[1], flags=re.IGNORECASE), (match[2] or "").strip())
        for match in _DOCUMENT.finditer(text)
    ]


def to_find(remark: str) -> list[str]:
    """Pictures, drawings and letters that are spoken of, and are not at hand."""
    return [match[1] for match in _TO_FIND.finditer(remark)]


def years_in(text: str) -> str:
    """The years a title names, as a date: "2011", "between 2011 and 2019", "" for none."""
    years = sorted(set(_YEAR.findall(text)))
    if not years:
        return ""
    return years[0] if len(years) == 1 else f"between {years[0]} and {years[-1]}"


def person_in(cell: str) -> str:
    """The name in a cell of who did the work; "" where it holds several, or no name."""
    plain = cell.strip()
    several = re.search(r"[&+/,;]|\band\b", plain)
    return "" if several or not any(letter.isalpha() for letter in plain) else plain


def person_in_brackets(text: str) -> str:
    """Whose list it is, where a title ends in "(Ron)"."""
    found = re.search(r"\(([A-Z][\w'’.-]*(?: [A-Z][\w'’.-]*){0,2})\)", text)
    return found[1] if found else ""


_WHEN = r"((?:by|before|after|in|about|c\.?|circa|since)\s*)?((?:1[6-9]|20)[0-9]{2})\b"
_LOST = re.compile(
    rf"\b(?:lost|gone|scrapped|missing|burnt|broken up|cut up|stolen|removed|"
    rf"taken off)\b[^.;0-9]{{0,30}}?\b{_WHEN}",
    re.IGNORECASE,
)
_ANY_DATE = re.compile(rf"\b{_WHEN}", re.IGNORECASE)


def date_of_loss(remark: str) -> str:
    """The date with which a remark says that something was lost, in words that can be read; "" for none.

    A year beside a word of loss, else the only year in the remark.
    """
    found = _LOST.search(remark)
    if not found:
        years = list(_ANY_DATE.finditer(remark))
        if len(years) != 1:
            return ""
        found = years[0]
    before = (found[1] or "").strip().lower()
    text = f"{ {'in': '', 'since': 'by'}.get(before, before) } {found[2]}".strip()
    try:
        return read_date(text).text
    except ValueError:
        return ""


def shares(remark: str) -> tuple[str, str, str] | None:
    """(low, best, high) of the share that is new, as "60% new" says; a share said roughly may be ten
    points out."""
    found = re.search(
        r"(\b(?:say|about|roughly|c\.?|approx\.?)\s+)?\b([0-9]{1,3}) ?% (?:is |of it )?new\b",
        remark,
        re.IGNORECASE,
    )
    if not found or int(found[2]) > 100:
        return None
    best = int(found[2])
    spread = 10 if found[1] else 0
    return tuple(f"{max(0, min(100, value))}%" for value in (best - spread, best, best + spread))  # type: ignore[return-value]
