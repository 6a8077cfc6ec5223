"""Asking a service: a call in, its answer out, or one line that says why there is none.

pvlib's getters set no limit of their own on time, so each runs in a thread that is left behind when its time is over.
Errors of the network may hold the address that was asked, and with it the user's key: none of their text is passed on,
only our own words. What a service itself answers is quoted, with every secret blacked out.
"""

import threading
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar
from urllib.parse import quote, quote_plus
from zipfile import BadZipFile

from solarsim.errors import WeatherError
from solarsim.weather._formats.common import READER_ERRORS
from solarsim.weather.services._utc_year import AnswerError

_T = TypeVar("_T")
_MOST_QUOTED = 200  # characters of a service's own words
_REFUSED_KEY = (401, 403)
_BUSY = 429
_OVERLOADED = 500  # and above


class Patience(NamedTuple):
    """How long a service is waited for."""

    limit_s: float  # for one answer
    tries: int = 4
    pause_s: float = 2.0  # before the second try; twice as long before each further one


class _Failure(NamedTuple):
    """Why there is no answer, and how many tries that is worth."""

    words: str
    tries: int


_ONCE, _TWICE, _ALL = 1, 2, 99


def answer(service: str, call: Callable[[], _T], secrets: Sequence[str], patience: Patience) -> _T:
    """Return what a call to a service returns, after as many tries as the kind of failure is worth."""
    done = 0
    while True:
        try:
            return _within(patience.limit_s, call)
        except Exception as error:  # the getters raise anything, bare Exception too; each kind is told apart below
            failure = _failure(error, patience)
        done += 1
        if done >= min(failure.tries, patience.tries):
            often = f" (tried {done} times)" if done > 1 else ""
            raise WeatherError(f"{service}: {_blacked_out(failure.words, secrets)}{often}")
        time.sleep(patience.pause_s * 2 ** (done - 1))


def _within(limit_s: float, call: Callable[[], _T]) -> _T:
    """Return what a call returns; raise what it raises, or TimeoutError when its time is over."""
    returned: list[_T] = []
    raised: list[Exception] = []

    def work() -> None:
        try:
            returned.append(call())
        except Exception as error:
            raised.append(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    thread.join(limit_s)
    if raised:
        raise raised[0]
    if not returned:
        raise TimeoutError
    return returned[0]


def _failure(error: Exception, patience: Patience) -> _Failure:
    import requests

    if isinstance(error, AnswerError):
        return _Failure(f"its answer {error}", _ALL)
    if isinstance(error, TimeoutError | requests.Timeout):
        return _Failure(f"did not answer within {patience.limit_s:g} s", _TWICE)
    if isinstance(error, requests.exceptions.SSLError):
        return _Failure("cannot be reached: its certificate is not accepted", _ONCE)
    if isinstance(error, requests.exceptions.ConnectionError):
        return _of_connection(error)
    if isinstance(error, requests.HTTPError):
        status = None if error.response is None else error.response.status_code
        return _of_status(status, _words_of(error))
    if isinstance(error, KeyError) and error.args == ("errors",):  # the NSRDB's getter looks for reasons there alone
        return _Failure("refused the request without a reason; check the key", _ONCE)
    if isinstance(error, (requests.RequestException, BadZipFile, EOFError, *READER_ERRORS)):
        return _Failure("its answer is cut short, or not in the documented form", _ALL)
    # get_era5 raises a bare Exception with the service's answer.
    told = error.args[0] if error.args else ""
    stated = told.get("status") if isinstance(told, dict) else None
    return _of_status(stated if isinstance(stated, int) else 0, _words_of(error))


def _of_connection(error: Exception) -> _Failure:
    from urllib3.exceptions import MaxRetryError

    if error.args and isinstance(error.args[0], MaxRetryError):
        return _Failure("cannot be reached; check the network, or use a weather file", _TWICE)
    return _Failure("closed the connection before its answer was complete", _ALL)


def _of_status(status: int | None, words: str) -> _Failure:
    """Return the failure of an answer that says no; a status of 0 is final, none may pass."""
    if status in _REFUSED_KEY:
        return _Failure(f"refused the key, or its terms are not accepted yet: {words}", _ONCE)
    if status == _BUSY:
        return _Failure(f"reports too many requests; try again later: {words}", _ALL)
    if status is None or status >= _OVERLOADED:
        return _Failure(f"answered with an error: {words}", _ALL)
    return _Failure(f"refused the request: {words}", _ONCE)


def _words_of(error: Exception) -> str:
    """Return the service's own words in one line."""
    told = error.args[0] if error.args else ""
    for name in ("messages", "message", "detail", "title", "error"):
        if isinstance(told, dict) and told.get(name):
            told = told[name]
    if isinstance(told, list | tuple):
        told = "; ".join(map(str, told))
    line = " ".join(str(told).split()) or "no reason given"
    return line if len(line) <= _MOST_QUOTED else f"{line[: _MOST_QUOTED - 4]} ..."


def _blacked_out(text: str, secrets: Sequence[str]) -> str:
    """Return a text without secrets, however an address would write them."""
    forms = {
        form for secret in secrets if secret for form in (secret, quote(secret), quote(secret, ""), quote_plus(secret))
    }
    for form in sorted(forms, key=len, reverse=True):
        text = text.replace(form, "(key)")
    return text
