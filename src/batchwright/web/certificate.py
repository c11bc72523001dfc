"""The book's own certificate, made on first use, so that nobody on the network reads along."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

GOOD_FOR_DAYS = 820  # browsers refuse longer ones: 825 days (common practice)


def certificate_for(folder: Path, hosts: Sequence[str]) -> tuple[Path, Path, str]:
    """Return the files of certificate and key in a folder, and the certificate's SHA-256 fingerprint.

    hosts: names and addresses it is good for; a new one is made where the one there lacks one of them or ends within a
    month. The key's file can be read by its owner alone.
    """
    from cryptography import x509  # heavy: only sharing over TLS needs it
    from cryptography.hazmat.primitives import hashes, serialization  # as above
    from cryptography.hazmat.primitives.asymmetric import ec  # as above
    from cryptography.x509.oid import NameOID  # as above

    certificate_file, key_file = folder / "batchwright-share.crt", folder / "batchwright-share.key"
    now = datetime.now(UTC)
    wanted = set(hosts)
    if certificate_file.exists() and key_file.exists():
        found = x509.load_pem_x509_certificate(certificate_file.read_bytes())
        names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        known = {*names.get_values_for_type(x509.DNSName), *map(str, names.get_values_for_type(x509.IPAddress))}
        if wanted <= known and found.not_valid_after_utc > now + timedelta(days=30):
            return certificate_file, key_file, _spaced(found.fingerprint(hashes.SHA256()))
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Batchwright book")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=GOOD_FOR_DAYS))
        .add_extension(x509.SubjectAlternativeName([_alternative(host) for host in sorted(wanted)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                               serialization.NoEncryption())  # fmt: skip
    with os.fdopen(os.open(key_file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(secret)
    certificate_file.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    return certificate_file, key_file, _spaced(made.fingerprint(hashes.SHA256()))


def _alternative(host: str):  # type: ignore[no-untyped-def]
    from cryptography import x509  # as above

    try:
        return x509.IPAddress(ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _spaced(digest: bytes) -> str:
    pairs = digest.hex().upper()
    return ":".join(pairs[place : place + 2] for place in range(0, len(pairs), 2))
