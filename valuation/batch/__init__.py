"""Many pianos at once: a school's or a shop's, from visit files or a spreadsheet, into one table of results.

Reads and appraises through `valuation.service`. Streams: however many pianos, only a few are in memory at a time.
They come out in the order in which they went in, the same bytes however many processes did the work.
"""
