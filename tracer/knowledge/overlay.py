"""House overlays: a business's own entries and changes, kept apart from the shipped knowledge.

A house file lies in the same layout as knowledge/ and holds, item by item, one of
a new entry (its id carries the house prefix: `acme.over_dried`),
`change: <id>` with the changed fields and `by`, `on`, `why` (a list may be extended with `add:` and
shortened with `take_out:`), or `retire: <id>` with `by`, `on`, `why`.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from pathlib import Path
from typing import Any

from tracer.issues import Issue, Place
from tracer.knowledge.base import Change
from tracer.knowledge.load import Raw, read_folder
from tracer.names import did_you_mean

_SIGNED = ("by", "on", "why")


def apply_house(
    raws: list[Raw], folder: Path, earlier: list[Change]
) -> tuple[list[Raw], list[Change], list[Issue]]:
    """Shipped entries with one house's additions, changes and retirements applied."""
    if not folder.is_dir():
        problem = Issue(
            Place(str(folder)), "the house folder does not exist", "Give a folder laid out as knowledge/."
        )
        return raws, [], [problem]
    items, settings, issues = read_folder(folder)
    if settings is not None:
        issues.append(
            Issue(settings.place(()), "a house cannot replace the settings", "Change entries instead.")
        )
    by_id = {(raw.kind, raw.id): raw for raw in raws}
    result = list(raws)
    changes: list[Change] = []
    for item in items:
        verb = next((name for name in ("change", "retire") if name in item.data), None)
        if verb is None:
            _add(item, result, issues)
            continue
        target = by_id.get((item.kind, str(item.data[verb])))
        if target is None:
            known = [identity for kind, identity in by_id if kind == item.kind]
            remedy = did_you_mean(
                str(item.data[verb]), known, "It may have been renamed; see knowledge/CHANGES.md."
            )
            issues.append(
                Issue(item.find((verb,)), f"'{item.data[verb]}' is not in the shipped {item.kind}", remedy)
            )
            continue
        missing = [name for name in _SIGNED if not item.data.get(name)]
        if missing:
            issues.append(
                Issue(item.place, f"a {verb} needs {', '.join(missing)}", "Say who changed it, when and why.")
            )
            continue
        if verb == "retire":
            result = [raw for raw in result if raw is not target]
            changes.append(_change(target, item, "retired"))
            continue
        changed = replace(target, data=copy.deepcopy(target.data), house=dict(target.house))
        for name in [key for key in item.data if key not in (verb, *_SIGNED)]:
            change = _change(target, item, name)
            rival = next(
                (c for c in [*earlier, *changes] if (c.entry, c.field) == (change.entry, name)), None
            )
            if rival:
                message = f"'{name}' of '{target.id}' is changed here and at {rival.house}"
                issues.append(Issue(change.house, message, "Keep one of the two changes."))
                continue
            changed.data[name] = _merged(changed.data.get(name), item.data[name])
            for path, place in item.document.places.items():
                if path[:2] == (item.number, name):
                    changed.house[path[1:]] = place
            changes.append(change)
        result = [changed if raw is target else raw for raw in result]
        by_id[(item.kind, target.id)] = changed
    return result, changes, issues


def _add(item: Raw, result: list[Raw], issues: list[Issue]) -> None:
    if "." not in item.id:
        remedy = f"Call it '<house>.{item.id or 'name'}', so that it can never collide with a shipped id."
        issues.append(Issue(item.find(("id",)), f"the house entry '{item.id}' has no house prefix", remedy))
        return
    result.append(item)


def _change(target: Raw, item: Raw, name: str) -> Change:
    signed = {key: str(item.data[key]) for key in _SIGNED}
    return Change(target.id, name, target.find((name,)), item.find((name,)), **signed)


def _merged(old: Any, new: Any) -> Any:
    if isinstance(new, dict) and set(new) <= {"add", "take_out"} and new:
        kept = [value for value in (old or []) if value not in new.get("take_out", [])]
        return [*kept, *new.get("add", [])]
    return new
