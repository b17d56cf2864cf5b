"""Who may see and do what: one table for columns, one for actions. Pages, exports and papers ask here."""

from __future__ import annotations

from typing import Any

from register.models import User

PUBLIC_COLUMNS: dict[str, tuple[str, ...]] = {
    "vehicles": (
        "vehicle_id",
        "name",
        "number",
        "former_numbers",
        "kind",
        "builder",
        "works_number",
        "built",
        "gauge",
        "heritage_from",
        "empty_mass",
        "identity_basis",
        "in_fleet",
        "published",
        "summary",
    ),
    "reference_periods": ("vehicle_id", "label", "date", "default", "reason"),
    "positions": (
        "position_id",
        "vehicle_id",
        "parent_id",
        "name",
        "visibility",
        "significance",
        "significance_by",
        "significance_reason",
        "wear_part",
        "design_mass_low",
        "design_mass",
        "design_mass_high",
        "safety",
    ),
    "parts": (
        "part_id",
        "name",
        "material",
        "made",
        "maker",
        "marks",
        "date_mark",
        "quantity",
        "mass_low",
        "mass",
        "mass_high",
        "mass_basis",
        "gross_mass",
        "hazards",
        "disposal",
        "disposal_date",
        "access",
        "public_note",
    ),
    "installations": ("position_id", "part_id", "fitted", "seen_on", "removed", "temporary", "visibility"),
    "assessments": (
        "part_id",
        "assessed_on",
        "state",
        "status",
        "original_to",
        "original_since",
        "fraction_low",
        "fraction",
        "fraction_high",
        "pattern_basis",
        "assessor",
    ),
    "treatments": ("part_id", "date", "work", "replaced_low", "replaced", "replaced_high"),
    "sources": ("source_id", "kind", "title", "author", "date", "repository", "reference", "access"),
    "citations": ("part_id", "source_id", "supports", "locator", "assessed_on"),
    "events": (
        "vehicle_id",
        "date",
        "kind",
        "title",
        "part_id",
        "until",
        "source_id",
        "reference",
        "holder",
        "access",
    ),
    "places": ("place_id", "name", "parent_id", "access"),
    "movements": ("part_id", "moved_on", "place_id", "with_part", "due_back"),
    "people": ("person_id", "name", "role"),
    "photographs": (
        "file",
        "sha256",
        "vehicle_id",
        "part_id",
        "source_id",
        "caption",
        "credit",
        "licence",
        "taken",
        "access",
    ),
}
"""What the public may read, where the row itself may be read. A person's ``name`` is given as ``public_as``."""

RECORDER, ENGINEER, OFFICER, ADMINISTRATOR = ROLES = ("recorder", "engineer", "officer", "administrator")

OFFICE = frozenset({OFFICER, ADMINISTRATOR})
WORKSHOP = frozenset({ENGINEER, OFFICER, ADMINISTRATOR})

ACTIONS: dict[str, frozenset[str]] = {
    "read the register": frozenset(ROLES),
    "read what is restricted": WORKSHOP,
    "read who owns it": OFFICE,
    "read persons' names": OFFICE,
    "record finds": frozenset({RECORDER, ENGINEER, OFFICER}),
    "review": frozenset({OFFICER}),
    "change the register": frozenset({OFFICER}),
    "import": OFFICE,
    "export": OFFICE,
    "read draft statements": frozenset({ENGINEER, OFFICER}),
    "read issued statements": WORKSHOP,
    "issue statements": frozenset({OFFICER}),
    "look after accounts": frozenset({ADMINISTRATOR}),
    "read proposals": WORKSHOP,
    "write proposals": frozenset({ENGINEER, OFFICER}),
    "decide proposals": frozenset({OFFICER}),
    "carry out proposals": frozenset({ENGINEER, OFFICER}),
    "write significance": frozenset({OFFICER}),
}

AT_ONCE: dict[str, dict[str, tuple[str, ...]]] = {
    RECORDER: {},
    ENGINEER: {
        "installations": (
            "position_id",
            "part_id",
            "fitted",
            "seen_on",
            "removed",
            "temporary",
            "reason",
        ),
        "movements": ("part_id", "moved_on", "place_id", "with_part", "due_back", "reason"),
        "treatments": ("part_id", "date", "work", "done_by"),
    },
}
"""What counts at once when somebody in the role records it: facts of the shop floor. Everything else that the role may
hand in waits for the officer. A role that may ``change the register`` is not here: all that it writes counts."""


def roles_of(user: Any) -> frozenset[str]:
    """The roles of a signed-in person; none of anybody else. Read with the person in one query by RoleBackend."""
    if not isinstance(user, User) or not user.is_active:
        return frozenset()
    cached: frozenset[str] | None = getattr(user, "_roles", None)
    if cached is None:
        if all(hasattr(user, f"is_{role}") for role in ROLES):
            cached = frozenset(role for role in ROLES if getattr(user, f"is_{role}"))
        else:
            cached = frozenset(name for name in user.groups.values_list("name", flat=True) if name in ROLES)
        user._roles = cached  # type: ignore[attr-defined]
    return cached


def may(user: Any, action: str) -> bool:
    """Whether the person may do this. KeyError for an action that is not in the table."""
    return bool(roles_of(user) & ACTIONS[action])


def counts_at_once(user: Any, table: str) -> frozenset[str] | None:
    """The columns of a table that count as soon as this person records them; None for all of them."""
    if may(user, "change the register"):
        return None
    found: set[str] = set()
    for role in roles_of(user):
        found |= set(AT_ONCE.get(role, {}).get(table, ()))
    return frozenset(found)


def name_for(user: Any, person: Any) -> str:
    """What a signed-in person may read of somebody the register names: the name, or what he or she agreed to be called."""
    if person is None:
        return ""
    if may(user, "read persons' names") or (
        getattr(user, "person_id", None) and user.person_id == person.key
    ):
        return str(person.name)
    return person.public_as or "not to be named"


OFFICE_COLUMNS = frozenset(
    {
        ("vehicles", "owner"),
        ("vehicles", "title_notes"),
        ("parts", "owner"),
        ("people", "name"),
        ("people", "consent"),
    }
)
"""What only the office reads of a record that others may read."""


def history_for(user: Any, table: str, entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A record's history without the columns that the reader may not read. table: of entries that do not say."""
    if may(user, "read who owns it"):
        return entries
    return [
        {
            **entry,
            "differences": [
                one
                for one in entry["differences"]
                if (entry.get("table", table), one[0]) not in OFFICE_COLUMNS
            ],
        }
        for entry in entries
    ]
