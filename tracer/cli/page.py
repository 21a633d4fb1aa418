"""The verb page: serve the browser pages from this machine."""

from __future__ import annotations

from pathlib import Path
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
            help="Also listen on your network, for tasters' phones: this machine's address there, or 0.0.0.0; it needs a key that is printed.",
        ),
    ] = None,
    certificate: Annotated[
        Path | None,
        typer.Option("--certificate", metavar="FILE", help="Encrypt the connection: certificate, as PEM."),
    ] = None,
    key: Annotated[
        Path | None,
        typer.Option(
            "--key", metavar="FILE", help="Key of the certificate, as PEM, where it is a file of its own."
        ),
    ] = None,
    casebook: Casebook = None,
    house: House = None,
) -> None:
    """Serve the pages for the table, the desk and the training room; only to this machine unless --host is given."""
    from tracer.cli import inputs
    from tracer.issues import InputError

    try:
        from tracer.page.app import application
        from tracer.page.serving import server
    except ImportError as error:
        remedy = tell("pip install 'coffee-tracer[page]'")
        raise InputError.of(
            "page", tell("the page needs one more package: {name}", name=error.name), remedy
        ) from None
    from tracer.casebook.cases import count
    from tracer.page.roles import new_keys
    from tracer.page.site import Site

    base, book = inputs.knowledge(house), inputs.book_path(casebook)
    count(book)  # a file that is no casebook is told now, not at the first page
    keys = new_keys() if host is not None else {}
    address = f"{'https' if certificate else 'http'}://{_bracketed(_reachable(host))}:{port}"
    site = Site(base, book, keys, address)
    serving = server(application(site), host or "127.0.0.1", port, certificate, key)
    _tell_addresses(address, keys, port, encrypted=certificate is not None)
    try:
        serving.run()
    except KeyboardInterrupt:
        pass
    except SystemExit:
        remedy = tell("Choose another with --port, or another address with --host.")
        raise InputError.of(address, tell("this address cannot be listened on; see above"), remedy) from None


def _tell_addresses(address: str, keys: dict[str, str], port: int, encrypted: bool) -> None:
    value = f"?key={keys['leader']}" if keys else ""
    print(tell("Open {address}/{value}", address=address, value=value), flush=True)
    if not keys:
        own = _bracketed(_reachable("0.0.0.0"))
        print(
            tell(
                "Phones cannot reach this. For tasters' phones: tracer page --host {own} --port {port}",
                own=own,
                port=port,
            ),
            flush=True,
        )
        return
    print(
        tell("Keep this address to yourself: it opens every lot. Tasters sit down with the code of a table.")
    )
    print(tell("Tasters' phones: {address}/join", address=address))
    print(
        tell("For the desk, without the tables: {address}/?key={value}", address=address, value=keys["desk"])
    )
    print(tell("Only to read: {address}/?key={value}", address=address, value=keys["reader"]))
    if not encrypted:
        print(tell("The connection is not encrypted: use it on a network you trust, or give --certificate."))
    print(end="", flush=True)


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
