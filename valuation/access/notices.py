"""The few pages for those who aren't in: plain HTML, with nothing of the shop on them."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from starlette.requests import Request
from starlette.responses import HTMLResponse

from valuation.access.headers import NOTICE_POLICY
from valuation.language import ENGLISH, LANGUAGES, language, say, speaking

_PAGE = """<!doctype html>
<html lang="{language}">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>{title}</title>
<style>
body {{ background: #faf7f0; color: #22262b; font: 1.15rem/1.5 sans-serif; margin: 12vh auto; max-width: 36rem;
  padding: 0 1rem; }}
h1 {{ font: 600 1.8rem/1.3 serif; }}
a.do, button {{ background: #1f3a5f; border: 0; border-radius: 4px; color: #fff; display: inline-block;
  font: inherit; min-height: 44px; padding: .5rem 1.2rem; text-decoration: none; box-sizing: border-box; }}
input {{ border: 1px solid #8a8069; border-radius: 4px; box-sizing: border-box; font: inherit; margin: .3rem 0 1rem;
  min-height: 44px; padding: .4rem; width: 100%; }}
</style></head>
<body><main><h1>{title}</h1>
{body}
</main></body></html>
"""


def wants_a_page(request: Request) -> bool:
    """Tell whether a person looks, and not a script or a picture of a page."""
    return request.method in ("GET", "HEAD") and "text/html" in request.headers.get("accept", "")


def ask_for_token(request: Request, *, wrong: bool) -> HTMLResponse:
    """Say that the address of the start command is needed, and take the token here too."""
    with speaking(_language(request)):
        said = [
            say(
                "The first time, only the address that the start command printed lets you in. Open that address, or "
                "paste it here."
            )
        ]
        if wrong:
            said.insert(0, say("That token is wrong or out of date. Look where the tool was last started."))
        rest = [pair for pair in request.query_params.multi_items() if pair[0] != "token"]
        hidden = "".join(f'<input type="hidden" name="{escape(name)}" value="{escape(value)}">' for name, value in rest)
        form = (
            f'<form method="get">{hidden}<label>{escape(say("Address or token"))}'
            '<input name="token" autocomplete="off" autofocus required></label>'
            f"<button>{escape(say('Come in'))}</button></form>"
        )
        return _page(say("Who is there?"), said, form, 403)


def offer_sign_in(request: Request, sign_in: str) -> HTMLResponse:
    """Offer to sign in."""
    with speaking(_language(request)):
        said = [say("Visits hold names and addresses of clients: only people of the workshop may see them.")]
        return _page(say("Sign in"), said, _do(sign_in, say("Sign in")), 401)


def refuse_account(request: Request, sign_in: str, email: str) -> HTMLResponse:
    """Say that an account is not on the list; an empty address: that the provider has verified none."""
    with speaking(_language(request)):
        if email:
            why = say(
                "{email} is not on the list of this workshop. Ask its owner, or use another account.", email=email
            )
        else:
            why = say("Your provider does not say that your e-mail address is verified. Have it verified there first.")
        return _page(say("You are not let in"), [why], _do(sign_in, say("Use another account")), 403)


def tell_failure(request: Request, sign_in: str) -> HTMLResponse:
    """Say that signing in did not work."""
    with speaking(_language(request)):
        said = [
            say("Your sign-in provider gave no valid answer. Try again; if it keeps happening, look at the tool's log.")
        ]
        return _page(say("Signing in did not work"), said, _do(sign_in, say("Try again")), 403)


def let_nobody_in(request: Request) -> HTMLResponse:
    """Say that the server lets nobody in; what is amiss with it stands in its log alone."""
    with speaking(_language(request)):
        said = [
            say("Sign-in is not set up correctly, so nobody is let in. What to mend stands where the tool was started.")
        ]
        return _page(say("Nobody is let in"), said, "", 403)


def ask_to_wait(request: Request) -> HTMLResponse:
    """Say that there were too many tries."""
    with speaking(_language(request)):
        page = _page(say("Too many tries"), [say("Wait a minute, then try again.")], "", 429)
    page.headers["Retry-After"] = "60"
    return page


def tell_faults(request: Request, faults: Sequence[str]) -> HTMLResponse:
    """Say why somebody could not be let in although they may."""
    with speaking(_language(request)):
        return _page(say("You can't be let in now"), list(faults), "", 503)


def _page(title: str, said: list[str], body: str, status: int) -> HTMLResponse:
    whole = "\n".join([*(f"<p>{escape(text)}</p>" for text in said), body])
    page = _PAGE.format(language=language(), title=escape(title), body=whole)
    return HTMLResponse(page, status, {"Content-Security-Policy": NOTICE_POLICY, "X-Frame-Options": "DENY",
                                       "Cache-Control": "no-store"})  # fmt: skip


def _do(address: str, words: str) -> str:
    return f'<p><a class="do" href="{escape(address)}">{escape(words)}</a></p>'


def _language(request: Request) -> str:
    """Return the first language that the browser asks for and that there is: the shop's own may not be told yet."""
    asked = (one.partition(";")[0].strip()[:2] for one in request.headers.get("accept-language", "").split(","))
    return next((one for one in asked if one in LANGUAGES), ENGLISH)
