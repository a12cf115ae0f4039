"""Pages are for one pair of eyes: nothing keeps them, and the back button shows none after signing out."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

GetResponse = Callable[[HttpRequest], HttpResponse]


def unkept_pages(get_response: GetResponse) -> GetResponse:
    """Return middleware that forbids keeping any answer that does not itself say how long it may be kept."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return answer
