"""One file for each section of the page; Streamlit runs it as a script."""
