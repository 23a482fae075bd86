"""Who may reach the page, and by which name: what stands before every request, whatever it asks for.

`middleware.Access` is put before Streamlit by ``app.py``. It may use the files of `store`; it never draws a page.
"""
