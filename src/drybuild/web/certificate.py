"""A certificate of this machine's own, so that the link to phones on the local network is sealed.

Nobody vouches for it: a browser warns once, and the person compares its fingerprint with the one on
the machine's screen. It vouches for no other certificate, and its key is for this user's eyes only,
outside every build folder, since folders are handed on. Sources: RFC 5280 (profile of
certificates), RFC 9525 (names in them) *from memory*.
"""

from __future__ import annotations

import os
import stat
import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

FILE = "local-link.pem"
HOME = "DRYBUILD_KEEP"
"""Environment variable: folder for what belongs to this user of this machine."""
LASTS = timedelta(days=397)
RENEWED = timedelta(days=30)
"""A certificate that ends sooner is made anew."""
NAMED = "Drybuild on this machine"


@dataclass(frozen=True, slots=True)
class Certificate:
    """path: key and certificate; fingerprint: SHA-256 in pairs, as browsers show it."""

    path: Path
    fingerprint: str
    until: datetime


def certificate_for(address: str, folder: Path | None = None) -> Certificate:
    """The certificate for an address of the local network, made when there is none that serves."""
    kept = (folder or keeping_place()) / FILE
    found = _read(kept, address)
    if found is None:
        _make(kept, address)
        found = _read(kept, address)
        assert found is not None  # it was just written
    return found


def keeping_place() -> Path:
    """Where this user's own things lie on this system."""
    told = os.environ.get(HOME)
    if told:
        return Path(told).expanduser()
    if os.name == "nt":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "drybuild"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "drybuild"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "drybuild"


def fingerprint(found: x509.Certificate) -> str:
    """SHA-256 of a certificate: ``3F 9A …``."""
    return found.fingerprint(hashes.SHA256()).hex(" ").upper()


def _read(path: Path, address: str) -> Certificate | None:
    """The one that is kept, if it serves: for this address, not near its end, nobody else's."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode) or _open_to_others(path):
            return None
        found = x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError):
        return None
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = names.get_values_for_type(x509.IPAddress)
    near = found.not_valid_after_utc - RENEWED < datetime.now(UTC)
    if near or ip_address(address) not in addresses:
        return None
    return Certificate(path, fingerprint(found), found.not_valid_after_utc)


def _open_to_others(path: Path) -> bool:
    return os.name != "nt" and bool(path.lstat().st_mode & 0o077)


def _make(path: Path, address: str) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    made = _signed(key, address)
    text = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    ) + made.public_bytes(serialization.Encoding.PEM)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    partial = path.with_suffix(".part")
    partial.unlink(missing_ok=True)
    # Nobody else may read it, from the first moment on.
    handle = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(text)
    os.replace(partial, path)


def _signed(key: ec.EllipticCurvePrivateKey, address: str) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAMED)])
    places = [x509.IPAddress(ip_address(a)) for a in dict.fromkeys((address, "127.0.0.1"))]
    now = datetime.now(UTC)
    # fmt: off
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=False, crl_sign=False,
        encipher_only=False, decipher_only=False,
    )
    # fmt: on
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + LASTS)
        .add_extension(
            x509.SubjectAlternativeName([*places, x509.DNSName("localhost")]), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
