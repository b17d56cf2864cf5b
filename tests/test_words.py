"""One word for one thing: what the glossary calls by one name is called by no other on a screen, on paper or in the docs.

The banned words are those that the trade and programs use for the same things (common practice, no source); each is here
because somebody would write it without thinking.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

INSTEAD_OF = {
    "part": ("component", "spare part", "workpiece"),
    "position": ("slot", "mounting point"),
    "bounds": ("confidence interval", "error bar", "margin of error"),
    "best": ("point estimate", "central estimate"),
    "assessed share": ("coverage ratio", "completeness score"),
    "historic, from elsewhere": ("donor", "cannibalised", "class spare"),
    "replica": ("reproduction", "facsimile", "repro", "pattern part"),
    "modern substitute": ("modern equivalent", "new-build part"),
    "installation": ("fitment", "swapped"),
    "reference period": ("datum", "baseline date", "base date"),
    "original": ("authentic", "percentage authentic"),
    "officer": ("curator", "custodian"),
    "wear part": ("consumable",),
    "as at": ("as of today", "as of date"),
    "act": ("audit trail", "audit log", "transaction log"),
    "tag": ("asset number", "barcode"),
    "statement": ("condition report", "provenance report"),
    "vehicle": ("asset", "rolling stock item"),
    "survival": ("survival rate", "survivorship"),
}
"""By the term of the glossary."""

SIGN_IN = ("log in", "login", "log on", "logon", "log out", "logout")
"""Not a term of the register, but said in one way too: sign in."""


@cache
def said() -> dict[str, str]:
    """By file: what readers see. Of templates the text, of documents what is no code, of modules the strings that are
    sentences (a space in them) and no docstring."""
    found = {}
    for path in (ROOT / "templates").rglob("*.html"):
        text = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}|<[^>]*>", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        found[str(path.relative_to(ROOT))] = text
    for path in [*(ROOT / "docs").rglob("*.md"), ROOT / "README.md"]:
        if "decisions" not in path.parts:
            text = re.sub(r"```.*?```|`[^`]*`|\]\([^)]*\)", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
            found[str(path.relative_to(ROOT))] = text
    for folder in ("documents", "web", "exchange", "management"):
        for path in (ROOT / "register" / folder).rglob("*.py"):
            if "flat_list" in path.parts:  # the words by which it knows other people's lists
                continue
            found[str(path.relative_to(ROOT))] = "\n".join(sentences(path))
    return found


def sentences(path: Path) -> list[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)}
    strings = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    return [node.value for node in strings if id(node) not in docs and " " in node.value]


def uses(word: str) -> list[str]:
    spelled = r"[\s-]+".join(map(re.escape, word.split()))
    pattern = re.compile(rf"\b{spelled}s?\b", re.IGNORECASE)
    return [name for name, text in said().items() if name not in EXCEPT.get(word, ()) and pattern.search(text)]


EXCEPT = {"donor": ("docs/officer/accounts.md",)}  # somebody who gave something, not a vehicle
"""By banned word: files that may use it in another sense."""


@pytest.mark.parametrize("term", INSTEAD_OF)
def test_a_term_is_in_the_glossary_and_no_other_word_is_used_for_it(term):
    glossary = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8").lower()
    assert f"**{term}**" in glossary
    found = {word: files for word in INSTEAD_OF[term] if (files := uses(word))}
    assert not found, f"say “{term}” instead"


def test_people_sign_in_and_out():
    found = {word: files for word in SIGN_IN if (files := uses(word))}
    assert not found


def test_a_banned_word_would_be_found_wherever_readers_look():
    """One word that each kind of file is known to hold."""
    for word, kind in (("Conservation statement", "register/documents/"), ("bounds", "docs/"), ("Sign in", "templates/")):
        assert any(name.startswith(kind) for name in uses(word)), word
