"""What pages do when the library holds no fit."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from upsides.books.queries import levels
from upsides.errors import UpsidesError

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]
FittedView = Callable[Concatenate[HttpRequest, levels.Levels, P], HttpResponse]


def needs_fit(view: FittedView[P]) -> View[P]:
    """Return the view with the fit's levels as second argument; without a fit a page says how to make one."""

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        try:
            fitted = levels.read_levels(settings.UPSIDES_LIBRARY)
        except UpsidesError as error:
            context = {"reason": str(error), "library": settings.UPSIDES_LIBRARY}
            return render(request, "shell/no_fit.html", context)
        return view(request, fitted, *args, **kwargs)

    return answer
