"""From a template to an answer, with all that every page needs."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, pass_eval_context
from jinja2.nodes import EvalContext
from markupsafe import Markup, escape

from server.pages import addresses, conditions, drawings, figures, misread, office_words, telling, values, words
from server.pages.door import Visitor
from server.pages.wording import gettext, language, ngettext, pgettext
from server.review.arrivals import read_brought
from server.review.structures import natural
from server.store.opening import nursery_of
from shared_schema.facts import FACTS
from shared_schema.ids import split_subject

__all__ = ["public_url", "read_templates", "render", "write_part"]

_NUMBERS: Final = (int, float, Decimal)


def _told(text: str, values: Mapping[str, Any], evaluating: EvalContext) -> str:
    """A text with its values: numbers as the language writes them, and nothing that came from outside taken for HTML."""
    if not values and "%" not in text:
        return Markup(text) if evaluating.autoescape else text  # noqa: S704  # texts are ours
    shown = {name: figures.numeral(value) if type(value) in _NUMBERS else value for name, value in values.items()}
    return (Markup(text) if evaluating.autoescape else text) % shown  # noqa: S704  # texts are ours, values get escaped


@pass_eval_context
def _gettext(evaluating: EvalContext, message: str, /, **values: Any) -> str:
    return _told(gettext(message), values, evaluating)


@pass_eval_context
def _ngettext(evaluating: EvalContext, one: str, many: str, number: int, /, **values: Any) -> str:
    return _told(ngettext(one, many, number), {"num": number, **values}, evaluating)


@pass_eval_context
def _pgettext(evaluating: EvalContext, context: str, message: str, /, **values: Any) -> str:
    return _told(pgettext(context, message), values, evaluating)


def _code(text: str) -> Markup:
    """A text whose commands, between backticks, are set as code."""
    return Markup(re.sub("`([^`]+)`", r"<code>\1</code>", str(escape(text))))  # noqa: S704  # escaped just before


def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("server", "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
    )
    environment.filters["code"] = _code
    environment.globals.update(gettext=_gettext, ngettext=_ngettext, pgettext=_pgettext)
    for module in (addresses, figures, misread, office_words, telling, values):
        environment.globals.update({name: getattr(module, name) for name in module.__all__})
    environment.globals.update(
        ALL_LOOKS=(*conditions.LOOKS, conditions.UNSEEN),
        LOOKS=conditions.LOOKS,
        UNSEEN=conditions.UNSEEN,
        MARK=drawings.MARK,
        FACTS=FACTS,
        FACT_WORDS=words.FACT_WORDS,
        KIND_WORDS=words.KIND_WORDS,
        REASON_WORDS=words.REASON_WORDS,
        SORT_WORDS=words.SORT_WORDS,
        look_of=conditions.look_of,
        natural=natural,
        page_words=drawings.page_words,
        split_subject=split_subject,
    )
    return environment


_ENVIRONMENT: Final = _environment()


def read_templates() -> None:
    """Read every template ahead: each is made into a program when it is first asked for."""
    for name in _ENVIRONMENT.list_templates():
        _ENVIRONMENT.get_template(name)


def write_part(template: str, **context: Any) -> Markup:
    """A part of a page that is the same for whoever reads that language."""
    return Markup(_ENVIRONMENT.get_template(template).render(context))  # noqa: S704  # templates escape


def public_url(request: Request) -> str:
    """The server's address as others reach it: as it was set, else the one that this page was asked for under."""
    return request.app.state.settings.public_url or str(request.base_url).rstrip("/")


def render(
    request: Request, template: str, visitor: Visitor | None, context: Mapping[str, Any] | None = None, status: int = 200
) -> HTMLResponse:
    """A page, or a part of one, from a template. `visitor` is None on the few pages that need no key."""
    store = request.app.state.store
    shared = {
        "nursery": nursery_of(store),
        "visitor": visitor,
        "path": request.url.path,
        "held": read_brought(store).total,
        "language": language(),
    }
    page = _ENVIRONMENT.get_template(template).render({**shared, **(context or {})})
    return HTMLResponse(page, status)
