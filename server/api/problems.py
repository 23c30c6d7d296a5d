"""Errors as problem details (RFC 9457). Types are mapped here, once; endpoints only raise."""

from collections.abc import Callable
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from shared_schema.errors import BadFrame, CrosstreeError, IdentityClash, SequenceGap
from shared_schema.problems import PROBLEMS

__all__ = ["answer_with_problems", "problem_answer"]

PROBLEM_JSON = "application/problem+json"


def answer_with_problems(app: FastAPI, other: Callable[[Request, Exception], Response] | None = None) -> None:
    """Let every error below /api answer with problem details; elsewhere `other`, where given, makes the answer."""

    def answer(request: Request, error: Exception) -> Response:
        if other is not None and not request.url.path.startswith("/api"):
            return other(request, error)
        return problem_answer(error)

    for kind in (CrosstreeError, RequestValidationError, HTTPException):
        app.add_exception_handler(kind, answer)


def problem_answer(error: Exception) -> JSONResponse:
    """An error as problem details.

    Members beside the usual: `writer` and `expected` of a gap, `entry_id` of a clash, `line` of a bad frame.
    """
    body, headers = _details(error)
    return JSONResponse(body, body["status"], headers=headers, media_type=PROBLEM_JSON)


def _details(error: Exception) -> tuple[dict[str, Any], dict[str, str]]:
    if isinstance(error, HTTPException):
        slug = {404: "no-such-address", 405: "no-such-method"}.get(error.status_code, "refused")
        return _body(slug, "Refused", error.status_code, str(error.detail)), dict(error.headers or {})
    if isinstance(error, RequestValidationError):
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        return _body("bad-request", "The request is malformed", 400, f"{where}: {first['msg']}"), {}
    for kind in type(error).__mro__:
        if kind in PROBLEMS:
            slug, title, status = PROBLEMS[kind]
            headers = {"WWW-Authenticate": "Bearer"} if status == 401 else {}
            return _body(slug, title, status, str(error)) | _members(error), headers
    return _body("refused", "Refused", 400, str(error)), {}


def _body(slug: str, title: str, status: int, detail: str) -> dict[str, Any]:
    return {"type": f"urn:crosstree:problem:{slug}", "title": title, "status": status, "detail": detail}


def _members(error: Exception) -> dict[str, Any]:
    if isinstance(error, SequenceGap):
        return {"writer": error.writer, "expected": error.expected}
    if isinstance(error, IdentityClash):
        return {"entry_id": error.entry_id}
    if isinstance(error, BadFrame):
        return {"line": error.line}
    return {}
