"""Who may ask: this machine's own page, by its address, its secret, its host and its origin."""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

LOOPBACK = "127.0.0.1"
"""The only address that is listened on."""

MOST_BYTES = 1_000_000
"""Largest body that is read; a case has a few kB."""

POLICY = "; ".join(
    (
        "default-src 'none'", "script-src 'self'", "connect-src 'self'", "img-src 'self' data:",
        # the charts put their own sheets of styles into the page
        "style-src 'self' 'unsafe-inline'", "frame-src 'self'", "frame-ancestors 'self'",
        "base-uri 'none'", "form-action 'none'", "font-src 'none'", "object-src 'none'",
    )
)  # fmt: skip
"""What the page may load: nothing from elsewhere, and no script within a page."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
"""Of every answer."""

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]


class Guard:
    """Lets through what comes from the page itself, and puts :data:`HEADERS` on every answer.

    Parameters
    ----------
    app : callable
        What answers behind it; it sees paths without the secret.
    secret : str
        First step of every path.
    port : int
        That is listened on.
    """

    def __init__(self, app: Any, secret: str, port: int) -> None:
        self.app, self.secret = app, secret
        self.hosts = {f"{name}:{port}" for name in (LOOPBACK, "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        sender = _with_headers(send)
        refused = self.refusal(scope)
        if refused:
            await _say(sender, *refused)
            return
        inner = dict(scope)
        inner["path"] = scope["path"][len(self.secret) + 1 :]
        inner["raw_path"] = inner["path"].encode()
        await self.app(inner, _at_most(receive), sender)

    def refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Return status and sentence where a request is refused, else None."""
        heads = {name.decode("latin-1").lower(): value.decode("latin-1")
                 for name, value in scope["headers"]}  # fmt: skip
        if heads.get("host", "") not in self.hosts:
            return 421, "this page is for its own machine only"
        origin = heads.get("origin")
        posted = scope["method"] not in ("GET", "HEAD")
        if (origin is None and posted) or (
            origin is not None and origin.removeprefix("http://") not in self.hosts
        ):
            return 403, "only the page itself may ask"
        if heads.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return 403, "only the page itself may ask"
        step = scope["path"].split("/")[1:2]
        if not step or not secrets.compare_digest(step[0].encode(), self.secret.encode()):
            return 404, "there is nothing here"
        if posted and heads.get("content-type", "").partition(";")[0] != "application/json":
            return 415, "JSON is wanted"
        length = heads.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            return 413, f"more than {MOST_BYTES // 1000} kB; a case needs a few"
        return None


class TooLarge(Exception):
    """A body above :data:`MOST_BYTES`."""


def _at_most(receive: Receive) -> Receive:
    """Return what receives a body, and stops where it is too large, whatever its length said."""
    so_far = 0

    async def limited() -> MutableMapping[str, Any]:
        nonlocal so_far
        message = await receive()
        so_far += len(message.get("body", b""))
        if so_far > MOST_BYTES:
            raise TooLarge
        return message

    return limited


def _with_headers(send: Send) -> Send:
    """Return what sends an answer with our headers."""
    ours = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]

    async def sender(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = list(message.get("headers", []))
            message = {**message, "headers": [*own, *ours]}
        await send(message)

    return sender


async def _say(send: Send, status: int, sentence: str) -> None:
    body = sentence.encode()
    await send(
        {"type": "http.response.start", "status": status,
         "headers": [(b"content-type", b"text/plain; charset=utf-8"),
                     (b"content-length", str(len(body)).encode())]}
    )  # fmt: skip
    await send({"type": "http.response.body", "body": body})
