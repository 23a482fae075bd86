"""The talk at the table in six steps, as data: a screen draws it and adds nothing.

Each module has one step. What a step tells is worked out from `valuation.report.case.Case`, in short words that stand
side by side on a phone. No step but the last says what the workshop would do, and that only where it is asked.
`valuation/manual/decision_aid.md` holds the steps against published criteria.
"""
