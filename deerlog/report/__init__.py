"""What the user sees: the report page and its tables, texts in the terminal, JSON, exports.

Nothing is computed here; every figure comes from `deerlog.study` and `deerlog.analysis`.
"""
