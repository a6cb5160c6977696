"""The shop's own authority, judged by OpenSSL: who is believed, who is not, and when it is renewed."""

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from server.files.authority import Certificates, authority_fingerprint, write_certificates

NOW = datetime.now(UTC)
NAMES = ("localhost", "shop-pc", "shop-pc.local", "not a name", "-x")
ADDRESSES = (ip_address("127.0.0.1"), ip_address("192.168.1.20"), ip_address("8.8.8.8"))


@contextmanager
def shown(certificate: Path, key: Path) -> Iterator[int]:
    """A server that shows a certificate once to each caller; its port."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(1)

        def serve() -> None:
            with suppress(OSError):
                while True:
                    caller, _ = listening.accept()
                    with suppress(OSError), context.wrap_socket(caller, server_side=True):
                        pass

        thread = threading.Thread(target=serve, daemon=True)
        thread.start()
        yield listening.getsockname()[1]
    thread.join(3)


def believes(files: Certificates, port: int, name: str) -> bool:
    """Whether somebody who trusts the authority believes this server to be `name`."""
    context = ssl.create_default_context(cafile=str(files.authority))
    try:
        with (
            socket.create_connection(("127.0.0.1", port), timeout=5) as raw,
            context.wrap_socket(raw, server_hostname=name),
        ):
            return True
    except ssl.SSLCertVerificationError:
        return False


def test_the_server_is_believed_under_its_own_names_and_no_other(tmp_path: Path) -> None:
    files = write_certificates(tmp_path / "tls", names=NAMES, addresses=ADDRESSES, now=NOW)
    with shown(files.server, files.server_key) as port:
        for name in ("localhost", "shop-pc.local", "127.0.0.1", "192.168.1.20"):
            assert believes(files, port, name), name
        for name in ("bank.example", "8.8.8.8", "192.168.1.21"):
            assert not believes(files, port, name), name


def test_the_authority_cannot_vouch_for_the_internet(tmp_path: Path) -> None:
    """Somebody who stole the key signs a foreign name with it: nobody believes it."""
    files = write_certificates(tmp_path / "tls", names=NAMES, addresses=ADDRESSES, now=NOW)
    signer = serialization.load_pem_private_key(files.authority_key.read_bytes(), password=None)
    assert isinstance(signer, ec.EllipticCurvePrivateKey)
    authority = x509.load_pem_x509_certificate(files.authority.read_bytes())
    key = ec.generate_private_key(ec.SECP256R1())
    for name in ("bank.example", "shop-pc.local"):
        forged = (
            x509.CertificateBuilder()
            .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "x")]))
            .issuer_name(authority.subject)
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(NOW - timedelta(days=1))
            .not_valid_after(NOW + timedelta(days=90))
            .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
            .sign(signer, hashes.SHA256())
        )
        (tmp_path / "forged.crt").write_bytes(forged.public_bytes(serialization.Encoding.PEM))
        (tmp_path / "forged.key").write_bytes(
            key.private_bytes(
                serialization.Encoding.PEM,
                serialization.PrivateFormat.PKCS8,
                serialization.NoEncryption(),
            )
        )
        with shown(tmp_path / "forged.crt", tmp_path / "forged.key") as port:
            assert believes(files, port, name) == (name == "shop-pc.local")


@pytest.mark.parametrize(
    ("days", "names", "addresses", "new_server", "new_authority"),
    [
        (0, NAMES, ADDRESSES, False, False),
        (400, NAMES, ADDRESSES, True, False),  # due
        (0, NAMES, (*ADDRESSES, ip_address("10.1.2.3")), True, False),  # another address
        (0, (*NAMES, "new-pc"), ADDRESSES, True, True),  # the machine was renamed
    ],
)
def test_it_is_renewed_when_due_or_when_it_no_longer_fits(
    tmp_path: Path,
    days: int,
    names: tuple[str, ...],
    addresses: tuple[ip_address, ...],  # type: ignore[valid-type]
    new_server: bool,
    new_authority: bool,
) -> None:
    files = write_certificates(tmp_path, names=NAMES, addresses=ADDRESSES, now=NOW)
    before = files.server.read_bytes(), authority_fingerprint(files.authority)
    write_certificates(tmp_path, names=names, addresses=addresses, now=NOW + timedelta(days=days))
    assert (files.server.read_bytes() != before[0]) == new_server
    assert (authority_fingerprint(files.authority) != before[1]) == new_authority


@pytest.mark.skipif("os.name == 'nt'")
def test_only_the_shops_own_user_may_read_the_keys(tmp_path: Path) -> None:
    files = write_certificates(tmp_path, names=NAMES, addresses=ADDRESSES, now=NOW)
    for key in (files.authority_key, files.server_key):
        assert key.stat().st_mode & 0o077 == 0
