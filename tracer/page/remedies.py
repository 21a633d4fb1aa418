"""Mends as the page tells them: where the command line names a command, the page names its own form or list."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from tracer.wording.language import tell
from tracer.wording.sentence import Sentence

ON_THE_PAGE: Mapping[str, str] = {
    "See the numbers with: tracer cases": "mend_see_lots",
    "See: tracer ask LOT": "mend_see_questions",
    "See the answers received with: tracer cases show CASE": "mend_see_answers",
    "Or none, or not_found. See: tracer show STAGE": "mend_choose_cause",
    "Say that you mean it (--again); the earlier closing stays, and the last one counts.": "mend_tick_again",
    "See the names with: tracer trace --examples": "mend_choose_listed",
    "Give its id (tracer show NOTE), or innocent for no off-note.": "mend_id_of_note",
    "Read it with: tracer draft FILE": "mend_as_message",
    "It is kept on the sheet and not weighed. Browse the compounds with: tracer show NOTE": "mend_see_compounds",
    "See a blank one with: tracer sheet": "mend_blank_sheet",
    "Start with: tracer sheet > lot.yaml": "mend_blank_sheet",
    "See what is allowed with: tracer sheet --fields": "mend_blank_sheet",
    "See the records with: tracer sheet": "mend_see_records",
    "See what each sentence may mean: tracer history LOT": "mend_read_message",
    "not confirmed: see tracer history": "mend_unconfirmed",
    "If it says so, put confirmed: [{id}]; all proposals: tracer history LOT": "mend_confirm",
    "Give one with --threshold, and its source at hand.": "mend_own_threshold",
    "See the notes of a stage with: tracer show STAGE": "mend_see_chains",
    "See the compounds of a note with: tracer show NOTE": "mend_see_chains",
    "Use the id of an off-note; see: tracer show NOTE": "mend_see_chains",
    "See: tracer show STAGE": "mend_see_chains",
    "Make a set with: tracer panel set": "mend_make_set",
    "Fill in the answer sheet of: tracer panel set": "mend_answer_sheet",
    "To correct it: --replaces {number}. If it was tasted anew with the same codes: --another.": "mend_session",
    "See the numbers with: tracer panel status --sessions": "mend_see_sessions",
    "See: tracer panel status --sessions": "mend_see_sessions",
    "Settle it in the house first (--to bench, --to roaster), or name another stage.": "mend_in_house",
    "Needed: --by DAY, such as --by 2026-03-20, with time left inside your own claim days. Possible: --to {parties}; --kind {kinds}; --stage, --language, --sender, --enclose (see: tracer letter --help).": "mend_day_to_answer",
    "See what is wrong with: tracer cases again {id} --now": "mend_open_case",
}
"""Mend of the command line -> message of the page, with the same values."""


def on_the_page(remedy: str, t: Callable[..., str]) -> str:
    """A mend as the page tells it, in the reader's language."""
    if isinstance(remedy, Sentence) and remedy.template in ON_THE_PAGE:
        return t(ON_THE_PAGE[remedy.template], **remedy.values)
    return tell(remedy)
