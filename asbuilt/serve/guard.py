"""Who may ask: this machine alone, or whoever brings the token, or whom a reverse proxy has named.

Every answer carries headers that keep a browser from reaching out to anything else.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "::1", "localhost")
COOKIE = "asbuilt_token"
_SHORTEST = 16


@dataclass(frozen=True)
class Gate:
    """What a request must bring.

    Parameters
    ----------
    token : str or None
        Brought as `Authorization: Bearer TOKEN`, or once as `?token=TOKEN`, which a browser then keeps as a cookie.
    user_header : str or None
        Header in which a reverse proxy names the user it has let in; a request without it is refused.
    hosts : tuple of str
        Names under which the page may be asked for; empty allows any. A page elsewhere cannot then send a browser here
        under a name of its own.
    tiles : str or None
        Origin of the user's own base map, from which a browser may fetch.
    """

    token: str | None = None
    user_header: str | None = None
    hosts: tuple[str, ...] = LOOPBACK
    tiles: str | None = None

    def refusal(self, request: Request) -> str | None:
        """Say why a request is refused; None where it is let in."""
        host = request.headers.get("host", "").rpartition("@")[2]
        name = host[1:].partition("]")[0] if host.startswith("[") else host.partition(":")[0]
        if self.hosts and name.lower() not in self.hosts:
            return f"this address is not known here: {name[:100]!r}; ask for one of {', '.join(self.hosts)}"
        if self.user_header is not None and not request.headers.get(self.user_header):
            return "requests must come through the reverse proxy that names its users"
        if self.token is not None and not hmac.compare_digest(self._brought(request).encode(), self.token.encode()):
            return "the token is missing or wrong: send it as ?token=... once, or as Authorization: Bearer ..."
        return None

    def _brought(self, request: Request) -> str:
        scheme, _, bearer = request.headers.get("authorization", "").partition(" ")
        if scheme.lower() == "bearer":
            return bearer.strip()
        return request.query_params.get("token") or request.cookies.get(COOKIE, "")

    def headers(self) -> dict[str, str]:
        """Give the headers of every answer."""
        tiles = f" {self.tiles}" if self.tiles else ""
        policy = (
            f"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'self'{tiles}; "
            f"img-src 'self' blob: data:{tiles}; worker-src blob:; base-uri 'none'; form-action 'self'; "
            "frame-ancestors 'none'"
        )
        return {
            "Content-Security-Policy": policy,
            "X-Content-Type-Options": "nosniff",
            "Referrer-Policy": "no-referrer",
            "Cache-Control": "no-store",
        }


class Guarded:
    """An application behind a gate."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self.app, self.gate = app, gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        why = self.gate.refusal(request)
        answer: Response | None = None
        if why is not None:
            answer = PlainTextResponse(f"{why}\n", status_code=403)
        elif scope["method"] not in ("GET", "HEAD", "OPTIONS"):
            answer = PlainTextResponse("this register is only read here\n", status_code=405, headers={"Allow": "GET"})
        elif self.gate.token is not None and "token" in request.query_params:
            # The token leaves the address, which is shared and kept in histories.
            answer = RedirectResponse(str(request.url.remove_query_params("token").replace(scheme="", netloc="")))
            secure = Headers(scope=scope).get("x-forwarded-proto") == "https" or request.url.scheme == "https"
            answer.set_cookie(COOKIE, self.gate.token, httponly=True, samesite="strict", secure=secure)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(self.gate.headers())
            await send(message)

        await (answer or self.app)(scope, receive, with_headers)


def weak(token: str) -> bool:
    """Tell whether a token is short enough to be guessed.

    Examples
    --------
    >>> weak("secret"), weak("c0ffee-4-the-crew-at-dawn")
    (True, False)
    """
    return len(token) < _SHORTEST
