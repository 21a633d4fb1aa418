"""The routes of the page, and the page as one application."""

from __future__ import annotations

import socket
from urllib.parse import urlsplit

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount, Route

from tracer.issues import InputError
from tracer.page import (
    answer,
    backup,
    drilling,
    enquiry,
    flight,
    joining,
    leader,
    logger,
    lots,
    mend,
    newlot,
    panel,
    plan,
    references,
    season,
    sharing,
    take_away,
    tasters,
    training,
    uploads,
)
from tracer.page.assets import Assets
from tracer.page.guard import Guard, TooLarge
from tracer.page.messages import LANGUAGES
from tracer.page.render import LANGUAGE, form_page, go, page, problems
from tracer.page.site import Site
from tracer.page.spoken import Spoken
from tracer.wording.sentence import say

UPLOADS = ("/upload", "/log", "/cupping", "/score")
"""Endings of paths that take files."""


def application(site: Site) -> Starlette:
    """The page over a casebook."""
    names = {"localhost", socket.gethostname(), f"{socket.gethostname()}.local", "testserver"}
    names.add(urlsplit(site.address).hostname or "localhost")
    gate = Middleware(Guard, keys=site.keys, names=names, uploads=UPLOADS)
    spoken = Middleware(Spoken, site=site)
    app = Starlette(
        routes=_routes(),
        middleware=[gate, Middleware(GZipMiddleware, minimum_size=1000, compresslevel=6), spoken],
        exception_handlers={
            InputError: _told,  # type: ignore[dict-item]
            TooLarge: _too_large,
            ClientDisconnect: _gone,
            HTTPException: _http,  # type: ignore[dict-item]
        },
    )
    app.state.site = site
    return app


def _routes() -> list[Route | Mount]:
    get, post = ["GET"], ["POST"]
    return [
        Route("/", lots.home, methods=get),
        Route("/language/{language}", _language, methods=get),
        Route("/words", tasters.words, methods=get),
        Route("/words/{languages}.json", tasters.word_list, methods=get),
        Route("/join", joining.join, methods=get),
        Route("/join/{code}", joining.join, methods=get),
        Route("/join", form_page(joining.sit), methods=post),
        Route("/table/new", leader.new, methods=get),
        Route("/table/new", form_page(leader.create), methods=post),
        Route("/table/{code}", leader.table, methods=get),
        Route("/table/{code}/reveal", form_page(leader.reveal), methods=post),
        Route("/table/{code}/free", form_page(leader.free), methods=post),
        Route("/table/{code}/hold", form_page(leader.hold), methods=post),
        Route("/table/{code}/settle", form_page(leader.settle), methods=post),
        Route("/table/{code}/sheet", leader.sheet, methods=get),
        Route("/table/{code}/keep", form_page(flight.keep), methods=post),
        Route("/table/{code}/together", flight.together, methods=get),
        Route("/table/{code}/score", training.score, methods=get),
        Route("/table/{code}/score", form_page(training.keep_score), methods=post),
        Route("/casebook/backup", backup.backup, methods=get),
        Route("/table/{code}/taste", tasters.taste, methods=get),
        Route("/table/{code}/all", tasters.everybody, methods=get),
        Route("/table/{code}/mine", tasters.mine, methods=get),
        Route("/table/{code}/mine", tasters.save, methods=post),
        Route("/lots", lots.listed, methods=get),
        Route("/season", season.season, methods=get),
        Route("/season.html", season.printed, methods=get),
        Route("/season.csv", season.as_table, methods=get),
        Route("/lots.csv", lots.as_table, methods=get),
        Route("/lots/new", newlot.new, methods=get),
        Route("/lots/new", form_page(newlot.look_or_keep), methods=post),
        Route("/lots/new/back", form_page(newlot.change), methods=post),
        Route("/lots/blank.yaml", take_away.blank_sheet, methods=get),
        Route("/lots/cuppings.csv", take_away.blank_cuppings, methods=get),
        Route("/lots/examples/away", form_page(lots.cast_off), methods=post),
        Route("/lots/text", form_page(uploads.text), methods=post),
        Route("/lots/upload", form_page(uploads.files), methods=post),
        Route("/lots/table/upload", form_page(uploads.table), methods=post),
        Route("/lots/example", form_page(uploads.example), methods=post),
        Route("/lot/{number:int}", answer.show, methods=get),
        Route("/lot/{number:int}/why/{fault}", answer.why, methods=get),
        Route("/lot/{number:int}/print", answer.printed, methods=get),
        Route("/lot/{number:int}/answer", form_page(enquiry.received), methods=post),
        Route("/lot/{number:int}/answer/back", form_page(enquiry.take_back), methods=post),
        Route("/lot/{number:int}/close", form_page(enquiry.close), methods=post),
        Route("/lot/{number:int}/share", form_page(sharing.share), methods=post),
        Route("/lot/{number:int}/share/back", form_page(sharing.withdraw), methods=post),
        Route("/shared/{secret}", sharing.read, methods=get),
        Route("/lot/{number:int}/sheet.yaml", take_away.sheet, methods=get),
        Route("/lot/{number:int}/sheet.zip", take_away.bundle, methods=get),
        Route("/lot/{number:int}/report.html", take_away.report, methods=get),
        Route("/lot/{number:int}/report.csv", take_away.sources, methods=get),
        Route("/lot/{number:int}/letter", enquiry.letter, methods=get),
        Route("/lot/{number:int}/sheet", uploads.edit, methods=get),
        Route("/lot/{number:int}/settle", form_page(uploads.settle), methods=post),
        Route("/lot/{number:int}/known", mend.known, methods=get),
        Route("/lot/{number:int}/known", form_page(mend.keep_known), methods=post),
        Route("/lot/{number:int}/cupping/{place:int}", mend.cupping, methods=get),
        Route("/lot/{number:int}/cupping/{place:int}", form_page(mend.keep_cupping), methods=post),
        Route("/lot/{number:int}/log", logger.log, methods=get),
        Route("/lot/{number:int}/log", form_page(logger.keep_log), methods=post),
        Route("/chains", references.chains, methods=get),
        Route("/panel", panel.panel, methods=get),
        Route("/panel/score", form_page(panel.score), methods=post),
        Route("/panel/session/{number:int}/remove", form_page(panel.remove), methods=post),
        Route("/panel/plan", plan.plan, methods=get),
        Route("/panel/set", training.new, methods=get),
        Route("/panel/set", form_page(training.create), methods=post),
        Route("/card", references.card, methods=get),
        Route("/drill", drilling.drill, methods=get),
        Route("/drill", form_page(drilling.reply), methods=post),
        Mount("/static", Assets(packages=[("tracer.page", "static")])),
    ]


def _language(request: Request) -> Response:
    """Choose the language of the page and go back to where one was."""
    back = request.query_params.get("back", "/")
    inside = back.startswith("/") and not back.startswith(("//", "/\\")) and "\n" not in back
    answer = go(back if inside else "/")
    if request.path_params["language"] in LANGUAGES:
        answer.set_cookie(LANGUAGE, request.path_params["language"], samesite="strict", max_age=365 * 86400)
    return answer


def _told(request: Request, error: InputError) -> Response:
    missing = any(issue.place.file == "CASE" for issue in error.issues)
    return problems(request, error, 404 if missing else 422)


def _too_large(request: Request, error: Exception) -> Response:
    return PlainTextResponse(say("This is larger than a form may be.\n"), 413)


def _gone(request: Request, error: Exception) -> Response:
    """Nobody reads this: the connection went before the form was whole."""
    return PlainTextResponse("", 400)


def _http(request: Request, error: HTTPException) -> Response:
    if error.status_code == 404:
        return problems(
            request,
            InputError.of("--page", say("there is no such page"), say("Begin at the first page.")),
            404,
        )
    return page(
        request,
        "problems.html",
        error.status_code,
        issues=InputError.of("--page", error.detail, say("Go back and try again.")).issues,
    )
