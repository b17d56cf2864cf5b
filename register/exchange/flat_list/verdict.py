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
        return _restored(word, "")
    if meaning in (REPLICA, MODERN):
        doubt = cues.against_original() if cues.donor or cues.asks else ""
        return Verdict(
            meaning, doubt, _is_it(meaning, doubt) if doubt else "", pattern_basis=cues.pattern_basis
        )
    return _said_little(word, cues, historic) if meaning == ASK else Verdict()


def _said_original(cues: Cues, later: str, disputed: bool) -> Verdict:
    against = "" if disputed else cues.against_original()
    if against:
        which = (
            " Whose was it first?"
            if cues.donor
            else " Split the line, or say that it goes with this one."
            if cues.another
            else ""
        )
        return Verdict(
            "",
            against,
            f"The list says yes, but {against}. Is it original, restored, or something else?{which}",
        )
    if cues.new_within:
        return _restored("", cues.new_within)
    if later:
        return Verdict(
            "",
            f"fitted {later}, after the vehicle was built",
            f"The list says yes, but it was fitted {later}, after the vehicle was built. Is it a historic "
            f"renewal, and original since then?",
        )
    if cues.replica or cues.modern:
        words = cues.replica or cues.modern
        return Verdict(
            "",
            f"“{words}” speaks against it",
            f"The list says yes, but “{words}” speaks against it. Which is it?",
        )
    return Verdict(ORIGINAL, "people are quoted for and against" if disputed else "")


def _restored(word: str, cue: str) -> Verdict:
    why = f"“{cue}” says that some of it is new" if cue else f"“{word}” does not say how much is new"
    return Verdict(
        RESTORED,
        f"{why}; how much survives is not said",
        f"How much of the old material survives in it? {why}.",
    )


def _said_little(word: str, cues: Cues, historic: str) -> Verdict:
    """What "no", "new", "copy" and "part" leave open is asked; a draft only where the remark says."""
    if cues.donor:
        return Verdict(
            "",
            f"“{cues.donor}”",
            f"“{word}” with “{cues.donor}”: from which vehicle did it come, and when? Then it is historic, "
            f"from elsewhere.",
            "original or restored, original to that vehicle",
        )
    if cues.should_be:
        return Verdict(
            "",
            f"“{cues.should_be}”",
            f"“{word}”, and “{cues.should_be}”: a replica in another material, or a modern substitute?",
        )
    if cues.asks or cues.otherwise:
        return Verdict(
            "",
            "the remark leaves it open",
            f"“{word}” leaves it open, and so does the remark: {_WHAT_A_NO_LEAVES}?",
        )
    if cues.replica:
        basis = "" if cues.pattern_basis else " What was it copied from: a survivor, a drawing, a photograph?"
        doubt = f"“{word}” with “{cues.replica}” taken as replica"
        return Verdict(
            REPLICA, doubt, f"Is it a replica, as “{cues.replica}” says?{basis}", REPLICA, cues.pattern_basis
        )
    if cues.modern:
        why = "" if cues.reason else " And why was a modern one chosen?"
        return Verdict(
            MODERN,
            f"“{word}” with “{cues.modern}” taken as modern substitute",
            f"Is it a modern substitute, as “{cues.modern}” says?{why}",
            MODERN,
        )
    if cues.new_within and fold(word) in PARTLY:
        return _restored("", cues.new_within)
    if fold(word) in PARTLY:
        return Verdict(
            "",
            f"“{word}” says that old and new are mixed",
            f"“{word}”: which of them are old and which new? Split the line, or say how much survives.",
        )
    hint = HINTS.get(fold(word), "") or (REPLICA if cues.timber and not historic else "")
    if hint:
        why = f"“{word}”" if fold(word) in HINTS else f"new, of {cues.material}"
        return Verdict(
            hint, f"{why} taken as {hint}", f"Is it a {hint} ({why}), made to which pattern?", hint
        )
    more = (
        f" It was fitted {historic}: if that is before she was looked after as heritage, it is historic."
        if historic
        else ""
    )
    return Verdict(
        "",
        f"“{word}” says only what it is not" if word else "not original",
        f"“{word}” says only what it is not: {_WHAT_A_NO_LEAVES}?{more}",
    )


def _is_it(status: str, doubt: str) -> str:
    return f"The list says {status}, but {doubt}. Is it one?"
