"""`python -m tests.knowledge.one_fact` lists records and enquiries that speak of the same faults in nearly the same words.

Each such pair may be one fact that counts twice. It is linked (`told_by` or `settled_by` of the enquiry), or stands in APART with
the reason why it is two.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from tracer.findings.answers import about
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.words.stems import stem

LEAST = 0.4
SMALL = set(
    [
        "the",
        "and",
        "was",
        "were",
        "for",
        "from",
        "with",
        "did",
        "does",
        "how",
        "any",
        "what",
        "which",
        "lot",
        "coffee",
        "not",
        "known",
        "has",
        "are",
        "had",
        "this",
        "that",
    ]
)

TRIAL = "a trial of the cup against a count or look at the beans"
PART = "the record is of one part of the question that no answer speaks of"
SIGN = "a sign of what happened against the circumstance itself"
OTHER = "another thing in like words"
APART = {
    ("ask_bed_log", "covered"): PART,
    ("ask_borer", "floater_share"): PART,
    ("ask_borer", "insect_beans"): SIGN,
    ("ask_bug", "district_pest"): "what is usual in the district against what was seen on this farm",
    ("ask_bug", "hand_sorted"): PART,
    ("ask_delivery", "bags_wet_or_stained"): SIGN,
    ("ask_floaters", "floater_share"): "how many came in against where they went",
    ("ask_hulling", "months_at_origin"): OTHER,
    ("ask_other_lots_of_mill", "random_cups_of_several_lots"): OTHER,
    ("ask_other_lots_of_mill", "same_roast_day_lots_alike"): OTHER,
    ("ask_pulper", "nipped_beans"): SIGN,
    ("ask_purge", "ran_before"): "what ran before against whether the line was purged after it",
    ("ask_rebag", "warehouse_dusty"): SIGN,
    ("ask_rejects", "reject_share"): PART,
    ("ask_road", "truck_covered"): "covered or not, whatever the weather",
    ("ask_sealing", "water_activity"): "at sealing against today",
    ("ask_soak_hours", "soak_water_changed"): OTHER,
    ("ask_soaking", "water_low"): OTHER,
    ("ask_store", "months_at_origin"): PART,
    ("ask_warehouse", "warehouse_kind"): PART,
    ("test_away_from_roaster", "roaster_kind"): OTHER,
    (
        "test_bag_moisture",
        "moisture_now",
    ): "the mixed sample against bag by bag; they overlap where all bags are damp",
    (
        "test_bag_moisture",
        "water_activity",
    ): "the mixed sample against bag by bag; they overlap where all bags are damp",
    ("test_chloride", "bags_wet_or_stained"): "that there are stains against what is in them",
    ("test_immature_apart", "black_green_beans"): TRIAL,
    ("test_immature_apart", "immature_count"): TRIAL,
    ("test_immature_apart", "immature_share"): TRIAL,
    ("test_immature_apart", "quakers"): TRIAL,
    ("test_lamp", "foul_when_cut"): "the lamp shows which beans to cut; the smell has a test of its own",
    ("test_light_beans_apart", "withered_beans"): TRIAL,
    ("test_moisture_arrival", "moisture_on_arrival"): "the figure on arrival says no gain by itself",
    ("test_own_spoons", "repeat_cupping"): "new cups of the same grind against a repeat from the beans",
    ("test_regrind", "repeat_cupping"): "a purged grinder and new cups against a plain repeat",
    ("test_water_smell", "water_tested"): "an analysis against a smell",
    ("test_wet_way", "bags_wet_or_stained"): "that there are stains against where",
}
"""(enquiry, record) -> why they are two facts."""


def alike(base: KnowledgeBase, least: float = LEAST) -> Iterator[tuple[float, str, str]]:
    """(likeness, enquiry, record) of pairs without a link, the likest first."""
    targets: dict[str, set[str]] = {}
    for rule in base.rules.values():
        faults = {fault for one in rule.then for fault in one.faults(base.faults_of)}
        for test in (*(rule.when.all or ()), *(rule.when.any or ())):
            targets.setdefault(test.record or "", set()).update(faults)
    found = []
    for enquiry in base.enquiries.values():
        faults = {name for kind, name in about(base, enquiry) if kind == "fault"}
        said = _stems(" ".join([enquiry.id, enquiry.text, enquiry.record, *enquiry.answers.values()]))
        for record in base.records.values():
            shared = faults & targets.get(record.id, set())
            if not shared or record.id in enquiry.records:
                continue
            own = _stems(f"{record.id} {record.label} {record.explained}")
            common = own & said
            likeness = len(common) / min(len(own), 12) * (0.3 + 0.7 * len(shared) / len(faults))
            if len(common) > 1 and likeness >= least:
                found.append((likeness, enquiry.id, record.id))
    yield from sorted(found, reverse=True)


def _stems(text: str) -> set[str]:
    words = re.findall(r"[a-z]{3,}", text.lower().replace("_", " "))
    return {stem(word, "en") for word in words if word not in SMALL}


def main() -> None:
    """Print every pair with its likeness, and why it is two facts."""
    base = load_or_fail()
    for likeness, enquiry, record in alike(base):
        reason = APART.get((enquiry, record), "NOT LINKED")
        print(
            f"{likeness:.2f}  {base.enquiries[enquiry].text}\n      {base.records[record].label} ({enquiry}, {record}): {reason}"
        )


if __name__ == "__main__":
    main()
