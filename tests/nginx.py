"""A real nginx in front of a stack, under the example configuration that README.md names.

The example is taken as it stands; only its ports, its name and its certificate become those of the test.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.servers import ROOT, listens, program, stop, wait_until

EXAMPLE = ROOT / "portal" / "proxy" / "nginx.conf"

_AROUND = """
daemon off;
{user}
worker_processes 1;
pid {folder}/pid;
error_log {folder}/errors;
events {{ worker_connections 4096; }}
http {{
    access_log off;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
    {servers}
}}
"""


@contextmanager
def nginx(folder: Path, servers: str, port: int) -> Iterator[None]:
    """Run nginx with these servers until the block ends."""
    binary = program("nginx", package="nginx-light", also_in=[Path("/usr/sbin")])
    folder.mkdir(parents=True, exist_ok=True)
    user = "user root;" if os.geteuid() == 0 else ""
    (folder / "nginx.conf").write_text(_AROUND.format(folder=folder, servers=servers, user=user))
    process = subprocess.Popen([binary, "-p", folder, "-e", folder / "errors", "-c", folder / "nginx.conf"])
    try:
        wait_until(lambda: listens(port), seconds=10, what="nginx to listen")
        yield
    finally:
        stop(process)


def example(folder: Path, *, behind: int, http: int, https: int) -> str:
    """Return the example configuration with the ports and the certificate of a test."""
    folder.mkdir(parents=True, exist_ok=True)
    certificate, key = write_certificate(folder)
    text = EXAMPLE.read_text()
    for stands, becomes in {
        "server 127.0.0.1:8000;": f"server 127.0.0.1:{behind};",
        "listen 80;": f"listen 127.0.0.1:{http};",
        "listen 443 ssl;": f"listen 127.0.0.1:{https} ssl;",
        "/etc/ssl/certs/proofs.example.pem": str(certificate),
        "/etc/ssl/private/proofs.example.key": str(key),
    }.items():
        assert stands in text, stands
        text = text.replace(stands, becomes)
    return text


def write_certificate(folder: Path) -> tuple[Path, Path]:
    """Make a certificate for proofs.example that nobody but the test trusts."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "proofs.example")])
    now = datetime.now(UTC)  # noqa: TID251 - a certificate is dated by the real clock
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1)).not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("proofs.example")]), critical=False)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    pem = serialization.Encoding.PEM
    (folder / "certificate.pem").write_bytes(made.public_bytes(pem))
    (folder / "key.pem").write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return folder / "certificate.pem", folder / "key.pem"
