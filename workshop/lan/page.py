"""The one page without TLS: three steps, and the authority's certificate. It holds nothing of the workshop.

`python -m workshop.lan.page FOLDER HOST PORT ADDRESS` serves it.
"""

from __future__ import annotations

import sys
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from socket import AF_INET, AF_INET6

from workshop.lan.authority import fingerprint

FILE = "/colature-authority.crt"
STEPS = (
    "On the tablet, open {trust} or point its camera at the square above.",
    "Fetch the certificate there, compare its mark with the one below, and let the tablet trust it.",
    "Open {house} and put it on the home screen.",
)
PAGE = """<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this workshop · Colature</title></head>
<body>
<h1>Let this tablet trust the workshop</h1>
<ol>
<li><p><a href="{file}" download>Fetch the certificate</a>.
Its mark must be the one that the computer shows:</p>
<p><code>{mark}</code></p></li>
<li><p>Install it.</p>
<ul><li>iPad: Settings, “Profile Downloaded”, Install.
Then General, About, Certificate Trust Settings: switch it on.</li>
<li>Android: Settings, search for “CA certificate”, Install anyway, choose the file.</li>
<li>A computer: open the browser's settings,
search for “certificates”, import it as an authority.</li></ul></li>
<li><p>Open <a href="{house}">{house}</a> and put it on the home screen.</p></li>
</ol>
<p>The certificate can only vouch for machines in a local network, never for a site elsewhere.</p>
</body></html>
"""
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


class Handler(BaseHTTPRequestHandler):
    """Two addresses, by GET and HEAD. Nothing that is sent here is read."""

    authority: Path
    house: str
    server_version, sys_version = "Colature", ""
    timeout = 10

    def do_GET(self) -> None:
        if self.path == FILE:
            self._answer(self.authority.read_bytes(), "application/x-x509-ca-cert")
        elif self.path == "/":
            mark = fingerprint(self.authority)
            page = PAGE.format(file=FILE, mark=mark, house=escape(self.house, quote=True))
            self._answer(page.encode(), "text/html; charset=utf-8")
        else:
            self.send_error(404, "Nothing stands at this address")

    do_HEAD = do_GET

    def _answer(self, content: bytes, kind: str) -> None:
        self.send_response(200)
        for name, value in HEADERS.items():
            self.send_header(name, value)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        if self.command == "GET":
            self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:
        """Who fetched it is nobody's business."""


def server(folder: Path, host: str, port: int, house: str) -> ThreadingHTTPServer:
    """The page at `host`, not yet serving; `house` is the address it leads to."""

    class Ours(Handler):
        authority = folder / "authority.crt"

    class Server(ThreadingHTTPServer):
        address_family = AF_INET6 if ":" in host else AF_INET

    Ours.house = house
    return Server((host, port), Ours)


if __name__ == "__main__":
    server(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), sys.argv[4]).serve_forever()
