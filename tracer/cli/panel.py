"""The verbs of the trainer: card, set, score, status; those of single tests and drills stand beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli import practice, training
from tracer.cli.trace import AsJson, Casebook, House
from tracer.wording.language import tell
from tracer.wording.sentence import joined, to_type

panel = typer.Typer(
    help="References, blind sets, scores, drills and how the panel stands.", no_args_is_help=True
)


@panel.command("card")
def card(
    note: Annotated[str, typer.Argument(help="An off-note, in any language, or its id; or a compound's id.")],
    volume: Annotated[
        float, typer.Option("--volume", help="Litres of coffee or water.", min=0.01, max=100)
    ] = 1.0,
    times: Annotated[float | None, typer.Option("--times", help="Times threshold.", min=0.1, max=100)] = None,
    compound: Annotated[
        str | None, typer.Option("--compound", help="Which compound, where several make the note.")
    ] = None,
    threshold: Annotated[
        str | None, typer.Option("--threshold", help="Your own threshold, such as '2.5 ug/L'.")
    ] = None,
    mass: Annotated[
        float | None,
        typer.Option(
            "--mass",
            help="mg to weigh for the stock; default: enough, and at least 10.",
            min=0.01,
            max=100000,
        ),
    ] = None,
    purity: Annotated[float, typer.Option("--purity", help="Purity, 0 to 1.", min=0.01, max=1.0)] = 0.98,
    flask: Annotated[
        float, typer.Option("--flask", help="mL the stock is made up to.", min=1, max=5000)
    ] = 100.0,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Say what to weigh and dilute for a reference, or why it is not prepared."""
    import json
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.panel.card_request import CardRequest, card_for
    from tracer.render.panel import card_screen, nothing_to_prepare

    base = inputs.knowledge(house)
    found = card_for(base, CardRequest(note, volume, times, compound, threshold, mass, purity, flask))
    if as_json:
        made = asdict(found.card) if found.card else None
        refused = [asdict(one) for one in found.refused]
        print(
            json.dumps({"note": found.note, "card": made, "refused": refused}, ensure_ascii=False, indent=2)
        )
        return
    if found.card is None:
        console().print(nothing_to_prepare(found.note, found.stop, found.refused))
        return
    console().print(card_screen(found.card, found.refused))
    if found.others:
        print(tell("Also possible: {others} (--compound).", others=to_type(found.others)))


@panel.command("set")
def make_set(
    note: Annotated[
        list[str],
        typer.Option(
            "--note",
            help="An off-note to serve, in any language; 'note@3' for 3 times threshold; 'note!' to serve it last. Repeat.",
        ),
    ],
    taster: Annotated[list[str], typer.Option("--taster", help="A taster; repeat.")],
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for key.csv, answers.csv and sheets.html.")
    ],
    blanks: Annotated[int, typer.Option("--blanks", help="Hidden clean cups.", min=0, max=50)] = 2,
    repeats: Annotated[int, typer.Option("--repeats", help="Samples served twice.", min=0, max=20)] = 1,
    seed: Annotated[
        int | None,
        typer.Option(
            "--seed", help="The same seed gives the same set; default: a fresh one.", show_default=False
        ),
    ] = None,
    name: Annotated[
        str,
        typer.Option("--name", help="Name of the session; default: that of the folder.", show_default=False),
    ] = "",
    smell_only: Annotated[
        bool,
        typer.Option(
            "--smell-only",
            help="Nothing of this set goes into the mouth; for references that may only be smelled.",
        ),
    ] = False,
    house: House = None,
) -> None:
    """Make a blind set: codes, a balanced order for each taster, hidden blanks, a repeat; the key apart."""
    import secrets
    import sys

    from tracer.cli import inputs
    from tracer.issues import InputError
    from tracer.panel.blind import FRESH, blind_set
    from tracer.panel.files import answer_text, key_text, printed
    from tracer.panel.references import references
    from tracer.panel.set_request import refuse_unsafe, sample_of
    from tracer.render.panel_plan import one_reference, prepared_from

    base = inputs.knowledge(house)
    samples = [sample_of(base, text) for text in note]
    refuse_unsafe(base, samples, smell_only)
    seed = secrets.randbelow(FRESH) if seed is None else seed
    name = name or out.resolve().name
    try:
        made = blind_set(name, samples, taster, blanks, repeats, seed)
    except ValueError as error:
        raise InputError.of("--note", str(error), tell("See: tracer panel set --help")) from None
    each = len(made.of(taster[0]))
    if each > base.settings.panel.most_cups:
        print(
            tell(
                "warning: {each} cups each is more than {most_cups}; tasters tire. Make two sessions of it.",
                each=each,
                most_cups=base.settings.panel.most_cups,
            ),
            file=sys.stderr,
        )
    served = list(dict.fromkeys(one for sample in samples for one in sample.notes))
    found = references(base, served)
    for told in one_reference(found, base):
        print(tell("warning: {text}", text=told), file=sys.stderr)
    if blanks == 0:
        print(tell("warning: without blanks there is no false-alarm rate."), file=sys.stderr)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError.of(
            out, tell("cannot be made: {strerror}", strerror=error.strerror), tell("Name another folder.")
        ) from None
    existing = [file for file in ("key.csv", "answers.csv", "sheets.html") if (out / file).exists()]
    if existing:
        raise InputError.of(
            out,
            tell("{existing} is there already", existing=joined(existing)),
            tell("Name a new folder: a key is never overwritten."),
        )
    inputs.write_text(out / "key.csv", key_text(made))
    inputs.write_text(out / "answers.csv", answer_text(made))
    inputs.write_text(out / "sheets.html", printed(made, name, base.settings.panel.cautions, smell_only))
    print(
        tell(
            "{each} cups for each of {count} tasters in {out}: key.csv (keep it apart), answers.csv, sheets.html to print.",
            each=each,
            count=len(taster),
            out=out,
        )
    )
    print(tell("Seed {seed}: the same set again with --seed {seed}.", seed=seed))
    if found.compounds:
        print(tell("Prepared from: {what}.", what=prepared_from(found, served, base)))


@panel.command("score")
def score(
    key: Annotated[Path, typer.Argument(help="The key of the session (key.csv).")],
    answers: Annotated[Path, typer.Argument(help="The answers (CSV, XLSX or YAML).")],
    keep: Annotated[bool, typer.Option("--keep", help="Keep the session in the casebook.")] = False,
    on: Annotated[
        str | None, typer.Option("--on", help="Day of the session, 2026-03-09; default: today.")
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who led the session.")] = "",
    replaces: Annotated[
        int | None, typer.Option("--replaces", help="Number of a kept session that this one corrects.")
    ] = None,
    another: Annotated[
        bool, typer.Option("--another", help="It was tasted anew, with codes of a session that is kept.")
    ] = False,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Score answers against the key: found, missed, made up, mixed up, repeated; with --keep they are kept."""
    import json
    import sys
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.panel import session
    from tracer.panel.scoring import agreement, confusions, counts, notes_of, repeated
    from tracer.render.panel import score_screen
    from tracer.tracing import prepare

    base = inputs.knowledge(house)
    day = inputs.day(on)
    one = session.scored(key, answers, base, prepare(base).vocabulary)
    served = one.served
    for issue in one.to_mind:
        print(issue, file=sys.stderr)
    if as_json:
        found = [
            {"taster": taster, "note": name, **asdict(counts(served, taster, name))}
            for taster in dict.fromkeys(one.taster for one in served)
            for name in notes_of(served)
        ]
        tasters = dict.fromkeys(one.taster for one in served)
        print(
            json.dumps(
                {
                    "counts": found,
                    "confusions": {taster: confusions(served, taster) for taster in tasters},
                    "repeats_alike": {taster: repeated(served, taster) for taster in tasters},
                    "agreement": [asdict(agreement(served, name)) for name in notes_of(served)],
                },
                ensure_ascii=False,
                indent=2,
            )
        )
    else:
        console().print(score_screen(served, base))
    if keep and (not sys.stdin.isatty() or typer.confirm(tell("Keep this session?"), default=True)):
        path = inputs.book_path(casebook)
        number = session.keep(path, one, day, one.name, by, base, replaces, another)
        print(tell("kept as session {number} in {path}", number=number, path=path), file=sys.stderr)


@panel.command("remove")
def remove(
    number: Annotated[int, typer.Argument(metavar="SESSION", help="Number of a kept session.", min=1)],
    by: Annotated[str, typer.Option("--by", help="Who says so.")],
    why: Annotated[str, typer.Option("--why", help="Why, in one sentence.")],
    on: Annotated[str | None, typer.Option("--on", help="Day of the entry; default: today.")] = None,
    casebook: Casebook = None,
    house: House = None,
) -> None:
    """Take a kept session out of every score, by an entry that says who and why; it stays in the casebook. The number of such an entry undoes it."""
    from tracer.cli import inputs
    from tracer.panel import session

    path = inputs.book_path(casebook)
    made = session.remove(path, number, by, why, inputs.knowledge(house), inputs.day(on))
    if made.counts:
        print(tell("session {number} counts again (entry {entry}).", number=made.session, entry=made.entry))
    else:
        print(
            tell("session {number} no longer counts (entry {entry}).", number=made.session, entry=made.entry)
        )


@panel.command("status")
def status(
    on: Annotated[str | None, typer.Option("--on", help="As of this day; default: today.")] = None,
    taster: Annotated[list[str] | None, typer.Option("--taster", help="Only this taster; repeat.")] = None,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FILE", help="Also draw the trend of each taster.")
    ] = None,
    listed: Annotated[
        bool, typer.Option("--sessions", help="List the kept sessions with their numbers.")
    ] = False,
    casebook: Casebook = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Show who is due, who has drifted, which notes are weak, and what each taster needs next."""
    import json
    from dataclasses import asdict

    from tracer.casebook.sessions import first_answers, kept, sessions
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.panel.standing import standings, weak_and_strong
    from tracer.render.panel import session_line, status_screen
    from tracer.render.panel_trend import trend_picture

    base, day, path = inputs.knowledge(house), inputs.day(on), inputs.book_path(casebook)
    every = sessions(path)
    if listed:
        for one in every:
            print(session_line(one, every))
        return
    cups = [cup for cup in kept(path, taster) if cup.on <= day]
    every = tuple(one for one in every if one.cups and not one.replaced)
    found = standings(cups, base, day, first_answers(path, "case", day))
    if svg is not None:
        inputs.write_text(svg, trend_picture(found, tell("Panel to {day}", day=day)))
    if as_json:
        print(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=2, default=str))
        return
    console().print(status_screen(found, weak_and_strong(cups, base), base, len(every)))


panel.command("plan")(training.plan)
panel.command("drill")(practice.drill)
panel.command("test")(practice.difference)
panel.command("threshold")(practice.threshold)
panel.command("pooled")(practice.pooled)
