"""What every page tells the browser to refuse."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Content security policy: everything from this server, nothing written into the page."""

PERMISSIONS = "camera=(), geolocation=(), microphone=(), payment=(), usb=()"

GetResponse = Callable[[HttpRequest], HttpResponse]


def strict_pages(get_response: GetResponse) -> GetResponse:
    """Return middleware that puts the content security policy on every answer, errors included."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["Permissions-Policy"] = PERMISSIONS
        return response

    return answer
