"""What the start command says: where the page is, and the address that lets in."""

from __future__ import annotations

import threading
import webbrowser
from urllib.parse import urlencode

import click
import streamlit as st

from valuation.access.setup import Setup


def tell_the_start(setup: Setup) -> None:
    """Print how to come in, and open the page where there is a screen."""
    if setup.faults:
        click.echo("\n  Nobody is let in until this is mended:\n", err=True)
        for problem in setup.faults:
            click.echo(f"  {problem}", err=True)
        return
    address = entrance(setup)
    click.echo(f"\n  The page is here:\n\n    {address}\n")
    if setup.token:
        click.echo("  Open this address once in each browser; it lets in whoever has it, so keep it to yourself.\n")
        if not st.get_option("server.headless"):
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()  # some browsers wait


def entrance(setup: Setup) -> str:
    """Return the address that lets in; without a token, that of the page."""
    page = f"{setup.address}{setup.base}/"
    return f"{page}?{urlencode({'token': setup.token})}" if setup.token else page
