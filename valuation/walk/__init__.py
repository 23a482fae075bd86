"""The visit at the piano as a page of its own, which goes on without a network.

What for: routes beside Streamlit's pages, on the same port: a small client that a device keeps, and the API by which it
sends what was found. A link carries a token for one visit; nothing but the client itself is given without it. May
import: `valuation.service` and what is below it. Never: Streamlit, screens.

The client is plain JavaScript in ``static``, without a build step; ``static/vendor`` has two small libraries, each a
single file with its licence.
"""

from __future__ import annotations

from valuation.walk.routes import Walk

__all__ = ["Walk"]
