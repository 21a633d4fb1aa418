"""What may be entered on a case: an answer the knowledge knows, and a closing that somebody stands for."""

from __future__ import annotations

from tracer.casebook.cases import HOW, NONE, NOT_FOUND
from tracer.causes.contacts import contact_stage
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.names import did_you_mean


def known_answer(base: KnowledgeBase, question: str, said: str) -> Enquiry:
    """The enquiry that an answer belongs to. Raises InputError for a question or an answer the knowledge does not have."""
    enquiry = base.enquiries.get(question)
    if enquiry is None:
        message = f"'{question}' is no question of the knowledge base"
        remedy = did_you_mean(question, base.enquiries, "See: tracer ask LOT")
        raise InputError([Issue(Place("QUESTION"), message, remedy)])
    if said not in enquiry.answers:
        choices = "; ".join(f"{name} ({text})" for name, text in enquiry.answers.items())
        remedy = did_you_mean(said, enquiry.answers, f"Answers: {choices}.")
        raise InputError([Issue(Place("ANSWER"), f"'{said}' is no answer to '{question}'", remedy)])
    return enquiry


def check_closing(base: KnowledgeBase, fault: str, how: str, by: str) -> None:
    """Raise InputError with everything that stands in the way of a closing."""
    issues = []
    if how not in HOW:
        remedy = did_you_mean(how, HOW, f"Choose: {', '.join(HOW)}.")
        issues.append(Issue(Place("--how"), f"'{how}' is no way to confirm", remedy))
    known = fault in (NONE, NOT_FOUND) or fault in base.faults or contact_stage(fault, base) is not None
    if not known:
        remedy = did_you_mean(fault, base.faults, "Or none, or not_found. See: tracer show STAGE")
        issues.append(Issue(Place("--fault"), f"'{fault}' is no fault", remedy))
    if issues or not by.strip():
        raise InputError([*issues, *unsigned(by)])


def unsigned(by: str) -> list[Issue]:
    """The problem of an entry that nobody stands for."""
    if by.strip():
        return []
    return [Issue(Place("--by"), "somebody must stand for it", "Write a name or initials.")]
