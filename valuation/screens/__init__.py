"""The page: shows what the service says, takes down what is found. No trade knowledge, no sums.

May import `valuation.service`, the types of `valuation.engine`, `valuation.report` for words and figures, and the
reader of single answers from `valuation.files`. Must never decide anything about a piano, nor word a reason.
`pages/` holds one file for each section, run by Streamlit; `state` alone knows what a session holds.
"""
