"""A real nginx before a hall, set up by the very lines of README.md: ports, certificate and processes put in, nothing else changed."""

from __future__ import annotations

import os
import re
import shutil
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final

from tests.faults.halls import Hall, Serving, free_port

NAME: Final = "hall.example"
"""The host that the lines of the README name."""
PUBLIC: Final = {"DRILLHALL_PUBLIC_URL": f"https://{NAME}", "DRILLHALL_TRUSTED_PROXY": "127.0.0.1"}
"""How the README starts a hall behind them."""
README: Final = Path(__file__).resolve().parents[2] / "README.md"
# What Debian's own nginx.conf gives beside the site, and folders of its own: https://nginx.org/en/docs/http/ngx_http_core_module.html
AROUND: Final = """
daemon off; {user} pid {folder}/nginx.pid; error_log {folder}/error.log warn;
events {{ worker_connections 1024; }}
http {{
access_log off; client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy;
fastcgi_temp_path {folder}/fastcgi; uwsgi_temp_path {folder}/uwsgi; scgi_temp_path {folder}/scgi;
{lines}
}}
"""


@dataclass(frozen=True)
class Proxy:
    """A running nginx: where it takes https and plain http, the certificate it shows, and where it complains."""

    https: int
    http: int
    certificate: Path
    complaints_file: Path

    @property
    def complaints(self) -> list[str]:
        """What it has complained of."""
        return self.complaints_file.read_text(encoding="utf-8", errors="replace").splitlines()

    @cached_property
    def trust(self) -> ssl.SSLContext:
        """What a browser holds that trusts this certificate and no other."""
        return ssl.create_default_context(cafile=str(self.certificate))


def blocks() -> tuple[str, str]:
    """Return the lines of README.md that make a site, and those before them that name several processes."""
    text = README.read_text(encoding="utf-8").partition("## Open it to others\n")[2].partition("\n## ")[0]
    site, several = re.findall(r"^```nginx\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    return site, several


def put_in(lines: str, changes: dict[str, str]) -> str:
    """Return the lines with each thing changed that stands in them once; raises ValueError where it does not."""
    for there, wanted in changes.items():
        if lines.count(there) != 1:
            raise ValueError(f"the README's lines for nginx have {there!r} {lines.count(there)} times")
        lines = lines.replace(there, wanted)
    return lines


@contextmanager
def proxied(folder: Path, servers: Sequence[Serving]) -> Iterator[Proxy]:
    """Yield nginx before one server, as the README has it, or before two."""
    folder.mkdir()
    proxy = Proxy(free_port(), free_port(), folder / "hall.pem", folder / "error.log")
    _make_certificate(folder)
    site, several = blocks()
    changes = {"listen 80;": f"listen 127.0.0.1:{proxy.http};", "listen 443 ssl;": f"listen 127.0.0.1:{proxy.https} ssl;"}
    changes |= {"/etc/ssl/hall.pem": str(proxy.certificate), "/etc/ssl/hall.key": str(folder / "hall.key")}
    if len(servers) == 1:
        lines = put_in(site, changes | {"127.0.0.1:8410": f"127.0.0.1:{servers[0].port}"})
    else:
        one, other = (f"127.0.0.1:{server.port}" for server in servers)
        lines = put_in(several, {"127.0.0.1:8410": one, "127.0.0.1:8411": other})
        lines += put_in(site, changes | {"http://127.0.0.1:8410": "http://hall"})
    user = "user root;" if os.geteuid() == 0 else ""
    written = folder / "nginx.conf"
    written.write_text(AROUND.format(user=user, folder=folder, lines=lines), encoding="utf-8")
    process = subprocess.Popen((nginx(), "-p", folder, "-c", written), stderr=subprocess.DEVNULL)
    try:
        _wait_for(proxy.https, process)
        yield proxy
    finally:
        process.terminate()
        process.wait(timeout=30)


def behind(hall: Hall) -> Hall:
    """Return the hall as the README starts it behind a proxy."""
    return Hall(hall.folder, hall.url, hall.environment | PUBLIC, hall.told_in)


def nginx() -> str:
    """Return where nginx is; raises RuntimeError where it is not."""
    found = shutil.which("nginx", path=os.environ.get("PATH", "") + ":/usr/sbin")
    if found is None:
        raise RuntimeError("nginx is needed: on Debian and Ubuntu `apt install nginx-light`.")
    return found


def _make_certificate(folder: Path) -> None:
    words = ("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2")
    more = ("-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}", "-keyout", folder / "hall.key", "-out", folder / "hall.pem")
    subprocess.run((*words, *more), check=True, capture_output=True)


def _wait_for(port: int, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 20
    while process.poll() is None and time.monotonic() < until:
        with socket.socket() as line:
            if line.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.02)
    raise RuntimeError("nginx did not take the README's lines; run it by hand with -t to see why")
