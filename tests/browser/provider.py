"""A sign-in service of the tests' own: OpenID Connect, authorization code flow, on loopback.

Whoever comes is shown one link for each person there is, and is that person from then on.
"""

import json
import secrets
import threading
import time
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, unquote, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT, SECRET = "overwinter-tests", "of no worth outside the tests"
KEY = RSAKey.generate_key(2048, {"kid": "one", "use": "sig", "alg": "RS256"})


@contextmanager
def provided(people: list[str]) -> Iterator[str]:
    """Run the service; give its address."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
    server.people, server.codes = people, {}  # type: ignore[attr-defined]
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


class _Handler(BaseHTTPRequestHandler):
    """Answer what the flow asks for, and nothing else."""

    def do_GET(self) -> None:
        asked = urlsplit(self.path)
        query = {name: values[0] for name, values in parse_qs(asked.query).items()}
        {
            "/.well-known/openid-configuration": self._described,
            "/keys": lambda _: self._json({"keys": [KEY.as_dict(private=False)]}),
            "/authorize": self._choice,
            "/chosen": self._chosen,
            "/favicon.ico": lambda _: self._send("image/x-icon", ""),
        }[asked.path](query)

    def do_POST(self) -> None:
        length = int(self.headers["Content-Length"])
        form = parse_qs(self.rfile.read(length).decode())
        name, _, secret = (
            b64decode(self.headers["Authorization"].split()[1]).decode().partition(":")
        )
        assert (unquote(name), unquote(secret).replace("+", " ")) == (CLIENT, SECRET)
        email, nonce = self.server.codes.pop(form["code"][0])  # type: ignore[attr-defined]
        now = int(time.time())
        claims = {
            "iss": self._base(), "aud": CLIENT, "sub": email, "email": email,
            "email_verified": not email.startswith("unverified"), "nonce": nonce, "iat": now,
            "exp": now + 600,
        }  # fmt: skip
        token = jwt.encode({"alg": "RS256", "kid": "one"}, claims, KEY)
        self._json({"access_token": secrets.token_hex(8), "token_type": "Bearer",
                    "expires_in": 600, "id_token": token})  # fmt: skip

    def _base(self) -> str:
        return f"http://127.0.0.1:{self.server.server_port}"  # type: ignore[attr-defined]

    def _described(self, _: dict[str, str]) -> None:
        base = self._base()
        self._json({
            "issuer": base, "authorization_endpoint": f"{base}/authorize",
            "token_endpoint": f"{base}/token", "jwks_uri": f"{base}/keys",
            "response_types_supported": ["code"], "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
        })  # fmt: skip

    def _choice(self, query: dict[str, str]) -> None:
        links = [
            f'<p><a href="/chosen?{urlencode({**query, "email": one})}">{one}</a></p>'
            for one in self.server.people  # type: ignore[attr-defined]
        ]
        self._send("text/html", "<title>Who are you?</title>" + "".join(links))

    def _chosen(self, query: dict[str, str]) -> None:
        code = secrets.token_hex(8)
        self.server.codes[code] = (query["email"], query.get("nonce", ""))  # type: ignore[attr-defined]
        back = urlencode({"code": code, "state": query["state"]})
        self.send_response(302)
        self.send_header("Location", f"{query['redirect_uri']}?{back}")
        self.end_headers()

    def _json(self, content: dict) -> None:
        self._send("application/json", json.dumps(content))

    def _send(self, kind: str, content: str) -> None:
        told = content.encode()
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(told)))
        self.end_headers()
        self.wfile.write(told)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - inherited name
        """Say nothing."""
