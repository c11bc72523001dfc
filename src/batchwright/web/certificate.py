"""The book's own certificate, made on first use, so that nobody on the network reads along."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from batchwright.base.errors import Fault, InputError

GOOD_FOR = timedelta(days=820)  # browsers refuse one that is good for more than 825 days (common practice)
RENEWED_BEFORE = timedelta(days=30)
CERTIFICATE, KEY = "batchwright-share.crt", "batchwright-share.key"


def certificate_for(folder: Path, hosts: Sequence[str], now: datetime | None = None) -> tuple[Path, Path, str]:
    """Return the files of certificate and key in a folder, and the certificate's SHA-256 fingerprint.

    hosts: names and addresses it is good for; a new one is made where the one there lacks one of them, ends within a
    month, or cannot be read. The key's file can be read by its owner alone. now: the time, for tests. Raises InputError
    where the folder cannot be written.
    """

    certificate_file, key_file = folder / CERTIFICATE, folder / KEY
    now = datetime.now(UTC) if now is None else now
    if not _still_good(certificate_file, key_file, set(hosts), now):
        secret, public = _made(sorted(set(hosts)), now)
        try:
            _write(key_file, secret)
            _write(certificate_file, public)
        except OSError as error:
            hint = f"The certificate is kept beside the book. {error.strerror}."
            raise InputError([Fault("--share", str(folder), "a folder that can be written", hint)]) from error
    key_file.chmod(0o600)
    found = x509.load_pem_x509_certificate(certificate_file.read_bytes())
    return certificate_file, key_file, _spaced(found.fingerprint(hashes.SHA256()))


def _still_good(certificate_file: Path, key_file: Path, hosts: set[str], now: datetime) -> bool:

    try:
        found = x509.load_pem_x509_certificate(certificate_file.read_bytes())
        key = load_pem_private_key(key_file.read_bytes(), None)
        names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, TypeError, x509.ExtensionNotFound):
        return False
    known = {*names.get_values_for_type(x509.DNSName), *map(str, names.get_values_for_type(x509.IPAddress))}
    own = found.public_key() == key.public_key()
    return own and hosts <= known and found.not_valid_after_utc > now + RENEWED_BEFORE


def _made(hosts: Sequence[str], now: datetime) -> tuple[bytes, bytes]:
    """Return a new key and its certificate, both as PEM."""

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Batchwright book")])
    alternatives = x509.SubjectAlternativeName([_alternative(host) for host in hosts])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + GOOD_FOR)
        .add_extension(alternatives, critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                               serialization.NoEncryption())  # fmt: skip
    return secret, made.public_bytes(serialization.Encoding.PEM)


def _write(file: Path, data: bytes) -> None:
    """Write a file that only its owner can read, whole or not at all."""
    part = file.with_suffix(".part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(data)
    part.replace(file)


def _alternative(host: str) -> Any:
    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _spaced(digest: bytes) -> str:
    pairs = digest.hex().upper()
    return ":".join(pairs[place : place + 2] for place in range(0, len(pairs), 2))
