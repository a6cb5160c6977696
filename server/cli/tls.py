"""`bendwright tls`: a certificate authority of the shop's own, for tablets that install the app."""

from collections.abc import Iterator
from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path

from server.files.authority import (
    Address,
    Certificates,
    authority_fingerprint,
    write_certificates,
)
from server.settings import own_host_names

FOLDER = "tls"


def run_tls(*, data: Path) -> int:
    """Make or renew the certificates and say what to do with them; returns the exit status."""
    files = make_certificates(data)
    print(f"Authority to trust on each tablet: {files.authority}")
    print(f"SHA-256: {authority_fingerprint(files.authority)}")
    print("Serve with it:  bendwright serve --lan --tls")
    print("Then open /install on the tablet: it has the authority's file and says where to put it.")
    print(f"Keep {files.authority_key.name} to yourself: it never has to leave its folder.")
    return 0


def make_certificates(data: Path) -> Certificates:
    """The shop's certificates for this machine's names and addresses, made or renewed if due."""
    return write_certificates(
        data / FOLDER,
        names=own_host_names(),
        addresses=own_addresses(),
        now=datetime.now(UTC),
    )


def own_addresses() -> Iterator[Address]:
    """Addresses other devices may use for this machine, and its own."""
    from server.cli.serve import lan_address

    yield ip_address("127.0.0.1")
    yield ip_address("::1")
    yield ip_address(lan_address())
