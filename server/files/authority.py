"""A certificate authority of the shop's own, so that tablets may trust its server without a company.

It may vouch for this machine's names and for addresses of small networks, and for nothing else:
whoever got hold of its key could not stand in for a bank with it. The key never leaves its folder.
"""

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Address = IPv4Address | IPv6Address
AUTHORITY_DAYS = 3650
SERVER_DAYS = 395  # browsers refuse certificates of servers that live much longer than a year
RENEW_DAYS = 30
SKEW_DAYS = 1  # a tablet whose clock is behind still believes it
PRIVATE: tuple[IPv4Network | IPv6Network, ...] = tuple(
    ip_network(one)
    for one in (
        "127.0.0.0/8",
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)
"""Addresses that are never on the internet: RFC 1918, RFC 3927, RFC 4193, RFC 4291."""
HOST = re.compile(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*")


@dataclass(frozen=True, slots=True)
class Certificates:
    """Where the files are: the authority to trust, and what the server shows and signs with."""

    authority: Path
    authority_key: Path
    server: Path
    server_key: Path


def certificates_in(folder: Path) -> Certificates:
    """The files' places, whether they are there or not."""
    return Certificates(
        folder / "authority.crt",
        folder / "authority.key",
        folder / "server.crt",
        folder / "server.key",
    )


def write_certificates(
    folder: Path, *, names: Iterable[str], addresses: Iterable[Address], now: datetime
) -> Certificates:
    """Make the authority once, and the server's certificate whenever it is due or no longer fits.

    Names that are none, and addresses that are on the internet, are left out.
    """
    files = certificates_in(folder)
    folder.mkdir(parents=True, exist_ok=True)
    hosts = sorted({name for name in names if HOST.fullmatch(name)})
    local = sorted({one for one in addresses if _is_private(one)}, key=str)
    if not (files.authority.exists() and files.authority_key.exists()):
        _write_authority(files, hosts, now)
    elif not _vouches_for(files.authority, hosts):
        _write_authority(files, hosts, now)  # the machine was renamed
    if not _serves(files, hosts, local, now):
        _write_server(files, hosts, local, now)
    return files


def authority_fingerprint(path: Path) -> str:
    """The SHA-256 a tablet shows of the authority, in pairs, to compare before it is trusted."""
    shown = _certificate(path).public_bytes(serialization.Encoding.DER)
    digits = hashlib.sha256(shown).hexdigest().upper()
    return ":".join(digits[at : at + 2] for at in range(0, len(digits), 2))


def _write_authority(files: Certificates, hosts: list[str], now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, f"Bendwright of this shop {now:%Y-%m-%d}")]
    )
    permitted: list[x509.GeneralName] = [x509.DNSName(host) for host in hosts]
    permitted += [x509.IPAddress(one) for one in PRIVATE]
    made = (
        _begun(name, name, key.public_key(), now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(
            x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None),
            critical=True,
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write_key(files.authority_key, key)
    files.authority.write_bytes(made.public_bytes(serialization.Encoding.PEM))


def _write_server(
    files: Certificates, hosts: list[str], local: list[Address], now: datetime
) -> None:
    authority = _certificate(files.authority)
    signer = serialization.load_pem_private_key(files.authority_key.read_bytes(), password=None)
    if not isinstance(signer, ec.EllipticCurvePrivateKey):
        raise TypeError("the authority's key is not one this program made")
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Bendwright server")])
    others: list[x509.GeneralName] = [x509.DNSName(host) for host in hosts]
    others += [x509.IPAddress(one) for one in local]
    made = (
        _begun(name, authority.subject, key.public_key(), now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(others), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False
        )
        .sign(signer, hashes.SHA256())
    )
    _write_key(files.server_key, key)
    files.server.write_bytes(made.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePublicKey,
    now: datetime,
    days: int,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=SKEW_DAYS))
        .not_valid_after(now + timedelta(days=days))
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _write_key(path: Path, key: ec.EllipticCurvePrivateKey) -> None:
    """A key only this user may read, from its first byte on."""
    path.unlink(missing_ok=True)
    path.touch(mode=0o600)
    path.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )


def _certificate(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def _vouches_for(path: Path, hosts: list[str]) -> bool:
    limits = _certificate(path).extensions.get_extension_for_class(x509.NameConstraints).value
    known = {one.value for one in limits.permitted_subtrees or () if isinstance(one, x509.DNSName)}
    return set(hosts) <= known


def _serves(files: Certificates, hosts: list[str], local: list[Address], now: datetime) -> bool:
    """Whether the server's certificate fits its authority, names and addresses, and is not due."""
    if not (files.server.exists() and files.server_key.exists()):
        return False
    made = _certificate(files.server)
    others = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    signer = made.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value
    key = _certificate(files.authority).extensions.get_extension_for_class(
        x509.SubjectKeyIdentifier
    )
    return (
        signer.key_identifier == key.value.digest
        and set(hosts) <= set(others.get_values_for_type(x509.DNSName))
        and set(local) <= set(others.get_values_for_type(x509.IPAddress))
        and made.not_valid_after_utc - now > timedelta(days=RENEW_DAYS)
    )


def _is_private(address: Address) -> bool:
    return any(address in network for network in PRIVATE if network.version == address.version)
