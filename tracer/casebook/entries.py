"""What may be entered on a case: an answer the knowledge knows, and a closing that somebody stands for."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.casebook.answers import is_set_aside, still_standing
from tracer.casebook.cases import HOW, NONE, NOT_FOUND, Received, Whole
from tracer.causes.contacts import contact_stage
from tracer.issues import InputError, Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import Enquiry
from tracer.knowledge.renamed import now_called
from tracer.names import did_you_mean, fold
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined, say, to_type


def known_answer(base: KnowledgeBase, question: str, said: str) -> Enquiry:
    """The enquiry that an answer belongs to. Raises InputError for a question or an answer the knowledge does not have."""
    enquiry = base.enquiries.get(question)
    if enquiry is None:
        message = say("'{question}' is no question of the knowledge base", question=question)
        remedy = did_you_mean(question, base.enquiries, say("See: tracer ask LOT"))
        raise InputError.of("QUESTION", message, remedy)
    if said not in enquiry.answers:
        named = (say("{name} ({text})", name=Own(name), text=text) for name, text in enquiry.answers.items())
        choices = joined(named, "; ")
        remedy = did_you_mean(said, enquiry.answers, say("Answers: {choices}.", choices=choices))
        raise InputError.of(
            "ANSWER", say("'{said}' is no answer to '{question}'", said=said, question=question), remedy
        )
    return enquiry


def meant_answer(base: KnowledgeBase, question: str, said: str) -> str:
    """The id of an answer that was written as its id, as the label that `ask` prints, or as the value of the sheet's row that says it.

    What is none of them, or several, stays as it was written.
    """
    enquiry = base.enquiries.get(question)
    if enquiry is None or said in enquiry.answers:
        return said
    found = {
        name
        for name, label in enquiry.answers.items()
        if _plain(said) in map(_plain, (label, tell(label), *enquiry.row.get(name, {}).values()))
    }
    return found.pop() if len(found) == 1 else said


def _plain(text: str) -> str:
    return fold(text.replace("_", " "))


def answer_before(received: Sequence[Received], question: str) -> Received | None:
    """The answer to a question that stands after all these."""
    return next((one for one in still_standing(received) if one.enquiry == question), None)


def takes_the_place(before: Received, base: KnowledgeBase) -> str:
    """That an answer comes instead of an earlier one, in one line."""
    answers = base.enquiries[before.enquiry].answers if before.enquiry in base.enquiries else {}
    return say(
        "It takes the place of the answer of {on} by {by}: {answer}.",
        on=before.at[:10],
        by=Own(before.by),
        answer=answers.get(before.answer, Own(before.answer)),
    )


def what_it_meets(kept: Whole, question: str, base: KnowledgeBase) -> list[str]:
    """What whoever enters an answer should know: the answer that it takes the place of, and that the case is closed."""
    before = answer_before(kept.received, question)
    found = [takes_the_place(before, base)] if before is not None else []
    if kept.closings:
        last = kept.closings[-1]
        found.append(
            say(
                "The case was closed on {on} by {by} with {fault}; that stands. To close it anew: tracer close {id} --again",
                on=last.at[:10],
                by=Own(last.by),
                fault=Own(last.fault),
                id=kept.case.id,
            )
        )
    return found


def standing_answer(kept: Whole, question: str) -> Received:
    """The answer to a question that counts now. Raises InputError where there is none to take back."""
    standing = {one.enquiry: one for one in still_standing(kept.received)}
    if question not in standing:
        message = say("no answer received to '{question}' stands", question=question)
        remedy = did_you_mean(
            question, standing, say("See the answers received with: tracer cases show CASE")
        )
        raise InputError.of("QUESTION", message, remedy)
    return standing[question]


def check_closing(base: KnowledgeBase, fault: str, how: str, by: str) -> None:
    """Raise InputError with everything that stands in the way of a closing."""
    issues = []
    if how not in HOW:
        remedy = did_you_mean(how, HOW, say("Choose: {HOW}.", HOW=to_type(HOW)))
        issues.append(Issue(Place("--how"), say("'{how}' is no way to confirm", how=how), remedy))
    known = fault in (NONE, NOT_FOUND) or fault in base.faults or contact_stage(fault, base) is not None
    if not known:
        remedy = now_called(
            fault, base.faults, base.faults, say("Or none, or not_found. See: tracer show STAGE")
        )
        issues.append(Issue(Place("--fault"), say("'{fault}' is no fault", fault=fault), remedy))
    if issues or not by.strip():
        raise InputError([*issues, *unsigned(by)])


def check_open(kept: Whole, again: bool) -> None:
    """Raise InputError for a case that is closed already, unless it is to be closed anew."""
    if kept.closings and not again:
        last = kept.closings[-1]
        message = say(
            "case {id} is closed already: {fault}, by {how}, {by} on {on}",
            id=kept.case.id,
            fault=Own(last.fault),
            how=last.how,
            by=Own(last.by),
            on=last.at[:10],
        )
        remedy = say("Say that you mean it (--again); the earlier closing stays, and the last one counts.")
        raise InputError.of(f"case {kept.case.id}", message, remedy)


def set_aside_told(kept: Whole, base: KnowledgeBase) -> list[Issue]:
    """A warning for each kept answer that this knowledge has no question for."""
    remedy = say("It is kept and moves nothing; if it still matters, put what it says into the sheet.")
    return [
        Issue(
            Place(f"case {kept.case.id}"),
            say(
                "the answer {enquiry} = {answer} is set aside: this knowledge does not have it",
                enquiry=Own(one.enquiry),
                answer=Own(one.answer),
            ),
            remedy,
            "warning",
        )
        for one in kept.received
        if is_set_aside(one, base)
    ]


def unsigned(by: str) -> list[Issue]:
    """The problem of an entry that nobody stands for."""
    if by.strip():
        return []
    return [Issue(Place("--by"), say("somebody must stand for it"), say("Write a name or initials."))]
