"""Which status a line may be drafted with, if any: never more than it says, and nothing where it speaks
against itself.

The word, the remark and the date go in; a draft, its doubts and the question come out.
"""

from __future__ import annotations

from dataclasses import dataclass

from register.exchange.flat_list.cues import Cues
from register.exchange.flat_list.roles import fold
from register.exchange.flat_list.status_words import (
    ASK,
    HINTS,
    MODERN,
    ORIGINAL,
    PARTLY,
    REPLICA,
    RESTORED,
)

_WHAT_A_NO_LEAVES = (
    "a replica, a modern substitute, a part from another vehicle, or a renewal of the railway's own in its "
    "working life "
    "(which is historic)"
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """status: of the draft, "" where there is none. doubt: why it wants a second look. asked: the question,
    "" where there is none. suggestion: its probable answer."""

    status: str = ""
    doubt: str = ""
    asked: str = ""
    suggestion: str = ""
    pattern_basis: str = ""


def verdict(
    meaning: str, word: str, cues: Cues, *, later: str = "", historic: str = "", disputed: bool = False
) -> Verdict:
    """word: as written. later: the date of fitting, where it lies after the vehicle was built. historic: the
    same, where it may lie in the railway's own time. disputed: whether people are quoted for and against."""
    if meaning == ORIGINAL:
        return _said_original(cues, later, disputed)
    if meaning == RESTORED:
        return _restored(f"“{word}” does not say how much is new")
    if meaning in (REPLICA, MODERN):
        return _said_new(meaning, cues, historic)
    return _said_little(word, cues, historic) if meaning == ASK else Verdict()


def _said_original(cues: Cues, later: str, disputed: bool) -> Verdict:
    if against := cues.against_original():
        more = " Whose was it first?" if cues.donor else ""
        if cues.another and not cues.donor:
            more = " Split the line, or say that it goes with this one."
        return _none(against, f"but {against}. Is it original, restored, or something else?{more}")
    if cues.new_within:
        return _restored(f"“{cues.new_within}” says that some of it is new")
    if later:
        why = f"it was fitted {later}, after the vehicle was built"
        return _none(why, f"but {why}. Is it a historic renewal, and original since then?")
    if words := cues.replica or cues.modern or ("" if disputed else cues.renewed):
        return _none(f"“{words}” speaks against it", f"but “{words}” speaks against it. Which is it?")
    return Verdict(ORIGINAL, "people are quoted for and against" if disputed else "")


def _none(doubt: str, but: str) -> Verdict:
    return Verdict("", doubt, f"The list says yes, {but}")


def _restored(why: str) -> Verdict:
    asked = f"How much of the old material survives in it? {why}."
    return Verdict(RESTORED, f"{why}; how much survives is not said", asked)


def _said_new(status: str, cues: Cues, historic: str) -> Verdict:
    """The list's own word for replica or modern substitute."""
    why = cues.against_original() if cues.donor or cues.asks else ""
    if historic and not why:
        why = f"it was fitted {historic}, perhaps in her working life: then it is historic"
    asked = f"The list says {status}, but {why}. Is it one?" if why else ""
    return Verdict("" if historic else status, why, asked, pattern_basis=cues.pattern_basis)


def _said_little(word: str, cues: Cues, historic: str) -> Verdict:
    """What "no", "new", "copy" and "part" leave open is asked; a draft only where the remark says."""
    partly = fold(word) in PARTLY
    if cues.donor:
        asked = f"“{word}” with “{cues.donor}”: from which vehicle did it come, and when?"
        return Verdict("", f"“{cues.donor}”", asked, "original or restored, original to that vehicle")
    if cues.should_be:
        asked = f"“{word}”, and “{cues.should_be}”: a replica in another material, or a modern substitute?"
        return Verdict("", f"“{cues.should_be}”", asked)
    if cues.asks or cues.otherwise or cues.is_cut:
        asked = f"“{word}” leaves it open, and so does the remark: {_WHAT_A_NO_LEAVES}?"
        return Verdict("", "the remark leaves it open", asked)
    if partly and cues.new_within:
        return _restored(f"“{cues.new_within}” says that some of it is new")
    if partly:
        asked = f"“{word}”: which of them are old and which new? Split the line, or say how much survives."
        return Verdict("", f"“{word}” says that old and new are mixed", asked)
    if historic:
        asked = (
            f"“{word}” says only what it is not: {_WHAT_A_NO_LEAVES}? It was fitted {historic}: if that is "
            "before she was looked after as heritage, it is historic."
        )
        return Verdict("", f"fitted {historic}, perhaps in her working life", asked)
    return _named_by_the_remark(word, cues)


def _named_by_the_remark(word: str, cues: Cues) -> Verdict:
    if cues.replica:
        doubt = f"“{word}” with “{cues.replica}” taken as replica"
        basis = "" if cues.pattern_basis else " What was it copied from: a survivor, a drawing, a photograph?"
        asked = f"Is it a replica, as “{cues.replica}” says?{basis}"
        return Verdict(REPLICA, doubt, asked, REPLICA, cues.pattern_basis)
    if cues.modern:
        doubt = f"“{word}” with “{cues.modern}” taken as modern substitute"
        why = "" if cues.reason else " And why was a modern one chosen?"
        return Verdict(MODERN, doubt, f"Is it a modern substitute, as “{cues.modern}” says?{why}", MODERN)
    hint = HINTS.get(fold(word), "")
    if hint or cues.timber:
        status, why = (hint, f"“{word}”") if hint else (REPLICA, f"new, of {cues.material}")
        asked = f"Is it a {status} ({why}), made to which pattern?"
        return Verdict(status, f"{why} taken as {status}", asked, status)
    asked = f"“{word}” says only what it is not: {_WHAT_A_NO_LEAVES}?"
    return Verdict("", f"“{word}” says only what it is not", asked)
