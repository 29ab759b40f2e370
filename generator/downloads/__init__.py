"""Files beside the pages: one module a subject, each a pure function from an outcome to named
bytes.
"""
