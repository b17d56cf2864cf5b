"""The places of the parts that a part is broken down into: one each under every position in which it has
been."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from register.exchange.records import Change, Register, trio_interval
from register.exchange.values import key_of
from register.fabric.interval import Interval
from register.models.base import MAX_ID
from register.services import structure_rows as rows
from register.services.structure_rows import Stay, put, refused, trio, values_of
from register.services.structure_shares import mass_shares, shared


class Places:
    """given: ids for the places under the latest of the stays, "" where one is to be made; names: of the
    places.

    Raises Refused where an id given cannot be used.
    """

    def __init__(
        self,
        register: Register,
        stays: Sequence[Stay],
        given: Sequence[str],
        names: Sequence[str],
        *,
        weighed: bool,
    ) -> None:
        self.register = register
        self.stays = stays
        self.names = names
        self.weighed = weighed
        self.positions = list(dict.fromkeys(stay.row["position_id"] for stay in stays))
        self.used: set[str] = set()
        self.there: set[str] = set()
        latest = stays[-1].row["position_id"] if stays else None
        known = [self._given(latest, code) if code else "" for code in given]
        self.ids = {
            key: [(known[at] if key == latest else "") or self._next(key, at) for at in range(len(names))]
            for key in self.positions
        }

    def _given(self, above_key: str | None, code: str) -> str:
        """The id, if it is free or that of a place that is there already and does as well."""

        def no(sentence: str) -> None:
            refused("positions", "position_id", code, sentence)

        if above_key is None:
            no("the part has been in no position yet: leave it empty.")
        rows.typed_or_refused("positions", {"position_id": code})
        key = key_of(code)
        if key in self.used:
            no("that id is given twice here.")
        self.used.add(key)
        positions = self.register.tables["positions"]
        above, there = positions[above_key or ""], positions.get(key)
        if there is None:
            if ("positions", key) in self.register.retired:
                no(self.register.retired["positions", key].sentence())
            return code
        if there["parent_id"] != above_key:
            no(f"that position is not a place under {above['_code']}; choose another id.")
        if bool(there["wear_part"]) != bool(above["wear_part"]):
            no(f"one of that position and {above['_code']} is a wear part, the other not; choose another id.")
        if not self.weighed and (there["design_mass"] is not None or above["design_mass"] is not None):
            no("with masses by the drawing a place of its own is needed; choose another id.")
        self.there.add(key)
        return code

    def clashes(self) -> list[str]:
        """Where a place that is there already may have held another part on some of the same days."""
        found = []
        for key in sorted(self.there):
            for row in rows.rows_for(self.register, "installations", key, "position_id"):
                other = rows.stay_of(self.register, row)
                above = self.register.tables["positions"][key]["parent_id"]
                if not row["temporary"] and any(
                    rows.may_meet(stay, other) for stay in self.stays if stay.row["position_id"] == above
                ):
                    what = self.register.code("parts", row["part_id"])
                    found.append(
                        f"{what} may have been in {self.register.code('positions', key)} on some of the same "
                        "days, and one of the two would then leave the figures: choose another place."
                    )
        return found

    def _next(self, above: str, at: int) -> str:
        stem = self.register.code("positions", above)
        number = at + 1
        while not self._is_free(f"{stem}-{number}"):
            number += 1
        code = f"{stem}-{number}"
        if len(code) > MAX_ID:
            sentence = f"the id of the place would have more than {MAX_ID} letters; give one."
            refused("positions", "position_id", code, sentence)
        self.used.add(key_of(code))
        return code

    def _is_free(self, code: str) -> bool:
        return key_of(code) not in self.used and rows.is_free(self.register, "positions", code)

    def designs(self) -> dict[str, list[Interval]]:
        """The design masses of the new places, by the position above, where that has one: equal shares."""
        found = {}
        for key in self.positions:
            whole = trio_interval(self.register.tables["positions"][key], "design_mass")
            if whole is not None and whole.best is not None:
                found[key] = mass_shares(whole, shared(whole.best, [1] * len(self.names)))
        return found

    def made(self, designs: Mapping[str, Sequence[Interval]]) -> Iterator[Change]:
        """The new places: seen, renewed and as dangerous to work on as the place above."""
        for key in self.positions:
            above = self.register.tables["positions"][key]
            for at, (code, name) in enumerate(zip(self.ids[key], self.names, strict=True)):
                if key_of(code) in self.there:
                    continue
                yield put(
                    "positions",
                    position_id=code,
                    vehicle_id=above["vehicle_id"],
                    parent_id=key,
                    name=name,
                    visibility=above["visibility"],
                    wear_part=above["wear_part"],
                    safety=above["safety"],
                    **(trio(designs[key][at], "design_mass") if key in designs else {}),
                )

    def fitted(self, at: int, part_id: str) -> Iterator[Change]:
        """The installations of a part in its places: those of the whole, seen as the whole is seen there."""
        for stay in self.stays:
            key = stay.row["position_id"]
            code = self.ids[key][at]
            seen = stay.row["visibility"]
            if key_of(code) in self.there:
                seen = seen or self.register.tables["positions"][key]["visibility"]
            values = values_of("installations", stay.row, position_id=code, part_id=part_id)
            yield put("installations", **values | ({"visibility": seen} if seen else {}))
