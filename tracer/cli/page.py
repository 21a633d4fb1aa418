"""The verb page: serve the browser pages from this machine."""

from __future__ import annotations

from typing import Annotated

import typer

from tracer.cli.trace import Casebook, House
from tracer.wording.language import tell


def page(
    port: Annotated[int, typer.Option("--port", help="Port to listen on.", min=1, max=65535)] = 8080,
    host: Annotated[
        str | None,
        typer.Option(
            "--host",
            metavar="ADDRESS",
            help="Also listen on your network, for tasters' phones: this machine's address there, or 0.0.0.0; it needs the key that is printed.",
        ),
    ] = None,
    casebook: Casebook = None,
    house: House = None,
) -> None:
    """Serve the pages for the table, the desk and the training room; only to this machine unless --host is given."""
    import secrets

    from tracer.cli import inputs
    from tracer.issues import InputError, Issue, Place

    try:
        import uvicorn

        from tracer.page.app import application
    except ImportError as error:
        remedy = tell("pip install 'coffee-tracer[page]'")
        raise InputError(
            [Issue(Place("page"), tell("the page needs one more package: {name}", name=error.name), remedy)]
        ) from None
    from tracer.casebook.cases import count
    from tracer.page.site import Site

    base, book = inputs.knowledge(house), inputs.book_path(casebook)
    count(book)  # a file that is no casebook is told now, not at the first page
    key = secrets.token_urlsafe(24) if host is not None else None
    address = f"http://{_bracketed(_reachable(host))}:{port}"
    site = Site(base, book, key, address)
    app = application(site)
    print(tell("Open {address}/{value}", address=address, value=f"?key={key}" if key else ""), flush=True)
    if key:
        print(
            tell(
                "Keep this address to yourself: it opens every lot. Tasters sit down with the code of a table."
            )
        )
        print(tell("The connection is not encrypted: use it on a network you trust."), flush=True)
    settings = uvicorn.Config(
        app,
        host=host or "127.0.0.1",
        port=port,
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        access_log=False,
        h11_max_incomplete_event_size=65536,
        timeout_keep_alive=15,
        limit_concurrency=200,
    )
    server = uvicorn.Server(settings)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    except SystemExit:
        remedy = tell("Choose another with --port, or another address with --host.")
        raise InputError(
            [Issue(Place(address), tell("this address cannot be listened on; see above"), remedy)]
        ) from None


def _reachable(host: str | None) -> str:
    """The address others use: where all addresses are listened on, the one this machine has on its network."""
    import socket

    if host is None:
        return "127.0.0.1"
    if host not in ("0.0.0.0", "::"):
        return host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): nothing is sent
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host
